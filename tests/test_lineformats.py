"""Formats of the line codes and tone pairs: any consistent choice reads, and what is damaged says so."""

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import kit
from kit import Sound
from kit.cells import CycleLength
from kit.checks import CHECKS
from kit.frames import Frame
from kit.leader import Leader
from kit.linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from kit.tonepairs import TONE_PAIRS, TonePair
from kit.tones import TwoTones

RATE = 44100
NAMES = ["levels", "on-off", "tones", "flips", "biphase", "phase", "delay"]
SHORT = {"lead_in_s": 0.3, "leader_s": 0.15, "gap_s": 0.08}
CLOCKED = st.builds(
    Frame, order=st.sampled_from(["msb", "lsb"]), start_bits=st.just("0"), stop_bits=st.sampled_from(["1", "11"]),
    parity=st.sampled_from(["none", "odd", "even"]),
)
ANY_FRAME = st.one_of(st.builds(Frame, order=st.sampled_from(["msb", "lsb"])), CLOCKED)
UNITS = st.sampled_from([0.75, 1.0, 1.5, 2.0])
HALF_CYCLES = st.sampled_from([(2, 3), (4, 2), (7 / 3, 3.5), (5.2, 4), (3, 2.5)])
CLOCKING = st.one_of(
    st.just(CycleLength(1.0, 1.5)),
    st.just(TwoTones(3, 5, 2.0)),
    st.builds(BiphaseMark, UNITS),
    st.builds(PhaseEncoding, UNITS),
    st.builds(DelayModulation, UNITS),
    st.builds(PhaseFlips, st.integers(1, 3), st.sampled_from([1.5, 2.0, 3.0])),
    st.builds(lambda counts, cell: TonePair(*counts, cell), HALF_CYCLES, st.sampled_from([2.0, 2.5, 3.0])),
)
TONES = st.builds(OnOffTone, st.integers(2, 4), st.sampled_from([2.0, 3.0]))
CLOCKLESS = st.one_of(st.builds(RawLevels, UNITS), TONES)
CHOICES = st.one_of(st.tuples(CLOCKING, ANY_FRAME), st.tuples(CLOCKLESS, CLOCKED))
QUICK = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def fitting_leader(code):
    """A leader of which neither cycle can be one of the code's: longer than all of them, between them, or shorter."""
    first, *others = sorted(code.cycle_lengths_units)
    if not others or others[-1] < 4 * first:
        top = max(first, *others) if others else first
        return Leader(leader_units=1.8 * top, sync_units=1.35 * top)
    if others[0] > 3 * first:
        return Leader(leader_units=2 * first, sync_units=1.5 * first)
    return Leader(leader_units=0.8 * first, sync_units=0.6 * first)


@QUICK
@given(CHOICES, st.sampled_from(sorted(CHECKS)), st.sampled_from([0.5, 1.0, 1.7]), st.binary(max_size=120))
def test_any_consistent_choice_of_code_frame_check_leader_and_speed_reads(choice, check, speed, data):
    """Nothing else is told or changed: the format is made, and its tapes come back."""
    (code, frame), unit_hz = choice, 2000.0
    format = kit.Format("learner", unit_hz, code, fitting_leader(code), frame, check, block_bytes=64, **SHORT)
    assume(2.5 * format.needed_rate(speed) <= RATE)
    reading = kit.decode(kit.encode(data, name="log.bin", format=format, speed=speed, rate=RATE), format=format)
    assert [file.data for file in reading.files] == [data]
    assert reading.complete or not format.check_bytes


@pytest.mark.parametrize("pair", TONE_PAIRS)
def test_a_format_of_any_tone_pair_of_a_standard_reads(pair):
    """By its name alone no more is needed than the pair; also a tape that runs 5 % slow."""
    code = TonePair.of_hz(*TONE_PAIRS[pair], unit_hz=300.0)
    top = max(code.cycle_lengths_units)
    format = kit.Format("pair", 300.0, code, Leader(1.8 * top, 1.35 * top), block_bytes=16, **SHORT)
    data = b"wind 5"
    sound = kit.encode(data, name="w", format=format, speed=0.95, rate=22050)
    (file,) = kit.decode(sound, format=format).files
    assert file.complete and file.data == data


# -- damage -----------------------------------------------------------------------------------------------


def written(name, size=400):
    data = np.random.default_rng(40).integers(0, 256, size, dtype=np.uint8).tobytes()
    return data, kit.encode(data, name="log.bin", format=name, rate=RATE, lead_in_s=0.3)


@pytest.mark.parametrize("name", NAMES)
def test_what_a_scratch_took_is_in_doubt_and_nothing_wrong_is_called_fine(name):
    """Forty milliseconds of silence, or of noise, in the middle of a block."""
    data, sound = written(name, 150)
    whole = kit.decode(sound, format=name).files[0]
    start_s, stop_s = (int(t * RATE) for t in whole.blocks[-1].span_s)
    rng = np.random.default_rng(41)
    for with_noise in (0.0, 0.3):
        at = start_s + (stop_s - start_s) // 2
        samples = sound.samples.copy()
        samples[at : at + int(0.04 * RATE)] = with_noise * rng.standard_normal(int(0.04 * RATE))
        (file,) = kit.decode(Sound(samples, RATE), format=name).files
        doubted = {byte for first, last in file.doubtful for byte in range(first, last)}
        wrong = {k for k, (one, other) in enumerate(zip(data, file.data, strict=True)) if one != other}
        assert not file.complete and wrong <= doubted
        assert len(wrong) < len(data) / 2


@pytest.mark.parametrize("name", NAMES)
def test_three_percent_of_hiss_wow_and_a_tape_upside_down_and_backwards_are_borne_together(name):
    """Polarity and direction are told from the tape."""
    data, sound = written(name, 100)
    seconds = np.arange(int(1.05 * sound.frames)) / RATE
    position = np.cumsum(1 + 0.02 * np.sin(2 * np.pi * 3 * seconds))
    position = position[position < sound.frames - 1]
    samples = -np.interp(position, np.arange(sound.frames), sound.samples)[::-1]
    hiss = np.random.default_rng(42).normal(0, 0.03 * 0.5, len(samples))
    (file,) = kit.decode(Sound(samples + hiss, RATE), format=name).files
    assert file.complete and file.data == data


def test_raw_levels_are_lost_where_no_level_is_held_and_codes_without_one_are_not():
    """A coupling at 100 Hz, as a recorder's input has: it lets a held level sink by half in 1.1 ms."""
    from scipy.signal import lfilter

    decay = np.exp(-2 * np.pi * 100 / RATE)
    for name, survives in (("levels", False), ("biphase", True), ("phase", True)):
        _, sound = written(name, 200)
        hiss = np.random.default_rng(43).normal(0, 0.02, sound.frames)
        coupled = lfilter([1, -1], [1, -decay], sound.samples) + hiss
        assert kit.decode(Sound(coupled, RATE), format=name).complete == survives


# -- refusals ---------------------------------------------------------------------------------------------


def test_a_leader_that_bits_could_be_mistaken_for_is_refused():
    with pytest.raises(kit.SettingError, match="cycles of data and leader must differ by 15% at least, got 4 and 4"):
        kit.Format("mixed", code=RawLevels(2.0))
    with pytest.raises(kit.SettingError, match="cycles of sync and data must differ"):
        kit.Format("mixed", code=DelayModulation(0.8), leader=Leader(5.0, 3.1))


def test_the_counter_refuses_codes_it_has_no_loop_for_in_one_line_and_passes_them_over_when_it_may():
    data, sound = written("biphase", 20)
    with pytest.raises(kit.SettingError, match="the counter must know the cell code, got BiphaseMark") as caught:
        kit.decode(sound, format="biphase", counter=kit.Counter())
    assert "\n" not in str(caught.value)
    house = kit.encode(data, name="log.bin", format="house", rate=RATE, lead_in_s=0.3)
    assert kit.decode(house, counter=kit.Counter()).files[0].data == data
