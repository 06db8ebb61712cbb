"""The bench of copies: against the kit's encoder and reader, and what lesson 8 lets people predict, on many tapes."""

import numpy as np
import pytest

import kit
from kit.bench import copies
from kit.bench.copies import COPIES, CopiesState, find, sound
from kit.bench.copytapes import ADJACENT, APART, COLUMNS, LAYOUTS, ONE, STURDY, TEXT, layout_format, written
from kit.bench.model import Model

RIGHT, DOUBTFUL, WRONG, DIFFERS = range(4)
SEEDS = range(100, 115)


@pytest.fixture
def seeded(monkeypatch):
    """Set the seed of the scratch's crackle."""
    def seed(number):
        monkeypatch.setattr(copies, "SEED", number)
        copies._played.cache_clear()

    yield seed
    copies._played.cache_clear()


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_tape_is_the_one_that_the_kit_encodes(layout):
    """Sample by sample; and its blocks lie where the kit reads them."""
    tape, blocks = written(layout, True, False)
    same = kit.encode(kit.TapeFile("log.txt", TEXT, "text"), format=layout_format(layout), rate=tape.rate)
    assert np.array_equal(tape.samples, same.samples)
    found = kit.decode(tape, format=layout_format(layout)).blocks
    assert [block.span_s for block in found] == [pytest.approx((start, stop), abs=1e-3) for _, start, stop in blocks]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_without_a_scratch_every_layout_brings_everything_back_and_says_what_it_takes(layout):
    result = find(CopiesState(layout=layout, scratch_ms=0))
    assert (result.kinds == RIGHT).all() and result.data == TEXT and result.verdict == "checked"
    assert dict(result.figures)["tape used"] == f"{written(layout, True, False)[0].seconds:.1f} s"


def test_two_copies_take_about_twice_the_tape():
    seconds = {layout: written(layout, True, False)[0].seconds for layout in LAYOUTS}
    for layout in (ADJACENT, APART, STURDY):
        assert 1.7 * seconds[ONE] < seconds[layout] < 2.1 * seconds[ONE]


def test_one_copy_does_not_survive_what_two_far_apart_do(seeded):
    """A scratch of 0.6 s at random: on all tapes but one at most."""
    lost = saved = 0
    for seed in SEEDS:
        seeded(seed)
        place = int(np.random.default_rng(seed).integers(30, 80))
        one, two = (find(CopiesState(layout=layout, scratch_percent=place, scratch_ms=600))
                    for layout in (ONE, APART))
        lost += not (one.kinds == RIGHT).all()
        saved += (two.kinds == RIGHT).all()
    assert lost >= len(SEEDS) - 1 and saved >= len(SEEDS) - 1


def test_a_long_scratch_takes_both_copies_where_they_lie_side_by_side_and_not_where_they_are_apart(seeded):
    """1.5 s: on all tapes but one at most."""
    lost = saved = 0
    for seed in SEEDS:
        seeded(seed)
        place = int(np.random.default_rng(seed).integers(30, 70))
        side, apart = (find(CopiesState(layout=layout, scratch_percent=place, scratch_ms=1500))
                       for layout in (ADJACENT, APART))
        lost += not (side.kinds == RIGHT).all()
        saved += (apart.kinds == RIGHT).all()
    assert lost >= len(SEEDS) - 1 and saved >= len(SEEDS) - 1


def test_parity_blocks_bring_back_as_many_lost_blocks_as_there_are_and_not_many_more(seeded):
    for seed in SEEDS[:15]:
        seeded(seed)
        place = int(np.random.default_rng(seed).integers(35, 70))
        short, long = (find(CopiesState(layout=STURDY, scratch_percent=place, scratch_ms=ms)) for ms in (800, 2600))
        assert (short.kinds == RIGHT).all() and not (long.kinds == RIGHT).all()


@pytest.mark.parametrize("layout", [ADJACENT, APART])
def test_two_copies_that_differ_and_no_check_you_know_it_is_wrong_not_which(layout):
    """What lesson 8 lets people predict; with a check, the wrong copy is known."""
    without = find(CopiesState(layout=layout, check=False, flipped=True, scratch_ms=0))
    (place,) = np.flatnonzero(without.kinds == DIFFERS)
    assert place == 3 * COLUMNS + 17 and "known that one is wrong, not which" in without.text
    assert without.verdict == "damaged" and not (without.kinds == WRONG).any()
    checked = find(CopiesState(layout=layout, flipped=True, scratch_ms=0))
    assert (checked.kinds == RIGHT).all() and "what one copy lost the other has" in checked.text


def test_one_copy_with_a_wrong_bit_is_known_to_be_wrong_in_its_block_only_if_that_has_a_check():
    checked = find(CopiesState(flipped=True, scratch_ms=0))
    assert set(np.flatnonzero(checked.kinds != RIGHT) // COLUMNS) == {3}
    without = find(CopiesState(flipped=True, check=False, scratch_ms=0))
    assert (without.kinds == DOUBTFUL).all() and "but not where" in without.text


@pytest.mark.parametrize("seed", range(5))
def test_what_is_called_right_is_right_for_the_kits_own_decode_too(seeded, seed):
    """Which looks longer: it has no more in doubt, and gives back the same bytes."""
    seeded(seed)
    state = CopiesState(scratch_percent=40 + 5 * seed, scratch_ms=200)
    result = find(state)
    (file,) = kit.decode(result.sound, format=layout_format(state.layout)).files
    sure = np.flatnonzero(result.kinds == RIGHT)
    assert all(file.data[k] == TEXT[k] == result.data[k] for k in sure)
    assert sum(stop - start for start, stop in file.doubtful) <= np.count_nonzero(result.kinds == DOUBTFUL)


def test_no_wrong_byte_is_called_sure_where_blocks_have_a_check(seeded):
    for seed in SEEDS[:15]:
        seeded(seed)
        rng = np.random.default_rng(seed)
        state = CopiesState(layout=LAYOUTS[seed % 4], scratch_percent=int(rng.integers(0, 101)),
                            scratch_ms=50 * int(rng.integers(0, 61)), flipped=bool(rng.integers(2)))
        assert not (find(state).kinds == WRONG).any()


def test_pointing_at_the_tape_scratches_it_there_and_listening_plays_the_scratch():
    model = Model(COPIES)
    model.pick(0, 0.7 * model.result.sound.seconds)
    assert model.state.scratch_percent == 70
    for wrong in ((1, 3.0), (0, -2.0), (0, 99.0), (0, float("nan"))):
        model.pick(*wrong)
    assert model.state.scratch_percent == 70
    for place in (0, 100):
        state = CopiesState(scratch_percent=place)
        assert sound(state, find(state)).seconds == pytest.approx(2.0, abs=0.01)
