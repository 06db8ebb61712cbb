"""The bench of codes against the comparison it shows, and what it says of bandwidth."""

import numpy as np
import pytest

from kit.bench import codes
from kit.bench.codes import CODES_BENCH, CodesState, draw, find, sound
from kit.bench.model import Model
from kit.codefacts import facts
from kit.comparison import CODES, fact_rows

QUIET = {"hiss_db": -40, "low_pass_hz": 20_000}


@pytest.mark.parametrize("name", list(CODES))
def test_without_loss_and_hiss_every_code_reads_by_edges_and_ideally(name):
    (one,) = find(CodesState(first=name, second=name, third=name, **QUIET)).codes
    assert not one.wrong.any() and not one.ideal_wrong.any()


def test_the_band_is_that_of_the_facts_and_grows_with_the_rate():
    for rate in (600, 1200):
        result = find(CodesState(bits_per_second=rate, **QUIET))
        known = {row["code"]: row["band_hz"] for row in fact_rows(rate)}
        for one in result.codes:
            assert tuple(map(round, one.band_hz)) == known[one.name]
            assert f"between {one.band_hz[0]:.0f} and {one.band_hz[1]:.0f} Hz" in result.text


def test_the_curve_of_a_spectrum_is_the_spectrum_that_samples_have():
    """The power of a long row of random bits, by its Fourier transform, has its middle where the curve has it."""
    from kit.comparison import drawn

    bits = np.random.default_rng(1).integers(0, 2, 4000)
    samples, _ = drawn(CODES["phase encoding"], bits, 1200, 48_000)
    power = np.abs(np.fft.rfft(samples)) ** 2
    hz = np.fft.rfftfreq(len(samples), 1 / 48_000)
    inside = (hz > codes.SPECTRUM_HZ[0]) & (hz < 5000)
    measured = np.sum(power[inside] * hz[inside]) / np.sum(power[inside])
    shown = codes.SPECTRUM_HZ < 5000
    curve = codes._spectrum("phase encoding", 1200) * np.gradient(codes.SPECTRUM_HZ) * shown
    assert np.sum(curve * codes.SPECTRUM_HZ) / curve.sum() == pytest.approx(measured, rel=0.02)


def test_a_low_pass_takes_the_codes_that_need_more_highs_first():
    """At one rate, the shortest cycle decides: a tone of two cycles a bit fails before phase encoding does."""
    def lowest(name):
        reading = [hz for hz in (300, 420, 600, 850, 1200, 1700, 2400, 3400)
                   if not find(CodesState(first=name, second=name, third=name, low_pass_hz=hz)).codes[0].wrong.any()]
        return min(reading)

    high = {name: facts(CODES[name]).bits_per_cycle for name in ("phase flips", "phase encoding")}
    assert high["phase flips"] < high["phase encoding"]
    assert lowest("phase encoding") < lowest("phase flips")


def test_more_hiss_is_never_better_for_an_ideal_receiver(monkeypatch):
    wrong = np.zeros(3)
    for seed in range(10):
        monkeypatch.setattr(codes, "SEED", seed)
        for k, hiss in enumerate((-10, 0, 6)):
            wrong[k] += sum(one.ideal_wrong.sum() for one in find(CodesState(hiss_db=hiss)).codes)
    assert wrong[0] <= wrong[1] <= wrong[2] and wrong[2] > 0


def test_an_ideal_receiver_reads_where_edges_do_not_and_the_text_says_so():
    result = find(CodesState(hiss_db=0))
    rescued = [one.name for one in result.codes if one.wrong.any() and not one.ideal_wrong.any()]
    assert rescued and all(name in result.text.split("would still read")[1] for name in rescued)


def test_a_faster_message_suffers_more_from_the_same_hiss(monkeypatch):
    slow = fast = 0
    for seed in range(10):
        monkeypatch.setattr(codes, "SEED", seed)
        slow += sum(one.wrong.sum() for one in find(CodesState(bits_per_second=600, hiss_db=-4)).codes)
        fast += sum(one.wrong.sum() for one in find(CodesState(bits_per_second=4800, hiss_db=-4)).codes)
    assert fast > slow


def test_a_code_chosen_twice_is_shown_once_and_nothing_is_said_of_no_text():
    state = CodesState(second="cycle length")
    assert len(find(state).codes) == 2 and len(draw(state, find(state)).panes) == 3
    assert "type a text" in find(CodesState(words="")).text


def test_what_is_heard_is_each_code_in_turn():
    state = CodesState()
    result = find(state)
    assert sound(state, result).frames == sum(len(one.way.arrived) for one in result.codes) + 3 * 9600


def test_what_changed_names_the_code_and_its_figure():
    model = Model(CODES_BENCH)
    model.change(third="raw levels")
    assert "third code from on-off tone to raw levels" in model.outcome.changed
    assert "raw levels from – to 0 of 56 bits wrong" in model.outcome.changed


@pytest.mark.parametrize("name", list(CODES))
def test_of_no_text_there_is_nothing_to_read_and_it_says_so(name):
    state = CodesState(words="", first=name, second=name, third=name)
    result = find(state)
    assert not len(result.codes[0].ideal_wrong) and result.text.startswith("There is nothing to write")
    assert draw(state, result).text
