"""Lesson 2: what it claims, and that a wave a learner built carries a tape."""

from fractions import Fraction

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of
from scipy import signal

import kit
from kit.bench.harmonics import passing
from kit.exercises import LESSONS, learner
from kit.exercises.lesson02square import BUILD_SQUARE, square_of_sines
from kit.sines import built_of_sines, low_passed, sines_view

PAGE = page_of(2)
SEEN_LATER = ["What is left is nearly a smooth sine", "Through the filter:"]
SOLVED = """
import numpy
def solved_by_test(f, k, t):
    odd = 2 * numpy.arange(k) + 1
    return (4 / numpy.pi * numpy.sin(2 * numpy.pi * odd * f * t) / odd).sum()
"""


def learner_square(f, k, t):
    """An answer written another way than the reference: with arrays, and the fundamental's angle first."""
    angle, odd = 2 * np.pi * f * t, np.arange(1, 2 * k, 2)
    return 4 / np.pi * float(np.dot(np.sin(odd * angle), 1 / odd))


INDEPENDENT = {"build_square": learner_square}


def bench(**settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("harmonics", **settings).result


def data_cycles_hz(tape):
    """Frequencies of the cycles of a tape's words, counted in the samples by scipy's peaks of their slope."""
    start_s, stop_s = kit.decode(tape).blocks[1].span_s
    part = tape.part(start_s, stop_s).samples
    rises = signal.find_peaks(np.diff(part), height=0.3)[0]
    return tape.rate / np.diff(rises)


def leader_hz(tape):
    half_second = tape.samples[: tape.rate // 2]
    rises = np.flatnonzero((half_second[1:] >= 0) & (half_second[:-1] < 0))
    return tape.rate * (len(rises) - 1) / (rises[-1] - rises[0])


def numbers():
    tape = learner("gull 7").tape(2)
    square = np.where(np.arange(4096) < 2048, 1.0, -1.0)
    turns = np.exp(-2j * np.pi * np.outer(np.arange(6), np.arange(4096) / 4096))
    heights = np.abs(turns @ square) / 2048
    parts = [Fraction(heights[n] / heights[1]).limit_denominator(20) for n in (1, 3, 5)]
    cycles = data_cycles_hz(tape)
    near = [np.abs(cycles - hz) < 0.05 * hz for hz in (1200, 2400)]
    kept = passing(np.array([1200, 3600]), 2000)
    return {
        "600": leader_hz(tape) == pytest.approx(600, rel=0.01),
        "1200": near[0].any() and bench().harmonics_hz[0] == 1200,
        "2400": near[1].any() and bool((near[0] | near[1]).all()),
        "2000": passing(2000, 2000) == pytest.approx(np.sqrt(0.5)) and kept[0] > 0.99 and kept[1] < 0.1,
        # Published, in any text on Fourier series: odd harmonics 4/(pi n), 8/pi² of the power in the first.
        "1": parts[0] == 1 and np.abs(heights[[2, 4]]).max() < 1e-9,
        "3": parts[1] == Fraction(1, 3),
        "5": parts[2] == Fraction(1, 5),
        "4": heights[1] == pytest.approx(4 / np.pi, rel=1e-5),
        "1.27": round(heights[1], 2) == 1.27,
        "8": heights[1] ** 2 / 2 == pytest.approx(8 / np.pi**2, rel=1e-5),
        "81.06": round(100 * heights[1] ** 2 / 2 / np.mean(square**2), 2) == 81.06,
        "2": learner_square(1000, 2, 0.0002) == pytest.approx(
            4 / np.pi * (np.sin(0.4 * np.pi) + np.sin(1.2 * np.pi) / 3)),
        "25": bench(sines=25, cutoff_hz=2000).harmonics_hz.size == 25 and bool(sines_view(1200, 25).text),
    }


def a_square_wave_comes_out_smooth(code):
    """On the bench, and of the learner's own tape: what is left of its leader beside its first sine."""
    found = bench(sines=25, cutoff_hz=2000)
    times = found.times_ms / 1000
    # A sine fitted to what came out, by least squares; corners would be left over.
    basis = np.stack([np.sin(2 * np.pi * 1200 * times), np.cos(2 * np.pi * 1200 * times)], axis=1)
    left = found.wave - basis @ np.linalg.lstsq(basis, found.wave, rcond=None)[0]
    smooth = np.sqrt(np.mean(left**2)) < 0.05 * np.sqrt(np.mean(found.wave**2))
    tape = learner(code).tape(2)
    steepest = [np.abs(np.diff(sound.samples)).max() for sound in (tape, low_passed(tape, 2000))]
    return bool(smooth and found.passed[0] > 1 and steepest[1] < 0.25 * steepest[0])


def every_word_is_read_through_the_filter(code):
    me = learner(code)
    read = kit.decode(low_passed(me.tape(2), 2000)).files
    return len(read) == 1 and read[0].complete and read[0].data == me.message(2).encode()


DEMONSTRATIONS = {"2a": a_square_wave_comes_out_smooth, "2b": every_word_is_read_through_the_filter}


def test_the_filter_is_scipys_butterworth_without_its_delay():
    """Against scipy's: its size at each frequency, and no delay."""
    b, a = signal.butter(4, 2 * np.pi * 2000, analog=True)
    rate, hertz = 44100, np.array([300, 1200, 2400, 3600, 6000])
    times = np.arange(rate) / rate
    waves = np.sin(2 * np.pi * np.outer(hertz, times))
    heard = [low_passed(kit.Sound(0.5 * wave, rate), 2000).samples for wave in waves]
    spectra = [np.fft.rfft(one)[hz] / (rate / 4) for one, hz in zip(heard, hertz, strict=True)]
    assert np.abs(spectra) == pytest.approx(np.abs(signal.freqs(b, a, 2 * np.pi * hertz)[1]), rel=0.01)
    assert np.angle(1j * np.array(spectra)) == pytest.approx(0, abs=0.01)


def test_what_is_explained_of_the_filter_is_so():
    """Of 3600 Hz a tenth is left, of 2400 Hz some two fifths; of the sines above 3600 Hz less."""
    explained = LESSONS[2].items["a"].explanation + LESSONS[2].items["b"].explanation
    assert "to a tenth" in explained and "some two fifths" in explained
    assert passing(3600, 2000) == pytest.approx(0.1, abs=0.01)
    assert passing(2400, 2000) == pytest.approx(0.4, abs=0.05)
    assert bool(np.all(passing(1200 * np.arange(5, 50, 2), 2000) < passing(3600, 2000)))


@pytest.mark.parametrize("count", [1, 3, 25])
def test_the_picture_of_sines_says_how_high_each_is_and_their_sum(count):
    text = sines_view(1200, count).text
    assert "1.27 at 1200 Hz" in text and ("0.42 at 3600 Hz" in text) == (count > 1)
    middle = sum(4 / np.pi / n * np.sin(np.pi * n / 2) for n in range(1, 2 * count, 2))
    assert f"come to {middle:.2f} in the middle" in text


@pytest.mark.parametrize("count", [0, 26])
def test_no_sine_and_too_many_are_refused_in_one_line(count):
    with pytest.raises(kit.errors.SettingError, match="1 to 25 sines"):
        sines_view(1200, count)


def test_a_tape_built_of_sines_crosses_zero_where_the_tape_does():
    tape = learner("gull 7").tape(2)
    wanted = kit.waves.edges(tape.samples, tape.rate)
    for count in (1, 2):
        built = built_of_sines(tape, learner_square, count)
        at = kit.waves.edges(built.samples, built.rate)
        inner = wanted[1:-1]
        nearest = np.abs(at[np.clip(np.searchsorted(at, inner), 1, len(at) - 1)][:, None] - inner[:, None])
        before = np.abs(at[np.clip(np.searchsorted(at, inner) - 1, 0, len(at) - 1)] - inner)
        assert np.minimum(nearest[:, 0], before).max() < 0.5 / tape.rate
        assert 0.35 < built.peak < 0.5


def test_the_kit_reads_nothing_where_nothing_was_built():
    tape = learner("gull 7").tape(2)
    assert not kit.decode(built_of_sines(tape, lambda f, k, t: 0.0, 1)).files


def test_more_sines_come_nearer_to_the_square_wave_of_the_reference():
    """Far from an edge, by the law of Leibniz: the sum differs by less than the first sine left out."""
    for count in (1, 2, 5, 50):
        assert abs(square_of_sines(1000, count, 0.00025) - 1) < 4 / np.pi / (2 * count + 1)


def test_the_stretch_of_lesson_2_counts_what_the_bench_lets_through():
    item = LESSONS[2].items["s"]
    for f, limit in ((200, 1300), (600, 3900), (240, 4440)):
        second = np.where(np.arange(f * 1000) % 1000 < 500, 1.0, -1.0)  # of a thousand samples to a cycle
        lines = np.abs(np.fft.rfft(second))
        assert item.right([f, limit]) == np.count_nonzero(lines[: limit + 1] > 1)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_2_lets_a_learner_s_own_wave_carry_their_words(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "b"), "build_square", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    length = len(learner(code, "6b").message(2))
    assert f"Drawn by you: log.txt: {length} bytes, checked" in shown
    assert "Passed on your message and 3 others." in shown
    assert "81.06% of the power" in shown
    assert "You can now write a function that builds a square wave of sines." in shown


def test_the_solution_of_lesson_2_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec("from math import pi, sin\n" + cell.source.split("\n\n\n")[0], space)
    assert BUILD_SQUARE.check(space["solved_build_square"], learner("gull 7").data("2m"), b"seed").passed
