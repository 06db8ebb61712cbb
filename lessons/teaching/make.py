"""Make the parts of these pages that must not drift from the kit: ``python lessons/teaching/make.py``.

The concept quiz, its key and the list of wrong ideas are made of the lessons' own questions, and the failed loads of
recordings that fail.
What stands between two marks in a page is made here; all else in it is written by hand.
"""

import re
from functools import cache
from pathlib import Path

import numpy as np

import kit
from kit.exercises import LESSONS
from kit.exercises.items import NOT_BEGUN
from kit.views import COLUMNS, lengths_view, tape_view, wave_view

HERE = Path(__file__).parent
QUIZ = ("1a", "2a", "3a", "4a", "5a", "6b", "7a", "8b", "9a", "10a", "11a", "12a")  # predictions, one of a lesson
CAPTIONS = ("The outline", "The lengths of half-cycles", "The wave")
PRINT_DOTS_PER_INCH = 100
WORDS = b"Wind west 5, gulls 3, one boat in sight, rain at noon."


def put_into(path, name, text):
    """Put text between the two marks of a name in a page."""
    begin, end = f"<!-- {name}: made by make.py, begin -->\n", f"<!-- {name}: end -->"
    page = path.read_text(encoding="utf-8")
    before, rest = page.split(begin)
    _, after = rest.split(end)
    path.write_text(f"{before}{begin}\n{text}\n{end}{after}", encoding="utf-8", newline="\n")


def made(path, name):
    """What stands between the two marks of a name in a page."""
    page = path.read_text(encoding="utf-8")
    return re.search(rf"<!-- {name}: made by make.py, begin -->\n\n(.*?)\n<!-- {name}: end -->", page, re.DOTALL)[1]


def item_of(key):
    """The item of a key such as "12a"."""
    return LESSONS[int(key[:-1])].items[key[-1]]


def question_block(key, place):
    """A question of the quiz, as it stands on the sheet."""
    item = item_of(key)
    options = "\n".join(f"- {letter}) {option.text}" for letter, option in item.lettered)
    return f"### {place}. From lesson {key[:-1]}\n\n{item.question}\n\n{options}\n"


def quiz():
    """All questions of the quiz."""
    return "\n".join(question_block(key, place) for place, key in enumerate(QUIZ, 1))


def key_row(key, first):
    """A row of the key: the right letter, and the wrong idea behind each of the others."""
    item = item_of(key)
    ideas = "; ".join(f"{letter}: {each.misconception}" for letter, each in item.lettered if each.misconception)
    return f"| {first} | {key} | {item.key} | {ideas} |\n"


def key_table(first, rows):
    """A table of the key."""
    return f"| {first} | item | right | wrong ideas |\n|---|---|---|---|\n{''.join(rows)}"


def quiz_key():
    """The key of the quiz."""
    return key_table("question", [key_row(key, place) for place, key in enumerate(QUIZ, 1)])


def choices_of(number):
    """Keys of the choices of a lesson."""
    return [f"{number}{letter}" for letter, item in LESSONS[number].items.items() if item.kind == "choice"]


def choices_key():
    """The key of all choices of all lessons."""
    return key_table("lesson", [key_row(key, number) for number in sorted(LESSONS) for key in choices_of(number)])


def ideas_of(number):
    """What marking can report of a lesson: each wrong idea, where it shows, and what is so or where to look.

    Returns
    -------
    dict of str to (dict of str to str)
        Idea → where it is met → what to say.
    """
    ideas = {}
    items = LESSONS[number].items
    places = [(f"{number}{letter}", item) for letter, item in items.items()]
    for key, item in [*places, *(("opening", choice) for choice in LESSONS[number].recall)]:
        if item.kind == "choice":
            found = [(each.misconception, each.reply) for each in item.options if each.misconception]
        else:
            found = [(each.means, each.look) for each in item.mistakes if each.means != NOT_BEGUN]
        for idea, said in found:
            ideas.setdefault(idea, {})[key] = said
    return ideas


def ideas():
    """All wrong ideas of all lessons, a table for each lesson."""
    return "\n".join(map(ideas_table, sorted(LESSONS)))


def ideas_table(number):
    """The wrong ideas of a lesson, in the order of its questions."""
    rows = [f"| {idea} | {', '.join(said)} | {in_cell(next(iter(said.values())))} |\n"
            for idea, said in ideas_of(number).items()]
    return f"## Lesson {number}\n\n| wrong idea | met in | what to say |\n|---|---|---|\n{''.join(rows)}"


def in_cell(text):
    """Text as it stands in a table of Markdown."""
    return text.replace(" Try another answer.", "").replace("|", r"\|")


@cache
def failed_loads():
    """The loads: for each its heading, its recording, what a simple loader made of it, and where to look.

    Returns
    -------
    tuple of (str, Sound, Reading, float, float)
        The last two: from when on the lengths are drawn, and the wave, in seconds.
    """
    tape = kit.encode(WORDS, name="log.txt", lead_in_s=1.0)
    dirty = kit.Deck(replay_spacing_um=12, hiss_dbfs=-46).play(tape, seed=1)
    torn = tape.scratch(1.62, 0.08, 1)
    hissy = kit.Deck(hiss_dbfs=-8).play(tape, seed=1).scaled(0.4)
    fast = kit.Deck(replay_speed_percent=45).play(tape, seed=1)
    return (
        ("Load 0: the example", dirty, kit.decode(dirty, quick=True), 1.5, 1.53),
        ("Load 1", torn, kit.decode(torn, quick=True), 1.5, 1.615),
        ("Load 2", hissy, kit.decode(hissy, quick=True), 1.5, 1.53),
        ("Load 3", fast, kit.decode(fast, counter=kit.Counter(), format="house"), 1.03, 1.058),
    )


def plots_of(sound, reading, lengths_s, wave_s):
    """The three plots of a load, each with its words: those of the view, and how high the wave is where."""
    outline = tape_view(sound, reading)
    yield outline.figure, f"{outline.text}\n{outline_in_words(sound)}"
    lengths = lengths_view(sound, lengths_s, lengths_s + 0.22)
    yield lengths.figure, lengths.text
    wave, tops = wave_view(sound, wave_s, wave_s + 0.016), highest(sound, wave_s, wave_s + 0.016, 0.001)
    yield wave.figure, f"{wave.text}\nHighest level in each millisecond: {' '.join(f'{top:.2f}' for top in tops)}."


def highest(sound, start_s, stop_s, step_s):
    """The highest level in each step of a stretch, whichever its sign."""
    levels = np.abs(sound.samples[round(start_s * sound.rate) : round(stop_s * sound.rate)])
    return [part.max() for part in np.array_split(levels, round((stop_s - start_s) / step_s))]


def outline_in_words(sound):
    """The upper line of the outline, as it is drawn: from where to where it goes in each tenth of a second."""
    step = -(-sound.frames // COLUMNS)
    tops = [sound.samples[k : k + step].max() for k in range(0, sound.frames, step)]
    tenth = round(0.1 * sound.rate / step)
    parts = (tops[k : k + tenth] for k in range(0, len(tops), tenth))
    ranges = (f"{min(part):.2f} to {max(part):.2f}" for part in parts)
    return f"The upper line in each tenth of a second: {', '.join(ranges)}."


def loads(folder=None):
    """The failed loads as they stand on their page; their pictures are written into a folder, if one is given."""
    lines = []
    for number, (heading, sound, reading, *where_s) in enumerate(failed_loads()):
        lines += [f"## {heading}\n", "What the loader said:\n", f"```text\n{reading}\n```\n"]
        plots = zip(CAPTIONS, plots_of(sound, reading, *where_s), strict=True)
        for part, (caption, (figure, text)) in enumerate(plots, 1):
            name = f"load-{number}-{part}.png"
            if folder is not None:
                figure.savefig(folder / name, dpi=PRINT_DOTS_PER_INCH)
            lines += [f"![{caption} of load {number}; the words below tell what it shows.](pictures/{name})\n"]
            lines += [f"{caption}, in words:\n", f"```text\n{text}\n```\n"]
    return "\n".join(lines)


def main():
    """Fill the pages, and draw the pictures."""
    (HERE / "pictures").mkdir(exist_ok=True)
    put_into(HERE / "quiz.md", "quiz", quiz())
    put_into(HERE / "quiz-key.md", "quiz", quiz_key())
    put_into(HERE / "quiz-key.md", "choices", choices_key())
    put_into(HERE / "ideas.md", "ideas", ideas())
    put_into(HERE / "failed-load-plots.md", "loads", loads(HERE / "pictures"))


if __name__ == "__main__":
    main()
