"""Exercises: right answers pass, each usual mistake gets its own hints, and nothing a learner writes hurts."""

import sys
import time
from itertools import product

import numpy as np
import pytest
from lesson_laws import (
    ENTRIES,
    FUNCTIONS,
    SEEDS,
    entry_is_known,
    mistake_is_named,
    right_answer_passes,
    with_mistakes,
)
from test_lesson01 import learner_bits
from test_lesson04 import learner_edges

from kit.exercises.draws import Draws, seed_of
from kit.exercises.items import own_data, rungs_of
from kit.exercises.lesson01 import TO_BITS, right_bits
from kit.exercises.lesson04bits import READ_BITS
from kit.exercises.plain import plain
from kit.exercises.running import MOST_S, attempt_of

SEED = seed_of("", "gull 7", 1, "m")
OWN = ("Monday 0600. Wind west 5.",)
PART = range(0, SEEDS, 20)  # the benchmark `lessons` tries all


def named(each):
    number, letter, _, *mistake = each
    return "-".join([f"{number}{letter}", *(one.name.replace(" ", "_") for one in mistake)])


def check_to_bits(function, own=OWN):
    return TO_BITS.check(function, own, SEED)


def test_letter_a_has_number_65_and_bits_01000001():
    """RFC 20 (1969), table 1: column 4, row 1 is A, bits b7…b1 = 1000001; a byte adds a zero in front."""
    assert ord("A") == 0b1000001 == 65
    assert right_bits("A") == [0, 1, 0, 0, 0, 0, 0, 1]


@pytest.mark.parametrize("each", FUNCTIONS, ids=named)
def test_an_independent_answer_passes_on_every_seed_and_says_on_how_many_messages(each):
    assert all(right_answer_passes(*each, k) for k in PART)


@pytest.mark.parametrize("form", [tuple, np.array, lambda bits: [bool(bit) for bit in bits]])
def test_a_tuple_an_array_and_truth_values_are_as_good_as_a_list(form):
    assert check_to_bits(lambda text: form(learner_bits(text))).passed


def test_accented_letters_take_more_than_one_byte_and_still_pass():
    assert check_to_bits(learner_bits, ("Möwen: 3 à 4",)).passed
    one_each = check_to_bits(lambda text: [int(b) for c in text for b in f"{ord(c) % 256:08b}"], ("Möwe",))
    assert not one_each.passed


@pytest.mark.parametrize("each", with_mistakes(FUNCTIONS), ids=named)
def test_each_usual_mistake_gets_its_own_hints_whatever_the_message(each):
    assert all(mistake_is_named(*each, k) for k in PART)


@pytest.mark.parametrize("each", with_mistakes(ENTRIES), ids=named)
def test_each_usual_wrong_entry_is_known_for_what_it_is_whatever_the_data(each):
    assert all(entry_is_known(*each, k) for k in PART)


@pytest.mark.parametrize("each", FUNCTIONS + ENTRIES, ids=named)
def test_no_two_mistakes_share_a_hint_and_hints_are_short(each):
    task = each[2]
    assert len(task.mistakes) >= 3
    first = [mistake.shows for mistake in task.mistakes]
    assert len(set(first)) == len({mistake.name for mistake in task.mistakes}) == len(first)
    assert len({mistake.means for mistake in task.mistakes}) == len(first)
    for mistake in task.mistakes:
        shows, look, worked = rungs_of(mistake, task)
        assert max(len(shows.split()), len(look.split())) <= 15
        assert len(worked.split()) <= 26
        assert len({shows, look, worked}) == 3


@pytest.mark.parametrize("each", FUNCTIONS, ids=named)
def test_a_hundred_codes_give_a_hundred_data_sets_and_other_classes_others(each):
    number, letter, task = each
    data = [repr(own_data(task, seed_of(group, f"code {k}", number, letter)))
            for group, k in product(("", "6b"), range(100))]
    assert len(set(data)) == len(data)


def endless(text):
    while True:
        text = text + ""


def endless_in_one_line(text):
    while True: pass  # noqa: E701 - in one line, as learners write it


def endless_in_one_sum(text):
    return sum(0 * k for k in iter(int, 1))


def endless_in_except(text):
    while True:
        try:
            endless(text)
        except Exception:
            text = ""


def endless_and_slow(text):
    while True:
        sum(range(3_000_000))


def chatty(text):
    while True:
        print("gulls" * 1000)


def crashing(text):
    bits = []
    return bits[len(text)]


def bottomless(text):
    return bottomless(text)


def endless_row(text):
    while True:
        yield 0


class Sly(list):
    """Refuses to be looked at."""

    def __iter__(self):
        raise RuntimeError("no")


TROUBLE = {
    "returns nothing": (lambda text: None, "got None"),
    "returns a number": (len, "a list of 0 and 1"),
    "returns halves": (lambda text: [0.5] * 8 * len(text), "a list of 0 and 1"),
    "returns twos": (lambda text: [2] * 8 * len(text), "a list of 0 and 1"),
    "returns no number": (lambda text: [float("nan")] * 8, "something else"),
    "returns an endless row": (endless_row, "something else"),
    "returns what cannot be looked at": (lambda text: Sly([1]), "something else"),
    "returns too few": (lambda text: [0, 1], "needs 200 of them, you give 2"),
    "wrong at one place": (lambda text: [*learner_bits(text)[:-1], 1] if text else [], "number 200 of your"),
    "wrong at the edge": (lambda text: learner_bits(text) or [0], "an empty text needs 0 of them, you give 1"),
    "crashes at the edge": (lambda text: learner_bits(text) if text[0] else 0, "given an empty text"),
    "right on one's own alone": (lambda text: learner_bits(OWN[0]), "Right on your message, wrong on others"),
    "returns a table": (lambda text: np.ones((3, 8)), "a list of 0 and 1"),
    "crashes": (crashing, "IndexError in line 3 of the function"),
    "takes no argument": (lambda: [], "TypeError"),
    "leaves": (lambda text: exit(), "SystemExit"),
    "never ends": (endless, "It never finishes"),
    "never ends in one line": (endless_in_one_line, "It never finishes"),
    "never ends in one sum": (endless_in_one_sum, "It never finishes"),
    "never ends and catches errors": (endless_in_except, "It never finishes"),
    "never ends with long lines": (endless_and_slow, "It never finishes"),
    "never ends and prints": (chatty, "It never finishes"),
    "calls itself": (bottomless, "It calls itself without end"),
    "is not a function": ([0, 1], "Give the function itself"),
}


@pytest.mark.parametrize("name", TROUBLE)
def test_whatever_a_learner_writes_ends_soon_in_one_short_line(name, capsys):
    function, expected = TROUBLE[name]
    started = time.process_time()
    found = check_to_bits(function)
    assert time.process_time() - started < 5
    assert MOST_S < 5
    assert not found.passed
    assert expected in found.rungs[0]
    assert "\n" not in found.rungs[0]
    assert len(found.rungs[0].split()) <= 15
    assert len(found.rungs) == 3
    assert all(rung.startswith(found.rungs[0]) for rung in found.rungs)
    assert capsys.readouterr().out == ""


def test_being_interrupted_is_said_in_one_line():
    def stopped(text):
        raise KeyboardInterrupt

    assert "stopped from outside" in check_to_bits(stopped).rungs[0]


def test_a_function_that_spoils_what_it_is_given_spoils_a_copy():
    def spoiling(edges_s, short_s, long_s):
        bits = learner_edges(edges_s, short_s, long_s)
        edges_s.clear()
        return bits

    own = own_data(READ_BITS, SEED)
    assert READ_BITS.check(spoiling, own, SEED).passed
    assert len(own[0]) == 193


def test_what_python_says_is_kept_for_those_who_want_it_with_the_line_it_happened_in():
    def stops(text):
        print("here I was")
        return [][1]

    detail = check_to_bits(stops).detail
    assert "IndexError: list index out of range" in detail
    assert "return [][1]" in detail
    assert "here I was" in detail
    assert "running.py" not in detail


def test_an_attempt_is_changed_by_its_steps_and_not_by_its_comments_or_blanks():
    def compiled(source):
        space = {}
        exec(source, space)
        return attempt_of(space["f"])

    plain_one = compiled("def f(x):\n    return [x]")
    assert compiled("def f(x):\n\n    # hm\n    return  [x]") == plain_one
    assert compiled("def f(x):\n    return [x, 1]") != plain_one
    assert compiled("def f(x):\n    return (lambda: 1)()") != compiled("def f(x):\n    return (lambda: 2)()")


def test_tracing_that_was_on_before_a_check_is_on_after_it():
    before = sys.gettrace()
    check_to_bits(endless)
    assert sys.gettrace() is before


def test_plain_data_is_bounded_in_depth_length_and_kind():
    looped = []
    looped.append(looped)
    for odd in (looped, [0] * 30_000, {1: 2}, {1, 2}, b"01", 1j, [object()], float("inf"), 1 << 70):
        assert "something else" in repr(plain(odd))
    assert plain((np.int64(1), np.float32(0.5), True, "a", None)) == [1, 0.5, 1, "a", None]


def test_draws_are_sha_256_counter_bytes_and_nothing_else():
    """Worked out here by hand from the description alone."""
    import hashlib

    seed = hashlib.sha256(b'["6b","gull 7",4,"m"]').digest()
    assert seed_of("6b", "gull 7", 4, "m") == seed
    row = b"".join(hashlib.sha256(seed + bytes(8) + bytes([*bytes(7), k])).digest() for k in range(2))
    assert Draws(seed).bytes(64) == row
    assert Draws(seed).below(1000) == int.from_bytes(row[:8], "big") % 1000
    assert Draws(seed, 1).bytes(64) != row


def test_draws_are_even_and_some_of_a_row_never_come_twice():
    draws = Draws(b"seed")
    counts = np.bincount([draws.below(6) for _ in range(6000)], minlength=6)
    assert counts.min() > 1000 - 5 * 29 and counts.max() < 1000 + 5 * 29  # five standard deviations
    assert all(sorted(draws.some_of("abcd", 4)) == list("abcd") for _ in range(50))
    assert {draws.between(3, 5) for _ in range(100)} == {3, 4, 5}
