"""The counter: a fixed threshold or bit clock reads a steady tape, and fails just where arithmetic says it must."""

import numpy as np
import pytest

import kit
from kit import Sound
from kit.frames import Frame
from kit.readers.counter import counted
from kit.tones import TwoTones

RATE = 44100
DATA = np.random.default_rng(3).integers(0, 256, 300, dtype=np.uint8).tobytes()


def at_speed(sound, speed):
    position = np.arange(int((sound.frames - 1) / speed)) * speed
    return Sound(np.interp(position, np.arange(sound.frames), sound.samples).astype(np.float32), sound.rate)


def loads(sound, format="house", **settings):
    return kit.decode(sound, format=format, counter=kit.Counter(**settings)).complete


def with_wow(sound, depth, hz=1.0):
    """Speed swings by `depth` (a part) so many times a second."""
    position = np.cumsum(1 + depth * np.sin(2 * np.pi * hz * np.arange(sound.frames) / sound.rate))
    position = position[position < sound.frames - 1]
    return Sound(np.interp(position, np.arange(sound.frames), sound.samples).astype(np.float32), sound.rate)


@pytest.fixture(scope="module")
def tape():
    return kit.encode(DATA, name="x.bin", lead_in_s=0.6)


@pytest.mark.parametrize("speed", [0.69, 0.75, 0.9, 1.0, 1.1, 1.25, 1.28])
def test_a_fixed_threshold_bears_a_third_of_the_speed(tape, speed):
    """A zero of 1 unit must stay below 1.5, a one of 2 units above: from 2/3 to 4/3, less one round of the loop."""
    assert loads(at_speed(tape, speed), loop_s=5e-6)


@pytest.mark.parametrize("speed", [0.55, 0.65, 1.36, 1.5])
def test_beyond_a_third_it_fails_and_the_default_reader_does_not(tape, speed):
    sound = at_speed(tape, speed)
    assert not loads(sound, loop_s=5e-6)
    assert kit.decode(sound, format="house").complete


def test_a_slow_loop_bears_less(tape):
    """A round of a tenth of a millisecond is half a unit: the lengths blur into each other."""
    sound = at_speed(tape, 1.25)
    assert loads(sound, loop_s=5e-6) and not loads(sound, loop_s=1e-4)


def test_slow_wow_does_not_hurt_cycle_length(tape):
    """10 % at 1 Hz: each cycle is judged for itself, so nothing adds up."""
    assert loads(with_wow(tape, 0.1))


def test_the_threshold_is_made_for_one_speed(tape):
    fast = kit.encode(DATA, name="x.bin", lead_in_s=0.6, speed=2)
    assert loads(fast, speed=2.0) and not loads(fast) and not loads(tape, speed=2.0)


def test_its_findings_are_of_the_same_kind(tape):
    reading = kit.decode(tape, format="house", counter=kit.Counter())
    assert reading.files[0].data == DATA
    start_s, stop_s = reading.where(byte=100)
    assert reading.at((start_s + stop_s) / 2).byte == 100


@pytest.mark.parametrize(("setting", "value"), [
    ("loop_s", 0), ("loop_s", 1.0), ("speed", 0), ("speed", 99), ("restart", "never"),
])
def test_nonsense_is_refused_with_the_range(setting, value):
    with pytest.raises(kit.SettingError, match=r"must (lie|be one of block, character, got 'never')"):
        kit.Counter(**{setting: value})


# -- the bit clock ---------------------------------------------------------------------------------------

STEADY = kit.FORMATS["steady"]
SERIAL = kit.Format("serial", code=TwoTones(), frame=Frame(order="lsb", start_bits="0", stop_bits="11"))
HEADER_BITS = 8 * (1 + 48 + 2)  # kind, header, check: the longest block of a tape of short blocks


@pytest.fixture(scope="module")
def steady_tape():
    return kit.encode(DATA, name="x.bin", format=STEADY, lead_in_s=0.6)


@pytest.fixture(scope="module")
def serial_tape():
    return kit.encode(DATA, name="x.bin", format=SERIAL, lead_in_s=0.6)


def first_wrong_bit(code, error, seed):
    """At which bit a clock goes wrong on edges of a tape that runs faster by this part; none before it is."""
    bits = np.random.default_rng(seed).integers(0, 2, 3000)
    edges = np.concatenate(([0.0], np.cumsum(code.encode(bits)))) / (1 + error)
    cells = counted(code, STEADY, "block").decode(edges, 1.0, 2900)
    return int(np.flatnonzero(cells.bits != bits[: len(cells.bits)])[0])


@pytest.mark.parametrize("error", [0.02, 0.01, 0.005, 0.002, -0.002, -0.005, -0.01, -0.02])
@pytest.mark.parametrize(("code", "low", "high"), [
    (TwoTones(), 0.35, 0.4), (TwoTones(8, 16, 8.0), 0.46, 0.475), (TwoTones(64, 128, 64.0), 0.495, 0.5),
], ids=["2-4", "8-16", "64-128"])
def test_a_bit_clock_slips_after_half_a_bit_over_the_error(code, low, high, error):
    """A fixed clock with speed error e slips after 0.5/e bits (computed); the fewer edges, the sooner it is seen.

    A window leaves out 0.4 of a half-cycle, 0.1 of a bit of four: 0.5 - 0.1 bits off a one next to a zero is
    counted wrong, 0.25 + 0.1 off a zero next to a one. Bits are at random: the next such pair is seldom ten away.
    """
    wrong = [first_wrong_bit(code, error, seed) for seed in range(5)]
    assert low / abs(error) - 3 < min(wrong) <= max(wrong) < high / abs(error) + 10


@pytest.mark.parametrize("part", [1, -1])
def test_a_bit_clock_bears_hardly_any_error_where_cycle_length_bears_much(tape, steady_tape, part):
    """A block of 2472 bits may be off by 0.35 / 2472 = 0.014 %; house with its fixed threshold bears 25 %."""
    assert loads(steady_tape, STEADY, loop_s=5e-6)
    assert loads(at_speed(steady_tape, 1 + part * 1.0e-4), STEADY, loop_s=5e-6)
    assert not loads(at_speed(steady_tape, 1 + part * 2.0e-4), STEADY, loop_s=5e-6)
    off = at_speed(steady_tape, 1 + part * 0.01)
    assert not loads(off, STEADY) and loads(at_speed(tape, 1 + part * 0.01))
    assert kit.decode(off, format=STEADY).files[0].data == DATA


@pytest.mark.parametrize("part", [1, -1])
def test_short_blocks_bear_what_long_ones_do_not(part):
    """The clock starts anew with each: a header of 408 bits bears 0.35 / 408 = 0.086 %, and no more than 0.098 %."""
    short = kit.encode(DATA, name="x.bin", format=STEADY, block_bytes=16, lead_in_s=0.6)
    assert loads(at_speed(short, 1 + part * 0.9 * 0.35 / HEADER_BITS), STEADY, loop_s=5e-6)
    assert not loads(at_speed(short, 1 + part * 1.1 * 0.4 / HEADER_BITS), STEADY, loop_s=5e-6)


def test_slow_wow_makes_a_bit_clock_slip(tape, steady_tape):
    """0.5 % at 1 Hz moves edges by 0.005 / 2 pi s, twice that from one end of the swing to the other: two bits.

    A tenth of it moves them by a fifth of a bit, which is borne; so is all of it by the other two ways of reading.
    """
    wobbled = with_wow(steady_tape, 0.005)
    assert loads(with_wow(steady_tape, 0.0005), STEADY, loop_s=5e-6)
    assert not loads(wobbled, STEADY, loop_s=5e-6)
    assert loads(with_wow(tape, 0.005), loop_s=5e-6)
    assert kit.decode(wobbled, format=STEADY).files[0].data == DATA


@pytest.mark.parametrize("part", [1, -1])
def test_started_with_each_character_the_clock_need_only_last_for_one(serial_tape, part):
    """11 bits: it bears 0.35 / 11 = 3.2 %, and no more than 0.5 / 11 = 4.5 %; once a block, not even 0.1 %."""
    settings = {"format": SERIAL, "loop_s": 5e-6}
    assert loads(serial_tape, restart="character", **settings)
    for error in (0.001, 0.01, 0.03):
        assert loads(at_speed(serial_tape, 1 + part * error), restart="character", **settings)
        assert not loads(at_speed(serial_tape, 1 + part * error), restart="block", **settings)
    assert not loads(at_speed(serial_tape, 1 + part * 0.047), restart="character", **settings)


def test_started_with_each_character_it_bears_slow_wow(serial_tape):
    """2 % at 1 Hz: within 11 bits it is a steady error of 2 % at most."""
    wobbled = with_wow(serial_tape, 0.02)
    assert loads(wobbled, SERIAL, restart="character", loop_s=5e-6)
    assert not loads(wobbled, SERIAL, restart="block", loop_s=5e-6)


@pytest.mark.parametrize("frame", [Frame(), Frame(start_bits="0"), Frame(start_bits="1", stop_bits="1")])
def test_a_restart_needs_a_start_bit_that_differs_from_what_stands_before_it(tape, frame):
    """Cycle length needs none: there the setting does nothing."""
    format = kit.Format("mine", code=TwoTones(), frame=frame)
    with pytest.raises(kit.SettingError, match=r"start bit differs from its last stop bit, got start bits .*'mine'"):
        loads(tape, format, restart="character")
    assert loads(tape, restart="character")


def test_a_bit_clock_is_made_for_one_speed(steady_tape):
    fast = kit.encode(DATA, name="x.bin", format=STEADY, lead_in_s=0.6, speed=2)
    assert loads(fast, STEADY, speed=2.0, loop_s=5e-6)
    assert not loads(fast, STEADY) and not loads(steady_tape, STEADY, speed=2.0)


@pytest.mark.parametrize(("name", "restart"), [("steady", "block"), ("serial", "character")])
def test_findings_of_a_bit_clock_are_of_the_same_kind(request, name, restart):
    """The same file, the same blocks in the same places as the default reader finds, to a tenth of a cell."""
    sound, format = request.getfixturevalue(f"{name}_tape"), {"steady": STEADY, "serial": SERIAL}[name]
    reading = kit.decode(sound, format=format, counter=kit.Counter(restart=restart))
    usual = kit.decode(sound, format=format)
    assert reading.files[0].data == DATA and reading.blocks[0].format == format
    start_s, stop_s = reading.where(byte=100)
    assert reading.at((start_s + stop_s) / 2).byte == 100
    for block, other in zip(reading.blocks, usual.blocks, strict=True):
        assert np.array_equal(block.bits, other.bits)
        assert block.start_s + block.cell_s == pytest.approx(other.start_s + other.cell_s, abs=0.1 / 1200)


def test_a_block_whose_clock_slipped_gives_its_first_bytes_and_doubts_the_rest(steady_tape):
    """At 0.1 %: what comes before the first undecided count is sure, and right."""
    reading = kit.decode(at_speed(steady_tape, 1.001), format=STEADY, counter=kit.Counter(loop_s=5e-6))
    assert {block.verdict for block in reading.blocks} == {"damaged"} and len(reading.blocks) == 3
    written = kit.decode(steady_tape, format=STEADY).blocks
    for block, whole in zip(reading.blocks, written, strict=True):
        sure = int(np.flatnonzero(block.doubtful)[0])
        assert 8 <= sure <= 0.4 / 0.001 / 8
        assert block.content[:sure] == whole.content[:sure] and block.doubtful[sure:].all()


def test_what_is_no_counter_is_refused_in_one_line(tape):
    for wrong in (kit.Counter, True, "counter"):
        with pytest.raises(kit.SettingError, match="counter must be"):
            kit.decode(tape, counter=wrong)
