"""A stick is packed once, and what is on it can be installed and used with no network; nothing is ever replaced."""

import json
import os
import re
import shutil
import stat
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from commandline_words import one_line
from pack_cases import NOWHERE, WORDS, run_apart, use

import kit
from kit import packing
from kit.errors import KitError, SettingError
from kit.packing import PARTS, needs, pack

pytest_plugins = ["commandline_fixtures"]

TOP = Path(kit.__file__).parents[1]
# Enough for the command line; the rest takes minutes, and is a benchmark: python -m tests.benchmarks --only pack
FEW = [each for each in needs() if re.match("numpy|soundfile", each)]


@pytest.fixture(scope="module")
def about(tmp_path_factory):
    """A small stick. Its wheels come from wherever pip is told to look; that they can be had is checked first."""
    folder = tmp_path_factory.mktemp("pack") / "a stick"
    try:
        return pack(folder, only=FEW)
    except KitError as error:
        if "CI" in os.environ:
            raise
        pytest.skip(f"no wheels within reach: {error}")


# -- installing -------------------------------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="a script for the shell")
def test_from_a_stick_the_kit_is_installed_and_used_with_no_network(about, tmp_path):
    """The network is cut off where the system lets us, pip is led nowhere; the installed kit writes and reads."""
    home = tmp_path / "a home"
    home.mkdir()
    done = run_apart("sh", about.folder / "install.sh", cwd=tmp_path, home=home)
    assert done.returncode == 0, done.stdout + done.stderr
    place = home / "cassette-kit"
    assert f"'{place}/kit-env/bin/python' -m jupyterlab '{place}/lessons'" in done.stdout
    words, where = use(place / "kit-env" / "bin" / "python", tmp_path, home)
    assert words == WORDS and place / "kit-env" in where.parents
    lessons = {path.name for path in (place / "lessons").iterdir()}
    assert lessons >= {path.name for path in TOP.glob("lessons/*.ipynb")}
    log = place / "lessons" / "mine.txt"
    log.write_text("kept")
    again = run_apart("sh", about.folder / "install.sh", cwd=tmp_path, home=home)
    assert again.returncode == 2 and "is there already" in again.stderr and log.read_text() == "kept"


@pytest.mark.skipif(os.name == "nt", reason="a script for the shell")
def test_an_installation_that_fails_says_what_to_do_and_does_not_claim_to_be_done(about, tmp_path):
    """A stand-in for Python makes an environment whose pip fails."""
    stand_in = tmp_path / "python-stand-in"
    stand_in.write_text('#!/bin/sh\ntest "$1" = -c && exit 0\nmkdir -p "$3/bin"\n'
                        'printf "#!/bin/sh\\nexit 3\\n" > "$3/bin/python"\nchmod +x "$3/bin/python"\n')  # fmt: skip
    stand_in.chmod(0o755)
    done = subprocess.run(["sh", about.folder / "install.sh", tmp_path / "place"], capture_output=True, text=True,
                          check=False, env=os.environ | {"PYTHON": str(stand_in)})  # fmt: skip
    assert done.returncode != 0 and "Installed" not in done.stdout
    assert f"not installed: remove {tmp_path / 'place'}" in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="a script for the shell")
def test_another_python_is_told_in_one_line_what_the_wheels_are_for(about, tmp_path):
    for name in ("python3", "python", f"python{about.python}"):
        (tmp_path / name).write_text("#!/bin/sh\nexit 1\n")
        (tmp_path / name).chmod(0o755)
    path = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(["sh", about.folder / "install.sh", tmp_path / "place"], env=os.environ | {"PATH": path},
                          capture_output=True, text=True, check=False)  # fmt: skip
    assert done.returncode == 2 and not (tmp_path / "place").exists()
    assert done.stderr.count("\n") == 1 and f"need Python {about.python} on" in done.stderr


# -- what is on it ----------------------------------------------------------------------------------------


def test_a_stick_has_its_parts_and_nothing_else(about):
    assert {path.name for path in about.folder.iterdir()} == set(PARTS)
    assert (about.folder / "install.sh").stat().st_mode & stat.S_IXUSR
    assert all(name.endswith(".whl") for name in about.wheels)
    for part in ("lessons", "media"):
        packed = {path.relative_to(about.folder) for path in (about.folder / part).rglob("*") if path.is_file()}
        mine = {path.relative_to(TOP) for path in (TOP / part).rglob("*") if path.is_file()}
        mine = {path for path in mine if not {"answers", "hand-in", "tapes", "__pycache__"} & set(path.parts)
                and not any(name.startswith(".") for name in path.parts)}  # fmt: skip
        assert packed == mine
        assert all((about.folder / path).read_bytes() == (TOP / path).read_bytes() for path in packed)


def test_the_readme_says_which_python_and_system_the_wheels_are_for(about):
    text = (about.folder / "README.md").read_text("utf-8")
    assert f"Python {sys.version_info[0]}.{sys.version_info[1]} on" in text and about.platform_in_words in text
    tags = {name[:-4].rsplit("-", 1)[1] for name in about.wheels}
    assert all(tag in text for each in tags for tag in each.split("."))
    assert f"{len(about.wheels)} packages" in text
    assert "(not tried)" in text and "volume down" in text


def test_the_kit_s_own_wheel_is_whole(about):
    (own,) = (about.folder / "wheels").glob("kit-*.whl")
    with zipfile.ZipFile(own) as archive:
        held = {name for name in archive.namelist() if name.startswith("kit/")}
    assert {f"kit/{path.relative_to(TOP / 'kit').as_posix()}" for path in (TOP / "kit").rglob("*.py")
            if "build" not in path.parts} <= held  # fmt: skip
    assert not any((TOP / "kit" / name).exists() for name in ("build",))


def test_all_that_the_kit_needs_is_asked_for_unless_less_is_wanted(tmp_path, monkeypatch):
    """What pip would be told, from the copy of kit/pyproject.toml that it is given."""
    asked = []

    def stand_in(arguments, told, **variables):
        source = Path(arguments[-1])
        if arguments[0] == "wheel":
            asked.append(packing.tomllib.loads((source / "pyproject.toml").read_text("utf-8"))["project"])
            (tmp_path / "stop").touch()
            raise KitError("enough")

    monkeypatch.setattr(packing, "_pip", stand_in)
    for only in (None, FEW):
        with pytest.raises(KitError, match="enough"):
            pack(tmp_path / "stick", only=only)
    assert asked[0]["dependencies"] == needs() and len(needs()) >= 8
    assert asked[1]["dependencies"] == FEW and asked[0]["version"] == asked[1]["version"]


def test_the_script_for_the_command_prompt_does_the_same_steps(about):
    """It cannot be run here; that it has the same packages, options and test of Python is what can be said."""
    raw = (about.folder / "install.bat").read_bytes()
    assert raw.count(b"\n") == raw.count(b"\r\n") > 20
    bat, sh = raw.decode(), (about.folder / "install.sh").read_text("utf-8").replace("\\\n  ", "")
    options = re.search(r"-m pip (.*--quiet kit)", sh).group(1).replace("$here/wheels", "")
    assert re.search(r"-m pip (.*--quiet kit)", bat).group(1).replace("%HERE%wheels", "") == options
    assert "--no-index" in options and "--isolated" in options
    fits = re.search(r"fits='(.*)'", sh).group(1)
    assert f'set "FITS={fits.replace(chr(34), chr(39))}"' in bat
    assert subprocess.run([sys.executable, "-c", fits], check=False).returncode == 0
    labels, jumps = set(re.findall(r"^:(\w+)", bat, re.MULTILINE)), set(re.findall(r"goto (\w+)", bat))
    assert labels == jumps == {"nopython", "there", "failed"}


def test_without_solutions_for_learners_and_from_wheels_of_another_stick(about, tmp_path, call):
    """No network is used: pip is led nowhere, and told that it may not look."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PIP_INDEX_URL", NOWHERE)
        small = pack(tmp_path / "stick", only=FEW, wheels=about.folder / "wheels", for_learners=True)
    assert small.wheels == about.wheels
    text = (small.folder / "lessons" / "04-put-bits-into-timing.ipynb").read_text("utf-8")
    assert "Your teacher has the solution." in text
    assert "without the solutions" in (small.folder / "README.md").read_text("utf-8")


# -- what is refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", [*PARTS, "Wheels", "readme.MD"])
def test_nothing_that_is_there_is_replaced(part, tmp_path, call):
    (tmp_path / "stick").mkdir()
    (tmp_path / "stick" / part).write_text("kept")
    status, out, err = call("pack", tmp_path / "stick")
    assert (status, out) == (2, "") and one_line(err) and "nothing is replaced" in err
    assert [(path.name, path.read_text()) for path in (tmp_path / "stick").iterdir()] == [(part, "kept")]


def test_where_no_wheels_are_within_reach_one_line_says_so_and_nothing_is_left(tmp_path, call, monkeypatch):
    """No network: here pip is led to a port that nobody listens at, with a configuration of nothing."""
    for name in ("http_proxy", "https_proxy", "HTTPS_PROXY"):
        monkeypatch.setenv(name, NOWHERE)
    for name in [name for name in os.environ if name.startswith("PIP_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_INDEX_URL", NOWHERE)
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.setattr(packing, "RETRIES", "0")
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "log.txt").write_text("calm")
    status, out, err = call("pack", tmp_path / "kept")
    assert (status, out) == (2, "") and one_line(err) and "connect to a network" in err
    assert [path.name for path in tmp_path.rglob("*")] == ["kept", "log.txt"]


def test_wheels_that_are_not_enough_are_noticed(about, tmp_path):
    """What pip finds from the folder alone decides, not what was hoped for."""
    (tmp_path / "wheels").mkdir()
    shutil.copy(next((about.folder / "wheels").glob("numpy-*")), tmp_path / "wheels")
    with pytest.raises(KitError, match="soundfile"):
        pack(tmp_path / "stick", only=FEW, wheels=tmp_path / "wheels")
    assert not (tmp_path / "stick").exists()


def test_a_kit_without_its_project_is_not_packed(tmp_path, monkeypatch):
    monkeypatch.setattr(packing, "KIT", tmp_path / "kit")
    with pytest.raises(SettingError, match="beside its lessons") as refused:
        pack(tmp_path / "stick")
    assert "\n" not in str(refused.value) and not (tmp_path / "stick").exists()


@pytest.mark.parametrize("part", ["kit", "lessons", "media", "lessons/deep/stick"])
def test_a_stick_within_what_is_packed_is_refused(part, call):
    """It would be packed into itself."""
    status, out, err = call("pack", TOP / part)
    assert (status, out) == (2, "") and one_line(err) and "must not lie in what is packed" in err
    assert not (TOP / "lessons" / "deep").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("pack",), "FOLDER"),
        (("pack", "log.txt"), "must be a folder"),
        (("pack", "log.txt/stick"), "must be a folder"),
        (("pack", "stick", "--wheels", "nowhere"), "folder of wheels"),
    ],
)
def test_a_wrong_call_is_one_line(words, said, tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("log.txt").write_text("calm")
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err) and said in err
    assert [path.name for path in tmp_path.iterdir()] == ["log.txt"]


def test_the_command_says_what_was_packed(about, tmp_path, call, monkeypatch):
    """Packed from the wheels of the small stick, by asking for as little again."""
    monkeypatch.setattr(packing, "_ask_for", lambda path, only: None)
    monkeypatch.setattr(packing, "pack", lambda folder, **settings: about)
    status, out, _ = call("pack", tmp_path / "stick", "--json")
    found = json.loads(out)
    assert status == 0 and found["wheels"] == list(about.wheels) and found["python"] == about.python
    status, out, _ = call("pack", tmp_path / "stick")
    assert status == 0 and "install.sh" in out and f"{len(about.wheels)} wheels" in out
