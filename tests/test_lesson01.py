"""Lesson 1: what it claims, and that it works with a learner's own words."""

import re

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.exercises import learner
from kit.found import CHECKED, DAMAGED, MENDED
from kit.player import QUIET_PEAK, RECORDER_PEAK

PAGE = page_of(1)
SEEN_LATER = ["in doubt, at", "in doubt:"]
SOLVED = """
def solved_by_test(text):
    return [byte >> place & 1 for byte in text.encode() for place in range(7, -1, -1)]
"""


def learner_bits(text):
    """An answer written another way than the reference."""
    bits = []
    for byte in text.encode("utf-8"):
        bits.extend(byte // place % 2 for place in (128, 64, 32, 16, 8, 4, 2, 1))
    return bits


INDEPENDENT = {"to_bits": learner_bits}


def tape_of(code):
    tape = learner(code).tape(1)
    return tape, kit.decode(tape)


def leader_cycles_per_second(tape):
    """Counted in the samples, without the kit's own edge finder."""
    rate, leader = tape.rate, tape.samples[: tape.rate]
    rises = np.flatnonzero((leader[1:] >= 0) & (leader[:-1] < 0))
    return (len(rises) - 1) * rate / (rises[-1] - rises[0])


def numbers():
    tape, reading = tape_of("gull 7")
    first = learner("gull 7").message(1)[0]
    return {
        "600": round(leader_cycles_per_second(tape)) == 600,
        "0": set(reading.blocks[1].bits) == {0, 1},
        "1": set(reading.blocks[1].bits) == {0, 1},
        "65": "A".encode("ascii")[0] == 65,  # RFC 20, column 4, row 1
        "56": reading.blocks[1].bits[56:64].tolist() == [int(digit) for digit in f"{ord(first):08b}"],
    }


def scratch_says_what_is_in_doubt(code):
    """Some bytes wrong, the rest right, and every wrong one among those that are said to be in doubt."""
    me = learner(code)
    tape, reading = tape_of(code)
    scratched = tape.scratch(sum(reading.blocks[1].span_s) / 2 - 0.05, 0.1, me.seed("1a"))
    worn = kit.decode(scratched, format="house")  # as `decode` finds by itself, only sooner
    sent = me.message(1).encode()
    if not worn.files or worn.files[0].verdict != DAMAGED:
        return False
    data = worn.files[0].data
    doubt = {byte for start, stop in worn.files[0].doubtful for byte in range(start, stop)}
    wrong = {byte for byte, value in enumerate(sent) if byte >= len(data) or data[byte] != value}
    return bool(wrong) and wrong <= doubt and len(doubt) < len(sent) and len(data) == len(sent)


DEMONSTRATIONS = {"1a": scratch_says_what_is_in_doubt}


def test_lesson_1_says_its_levels_and_lengths_right():
    tape, reading = tape_of("gull 7")
    assert RECORDER_PEAK == 0.5 and tape.peak == 0.5  # "half of full scale"
    assert QUIET_PEAK == 0.1  # "a tenth"
    block = reading.blocks[1]
    lengths = np.diff(block.cell_s)
    ratio = lengths[block.bits == 1].mean() / lengths[block.bits == 0].mean()
    assert ratio == pytest.approx(2, rel=0.01)  # "twice as long"
    assert [len(letter.encode()) for letter in "Möwe"] == [1, 2, 1, 1]  # "one needs more than one byte"
    headers = [block.header is not None for block in reading.blocks]
    assert headers == [True, False, True]  # "once more at the end", "three blocks"
    assert reading.files[0].verdict == CHECKED
    assert re.fullmatch(r"house", next(iter(kit.FORMATS)))  # "uses `house` unless you ask for another"


@pytest.mark.parametrize("own", ["Wind w 5..", "Möwen: 3 à 4, Ångström", "Rain. " * 60],
                         ids=["ten", "accents", "long"])
def test_lesson_1_works_with_a_learner_s_own_words(own, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE)), "to_bits", SOLVED)
    for cell in notebook.cells:
        cell.source = re.sub(r"^words = .*$", lambda _: f"words = {own!r}", cell.source, flags=re.MULTILINE)
        cell.source = cell.source.replace('learner("guest")', 'learner("tern 2", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    assert own in shown
    assert shown.count("Passed on your message and 3 others.") == 1
    assert "Your bits are the bits on the tape." in shown
    assert "You can now turn any text into bits." in shown
    assert kit.decode(tmp_path / "page" / "tapes" / "log.wav").files[0].data == own.encode()
    assert kit.Sound.read(tmp_path / "page" / "tapes" / "quiet-log.wav").peak <= QUIET_PEAK + 1e-4


CODE_POINTS = """
def solved_by_test(text):
    return [int(digit) for letter in text for digit in f"{ord(letter):08b}"]
"""


@pytest.mark.parametrize(("function", "said"), [(CODE_POINTS, True), (SOLVED, False)], ids=["numbers", "bytes"])
def test_the_stretch_of_lesson_1_says_what_becomes_of_numbers_taken_for_bytes(function, said, tmp_path, monkeypatch):
    """Both pass the check, as the station's letters are ASCII; only the letter beyond it tells them apart."""
    notebook = solved(predicted(stored(PAGE)), "to_bits", function)
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    assert "Passed on your message and 3 others." in shown
    assert ("too few: 8 bits, but its bytes have 16 and its number is 246" in shown) == said
    assert shown.count("too few:") == said


@pytest.mark.parametrize("code", ["guest", "tern 2"])
def test_what_lesson_1_asks_of_scratches_has_the_same_answer_wherever_they_are(code):
    """In the data a hundredth of a second and more is never `checked`; in the leader any length is."""
    tape, reading = tape_of(code)
    start_s, stop_s = reading.blocks[1].span_s
    for place in (0.2, 0.5, 0.8):
        for length_s in (0.01, 0.1):
            at_s = min(start_s + place * (stop_s - start_s), stop_s - length_s)
            assert kit.decode(tape.scratch(at_s, length_s), format="house").verdict == DAMAGED
    for length_s in (0.00001, 0.0001, 0.001, 0.01, 0.1):
        assert kit.decode(tape.scratch(0.5, length_s), format="house").verdict == CHECKED


@pytest.mark.parametrize("code", ["guest", "code 3", "code 5"])
def test_a_small_scratch_in_lesson_1_leaves_right_words_behind_whatever_they_are_called(code):
    """`checked` where every bit is readable, `mended` where the check agrees with another try: right in both."""
    tape, reading = tape_of(code)
    scratch_s = sum(reading.blocks[1].span_s) / 2 - 0.05
    for length_s in (0.0001, 0.0005, 0.001):
        worn = kit.decode(tape.scratch(scratch_s, length_s), format="house").files[0]
        assert worn.verdict in (CHECKED, MENDED) and worn.data == learner(code).message(1).encode()


def test_the_solution_of_lesson_1_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    from kit.exercises.lesson01 import TO_BITS

    assert TO_BITS.check(space["solved_to_bits"], (learner("gull 7").message(1),), b"seed").passed
