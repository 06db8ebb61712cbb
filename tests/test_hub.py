"""A hub for a class: its settings are safe as they stand, its page tells of them, and one learner gets through."""

import json
import re
import shlex
from types import SimpleNamespace
from unittest.mock import MagicMock

import hubclass
import pytest
from hublearner import Learner
from hublesson import HUB_PAGE, PLACES, answered, collecting_line, said_when_collecting

from kit.__main__ import main
from kit.exercises import learner

PAGE = HUB_PAGE.read_text("utf-8")
WORD = "tidewater"
HOSTILE = ["../gull", "..", ".", "", "/etc", "gull/7", "gull\\7", "~root", "-rf", "$(id)", "gull 7", "gull\n",
           "{username}", "%2e%2e", "gull;id", "a" * 31, "möwe"]


@pytest.fixture
def settings(tmp_path, monkeypatch):
    """The settings as the hub reads them in a folder with lessons; what they were set to is found in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "for-learners").mkdir()
    (tmp_path / "for-learners" / "page.md").write_text("new")
    return run_settings(monkeypatch, WORD)


def run_settings(monkeypatch, word):
    monkeypatch.setenv("CLASS_WORD", word)
    found = MagicMock()
    exec(compile(hubclass.SETTINGS.read_text("utf-8"), "settings", "exec"), {"get_config": lambda: found})
    return found


def sign_in(settings, name):
    settings.Spawner.pre_spawn_hook(SimpleNamespace(user=SimpleNamespace(name=name)))


def test_each_learner_gets_the_lessons_once_and_never_again(settings, tmp_path):
    for name in ("gull-7", "tern-2"):
        sign_in(settings, name)
    pages = [tmp_path / "homes" / name / "lessons" / "page.md" for name in ("gull-7", "tern-2")]
    pages[0].write_text("the learner's own")
    sign_in(settings, "gull-7")
    assert [page.read_text() for page in pages] == ["the learner's own", "new"]
    assert settings.Spawner.notebook_dir.format(username="gull-7") == str(pages[0].parent)
    assert settings.SimpleLocalProcessSpawner.home_dir_template.format(username="gull-7") == str(pages[0].parents[1])


def test_nobody_is_asked_whether_news_are_wanted(settings, tmp_path):
    sign_in(settings, "gull-7")
    page = json.loads((tmp_path / "homes" / "gull-7" / ".jupyter" / "labconfig" / "page_config.json").read_text())
    assert page == {"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": True}}


def test_a_copy_that_was_broken_off_is_made_anew(settings, tmp_path):
    begun = tmp_path / "homes" / "gull-7" / "begun"
    begun.mkdir(parents=True)
    (begun / "page.md").write_text("ne")
    sign_in(settings, "gull-7")
    assert (tmp_path / "homes" / "gull-7" / "lessons" / "page.md").read_text() == "new" and not begun.exists()


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_that_is_no_safe_name_of_a_folder_is_not_let_in(settings, name):
    """As the hub compares it: from the beginning of the name on."""
    assert not re.compile(settings.Authenticator.username_pattern).match(name)


@pytest.mark.parametrize("name", ["gull-7", "7", "a" * 30])
def test_a_plain_code_name_is_let_in(settings, name):
    assert re.compile(settings.Authenticator.username_pattern).match(name)


@pytest.mark.parametrize("name", ["../gull", "..", ".", "", "/etc", "a/b"])
def test_no_lessons_are_written_outside_the_homes_whatever_the_name(settings, tmp_path, name):
    before = set(tmp_path.rglob("*"))
    with pytest.raises(ValueError, match="must be the name of a folder"):
        sign_in(settings, name)
    assert set(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("word", ["", "tide"])
def test_no_hub_starts_without_a_word_for_the_class(monkeypatch, word):
    with pytest.raises(SystemExit, match=rf"CLASS_WORD must be .* got {len(word)}: set it as hub.md says"):
        run_settings(monkeypatch, word)


def test_pages_come_by_https_once_certificate_and_key_lie_there(settings, tmp_path, monkeypatch):
    assert isinstance(settings.JupyterHub.ssl_cert, MagicMock)
    hubclass.own_certificate(tmp_path, "station.example")
    secure = run_settings(monkeypatch, WORD).JupyterHub
    assert [secure.ssl_cert, secure.ssl_key] == [str(tmp_path / "hub-certificate.pem"), str(tmp_path / "hub-key.pem")]
    assert "-----BEGIN CERTIFICATE-----" in (tmp_path / "hub-certificate.pem").read_text()


def test_the_page_tells_the_settings_as_they_are(settings):
    """What the page says one starts, writes, waits for and is limited to stands in the settings."""
    source = hubclass.SETTINGS.read_text("utf-8")
    assert f"CLASS_WORD={WORD} .venv/bin/jupyterhub -f lessons/teaching/{hubclass.SETTINGS.name}" in PAGE
    for told in ("hub-certificate.pem", "hub-key.pem", "for-learners", "shared-password", "simple"):
        assert told in PAGE and told in source, told
    (limit_gb,) = re.findall(r"more than (\d) GB", PAGE)
    assert f"ulimit -v {limit_gb}000000;" in settings.Spawner.cmd[2]
    assert "cull_idle_timeout=1800" in settings.Spawner.args[0] and "after half an hour" in PAGE


def test_the_page_says_what_a_name_may_be_as_the_settings_have_it(settings):
    """And an address with http, a number and a port, as one types it."""
    assert "small letters, digits and hyphens, 30 at most" in PAGE
    allowed = re.compile(settings.Authenticator.username_pattern)
    assert allowed.match("gull-7") and allowed.match("7" * 30) and not allowed.match("7" * 31)
    assert not allowed.match("Gull-7") and not allowed.match("gull_7") and not allowed.match("-gull")
    assert re.search(r"`http://192\.168\.\d+\.\d+:8000`", PAGE)


def test_the_page_makes_a_certificate_as_the_tests_do():
    (line,) = re.findall(r"^openssl .*$", PAGE, re.MULTILINE)
    assert shlex.split(line) == hubclass.certificate_command("station.example")


def test_what_thirty_need_follows_from_the_figures_that_stand_on_the_page():
    """Memory from a learner's share, waits from the heaviest cell's seconds; measured waits are no shorter."""
    found = re.search(r"Each learner took (\d+) MB.* hub and proxy (\d+) MB", PAGE)
    learner_mb, shared_mb = map(int, found.groups())
    computed_gb, measured_gb = map(float, re.search(r"computed ([\d.]+) GB, measured ([\d.]+) GB", PAGE).groups())
    assert computed_gb == pytest.approx((30 * learner_mb + shared_mb) / 1000, abs=0.05)
    assert measured_gb == pytest.approx(computed_gb, rel=0.1)
    cell_s = float(re.search(r"the heaviest cell took ([\d.]+) s", PAGE)[1])
    waits = re.search(r"waits (\d+) s with 2 cores, (\d+) s with 4 and (\d+) s with 8", PAGE).groups()
    assert [int(wait) for wait in waits] == [round(30 * cell_s / cores) for cores in (2, 4, 8)]
    rows = re.findall(r"^\| (\d+) \|.*\| ([\d.]+) s \| ([\d.]+) GB \|$", PAGE, re.MULTILINE)
    assert [row[0] for row in rows] == ["1", "2", "4", "8", "30"] and float(rows[-1][2]) == measured_gb
    assert float(rows[-1][1]) >= int(waits[0])


def test_the_line_that_collects_answers_gets_every_learner_s_and_follows_no_link(tmp_path, monkeypatch, capsys):
    """Two who gave the same code name are kept apart; marking then reads the folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "secret.json").write_text("a teacher's own")
    for name, code in (("gull-7", "gull 7"), ("tern-2", "gull 7"), ("tern-3", "tern 3"), ("idle-1", "")):
        home = tmp_path / "homes" / name / "lessons"
        home.mkdir(parents=True)
        if code:
            me = learner(code, folder=home / "answers")
            me.answer("4e", "a")
            me.hand_in(home / "hand-in")
    (tmp_path / "homes" / "tern-3" / "lessons" / "hand-in" / "link.json").symlink_to(tmp_path / "secret.json")
    said, folder = said_when_collecting(tmp_path), tmp_path / "handed-in"
    assert said == ("idle-1 has handed in nothing\n", "")
    assert sorted(path.name for path in folder.iterdir()) == ["gull-7", "tern-2", "tern-3"]
    assert (folder / "tern-3" / "link.json").is_symlink() and "homes/*" in collecting_line()
    assert main(["mark", str(folder), "-o", "marks.csv"]) == 1  # as one file could not be read
    told = capsys.readouterr().out
    assert "not counted: tern-3/link.json: a link is not followed" in told
    assert "tern-2/gull 7-caf41e.json counts" in told and "tern 3" in told


@pytest.fixture(scope="module")
def hub(tmp_path_factory):
    """A real hub, where there is one to start."""
    lacking = hubclass.missing()
    if lacking:
        pytest.skip(lacking)
    with hubclass.hub_running(tmp_path_factory.mktemp("hub")) as running:
        yield running


def test_a_learner_signs_in_to_a_real_hub_runs_the_first_cell_and_is_held_to_a_limit(hub):
    """The cell that asks for too much fails; the kernel goes on."""
    gull = Learner(hub, "gull-7")
    assert gull.sign_in() == 200
    gull.wait_for_server()
    cells = answered(gull.notebook(PLACES[1]), "gull 7")
    gull.open_kernel(PLACES[1])
    assert "gull 7" in gull.run(cells[0])
    with pytest.raises(RuntimeError, match="MemoryError"):
        gull.run("much = bytearray(10**10)")
    assert gull.run("print(me.message(4))").strip() == learner("gull 7").message(4)
    gull.leave()
    assert (hub.home("gull-7") / PLACES[1]).exists()


def test_a_real_hub_lets_nobody_in_under_a_name_that_leads_elsewhere(hub):
    assert [Learner(hub, name).sign_in() for name in ("../gull", "..", "gull 7")] == [403, 403, 403]
    assert {path.name for path in (hub.folder / "homes").iterdir()} <= {"gull-7"}
