"""The teacher's pages: links, commands, minutes and questions hold, and what is made from the kit has not drifted."""

import importlib.util
import json
import re
import shlex
import shutil
from pathlib import Path

import pytest

import kit
from kit import packing
from kit.__main__ import main, parser
from kit.demo.preflights import Preflight
from kit.demo.scenes import SCENES
from kit.doctor.catalogue import CAUSES
from kit.exercises import LESSONS
from kit.exercises.builds import write_learner_copies
from kit.views import tape_view

AGAIN = "run python lessons/teaching/make.py"
TOP = Path(__file__).parents[1]
TEACHING = TOP / "lessons" / "teaching"
PAGES = sorted(TEACHING.glob("*.md"))
TEXTS = {path.name: path.read_text("utf-8") for path in PAGES}
PLANS = dict(re.findall(r"^### \[Lesson (\d+)\][^\n]*\n(.*?)(?=^##|\Z)", TEXTS["plans.md"], re.MULTILINE | re.DOTALL))
NOTES = dict(re.findall(r"^## Lesson (\d+)\n(.*?)(?=^## |\Z)", TEXTS["notes.md"], re.MULTILINE | re.DOTALL))
NUMBERS = range(1, 14)

_spec = importlib.util.spec_from_file_location("teaching_make", TEACHING / "make.py")
make = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(make)


def page_of(number):
    """The notebook of a lesson."""
    (path,) = TEACHING.parent.glob(f"{number:02d}-*.ipynb")
    return path


def tables(text):
    """Tables of a page: lists of rows, the first is the head."""
    found = re.findall(r"(?:^\|.*\|\n)+", text, re.MULTILINE)
    rows = ([[cell.strip() for cell in line.split("|")[1:-1]] for line in each.splitlines()] for each in found)
    return [[row for row in each if not set("".join(row)) <= set("-")] for each in rows]


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


def told(pattern, text):
    """The first group of each line a pattern finds."""
    return re.findall(pattern, text, re.MULTILINE)


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


def test_minutes_follow_each_other_and_add_up():
    pages = ("plans.md", "one-off.md")
    timed = [(name, table) for name in pages for table in tables(TEXTS[name]) if table[0][0] == "from"]
    assert len(timed) == 3 + 3
    ends = []
    for name, (_, *rows) in timed:
        starts, stops, minutes = zip(*([int(cell) for cell in row[:3]] for row in rows), strict=True)
        assert list(starts) == [0, *stops[:-1]], name
        assert [stop - start for start, stop in zip(starts, stops, strict=True)] == list(minutes)
        ends.append(stops[-1])
    assert ends == [45, 60, 90, 45, 45, 45]
    assert [int(each) for each in told(r"^## Pattern for (\d+) minutes", TEXTS["plans.md"])] == ends[:3]


@pytest.mark.parametrize("number", NUMBERS)
def test_the_minutes_of_a_lesson_add_up_to_those_of_the_class(number):
    (head, *rows, last) = tables(PLANS[str(number)])[0]
    lengths = [int(re.match(r"\d+", each)[0]) for each in head[2:]]
    assert lengths == ([45, 60, 90] if number < 12 else [45, 45, 60, 90])
    for column, length in enumerate(lengths, 2):
        assert sum(int(row[column]) for row in rows if row[column] != "–") == length
        assert last[column] == f"**{length}**"


@pytest.mark.parametrize("number", NUMBERS)
def test_a_plan_has_the_parts_of_its_lesson_in_their_order_with_what_they_ask(number):
    cells = json.loads(page_of(number).read_text("utf-8"))["cells"]
    parts = {}
    for cell in cells:
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            for heading in told(r"^## (.*)$", source):
                parts[heading] = []
        elif parts:
            parts[next(reversed(parts))] += re.findall(r'me\.(?:predict|answer|check|opening)\("?(\w+)', source)
    planned = {row[0]: re.findall(r'\("?(\w+)"?[,)]', row[1]) for row in tables(PLANS[str(number)])[0][1:-1]}
    of_lesson = {name: asked for name, asked in planned.items() if not name.startswith("*")}
    expected = list(parts)[: list(parts).index("What you can now do") + 1]
    assert list(of_lesson) == expected
    assert of_lesson == {name: list(dict.fromkeys(parts[name])) for name in expected}
    title = told(r"^# (.*)$", "".join(cells[0]["source"]))[0]
    assert f"*{title}*" in PLANS[str(number)] and page_of(number).name in TEXTS["plans.md"]


@pytest.mark.parametrize("place", range(1, len(make.QUIZ) + 1))
def test_a_question_of_the_quiz_is_the_lessons_own_word_for_word(place):
    key = make.QUIZ[place - 1]
    blocks = re.split(r"(?m)^(?=### )", make.made(TEACHING / "quiz.md", "quiz"))[1:]
    assert blocks[place - 1].rstrip() == make.question_block(key, place).rstrip(), AGAIN
    assert len(blocks) == len(make.QUIZ)
    assert make.key_row(key, place) in make.made(TEACHING / "quiz-key.md", "quiz")


@pytest.mark.parametrize("number", NUMBERS)
def test_the_key_has_every_choice_of_a_lesson(number):
    page = make.made(TEACHING / "quiz-key.md", "choices")
    rows = [line for line in page.splitlines(keepends=True) if line.startswith(f"| {number} |")]
    assert rows == [make.key_row(key, number) for key in make.choices_of(number)] and rows, AGAIN


def test_no_answer_stands_on_the_sheet_of_the_quiz():
    assert "right" not in [cell for table in tables(TEXTS["quiz.md"]) for cell in table[0]]
    for number in NUMBERS:
        for item in LESSONS[number].items.values():
            ideas = {option.misconception for option in getattr(item, "options", ())} - {""}
            assert not [idea for idea in ideas if len(idea) > 20 and idea in TEXTS["quiz.md"]]


def test_the_demonstration_asks_and_says_what_its_page_tells():
    """Every scene, in order, with its question, with words of what it then says, and run by its cell."""
    rows = [row for table in tables(TEXTS["demonstrate.md"]) for row in table[1:]]
    cells = json.loads((TEACHING.parent / "demo.ipynb").read_text("utf-8"))["cells"]
    sources = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    for number, (row, (name, told)) in enumerate(zip(rows, SCENES.items(), strict=True), 1):
        slide, (question, said) = told(), (re.fullmatch(r"\*([^*]+)\*", cell)[1] for cell in row[1:3])
        assert row[0] == f"{number}, `demo.{name}()`" and f"demo.{name}()" in sources
        assert question == slide.question and said in slide.text, (said, slide.text)
    assert "demo.preflight()" in sources[0] and Preflight((), None).text.startswith("Everything is ready")


@pytest.mark.parametrize("number", NUMBERS)
def test_wrong_ideas_in_the_notes_are_those_of_the_lesson(number):
    ideas = [row[0] for row in tables(NOTES[str(number)])[0][1:]]
    assert len(set(ideas)) == len(ideas) >= 5
    items = LESSONS[number].items.values()
    known = {option.misconception for item in items for option in getattr(item, "options", ())}
    known |= {mistake.means for item in items for mistake in getattr(item, "mistakes", ())}
    assert set(ideas) <= known, set(ideas) - known


def test_the_failed_loads_fail_as_their_page_and_key_say():
    """Compared without figures: the last digit may differ between versions of a library."""
    now, stored = make.loads(), make.made(TEACHING / "failed-load-plots.md", "loads")
    assert re.sub(r"[\d.]+", "", now) == re.sub(r"[\d.]+", "", stored), AGAIN
    rows = tables(TEXTS["quiz-key.md"])[-1][1:]
    for row, (_, sound, reading, *_) in zip(rows, make.failed_loads(), strict=True):
        assert not any(file.complete for file in reading.files)
        named = row[1].split(":")[0]
        assert CAUSES[kit.diagnose(sound).findings[0].key].name == named


def test_the_outlines_in_words_go_as_low_and_as_high_as_the_pictures():
    """Against the line that was drawn; in the torn load it sinks to about half, as page and key say."""
    page = make.made(TEACHING / "failed-load-plots.md", "loads")
    stored = re.findall(r"^The upper line in each tenth of a second: (.*)\.$", page, re.MULTILINE)
    for words, (_, sound, reading, *_) in zip(stored, make.failed_loads(), strict=True):
        drawn = tape_view(sound, reading).figure.axes[1].get_lines()[0].get_ydata()
        told = [float(each) for each in re.findall(r"\d\.\d\d", words)]
        assert (min(told), max(told)) == pytest.approx((drawn.min(), drawn.max()), abs=0.01)
        assert len(told) == 2 * -(-len(drawn) // round(len(drawn) / (10 * sound.seconds)))
    torn = [float(each) for each in re.findall(r"\d\.\d\d", stored[1])]
    assert sorted(torn)[:2] == [pytest.approx(0.25, abs=0.03), 0.5]


def test_no_length_in_words_is_nothing():
    assert not re.search(r"\b0\.00\b", make.made(TEACHING / "failed-load-plots.md", "loads"))


def test_all_but_the_torn_load_are_read_with_effort_as_the_key_says():
    verdicts = [kit.decode(sound).files[0].complete for _, sound, *_ in make.failed_loads()]
    assert verdicts == [True, False, True, True]
    assert "reads 0, 2 and 3 whole" in TEXTS["quiz-key.md"]


def test_causes_are_called_as_the_doctor_calls_them():
    names = {cause.name for cause in CAUSES.values()}
    likely = [row[3] for row in tables(TEXTS["failed-loads.md"])[0][1:]]
    assert len(likely) >= 10 and set(likely) <= names, set(likely) - names


def test_the_lengths_of_half_cycles_are_those_of_the_kits_own_format():
    unit_s = 1 / 2400
    for text in (TEXTS["failed-loads.md"], TEXTS["failed-load-plots.md"]):
        for units in (4, 3, 2, 1):
            assert f"{500 * units * unit_s:.2f} ms" in text


def test_both_speeds_that_load_3_may_have_are_worked_out_from_its_leader():
    """500 ms over the frequency of a leader of 600 Hz at ordinary speed; twice as fast at double speed."""
    *_, (_, sound, _, lengths_s, _) = make.failed_loads()
    told = make.lengths_view(sound, lengths_s, lengths_s + 0.22).text
    leader_ms = float(re.search(r"of about (0\.5\d) ms", told)[1])
    fast, slow = 500 / 600 / leader_ms - 1, 1 - 500 / 1200 / leader_ms
    assert (fast, slow) == pytest.approx((0.45, 0.275), abs=0.015)
    for text in (TEXTS["failed-loads.md"], TEXTS["quiz-key.md"]):
        assert re.search(r"45 % too fast.*27\.5 % too slow", text)
    assert f"A leader at {leader_ms:.2f} ms" in TEXTS["failed-loads.md"]
    assert "at ordinary speed" in TEXTS["failed-load-plots.md"]


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
        assert not re.search(r"/(home|work|tmp|Users)/|@|https?:", text), name
        assert all(re.fullmatch(r"guest|[a-z]+ \d+", who) for who in re.findall(r'learner\("([^"]+)"', text))
