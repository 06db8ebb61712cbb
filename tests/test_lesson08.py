"""Lesson 8: what it claims of copies, and that a learner's own repair mends a tape."""

from itertools import product

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, sources, stored, text_of

import kit
from kit.bench.copies import DIFFERS, RIGHT, WRONG
from kit.bench.copytapes import ADJACENT, APART, COLUMNS, LAYOUTS, ONE, STURDY, TEXT
from kit.exercises import LESSONS, learner
from kit.exercises.lesson08hand import corrected, hamming_word
from kit.exercises.lesson08repair import REPAIR, mended

PAGE = page_of(8)
SEEN_LATER = ["so one scratch takes both", "it is known that one is wrong, not which", "the parity blocks bring back"]
SOLVED = """
def solved_by_test(a, b):
    sets = [{one, other} - {None} for one, other in zip(a, b)]
    return [each.pop() if len(each) == 1 else None for each in sets]
"""


def learner_repair(a, b):
    """An answer written another way than the reference: what is left when doubt is taken away."""
    known = [{one, other} - {None} for one, other in zip(a, b, strict=True)]
    return [min(each) if len(each) == 1 else None for each in known]


INDEPENDENT = {"repair": learner_repair}


def bench(**settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("copies", **settings).result


def place_of(code):
    """Where the scratch of prediction 8a lies for a learner, in percent of the tape, as the page works it out."""
    return 35 + 10 * (learner(code).seed("8a") % 4)


def numbers():
    arrived = [0, 1, 1, 0, 1, 1, 1]
    odd = [group[0] for group in ((1, 3, 5, 7), (2, 3, 6, 7), (4, 5, 6, 7))
           if sum(arrived[place - 1] for place in group) % 2]
    return {
        "256": len(TEXT) == 256,
        "32": COLUMNS == 32 and len(TEXT) == 8 * 32,  # "eight blocks of 32"
        "0.95": pytest.approx(0.1937, abs=5e-5) == 0.95**32,
        "0.05": pytest.approx(0.05) == 1 - 0.95,
        "1950": "1950" in hamming_word.__doc__,
        "1": odd == [1, 4],
        "2": all(sum(hamming_word(data)[place - 1] for place in (2, 3, 6, 7)) % 2 == 0
                 for data in product((0, 1), repeat=4)),
        "4": sum(odd) == 5 and corrected(arrived) == [0, 1, 1, 0, 0, 1, 1],
    }


def side_by_side_loses_both_and_far_apart_loses_none(code):
    settings = {"scratch_percent": place_of(code), "scratch_ms": 1500}
    side, apart = (bench(layout=layout, **settings) for layout in (ADJACENT, APART))
    lost = np.count_nonzero(side.kinds != RIGHT)
    some = 0 < lost < len(TEXT) / 2 and not (side.kinds == WRONG).any()
    return some and (apart.kinds == RIGHT).all() and apart.data == TEXT


def it_is_known_that_one_is_wrong_not_which(code):
    """On the bench, and where a learner's own two copies differ."""
    result = bench(layout=APART, check=False, flipped=True, scratch_ms=0)
    a, b = learner(code).data("8m")
    open_places = [k for k, (one, other) in enumerate(zip(a, b, strict=True))
                   if None not in (one, other) and one != other]
    left = [mended(a, b)[k] for k in open_places]
    return ((result.kinds == DIFFERS).sum() == 1 and not (result.kinds == WRONG).any()
            and "known that one is wrong, not which" in result.text and left == [None, None])


DEMONSTRATIONS = {"8a": side_by_side_loses_both_and_far_apart_loses_none,
                  "8b": it_is_known_that_one_is_wrong_not_which}


def test_the_first_tape_says_checked_though_a_block_is_damaged():
    """As the second cell of the page does it: one block damaged, all words there."""
    for k in range(5):
        me = learner(f"code {k}")
        twice = kit.FORMATS["house"].changed(name="two copies", copies=2, copies_apart=True, leader_s=1.0)
        tape = kit.encode(me.message(8).encode(), name="log.txt", format=twice, lead_in_s=1.0)
        start_s, stop_s = kit.decode(tape, format=twice).blocks[1].span_s
        worn = tape.scratch((start_s + stop_s) / 2 - 0.05, 0.1, me.seed("8a"))
        reading = kit.decode(worn, format=twice, quick=True)
        assert [block.verdict == "damaged" for block in reading.blocks] == [False, True, False, False, False, False]
        assert reading.files[0].verdict == "checked" and reading.files[0].data.decode() == me.message(8)


def test_a_block_is_much_shorter_than_the_scratch_and_the_layouts_of_two_copies_take_as_much_tape():
    result = bench(layout=ADJACENT, scratch_ms=0)
    assert max(stop - start for _, start, stop, _ in result.blocks) < 0.4 < 1.5
    seconds = [bench(layout=layout, scratch_ms=0).sound.seconds for layout in (ADJACENT, APART)]
    assert seconds[0] == pytest.approx(seconds[1], rel=0.1)  # "about as long"
    assert list(LAYOUTS).index(STURDY) == 3  # "in the fourth layout"


def test_with_a_check_the_wrong_copy_is_known_as_the_explanation_of_8b_says():
    checked = bench(layout=APART, flipped=True, scratch_ms=0)
    assert (checked.kinds == RIGHT).all() and checked.verdict == "checked"


def test_what_the_tasks_let_one_find_is_there():
    """One copy bears least, then side by side, then parity blocks; far apart bears most, and the ends bear all."""
    first_lost_ms = {ONE: 300, ADJACENT: 800, STURDY: 1500}
    for layout, lost_ms in first_lost_ms.items():
        assert not (bench(layout=layout, scratch_percent=50, scratch_ms=lost_ms).kinds == RIGHT).all()
    for layout, borne_ms in ((ONE, 100), (ADJACENT, 300), (STURDY, 800), (APART, 1500)):
        assert (bench(layout=layout, scratch_percent=50, scratch_ms=borne_ms).kinds == RIGHT).all()
    for place in (0, 100):
        assert (bench(layout=ONE, scratch_percent=place, scratch_ms=300).kinds == RIGHT).all()


def test_chances_are_multiplied_as_the_page_says():
    """By drawing: 0.95 to the power of 32, and the square law of two copies, within four standard deviations."""
    rng = np.random.default_rng(8)
    arrives = rng.random((2, 40_000, 32)) < 0.95
    for share, exact in ((arrives[0].all(axis=1).mean(), 0.95**32),
                         (arrives.any(axis=0).all(axis=1).mean(), (1 - 0.05**2) ** 32)):
        assert share == pytest.approx(exact, abs=4 * (exact * (1 - exact) / 40_000) ** 0.5)
    assert round((1 - 0.05**2) ** 32, 3) == 0.923  # "mostly works", against 0.194 "mostly fails"


def test_the_code_is_hammings_and_mends_every_single_wrong_bit():
    """Textbook: 1011 becomes 0110011, from memory; words at least three apart; every single flip is mended."""
    words = [hamming_word(data) for data in product((0, 1), repeat=4)]
    assert hamming_word([1, 0, 1, 1]) == [0, 1, 1, 0, 0, 1, 1]
    assert min(sum(map(int.__ne__, one, other)) for one in words for other in words if one != other) == 3
    for word, place in product(words, range(7)):
        assert corrected([bit ^ (k == place) for k, bit in enumerate(word)]) == word


def test_the_formats_named_for_practice_are_as_they_are_said_to_be():
    assert kit.FORMATS["twice"].inverted_copies and not kit.FORMATS["twice"].copies_apart
    assert kit.FORMATS["sturdy"].outer is not None


def test_two_scratched_tapes_together_hold_every_learner_s_line(tmp_path):
    """The cell of the two boats, with the right function, for some code names: neither is whole, both are."""
    (cell,) = [source for source in sources(stored(PAGE), "code") if "def heard" in source]
    silent = dict.fromkeys(("play", "print"), lambda shown: None)
    for k in range(8):
        me = learner(f"code {k}", folder=tmp_path)
        space = {"kit": kit, "me": me, "repair": learner_repair, **silent}
        exec(cell, space)
        assert None in space["first"] and None in space["second"]
        assert bytes(learner_repair(space["first"], space["second"])).decode() == me.message(8)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_8_mends_a_learner_s_own_line(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "b"), "repair", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    assert shown.splitlines().count(learner(code, "6b").message(8)) >= 3  # as written, as decoded, as mended
    (share,) = [float(line.split()[0]) for line in shown.splitlines() if line.endswith("came back whole")]
    assert share == pytest.approx(0.923, abs=4 * (0.923 * 0.077 / 1000) ** 0.5)
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that makes one of two copies." in shown


def test_the_solution_of_lesson_8_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert REPAIR.check(space["solved_repair"], learner("gull 7").data("8m"), b"seed").passed


def test_the_worked_example_of_the_page_is_worked_right():
    assert mended([7, None, 0, 5], [7, 3, None, 4]) == [7, 3, 0, None]
    assert LESSONS[8].items["m"].worked.endswith("gives 7, 3, None, None.")
    assert mended([7, None, None, 5], [7, 3, None, 4]) == [7, 3, None, None]
