"""Lessons: stored clean, small, runnable from top to bottom and twice, true in each number they quote.

What only one lesson claims is asserted in its own file, `test_lesson04.py` for lesson 4, which must have
`numbers()`, which gives each number of its prose with whether it holds, `SEEN_LATER`, words that only a result
behind a prediction shows, `DEMONSTRATIONS`, for each prediction a function of a code name that says whether
the right answer was to be seen, and `INDEPENDENT`, for each function to write a right answer written another way.
"""

import itertools
import re
import statistics

import pytest
from lesson_laws import CODES, PATHS, claims_of, seen
from lessonpages import (
    MOST_SECONDS,
    html_of,
    number_of,
    numbers_in,
    predicted,
    prose,
    run,
    sources,
    stored,
    stored_clean,
    text_of,
    twice,
)

from kit.exercises import LESSONS as ITEMS
from kit.exercises.items import Choice
from kit.exercises.lessons import keys_of

MOST_LINES, MEDIAN_LINES = 15, 4
TENTH = range(0, CODES, 10)
# Verbs that say nothing one could see.
VAGUE = ("understand", "know", "learn", "appreciate", "be aware", "explore", "get to know")

lessons = pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)


def predictions_of(path):
    """Letters of the choices whose result a lesson reveals."""
    code = "\n".join(sources(stored(path), "code"))
    return sorted(set(re.findall(r'me\.reveal\(\s*"(\w+)"', code)))


PREDICTIONS = [(path, key) for path in PATHS for key in predictions_of(path)]


def test_there_are_lessons():
    assert {1, 4} <= {number_of(path) for path in PATHS}
    assert PREDICTIONS


@lessons
def test_a_lesson_is_valid_and_stored_without_results(path):
    assert stored_clean(path)


@lessons
def test_a_lesson_has_one_title_and_skips_no_level_of_heading(path):
    heads = re.findall(r"^(#+) (.*)", prose(stored(path)), re.MULTILINE)
    levels = [len(mark) for mark, _ in heads]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert heads[0][1] == ITEMS[number_of(path)].title


@lessons
def test_a_lesson_opens_and_closes_with_what_a_teacher_looks_for(path):
    text = prose(stored(path))
    wanted = ["will** ", "learn to**", "need**", "## Key points", "## In practice", "## Further reading",
              "## Next"]
    places = [text.find(each) for each in wanted]
    assert -1 not in places
    assert places == sorted(places)


@lessons
def test_a_lesson_has_two_to_four_objectives_one_can_see_and_their_minutes_add_up(path):
    objectives = re.findall(r"^- (.*) \((\d+) minutes\)", prose(stored(path)), re.MULTILINE)
    assert 2 <= len(objectives) <= 4
    assert sum(int(minutes) for _, minutes in objectives) in (45, 60, 90)
    assert not any(words.startswith(VAGUE) for words, _ in objectives)


@lessons
def test_code_cells_are_few_and_short_and_each_has_its_prose(path):
    notebook = stored(path)
    lines = [[line for line in source.splitlines() if line.strip()] for source in sources(notebook, "code")]
    assert 12 <= len(lines) <= 25
    assert statistics.median(map(len, lines)) <= MEDIAN_LINES
    assert max(map(len, lines)) <= MOST_LINES
    body = prose(notebook).split("\n## ", 1)[1].split("## Key points")[0]
    assert 10 <= len(body.split()) / sum(map(len, lines)) <= 20


@lessons
def test_a_lesson_plays_sound_only_through_the_one_player_and_brings_no_control_of_its_own(path):
    code = "\n".join(sources(stored(path), "code"))
    for way_round in ("Audio", "autoplay", "<audio", "sounddevice", "IPython", "ipywidgets", "pyplot"):
        assert way_round not in code


@lessons
def test_a_solution_is_tagged_and_folded_and_every_exercise_has_one_and_a_check(path):
    cells = stored(path).cells
    tags = [tag for cell in cells for tag in cell.metadata.get("tags", [])]
    assert tags.count("exercise") == tags.count("check") == tags.count("solution") >= 1
    for cell in cells:
        if "solution" in cell.metadata.get("tags", []):
            assert cell.metadata["jupyter"]["source_hidden"] is True


@lessons
def test_a_lesson_asks_each_of_its_questions_and_gives_no_answer_away(path):
    notebook, number = stored(path), number_of(path)
    for cell in notebook.cells:
        if "solution" in cell.metadata.get("tags", []):
            cell.source = ""
    code, words = "\n".join(sources(notebook, "code")), "\n".join(sources(notebook, "markdown"))
    asked = set(re.findall(r'me\.(?:predict|answer|check)\("(\w+)"', code))
    own = {key for key in keys_of(number) if not re.match(r"\d+r", key)}
    assert asked == own
    assert number == 1 or f"me.opening({number})" in code
    for key in own:
        item = ITEMS[number].items[key.lstrip("0123456789")]
        if isinstance(item, Choice):
            assert not re.search(rf'me\.(?:predict|answer)\("{key}", *"[a-dA-D]"', code + words)
            assert item.option(item.key).text not in code + words
        elif item.kind != "function":
            assert f'me.answer("{key}",' not in code
        else:
            assert f"{item.name}(" in code
    assert not re.search(r"[Aa]nswer \*{0,2}[A-Da-d]\b", words)


@lessons
def test_each_prediction_is_made_then_seen_then_said_then_explained(path):
    code = "\n".join(sources(stored(path), "code"))
    for key in predictions_of(path):
        places = [code.find(f'me.{verb}("{key}"') for verb in ("predict", "reveal", "saw", "explain")]
        assert -1 not in places
        assert places == sorted(places)


@lessons
def test_a_lesson_runs_to_the_end_offline_before_anything_was_predicted(path, tmp_path, monkeypatch):
    notebook = stored(path)
    assert run(notebook, tmp_path, monkeypatch) < MOST_SECONDS
    shown, number = text_of(notebook), number_of(path)
    assert shown.count("Predict first.") >= 3 * len(predictions_of(path))
    for letter, item in ITEMS[number].items.items():
        if f"{number}{letter}" in predictions_of(path):
            assert item.explanation not in shown
            assert not any(option.reply in shown for option in item.options)
    assert "Passed on" not in shown, "the stub passes"
    later = claims_of(number_of(path)).SEEN_LATER
    assert later and not any(words in shown for words in later)


@lessons
def test_every_cell_runs_twice_once_predicted_and_pictures_have_their_text(path, tmp_path, monkeypatch):
    notebook = twice(predicted(stored(path)))
    assert run(notebook, tmp_path, monkeypatch) < MOST_SECONDS
    shown, html = text_of(notebook), html_of(notebook)
    assert "Predict first." not in shown
    assert all(words in shown for words in claims_of(number_of(path)).SEEN_LATER)
    for key in predictions_of(path):
        item = ITEMS[number_of(path)].items[key.lstrip("0123456789")]
        assert item.explanation in shown and item.option("a").reply in shown
    images = re.findall(r"<img[^>]*>", html)
    assert len(images) >= 4
    assert all(re.search(r'alt="[^"]{40,}"', image) for image in images)
    assert html.count("<audio") >= 2
    assert "autoplay" not in html
    shows = [cell.get("outputs", []) for cell in notebook.cells[1:] if cell.cell_type == "code"]
    assert all(shows), "each cell ends in something seen or heard"
    entries = {entry.name for entry in (tmp_path / "page").iterdir()}
    assert {"answers", "hand-in"} <= entries <= {"answers", "hand-in", "league", "tapes"}
    assert len(list((tmp_path / "page" / "hand-in").iterdir())) == 1


@lessons
def test_a_lesson_quotes_no_number_that_is_not_asserted(path):
    held = claims_of(number_of(path)).numbers()
    assert all(held.values()), held
    assert numbers_in(prose(stored(path))) <= set(held)


@pytest.mark.parametrize(("path", "key"), PREDICTIONS, ids=[key for _, key in PREDICTIONS])
def test_what_is_to_be_seen_is_seen_on_every_seed_of_a_tenth(path, key):
    assert seen(number_of(path), key, TENTH) == len(TENTH)
