"""Line codes and tone pairs: the rule of each drawn anew by hand, and what is none refused."""

import itertools

import numpy as np
import pytest
from linecode_cases import LINES, TONES, random_bits

from kit.errors import SettingError
from kit.linecodes import BiphaseMark, OnOffTone, PhaseFlips, RawLevels
from kit.tonepairs import TONE_PAIRS, TonePair

# -- the rules, drawn by hand ---------------------------------------------------------------------------


def levels_by_hand(bits):
    return [bit for bit in bits for _ in range(8)]


def on_off_by_hand(bits):
    """Eighths of a cell: a one turns the level over at the begin of each of them."""
    level, drawn = 0, []
    for bit in bits:
        for _ in range(8):
            level ^= bit
            drawn.append(level)
    return drawn


def flips_by_hand(bits):
    return [bit ^ (part // 2 % 2) for bit in bits for part in range(8)]


def one_cycle_flips_by_hand(bits):
    return [bit ^ (part // 4 % 2) for bit in bits for part in range(8)]


def marks_by_hand(bits):
    level, drawn = 0, []
    for bit in bits:
        level ^= 1
        drawn += [level] * 4
        level ^= bit
        drawn += [level] * 4
    return drawn


def phase_by_hand(bits):
    return [level for bit in bits for level in [1 - bit] * 4 + [bit] * 4]


def delay_by_hand(bits):
    level, last, drawn = 0, 0, []
    for bit in bits:
        level ^= last == bit == 0
        drawn += [level] * 4
        level ^= bit
        drawn += [level] * 4
        last = bit
    return drawn


BY_HAND = dict(zip(LINES, (levels_by_hand, on_off_by_hand, flips_by_hand, one_cycle_flips_by_hand, marks_by_hand,
                           phase_by_hand, delay_by_hand), strict=True))


@pytest.mark.parametrize("name", LINES)
def test_every_word_of_up_to_eight_bits_is_drawn_by_the_rule_of_its_code(name):
    """In eighths of a cell; the bits that the code adds in front and behind are drawn like any other."""
    code = LINES[name]
    for word in itertools.chain.from_iterable(itertools.product((0, 1), repeat=n) for n in range(1, 9)):
        bits = [*code.lead_bits, *word, *code.tail_bits]
        drawn = BY_HAND[name](bits)
        inside = 1 + np.flatnonzero(np.diff(drawn))
        wanted = np.diff([0, *inside, len(drawn)]) * code.cell_units / 8
        assert code.encode(word) == pytest.approx(wanted), word


@pytest.mark.parametrize("name", TONES)
def test_a_run_of_one_bit_is_the_tone_it_should_be_and_no_wave_breaks_off(name):
    """The phase goes on from bit to bit: the half-cycles up to any time are those of the tones up to then."""
    zero_hz, one_hz, rate = TONE_PAIRS[name]
    for bit, tone_hz in ((0, zero_hz), (1, one_hz)):
        halves = TONES[name].encode([bit] * 40)[:20] / rate
        assert 1 / (2 * halves) == pytest.approx(np.full(20, tone_hz))
    bits = random_bits(name, 300, seed=1)
    times = np.cumsum(TONES[name].encode(bits))
    times = times[times < 300]
    steps = np.concatenate(([0.0], np.cumsum(np.where(bits, 2 * one_hz, 2 * zero_hz) / rate)))
    assert np.interp(times, np.arange(301), steps) == pytest.approx(np.arange(1, len(times) + 1))


# -- refusals -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("make", "said"), [
    (lambda: BiphaseMark(0.0), "cell_units must be longer than 0"),
    (lambda: RawLevels(float("nan")), "cell_units must be longer than 0"),
    (lambda: OnOffTone(cycles=0), "1 to 64 whole cycles"),
    (lambda: PhaseFlips(cycles=1.5), "1 to 64 whole cycles"),
    (lambda: TonePair(2, 2.02), "could not be told apart"),
    (lambda: TonePair(0.1, 3), "0.5 to 256 half-cycles"),
    (lambda: TonePair(2.012, 3.017), "small whole numbers"),
    (lambda: TonePair.of_hz(1200, 2200, 0), "rates must be above 0"),
])
def test_what_is_no_code_is_refused_in_one_line(make, said):
    with pytest.raises(SettingError, match=said) as caught:
        make()
    assert "\n" not in str(caught.value)
