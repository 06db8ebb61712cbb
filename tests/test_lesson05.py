"""Lesson 5: what it claims, and that a learner's own function finds the start of real bits."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.leadertape import FORMAT, START_SPEED, speed_at
from kit.bench.quickreading import read_at_once
from kit.deck import Deck
from kit.exercises import LESSONS, learner
from kit.exercises.lesson05start import FIND_START, NEAR_START, SYNCS
from kit.leader import LOCK_CYCLES
from kit.timecode import TimecodeFrame
from kit.views import lengths_view

PAGE = page_of(5)
SEEN_LATER = ["The first block, a header, is lost", "for 6 blocks read: the check tells which is true"]
SOLVED = """
def solved_by_test(bits, sync):
    found = "".join(map(str, bits)).find("".join(map(str, sync)))
    return found + len(sync) if found >= 0 else -1
"""


def found_in_text(bits, sync):
    """An answer written another way than the reference: as a search in text."""
    found = "".join(map(str, bits)).find("".join(map(str, sync)))
    return found + len(sync) if found >= 0 else -1


def found_by_correlation(bits, sync):
    """The same, by correlation: of n bits that are 1 or -1, n - 2 or more add up."""
    agree = np.correlate(2 * np.array(bits) - 1, 2 * np.array(sync) - 1, "valid")
    places = np.flatnonzero(agree >= len(sync) - 2)
    return int(places[0]) + len(sync) if len(places) else -1


INDEPENDENT = {"find_start": found_in_text, "near_start": found_by_correlation}


def bench(code="gull 7", **settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("leader", words=learner(code).message(5), **settings).result


def read(result):
    """For each block written, whether it was read."""
    return [block[3] for block in result.tape.blocks]


def format_of(leader_s, sync_cycles=3):
    """The format the bench writes."""
    return FORMAT.changed(lead_in_s=leader_s, leader=replace(FORMAT.leader, sync_cycles=sync_cycles))


def numbers():
    usual, agreed = bench(), kit.FORMATS["kansas"]
    halves_s = agreed.block_half_cycles(b"W5", 5.0)
    rng = np.random.default_rng(5)
    times = [f"{rng.integers(24):02d}:{rng.integers(60):02d}:{rng.integers(60):02d}:{rng.integers(25):02d}"
             for _ in range(200)]
    frames = [TimecodeFrame.of(time).pack().tolist() for time in times]
    word = [int(bit) for bit in "0011111111111101"]
    small = ([int(bit) for bit in "11101001"], [0, 1, 0])
    return {
        "0": FIND_START.right([0, 1, 1], [0]) == 1,
        "1": FIND_START.right([1, 1], [0]) == -1,
        "2": dict(usual.figures)["first block"] == "lost" and not any(
            read(bench(dirt_um=dirt))[0] for dirt in (2.0, 2.5)),
        "0.05": usual.tape.blocks[0][1] < 0.05,
        "16": FORMAT.block_bytes == 16 == len(word),
        "11101001": FIND_START.right(*small) == 6,
        "010": FIND_START.right(*small) == 6,
        "3": small[0][3:6] == small[1],
        "6": FIND_START.right(*small) == 6,
        # M. and V. Peschke, "BYTE's Audio Cassette Standards Symposium", BYTE, February 1976, pp. 72-73: at least 5 s
        # of marks, the first block no sooner than 30 s after the start of the clear leader; a mark is 2400 Hz.
        "1976": agreed.leader_s == 5.0,
        "30": agreed.leader_s < 30,
        "2400": (halves_s > 0.0003).argmax() / 2 == pytest.approx(5 * 2400, abs=1),
        # SMPTE 12M / IEC 60461, seen in secondary copies: bits 64 to 79 of 80 are the sync word.
        "80": all(len(frame) == 80 and found_in_text(frame, word) == 80 for frame in frames),
        "0011111111111101": all(frame[64:] == word for frame in frames),
        "256": sum(NEAR_START.right([int(b) for b in f"{number:08b}"], SYNCS[0]) == 8 for number in range(256)) == 9,
    }


def a_leader_too_short_loses_the_first_block_alone(code):
    """The first is lost and every other is read; the words are kept, for the header comes once more."""
    words = learner(code).message(5).encode()
    result = bench(code)
    reading = read_at_once(result.tape.sound, format_of(0.05))
    alone = read(result) == [False] + [True] * (len(result.tape.blocks) - 1)
    longer = all(read(bench(code, leader_s=leader_s))[0] for leader_s in (0.5, 1.0))
    return alone and longer and reading.files[0].data == words and reading.files[0].complete


def forged_marks_lead_to_no_block_that_was_not_written(code):
    """More places than blocks, all blocks read; nor is one made up where the true start is cut away."""
    result = bench(code, leader_s=1.0, sync_cycles=2)
    sound, blocks = result.tape.sound, result.tape.blocks
    cut = [read_at_once(sound.part(block[1] + 0.02, sound.seconds), format_of(1.0, 2)).blocks for block in blocks[:2]]
    whole = [sum(block.whole for block in found) for found in cut]
    longer = [len(bench(code, leader_s=1.0, sync_cycles=cycles).tape.starts_s) for cycles in (3, 8)]
    more = len(result.tape.starts_s) > len(blocks)
    return more and all(read(result)) and whole == [len(blocks) - 1, len(blocks) - 2] and longer == 2 * [len(blocks)]


DEMONSTRATIONS = {
    "5a": a_leader_too_short_loses_the_first_block_alone,
    "5c": forged_marks_lead_to_no_block_that_was_not_written,
}


@pytest.mark.parametrize("code", [f"code {k}" for k in range(0, 100, 10)])
def test_each_thing_that_lesson_5_lets_one_change_does_what_is_said_of_it(code):
    first = {name: read(bench(code, **{name: value}))[0] for name, value in (
        ("sync_cycles", 8), ("level_control", False), ("hiss_db", -60), ("motor_s", 0.0), ("dirt_um", 0.0),
        ("where", "playing"))}
    assert not any(first[name] for name in ("sync_cycles", "level_control", "hiss_db"))
    assert all(first[name] for name in ("motor_s", "dirt_um", "where"))


def test_figures_in_the_explanations_of_lesson_5_are_those_of_the_bench():
    figures, text = dict(bench().figures), bench().text
    assert figures["speed when the first block begins"] == "19 %" and "a zero is 3.8 µm long" in text
    assert Deck().tape_speed_mm_s / 2.4 == pytest.approx(19.8, abs=0.05)  # a cycle of 2400 Hz, in micrometres
    assert START_SPEED < speed_at(0.5, 0.5) == pytest.approx(2 / 3, abs=0.01)
    spacing_db = 54.6 * 2.0 / np.array([3.8, 19.8])  # Wallace 1951: what 2 µm of dirt take of such waves
    assert spacing_db[0] > 25 and spacing_db[1] < 6


def test_the_level_begins_much_too_loud_as_lesson_5_says():
    level = bench().tape.level
    assert level[:20].max() > 1.5 * np.median(level)
    even = bench(level_control=False).tape.level
    assert even[20:].max() < 1.2 * np.median(even)


def test_leader_before_each_block_and_the_loader_s_lock_are_as_lesson_5_says():
    starts = [block[1:3] for block in bench(motor_s=0.0).tape.blocks]
    gaps = [start - stop for (_, stop), (start, _) in pairwise(starts)]
    assert gaps == pytest.approx(len(gaps) * [0.25], abs=0.03)
    assert LOCK_CYCLES == 4
    house = kit.FORMATS["house"]
    cells = len(house.code.encode(house.block_bits(b"\x02wind west 5")))
    for spoilt in range(3):  # two sync cycles of three suffice
        halves = house.block_half_cycles(b"\x02wind west 5", 0.1)
        first = len(halves) - cells - 2 * house.tail_cycles
        halves[first - 6 + 2 * spoilt : first - 4 + 2 * spoilt] *= 1.3
        times = np.concatenate(([0.0], np.cumsum(halves)))
        places = [start.index for group in house.leader.find(times, house.code) for start in group]
        assert first in places


def test_the_picture_of_lesson_5_shows_six_half_cycles_of_the_mark_before_the_words():
    tape = learner("gull 7").tape(5)
    start_s = kit.decode(tape).blocks[1].span_s[0]
    lines = lengths_view(tape, start_s - 0.02, start_s + 0.02).text.splitlines()
    assert any(line.startswith("6 of about 0.6") for line in lines)


def test_marks_of_lesson_5_are_found_where_they_stand_even_with_one_wrong_bit():
    """Laid behind a leader of ones, no mark is found too early, whichever of its bits is wrong."""
    assert len(SYNCS) > 30
    for sync in SYNCS:
        for wrong in range(-1, 8):
            written = [bit ^ (k == wrong) for k, bit in enumerate(sync)]
            assert found_by_correlation([1] * 20 + written + [0, 1] * 8, sync) == 28


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_5_reads_a_learner_s_own_words_from_the_start_they_found(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "find_start", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    assert f"You read: b'{learner(code, '6b').message(5)}'" in shown
    assert "The next frame begins at bit 80" in shown
    assert "12000 cycles of the tone come first" in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that finds the start of the data." in shown


@pytest.mark.parametrize(("key", "task"), [("m", FIND_START), ("s", NEAR_START)])
def test_the_solutions_of_lesson_5_pass(key, task):
    space = {}
    for cell in stored(PAGE).cells:
        if "solution" in cell.metadata.get("tags", []):
            exec(cell.source.split("\n\n\n")[0], space)
    assert LESSONS[5].items[key] is task
    assert task.check(space[f"solved_{task.name}"], learner("gull 7").data(f"5{key}"), b"seed").passed
