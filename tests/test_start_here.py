"""The page to start with: it tries whether all works, says what to take care of, and leads to every lesson."""

import itertools
import re

import pytest
from lessonpages import (
    LESSONS,
    MOST_SECONDS,
    html_of,
    number_of,
    prose,
    run,
    sources,
    stored,
    stored_clean,
    text_of,
    twice,
)

from kit.exercises import LESSONS as ITEMS

PAGE = LESSONS / "00-start-here.ipynb"
README = LESSONS.parent / "README.md"
QUICK, UNREADABLE, FULL = (1, 4, 6, 10, 11), (10, 9, 5), tuple(range(1, 14))
PARTS = ["Is everything there?", "There and back", "Do controls reach Python?", "Sound check", "The lessons",
         "Choose your way", "Take care", "When a cell does not do what it should", "Next"]
CAUTIONS = ["all the way down", "headphones off", "one loudspeaker", "Never join a loudspeaker", "mains equipment",
            "qualified person", "flicker", "owner's permission", "code name", "ask first", "children", "hub",
            "local rules", "only when you press"]


def links_of(text):
    """Targets of all links, in order."""
    return re.findall(r"\]\(([^)]+)\)", text)


def lessons_in(text):
    """Numbers of the lessons a text links to, in order."""
    return tuple(int(target[:2]) for target in re.findall(r"\]\((?:lessons/)?(\d\d-[^)]+)\)", text))


def part(text, head):
    """What stands below a heading."""
    return text.split(f"## {head}\n", 1)[1].split("\n## ", 1)[0]


def words():
    return "\n".join(sources(stored(PAGE), "markdown"))


def minutes_of(path):
    """What the objectives of a lesson add up to."""
    return sum(map(int, re.findall(r"^- .* \((\d+) minutes\)", prose(stored(path)), re.MULTILINE)))


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """Run offline with every cell doubled; the notebook, its seconds, and the folder it ran in."""
    folder, notebook = tmp_path_factory.mktemp("start"), twice(stored(PAGE))
    with pytest.MonkeyPatch.context() as patch:
        return notebook, run(notebook, folder, patch), folder / "page"


def test_the_page_is_valid_and_stored_without_results():
    assert stored_clean(PAGE)


def test_its_title_says_what_one_does_and_its_parts_come_in_order():
    heads = re.findall(r"^(#+) (.*)$", prose(stored(PAGE)), re.MULTILINE)
    assert heads[0] == ("#", "See that everything works, and choose your way")
    levels = [len(mark) for mark, _ in heads]
    assert levels.count(1) == 1 and all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert [head for mark, head in heads if mark == "##"] == PARTS


def test_it_runs_offline_each_cell_twice_and_leaves_nothing_behind(ran):
    _, seconds, folder = ran
    assert seconds < MOST_SECONDS and list(folder.iterdir()) == []


def test_what_it_tries_works(ran):
    shown = text_of(ran[0])
    assert shown.count("All of these are as they should be.") == 2
    assert shown.count("Sent and received are the same.") == 2
    assert shown.count("Type a word into the field") == 2 and "still crosses zero" in shown
    kinds = {kind for cell in ran[0].cells for out in cell.get("outputs", []) for kind in out.get("data", {})}
    assert "application/vnd.jupyter.widget-view+json" in kinds


def test_each_cell_ends_in_something_seen_or_heard_and_the_picture_has_its_text(ran):
    notebook = ran[0]
    assert all(cell.get("outputs", []) for cell in notebook.cells[1:] if cell.cell_type == "code")
    images = re.findall(r"<img[^>]*>", html_of(notebook))
    assert images and all(re.search(r'alt="[^"]{40,}"', image) for image in images)
    assert html_of(notebook).count("<audio") == 2 and "autoplay" not in html_of(notebook)


def test_the_sound_check_goes_through_the_one_player_and_its_cautions_stand_before_it():
    notebook = stored(PAGE)
    code = "\n".join(sources(notebook, "code"))
    assert "from kit.player import play" in code and not re.search("Audio|autoplay|peak=", code)
    place = next(k for k, cell in enumerate(notebook.cells) if "play(" in cell.source and cell.cell_type == "code")
    assert "all the way down" in notebook.cells[place - 1].source


def test_no_lesson_plays_louder_than_the_sound_check():
    """The page says so: every player takes the usual level, which is what `play` does when nothing else is said."""
    for path in LESSONS.glob("*.ipynb"):
        assert not re.search(r"play\([^\n]*peak", "\n".join(sources(stored(path), "code"))), path.name


def test_it_says_what_to_take_care_of_and_how_to_find_the_volume():
    text = prose(stored(PAGE))
    assert [each for each in CAUTIONS if each not in text] == []
    assert "How to find the volume" in text and "step by step" in text


def test_the_figures_it_quotes_are_the_published_ones():
    """ITU-T H.870 (with the World Health Organization): 80 dBA for adults, 75 dBA for children, 40 hours a week."""
    sound = part(prose(stored(PAGE)), "Sound check")
    assert "ITU-T H.870" in sound
    assert re.findall(r"\d+", sound.split("H.870")[1])[:3] == ["80", "75", "40"]


def test_the_map_names_each_lesson_once_in_order_with_its_title():
    rows = re.findall(r"^\| \[(\d+)\]\((\d\d)-[^)]*\) \| \d+ \| (.*) \|$", words(), re.MULTILINE)
    found = [(int(number), int(file), told) for number, file, told in rows]
    assert [number for number, *_ in found] == list(FULL) == [file for _, file, _ in found]
    for number, _, told in found:
        if number in ITEMS:  # a lesson's own title, which may say less
            assert told.lower().startswith(ITEMS[number].title.lower()), number


def test_the_minutes_of_the_map_are_those_of_the_lessons():
    rows = re.findall(r"^\| \[(\d+)\]\([^)]*\) \| (\d+) \|", words(), re.MULTILINE)
    told = {int(number): int(minutes) for number, minutes in rows}
    wrong = {path.stem: minutes_of(path) for path in LESSONS.glob("[0-9]*.ipynb")
             if number_of(path) and minutes_of(path) != told[number_of(path)]}
    assert not wrong, f"the map says otherwise: {wrong}"
    assert f"about {sum(told.values()) / 60:.0f} hours" in README.read_text("utf-8")
    assert sum(told[number] for number in QUICK) < 5 * 60  # "an afternoon"


def test_the_ways_through_the_lessons_are_there_on_the_page_and_in_the_readme():
    ways = part(words(), "Choose your way").strip().split("\n\n")
    told = {way.split("**")[1]: lessons_in(way) for way in ways if way.startswith("**")}
    assert told["The quick path"] == QUICK
    assert told["My tape won't load"] == UNREADABLE
    assert told["The full path"] == (1, 13)
    assert "workbench.ipynb" in next(way for way in ways if "won't load" in way)
    readme = README.read_text("utf-8")
    rows = {row.split("|")[1].strip(): lessons_in(row) for row in readme.splitlines() if row.startswith("| ")}
    assert rows["one session"] == (1,) and rows["quick path"] == QUICK
    assert rows["full path"] == FULL and rows["my tape won't load"] == UNREADABLE


@pytest.mark.parametrize("name", ["00-start-here.ipynb", "README.md"])
def test_it_links_to_every_lesson_the_workbench_and_the_glossary_by_names_that_are_there(name):
    text = words() if name[0] == "0" else README.read_text("utf-8")
    folder = LESSONS if name[0] == "0" else README.parent
    targets = {target for target in links_of(text) if not target.startswith("http")}
    missing = sorted(target for target in targets if not (folder / target).is_file())
    assert not missing, f"{name} links to pages that are not in this checkout: {', '.join(missing)}"
    assert set(FULL) <= set(lessons_in(text))
    assert {"workbench.ipynb", "glossary.md"} <= {target.rsplit("/", 1)[-1] for target in targets}


def test_every_lesson_links_onward_to_pages_that_are_there():
    """From page to page, so that nobody ends nowhere; from the last lesson back to the start."""
    missing = {}
    for path in LESSONS.glob("*.ipynb"):
        targets = links_of("\n".join(sources(stored(path), "markdown")))
        missing[path.name] = [each for each in targets if not (LESSONS / each).is_file() and "//" not in each]
    missing = {name: targets for name, targets in missing.items() if targets}
    assert not missing, f"links to pages that are not in this checkout: {missing}"
    assert "00-start-here.ipynb" in links_of("\n".join(sources(stored(LESSONS / "13-design-your-own-loader.ipynb"),
                                                               "markdown")))
