"""Exercises: right answers pass, each usual mistake gets its own hint, and nothing a learner writes hurts."""

import time

import numpy as np
import pytest

from kit.exercises import check_to_bits
from kit.exercises.checking import pick
from kit.exercises.letters import _MISTAKES, right_bits

OWN = "Wind west 5."


def learner_bits(text):
    """An answer written another way than the reference."""
    bits = []
    for byte in text.encode("utf-8"):
        bits.extend(byte // place % 2 for place in (128, 64, 32, 16, 8, 4, 2, 1))
    return bits


def test_letter_a_has_number_65_and_bits_01000001():
    """RFC 20 (1969), table 1: column 4, row 1 is A, bits b7…b1 = 1000001; a byte adds a zero in front."""
    assert ord("A") == 0b1000001 == 65
    assert right_bits("A") == [0, 1, 0, 0, 0, 0, 0, 1]


def test_an_independent_answer_passes_and_says_on_how_many_messages():
    outcome = check_to_bits(learner_bits, OWN)
    assert outcome.passed
    assert outcome.text == "Passed on your message and 3 others."


@pytest.mark.parametrize("form", [tuple, np.array, lambda bits: [bool(bit) for bit in bits]])
def test_a_tuple_an_array_and_truth_values_are_as_good_as_a_list(form):
    assert check_to_bits(lambda text: form(learner_bits(text)), OWN).passed


def test_accented_letters_take_more_than_one_byte_and_still_pass():
    assert check_to_bits(learner_bits, "Möwen: 3 à 4").passed
    one_per_letter = check_to_bits(lambda text: [int(b) for c in text for b in f"{ord(c) % 256:08b}"], "Möwe")
    assert not one_per_letter.passed


@pytest.mark.parametrize("mistake", _MISTAKES, ids=lambda mistake: mistake.name)
def test_each_usual_mistake_gets_its_own_hint_whatever_the_message(mistake):
    hints = {check_to_bits(mistake.function, f"message {seed} of {seed * 7919}").text for seed in range(200)}
    assert hints == {mistake.hint}


def test_no_two_mistakes_share_a_hint_and_none_gives_the_answer_away():
    hints = [mistake.hint for mistake in _MISTAKES]
    assert len(set(hints)) == len(hints)
    assert all(len(hint.split()) <= 15 for hint in hints)
    assert not any("08b" in hint for hint in hints)


def endless(text):
    while True:
        text = text + ""


def endless_in_except(text):
    while True:
        try:
            endless(text)
        except Exception:
            text = ""


def crashing(text):
    bits = []
    return bits[len(text)]


def bottomless(text):
    return bottomless(text)


TROUBLE = {
    "returns nothing": (lambda text: None, "got None"),
    "returns a number": (len, "a list of 0 and 1"),
    "returns halves": (lambda text: [0.5] * 8 * len(text), "a list of 0 and 1"),
    "returns twos": (lambda text: [2] * 8 * len(text), "a list of 0 and 1"),
    "returns too few": (lambda text: [0, 1], "needs 96 of them, you give 2"),
    "wrong at one place": (lambda text: [*learner_bits(text)[:-1], 1] if text else [], "number 96 of your"),
    "returns a table": (lambda text: np.ones((3, 8)), "a list of 0 and 1"),
    "crashes": (crashing, "IndexError in line 3 of the function"),
    "takes no argument": (lambda: [], "TypeError"),
    "leaves": (lambda text: exit(), "SystemExit"),
    "never ends": (endless, "It never finishes"),
    "never ends and catches errors": (endless_in_except, "It never finishes"),
    "calls itself": (bottomless, "It calls itself without end"),
    "is not a function": ([0, 1], "Give the function itself"),
}


@pytest.mark.parametrize("name", TROUBLE)
def test_whatever_a_learner_writes_ends_soon_in_one_short_line(name):
    function, expected = TROUBLE[name]
    started = time.process_time()
    outcome = check_to_bits(function, OWN)
    assert time.process_time() - started < 5
    assert not outcome.passed
    assert expected in outcome.text
    assert "\n" not in outcome.text
    assert len(outcome.text.split()) <= 15


def test_the_error_itself_is_folded_away_and_escaped():
    def hostile(text):
        raise ValueError("<script>alert(1)</script>")

    shown = check_to_bits(hostile, OWN)._repr_html_()
    assert "<details>" in shown
    assert "<script>" not in shown
    assert 'role="status"' in shown


def test_the_same_message_meets_the_same_fresh_inputs_and_others_meet_others():
    assert pick("abcdefgh", 3, OWN) == pick("abcdefgh", 3, OWN)
    assert len({tuple(pick("abcdefgh", 3, seed)) for seed in range(100)}) > 50


def test_tracing_that_was_on_before_a_check_is_on_after_it():
    import sys

    before = sys.gettrace()
    check_to_bits(endless, OWN)
    assert sys.gettrace() is before
