"""Lesson 11: what it claims of speeds, hiss and ceilings, and that a learner's own log behaves so."""

import re

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench import loader
from kit.bench.fields import fields_of
from kit.bench.loader import LoaderState, attempt
from kit.deck import shannon
from kit.exercises import LESSONS, learner
from kit.exercises.lesson11time import NEVER, TIME_TO_GOOD_LOAD, mean_time_s

PAGE = page_of(11)
SEEN_LATER = ["beyond, it jumps to never", "s a load; good:", "As it is: At 2 times"]
SOLVED = """
def solved_by_test(load_s, whole, tried):
    return "never" if not whole else load_s + load_s * (tried - whole) / whole
"""
BEST_AT_HOME, NEXT_STEP = 5.7, 8.0


def learner_time(load_s, whole, tried):
    """An answer written another way than the reference: the good load, and the failed ones that go with it."""
    return load_s + load_s * (tried - whole) / whole if whole else "never"


INDEPENDENT = {"time_to_good_load": learner_time}


def bench(**settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("loader", **settings).result


def best(result):
    return float(result.speeds[np.argmin(result.good_s)])


def log_of(code):
    return 4 * (learner(code).message(11) + "\n")


def one_load(code, speed, number, recorder=kit.decks["portable"]):
    """A load of the learner's own log, as in the notebook."""
    data = log_of(code).encode()
    written = kit.encode(data, lead_in_s=0.4, speed=speed, rate=96000)
    played = recorder.play(written, learner(code).seed("11a") + number)
    reading = kit.decode(played, format="house", counter=kit.Counter(5e-6, speed=speed))
    assert not reading.complete or reading.files[0].data == data
    return written.seconds, reading.complete


def numbers():
    figures = {name: text for name, text in bench(hiss_db=24, speed=2.8).figures}
    speeds, hiss, tapes = (fields_of(LoaderState())[k] for k in (0, 2, 4))
    portable = bench()
    few = {step: shannon(3000, 30) for step in ("3000", "30", "29,902")}
    house = kit.FORMATS["house"]
    short_s = 2 * house.code.encode([0])[0] * house.unit_s()
    return {
        "0": short_s == pytest.approx(1 / 2400),
        "1": 2 * house.code.encode([1])[0] * house.unit_s() == pytest.approx(2 / 2400),
        "2400": short_s == pytest.approx(1 / 2400),
        "4.76": pytest.approx(19.84, abs=0.02) == 47600 / 2400,  # CHECKS: the compact cassette, 4.76 cm/s
        # Common practice: half the height is 6 dB less, a tenth is 20 dB less.
        "6": pytest.approx(0.5, abs=0.002) == 10 ** (-6 / 20),
        "20": 10 ** (-20 / 20) == 0.1 and mean_time_s(20, 1, 4) == 80,
        "80": mean_time_s(20, 1, 4) == 80,
        "2": kit.decks["portable"].replay_gap_um == pytest.approx(2, abs=0.3),
        # C. E. Shannon, "Communication in the Presence of Noise", Proceedings of the IRE 37(1), 1949.
        "1949": few["3000"] == 3000 * np.log2(1 + 1000),
        "3000": round(few["3000"]) == 29902,
        "30": 10 ** (30 / 10) == 1000,
        "29,902": round(few["29,902"]) == 29902,
        "6400": portable.bits_per_second[np.argmin(portable.good_s)] == pytest.approx(6400),
        "5.7": best(bench(deck="home")) == 5.7,
        "12": 12 in hiss.values and pytest.approx(4, abs=0.02) == 10 ** (12 / 20),
        "24": 24 in hiss.values and figures["tapes that load"] == "2 of 4",
        "2.8": 2.8 in speeds.values,
        "4": 4 in tapes.values,
        "40": 40 in tapes.values,
        "21": kit.decks["portable"].hiss_dbfs + 21 == -30,
    }


def time_shrinks_and_is_then_never(code):
    """On the learner's own log: at twice and four times the speed quicker each time, at eight times never."""
    tries = {speed: [one_load(code, speed, number) for number in range(2)] for speed in (1, 2, 4, 8)}
    times = [mean_time_s(loads[0][0], sum(good for _, good in loads), 2) for loads in tries.values()]
    return times[3] == NEVER and NEVER not in times[:3] and times[0] > times[1] > times[2]


def hiss_leaves_the_best_speed_where_it_is(code):
    """On tapes of the learner's own seed: all load at 5.7 times and none a step beyond, with or without the hiss."""
    seeds = [learner(code).seed("11b") + k for k in range(2)]
    whole = {(hiss, speed): [attempt(speed, "home", hiss, 1, seed).whole for seed in seeds]
             for hiss in (0, 12) for speed in (BEST_AT_HOME, NEXT_STEP)}
    return all(all(whole[hiss, BEST_AT_HOME]) and not any(whole[hiss, NEXT_STEP]) for hiss in (0, 12))


DEMONSTRATIONS = {"11a": time_shrinks_and_is_then_never, "11b": hiss_leaves_the_best_speed_where_it_is}


def test_the_bench_shows_what_is_predicted_in_11a():
    result = bench()
    k = int(np.argmin(result.good_s))
    assert result.speeds[k] == 4 and np.all(np.diff(result.good_s[: k + 1]) < 0)
    assert np.isinf(result.good_s[k + 1 :]).all() and result.speeds[-1] == 16  # "up to sixteen times"
    assert "jumps to never" in result.text
    share = result.bits_per_second[k] / result.ceiling
    assert 0.02 < share < 0.05  # "a few percent of the portable's ceiling"


def test_the_bench_shows_what_is_predicted_in_11b_and_the_ceiling_falls_by_about_a_quarter():
    usual, hissy = bench(deck="home"), bench(deck="home", hiss_db=12)
    assert usual.whole.tolist() == hissy.whole.tolist() and best(usual) == best(hissy) == BEST_AT_HOME
    assert hissy.ceiling / usual.ceiling == pytest.approx(0.75, abs=0.04)


@pytest.mark.parametrize(("name", "speed"), [("home", 8.0), ("portable", 5.7)])
def test_it_is_the_highs_that_stop_the_loader_and_not_the_hiss_as_the_explanation_of_11b_says(
        name, speed, monkeypatch):
    """Without hiss, hum and dropouts it stops where it did; with heads that carry all highs it does not."""
    deck = kit.decks[name]
    silent = deck.with_settings(hiss_dbfs=-np.inf, hum_dbfs=-np.inf, dropouts_per_minute=0)
    flat = deck.with_settings(record_spacing_um=0, replay_spacing_um=0, replay_gap_um=0)
    monkeypatch.setattr(loader, "decks", {**kit.decks, "silent": silent, "flat": flat})
    try:
        loads = {kind: [attempt(speed, kind, 0, 1, seed).whole for seed in range(3)] for kind in ("silent", "flat")}
    finally:
        attempt.cache_clear()
    assert not any(loads["silent"]) and all(loads["flat"])


def test_one_bit_in_a_hundred_leaves_hardly_a_file_whole_as_the_explanation_of_11a_says():
    bits = 8 * loader.FILE_BYTES
    assert bits > 1000 and 8 * len(log_of("gull 7")) > 1000 and 0.99**bits < 1e-6


def test_what_one_may_find_by_changing_it_is_there_to_be_found():
    by_hiss = {hiss: best(bench(hiss_db=hiss)) for hiss in (0, 6, 12, 18, 24)}
    assert by_hiss[0] == by_hiss[12] == 4 and by_hiss[18] < 4 and by_hiss[24] < by_hiss[18]
    studio, worn = bench(deck="studio"), bench(deck="worn")
    assert best(studio) / best(worn) > studio.ceiling / worn.ceiling
    once, twice = bench(), bench(copies=2)
    assert best(once) == best(twice) and np.all(twice.seconds > 1.4 * once.seconds)


def test_near_the_edge_loads_of_one_s_own_log_fail_now_and_then():
    """So that the last task of the lesson has something to choose between."""
    hissy = kit.decks["portable"].with_settings(hiss_dbfs=-30)
    for code in ("code 0", "code 10", "code 20"):
        good = [sum(one_load(code, speed, k, hissy)[1] for k in range(4)) for speed in (1, 2, 4)]
        assert good[1] >= 2 and good[2] == 0 and min(good[:2]) >= 1


def test_wavelengths_and_losses_are_those_of_the_formulas():
    """Wavelength on tape, 10 kHz: 4.76 µm (computed); spacing loss 54.575·d/λ dB, Wallace 1951 (from memory)."""
    item = LESSONS[11].items["d"]
    assert item.right(10_000) == pytest.approx(4.76)
    deck = kit.Deck(replay_spacing_um=1.0)
    assert -deck.response([9600])[0] == pytest.approx(54.575 / (47625 / 9600), rel=1e-3)
    losses = -kit.decks["portable"].response([2400, 4800, 9600, 19200])
    assert np.all(np.diff(losses) > 0) and losses[0] < 3 < 30 < losses[-1]


def test_the_ceiling_of_the_stretch_is_shannon_s_formula():
    item = LESSONS[11].items["s"]
    for hertz, ratio in ((2000, 31), (12_000, 4095), (3500, 1023)):
        assert item.right([hertz, ratio]) == pytest.approx(shannon(hertz, 10 * np.log10(ratio)))


def test_the_mean_of_many_tries_is_the_time_of_the_function():
    """By trying: a chance of 7 in 20, tried until it works, 20,000 times over."""
    tries = np.random.default_rng(11).geometric(7 / 20, 20_000)
    assert 60.0 * tries.mean() == pytest.approx(mean_time_s(60.0, 7, 20), rel=0.02)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_11_works_with_a_learner_s_own_log(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "b"), "time_to_good_load", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    good = dict(re.findall(r"speed (\d): [\d.]+ s a load; good: (\d) of 4", shown))
    assert good == {"1": "4", "2": "4", "4": "4", "8": "0"}
    assert "Passed on your message and 3 others." in shown
    assert "speed 4: good: 0 of 4, time: never" in shown
    assert "You can now write a function that tells the time to a good load." in shown


def test_the_solution_of_lesson_11_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert TIME_TO_GOOD_LOAD.check(space["solved_time_to_good_load"], learner("gull 7").data("11m"), b"seed").passed


def test_a_function_that_does_not_know_never_is_told_so_in_one_line():
    found = TIME_TO_GOOD_LOAD.check(lambda load_s, whole, tried: load_s * tried / whole, (90.0, 3, 10), b"seed")
    assert not found.passed and "no good load" in found.rungs[0] and len(found.rungs[0].split()) <= 15
