"""Copies and sides put together: what neither tells alone, both do, and nothing that is not a copy is mixed in.

Noise is white; the signal to noise is 10 log10(A^2 / sigma^2) dB, with the wave's amplitude A.
"""

import numpy as np
import pytest

import kit
from kit import Sound, checks
from kit.blocks import DataPart, inverted
from kit.found import DAMAGED, FoundBlock
from kit.readers.likeliest import likeliest
from kit.together import alike, sound_together
from kit.trellis import Trellis

RATE = 44100
HOUSE = kit.FORMATS["house"].changed(block_bytes=96, lead_in_s=0.5)
TWICE = kit.FORMATS["twice"]
DATA = np.random.default_rng(3).integers(0, 256, 96, dtype=np.uint8).tobytes()
OTHER = np.random.default_rng(4).integers(0, 256, 96, dtype=np.uint8).tobytes()


def tape(data=DATA, name="x.bin", **how):
    return kit.encode(data, name=name, rate=RATE, **{"format": HOUSE, **how}).samples.astype(float)


def in_noise(wave, snr_db, seed):
    return wave + np.random.default_rng(seed).normal(0, 0.5 * 10 ** (-snr_db / 20), wave.shape)


def read(wave, format="house"):
    return kit.decode(Sound(np.asarray(wave, np.float32), RATE), format=format, patient=True)


def is_whole(reading, data=DATA):
    return [(file.data, file.complete) for file in reading.files] == [(data, True)]


# -- grids made by hand ----------------------------------------------------------------------------------


def heard(content, deviation, rng, format=HOUSE):
    """A block as a patient reader gives it, or None, from a grid drawn here, in noise of so much deviation a step."""
    bits = format.block_bits(content)
    steps = np.repeat(np.where(bits, 2, 1), 2)  # of half a unit in each half-cycle: a one 2 and 2, a zero 1 and 1
    wave = np.repeat(1.0 - 2.0 * (np.arange(len(steps)) % 2), steps).reshape(-1, 2)
    grid = (wave + rng.normal(0, deviation, wave.shape)).astype(np.float32)
    found = likeliest(Trellis(format.code), grid, len(bits), format, 12)
    if found is None:  # no row of so many cells was found
        return None
    path, read_, doubtful, verdict = found.path, found.content, found.doubtful, found.verdict
    cells = np.arange(len(bits) + 1, dtype=np.float32) / 1200
    margins = np.ones(len(bits), np.float32)
    kept = grid / np.float32(deviation**2)
    return FoundBlock(
        format, read_, doubtful, verdict, path.bits, margins, cells, 1.0, 0.5, 1 / 2400, soft=path.signed, grid=kept
    )


def body(number=0, data=DATA):
    return DataPart(0x1234, number, data).body()


def damaged(content, deviation, seeds, format=HOUSE):
    """Readings that fail alone, but know how long they are."""
    found = (heard(content, deviation, np.random.default_rng(seed), format) for seed in seeds)
    found = [block for block in found if block is not None and block.verdict == DAMAGED]
    return [block for block in found if block.content[:7] == content[:7]]


def test_two_copies_need_three_db_less_than_one():
    """As many of 60 pairs are mended as of 60 single readings under half the noise power are whole, but for chance.

    Ideal grids; of 60 readings, half of them whole, a deviation is 0.065, and 0.09 of the difference of two.
    """
    deviation, first = 0.515, body()[:7]
    alone = [heard(body(), deviation, np.random.default_rng([2, seed])).whole for seed in range(60)]
    singles, mended = [], []
    for seed in range(60):
        rng = np.random.default_rng([1, seed])
        one, two = (heard(body(), np.sqrt(2) * deviation, rng) for _ in range(2))
        singles += [one.whole, two.whole]
        # As if it had told its length: on a tape its neighbours may.
        found = sound_together([one.changed(content=first + one.content[7:]), two])
        mended.append(found is not None and found.whole)
    assert 0.2 < np.mean(alone) < 0.95
    assert np.mean(mended) == pytest.approx(np.mean(alone), abs=0.25)
    assert np.mean(singles) < 0.1


def test_copies_that_fail_alone_are_mended_and_keep_the_place_of_the_first():
    readings = damaged(body(), 0.62, range(20))
    first, second = readings[:2]
    found = sound_together([first, second.changed(start_s=9.0)])
    assert (found.verdict, found.content[: len(body())]) == ("mended", body())
    assert found.start_s == first.start_s and not found.doubtful.any()
    assert "made of the sound of 2 copies" in found.note


@pytest.mark.parametrize("change", [
    pytest.param(lambda block: {"grid": block.grid[:-20]}, id="another length"),
    pytest.param(lambda block: {"grid": np.repeat(block.grid, 2, axis=1)}, id="other steps"),
    pytest.param(lambda block: {"format": kit.FORMATS["framed"]}, id="another format"),
    pytest.param(lambda block: {"grid": None}, id="no sound kept"),
])
def test_what_is_not_alike_step_for_step_is_never_added(change):
    """On either side, and with a third that would fit it: that one is added."""
    one, two, three = damaged(body(), 0.62, range(30))[:3]
    odd = two.changed(**change(two))
    assert sound_together([one, odd]) is None
    assert sound_together([odd, one]) is None
    assert "2 copies" in sound_together([one, odd, three]).note


def test_a_copy_that_lost_its_start_is_mended_as_its_sound_says():
    """What it is follows from both together; then it is no longer without a beginning."""
    one, two = damaged(body(), 0.62, range(20))[:2]
    found = sound_together([one.changed(headless=True), two])
    assert (found.verdict, found.headless, found.content[: len(body())]) == ("mended", False, body())


def test_copies_whose_ends_were_found_some_beats_apart_are_added():
    one, two = damaged(body(), 0.62, range(20))[:2]
    assert sound_together([one, two.changed(grid=two.grid[:-3])]).content[: len(body())] == body()


def test_what_is_made_of_inverted_copies_is_upright():
    """Two sides hold the same second copy of `twice`: its bits are as on the tape, its content is not."""
    readings = damaged(inverted(body()), 0.5, range(60), TWICE)[:2]
    found = sound_together(readings)
    assert (found.verdict, found.inverted, found.content[: len(body())]) == ("mended", True, body())
    assert len(found.cell_s) == len(found.bits) + 1 == len(found.margins) + 1


def test_grids_are_alike_as_their_correlation_says():
    """1 for the same in any scale, -1 upside down, 0 for silence, the cosine of the angle between else."""
    grid = np.array([[3.0, 0.0], [0.0, 4.0]], np.float32)
    assert alike(grid, grid) == alike(grid, 7 * grid) == pytest.approx(1)
    assert alike(grid, -grid) == pytest.approx(-1)
    assert alike(grid, 0 * grid) == 0
    assert alike(grid, np.array([[1.0, 0.0], [0.0, 0.0]], np.float32)) == pytest.approx(0.6)
    assert alike(grid, grid[:, ::-1]) == 0


def test_copies_run_together_and_other_blocks_do_not():
    """At a deviation of a step of 0.62, 1 / (1 + 0.62^2) = 0.72 for a copy; other data under a fifth."""
    one, two = damaged(body(), 0.62, range(20))[:2]
    (other, *_) = damaged(body(1, OTHER), 0.62, range(20, 50))
    assert alike(one.grid, two.grid) == pytest.approx(0.72, abs=0.05)
    same = min(len(one.grid), len(other.grid))
    assert abs(alike(one.grid[:same], other.grid[:same])) < 0.25


# -- copies on a tape ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("snr_db", "seed"), [(-5.0, 6), (-6.0, 3)])
def test_two_copies_that_fail_each_alone_are_whole_together(snr_db, seed):
    """House with two copies: each of the two data blocks fails its check, their sound added does not."""
    reading = read(in_noise(tape(copies=2), snr_db, seed))
    data = [block for block in reading.blocks if block.start_s > 0.9 and block.content[:1] == b"\x02"]
    assert [block.verdict for block in data] == ["damaged"] * 2
    assert is_whole(reading) and reading.files[0].verdict == "mended"
    assert any("made of the sound of 2 copies" in event.text for event in reading.events)


def test_inverted_copies_are_not_added_but_mend_each_other_byte_by_byte():
    """A hole in each of the copies of a block of `twice`, at +3 dB: first part of the one, last of the other."""
    clean = kit.encode(DATA, name="x.bin", format="twice", block_bytes=96, lead_in_s=0.5).samples.astype(float)
    blocks = kit.decode(Sound(clean, RATE), format="twice").blocks
    first, second = [block for block in blocks if block.part is not None]
    assert (first.inverted, second.inverted) == (False, True)
    for block, byte in ((first, 30), (second, 70)):
        clean[int(block.byte_span_s(byte)[0] * RATE) :][: RATE // 100] = 0
    reading = read(in_noise(clean, 3.0, seed=1), "twice")
    assert [b.verdict for b in reading.blocks if first.start_s - 0.1 < b.start_s < second.stop_s] == ["damaged"] * 2
    assert is_whole(reading)
    notes = " ".join(event.text for event in reading.events)
    assert "made of 2 copies" in notes and "made of the sound" not in notes


# -- sides -----------------------------------------------------------------------------------------------


def sides(snr_db, seed, late=9):
    """Left, and right: upside down, 6 dB lower with its noise, some samples later; each with noise of its own."""
    wave = tape()
    left = in_noise(wave, snr_db, [seed, 0])
    skewed = np.concatenate((np.zeros(late), wave[: len(wave) - late]))
    return left, -0.5 * in_noise(skewed, snr_db, [seed, 1])


def test_two_sides_that_fail_each_alone_are_whole_together():
    """Three tapes at -5 dB: blocks made of the sound of sides are right, name them, and are read from neither."""
    written, made = kit.decode(Sound(tape(), RATE), format="house").blocks, 0
    for seed in (1, 2, 6):
        left, right = sides(-5.0, seed)
        # Not thoroughly: then sum and difference are heard patiently too, and may do as well.
        for block in kit.decode(Sound(np.stack((left, right), axis=1), RATE), format="house").blocks:
            if "made of the sound of" not in block.note or not block.whole:
                continue
            near = [other for other in written if abs(other.start_s - block.start_s) < 0.01]
            assert [other.content for other in near] == [block.content]
            assert len(set(block.side.split(" and "))) >= 2
            if made == 0:
                for alone in (*read(left).blocks, *read(right).blocks):
                    assert not alone.whole or abs(alone.start_s - block.start_s) > 0.01
            made += 1
    assert made >= 2


def test_another_tape_on_the_other_side_is_not_mixed_in():
    """Both at -1 dB: both come out, and no block is made of two sides."""
    left, right = tape(), tape(OTHER, "y.bin")
    size = min(len(left), len(right))
    assert abs(len(left) - len(right)) < RATE  # they lie beside each other
    both = np.stack((in_noise(left[:size], -1.0, 7), in_noise(right[:size], -1.0, 8)), axis=1)
    reading = read(both)
    assert {file.name: (file.data, file.complete) for file in reading.files} == {
        "x.bin": (DATA, True), "y.bin": (OTHER, True),
    }
    assert not any("sides" in block.note for block in reading.blocks)


# -- trials ----------------------------------------------------------------------------------------------


@pytest.fixture
def asked(monkeypatch):
    """For each content length, how many different contents the check of house was asked about."""
    contents = {}
    real = checks.Check.agrees

    def agrees(self, data, check_bytes):
        contents.setdefault(len(data), []).append(bytes(data) + bytes(check_bytes))
        return real(self, data, check_bytes)

    monkeypatch.setattr(checks.Check, "agrees", agrees)
    return contents


@pytest.mark.parametrize("seed", range(2))
def test_a_block_with_a_copy_never_has_more_than_64_trials_for_each_of_the_two(asked, seed):
    """At -6 dB nearly all fails: two copies of one data block on one side, in the length of that block.

    Counted are different contents with the check asked about each; what was read outright is no trial.
    """
    reading = read(in_noise(tape(copies=2), -6.0, seed))
    assert reading.blocks
    length = len(body())
    assert 0 < len(set(asked.get(length, []))) <= 64 * 2


def test_the_sound_of_copies_is_tried_no_more_than_13_times(asked):
    """The likeliest row and 12 more, however many copies."""
    readings = damaged(body(), 0.9, range(60))[:2]
    asked.clear()
    found = sound_together(readings)
    assert len(readings) == 2 and found.verdict == DAMAGED
    tried = [len(set(contents)) for contents in asked.values()]
    assert 1 <= sum(tried) <= 13
