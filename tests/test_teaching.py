"""The teacher's pages: links, commands and tables hold, and learners get none of what is for teachers."""

import json
import re
import shlex
import shutil

import pytest
from teachingpages import TEACHING, TEXTS, TOP, tables, told

from kit import packing
from kit.__main__ import main, parser
from kit.demo.preflights import Preflight
from kit.demo.scenes import SCENES
from kit.exercises.builds import write_learner_copies


def anchor(heading):
    """What a heading is linked to by."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def commands():
    """The command lines of all pages, without what starts Python."""
    blocks = re.findall(r"^```bash\n(.*?)^```", "\n".join(TEXTS.values()), re.MULTILINE | re.DOTALL)
    return [line for block in blocks for line in block.splitlines()]


def subparsers():
    """The parser of each command, by its name."""
    return parser()._subparsers._group_actions[0].choices


def options_of(command):
    return {option for action in subparsers()[command]._actions for option in action.option_strings}


@pytest.mark.parametrize("name", TEXTS)
def test_links_lead_to_what_is_there(name):
    for mark, words, target in re.findall(r"(!?)\[([^\]]*)\]\(([^)\s]+)\)", TEXTS[name]):
        file, _, part = target.partition("#")
        path = (TEACHING / file).resolve() if file else TEACHING / name
        assert path.exists(), target
        assert not part or part in map(anchor, told(r"^#+ (.*)$", path.read_text("utf-8"))), target
        assert not mark or len(words) > 40


def test_the_first_page_leads_to_all_others_and_says_what_was_not_tried():
    for name in TEXTS:
        assert name == "README.md" or f"({name}" in TEXTS["README.md"], name
    for name in ("README.md", "equipment.md", "recording-form.md"):
        assert re.search(r"(not been tried|been tried) on (real )?hardware", TEXTS[name], re.IGNORECASE), name


def test_pictures_are_those_that_the_pages_show():
    shown = set(told(r"\(pictures/([\w.-]+)\)", "\n".join(TEXTS.values())))
    assert shown == {path.name for path in (TEACHING / "pictures").iterdir()} and len(shown) == 12


@pytest.mark.parametrize("line", commands())
def test_each_command_line_is_one_the_kit_understands(line):
    command, rest = re.match(r"\.venv/bin/python -m kit (\w+) ?(.*)", line).groups()
    assert parser().parse_args([command, *shlex.split(rest)]).run


def test_options_named_in_a_sentence_exist():
    names = set(re.findall(r"`[^`\n]*?(--[a-z-]+)[^`\n]*`", "\n".join(TEXTS.values())))
    known = set().union(*map(options_of, subparsers()))
    assert names <= known and {"--level-only", "--lessons"} <= names


def test_preflight_comes_out_as_its_page_says(tmp_path, monkeypatch, capsys):
    shutil.copy(TOP / "requirements.txt", tmp_path)
    monkeypatch.chdir(tmp_path)
    said = {}
    for line in told(r"^\.venv/bin/python -m kit (.*)$", TEXTS["preflight.md"]):
        if "preflight" in line:
            status = main(shlex.split(line))
            said[line.split()[0]] = capsys.readouterr().out
            assert status == (1 if line.startswith("diagnose") else 0), line
    (shown,) = re.findall(r"^```text\n(.*?)^```", TEXTS["preflight.md"], re.MULTILINE | re.DOTALL)
    assert re.sub(r"\d+ bytes", "", shown) == re.sub(r"\d+ bytes", "", said["decode"]) != said["decode"]
    assert len(said["encode"].splitlines()) == 5 and "prints five lines" in TEXTS["preflight.md"]
    first, second = said["diagnose"].splitlines()[:2]
    assert first.startswith("Hiss") and second.startswith("Do this first")
    assert (tmp_path / "quiet-preflight.wav").exists()


def test_the_demonstration_asks_and_says_what_its_page_tells():
    """Every scene, in order, with its question, with words of what it then says, and run by its cell."""
    rows = [row for table in tables(TEXTS["demonstrate.md"]) for row in table[1:]]
    cells = json.loads((TEACHING.parent / "demo.ipynb").read_text("utf-8"))["cells"]
    sources = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    for number, (row, (name, scene)) in enumerate(zip(rows, SCENES.items(), strict=True), 1):
        slide, (question, said) = scene(), (re.fullmatch(r"\*([^*]+)\*", cell)[1] for cell in row[1:3])
        assert row[0] == f"{number}, `demo.{name}()`" and f"demo.{name}()" in sources
        assert question == slide.question and said in slide.text, (said, slide.text)
    assert "demo.preflight()" in sources[0] and Preflight((), None).text.startswith("Everything is ready")


def test_hearing_safety_follows_the_three_decibel_rule():
    """NIOSH: 85 dBA for 8 h, 3 dB exchange; ITU-T H.870 (WHO and ITU): 80 dBA and 75 dBA for 40 h a week."""
    rows = tables(TEXTS["safety.md"])[0][1:]
    work = [(int(row[0].split()[0]), row[1].split()) for row in rows if row[2].startswith("NIOSH")]
    assert [level for level, _ in work] == [85, 88, 91, 94, 100]
    for level, (amount, unit, *_) in work:
        hours = int(amount) / (60 if unit == "minutes" else 1)
        assert hours == 8 / 2 ** ((level - 85) / 3)
    leisure = [(row[0], row[1]) for row in rows if "H.870" in row[2]]
    assert leisure == [("80 dBA", "40 hours a week, adults"), ("75 dBA", "40 hours a week, children")]


def test_curriculum_references_are_these_and_none_is_quoted_unchecked():
    rows = tables(TEXTS["curriculum.md"])[0][1:]
    standards = ["HS-PS4-2", "HS-PS4-5", "MS-PS4-3", "2-DA-07", "2-NI-04", "2-CS-03", "3A-DA-09", "3B-NI-03"]
    assert [row[0].split()[-1] for row in rows] == [*standards, "computing"]
    assert all(row[-1] == "check the official page" for row in rows)


def test_rubrics_have_four_levels_in_every_row():
    design, explain = tables(TEXTS["rubrics.md"])
    for table in (design, explain):
        assert [cell[:1] for cell in table[0]] == ["", "1", "2", "3", "4"]
        assert all(len(row) == 5 and all(row) and len(set(row)) == 5 for row in table[1:]) and len(table) > 4


def test_learners_get_neither_these_pages_nor_the_key_nor_the_demonstration(tmp_path):
    """In copies of the lessons and on sticks for learners; a stick for teachers has them, and the pictures."""
    write_learner_copies(TEACHING.parent, tmp_path / "copies")
    for name, for_learners in (("learners", True), ("teachers", False)):
        (tmp_path / name).mkdir()
        packing._copy_lessons(tmp_path / name, for_learners)
    for hidden in ("quiz-key.md", "demo.ipynb", "demo-4-loud.png", "demo-4-loud.flac"):
        has = {name for name in ("copies", "learners", "teachers") if any((tmp_path / name).rglob(hidden))}
        assert has == {"teachers"}, hidden
    for name in ("learners", "teachers"):
        kept = {path.name for part in ("lessons", "media") for path in (tmp_path / name / part).iterdir()}
        assert {"00-start-here.ipynb", "one-byte.png", "README.md"} <= kept, name


def test_pages_keep_a_sentence_to_a_line_and_no_names_of_people_or_machines():
    for name, text in TEXTS.items():
        written = re.sub(r"<!-- \w+: made.*?: end -->", "", text, flags=re.DOTALL)
        blocks = r"^```.*?^```|^\|[^\n]*$|^\d+\. |`[^`]*`"
        prose = re.sub(blocks, "", written, flags=re.MULTILINE | re.DOTALL)
        crowded = [line for line in prose.splitlines() if re.search(r"[a-z][.!?] [A-Z]", line)]
        assert not crowded, (name, crowded)
        typed = re.sub(r"http://(192\.168\.\d+\.\d+|localhost)?:8000(?=`)", "", text)  # nobody's: private addresses
        assert not re.search(r"/(home|work|tmp|Users)/|@|https?:", typed), name
        assert all(re.fullmatch(r"guest|[a-z]+ \d+", who) for who in re.findall(r'learner\("([^"]+)"', text))
