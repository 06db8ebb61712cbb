"""Lesson 9: what it claims of clocks and wobbles, and that a learner's function puts a tape's speed right."""

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.speeds import CHARACTER, TIMER
from kit.clockviews import clock_run
from kit.exercises import LESSONS, learner
from kit.exercises.lesson09speed import FIX_SPEED, steadied
from kit.meters import weighting
from kit.meters.weighting import AES6_POINTS, two_sigma, weighted
from kit.waves import edges, render

PAGE = page_of(9)
STEADY = kit.FORMATS["steady"]
SEEN_LATER = ["A wobble of 1 %, 20 times a second:", "Half-cycles from"]
CODES = [f"code {k}" for k in range(5, 100, 10)]
SOLVED = """
import numpy
def solved_by_test(edges_s, n_leader, t_nominal):
    lengths = numpy.diff(edges_s[: 2 * n_leader + 1])
    return numpy.array(edges_s) / (2 * lengths.mean() / t_nominal)
"""


def learner_fix(edges_s, n_leader, t_nominal):
    """An answer written another way than the reference: by the mean of the leader's half-cycles."""
    lengths = np.diff(edges_s[: 2 * n_leader + 1])
    return np.array(edges_s) / (2 * lengths.mean() / t_nominal)


INDEPENDENT = {"fix_speed": learner_fix}


def tape_of(code, format=STEADY):
    return kit.encode(learner(code).message(9).encode(), name="log.txt", format=format, lead_in_s=1.0)


def played(code, tape, wobble_hz, percent=1.0):
    deck = kit.Deck(replay_flutter_percent=percent, replay_flutter_hz=wobble_hz)
    return deck.play(tape, seed=learner(code).seed("9a"))


def wobbling(code, wobble_hz):
    """What the clock makes of a learner's words on a wobbling tape."""
    tape = tape_of(code)
    return clock_run(tape, played(code, tape, wobble_hz), STEADY)


def mended(sound, fix=learner_fix, n_leader=400):
    """A sound with its edges put right, as the page does it."""
    heard_s = edges(sound.samples, sound.rate)
    fixed_s = np.array(fix((heard_s - heard_s[0]).tolist(), n_leader, 4 / 2400))
    return kit.Sound(render(np.diff(fixed_s), sound.rate), sound.rate)


def bench(**settings):
    return kit.bench.open_model("speeds", **settings).result


def wrong(**settings):
    return int(bench(**settings).wrong.sum())


def meter_percent(hertz):
    """A wobble of 0.1 % through the meter of AES6-2008."""
    return two_sigma(weighted(0.1 * np.sin(2 * np.pi * hertz * np.arange(0, 20, 0.001)), 1000))


def numbers():
    tape = learner("gull 7").tape(9)
    block = kit.decode(tape).blocks[1]
    words_tape = tape_of("gull 7")
    leader_s = edges(words_tape.samples, words_tape.rate)[: 2 * 400 + 1]
    halves_ms = [500 * np.diff(block.cell_s)[block.bits == bit].mean() for bit in (0, 1)]
    cycle_length = {"code": "cycle length", "wow_percent": 0}
    weights = {hz: db for hz, db, *_ in AES6_POINTS}
    worked = steadied([0.0, 10.0, 20.0, 25.0], 1, 16.0)  # a leader cycle of 20 that should last 16
    return {
        "0": learner("gull 7").data("9m")[0][0] == 0 and set(block.bits) == {0, 1},
        "1": wrong(wow_percent=1, wow_hz=1) > wrong(wow_percent=1, wow_hz=0.2),
        "0.2": bench(wow_hz=0.2).borders_s[-1] - bench(wow_hz=0.2).borders_s[0] == pytest.approx(1, abs=0.05),
        "2": wrong(wow_hz=2) > 0,
        "4": wrong(wow_hz=4) > 0 and max(weights.values()) == weights[4.0] == 0,
        "8": wrong(wow_hz=8) > 0,
        "20": wrong(wow_hz=20) == 0 and worked == [0.0, 8.0, 16.0, 20.0],
        "11": len(kit.bench.speeds.CHARACTERS.to_bits(b"A")) == 11,
        "30": wrong(steady_percent=30, **cycle_length) == 0,
        "36": wrong(steady_percent=36, **cycle_length) > 0,
        "1200": STEADY.bits_per_second == 1200,
        "0.21": halves_ms[0] == pytest.approx(0.21, abs=0.005),
        "0.42": halves_ms[1] == pytest.approx(0.42, abs=0.005),
        "0.31": sum(halves_ms) / 2 == pytest.approx(0.31, abs=0.005),
        # AES6-2008, table 1: −6.0 dB at 0.8 Hz and −5.9 dB at 20 Hz are a half; 4 Hz is the reference.
        "6": "AES6-2008" in weighting.__doc__,
        "2008": (weights[0.8], weights[20.0]) == (-6.0, -5.9),
        "0.8": meter_percent(0.8) == pytest.approx(0.05, abs=0.0002) and 20 / 25 == 0.8,
        "0.1": [round(meter_percent(hz), 2) for hz in (0.8, 4, 20)] == [0.05, 0.1, 0.05],
        "25": round(meter_percent(0.8) / meter_percent(20), 1) == 1 and round(20 / 0.8, 6) == 25,
        "10": steadied([0.0, 25.0 / 20, 25.0 / 10], 1, 2.0) == [0.0, 1.0, 2.0],
        "5": LESSONS[9].items["c"].right([1000]) == 5,
        "0.5": LESSONS[9].items["c"].right([200]) == pytest.approx(0.5 / 0.02),
        "3": any(clock_run(words_tape, kit.Deck(replay_speed_percent=3).play(words_tape), STEADY).wrong),
        "400": np.ptp(leader_s) / 400 == pytest.approx(4 / 2400, rel=1e-3) and np.ptp(np.diff(leader_s)) < 1e-5,
        "2400": STEADY.unit_s() == pytest.approx(1 / 2400) and STEADY.leader.leader_units == 4,
    }


def a_slow_wobble_spoils_more_letters_than_a_quick_one(code):
    """On a learner's own words; and every wrong bit lies where the clock is a third of a bit off, or more."""
    slow, quick = wobbling(code, 2), wobbling(code, 20)
    return sum(slow.wrong) > sum(quick.wrong) and np.abs(quick.late_bits).max() < 0.25 < np.abs(slow.late_bits).max()


def cycle_length_shrugs_the_same_wobble_off(code):
    """With a threshold that never moves, on a learner's own tape; the clock read nonsense from the same recorder."""
    me = learner(code)
    reading = kit.decode(played(code, me.tape(9), 2), format="house", counter=kit.Counter())
    right = reading.files and reading.files[0].data == me.message(9).encode() and reading.files[0].complete
    return bool(right) and any(wobbling(code, 2).wrong)


DEMONSTRATIONS = {
    "9a": a_slow_wobble_spoils_more_letters_than_a_quick_one,
    "9b": cycle_length_shrugs_the_same_wobble_off,
}


@pytest.mark.parametrize("code", CODES)
def test_the_page_s_own_reader_and_the_kit_s_counter_agree_on_which_wobble_reads(code):
    tape, sent = tape_of(code), learner(code).message(9).encode()
    for wobble_hz, reads in ((2, False), (20, True)):
        reading = kit.decode(played(code, tape, wobble_hz), format=STEADY, counter=kit.Counter())
        assert any(file.complete and file.data == sent for file in reading.files) == reads


def test_what_the_explanation_of_9a_says_in_numbers():
    """Half a swing lasts 300 bits at 2 Hz and 30 at 20 Hz; half of that is what puts the clock off to either side."""
    assert [STEADY.bits_per_second / hz / 2 for hz in (2, 20)] == [300, 30]
    runs = [wobbling(code, 20) for code in CODES]
    assert max(np.ptp(each.late_bits) for each in runs) < 0.25
    carried = 0.01 / (np.pi * 2) * 1200
    assert all(carried / 2 < np.ptp(wobbling(code, 2).late_bits) < 1.03 * carried for code in CODES)


def test_letters_come_right_again_when_the_wobble_carries_the_clock_back():
    """'May', says the explanation: on some tapes a letter behind the first wrong one is right where the clock is."""
    back = 0
    for code in CODES:
        bad = wobbling(code, 2).wrong
        first = bad.index(True)
        back += bad[first:].count(False) >= 3
    assert back >= 3


@pytest.mark.parametrize("percent", [-36, -30, 30, 36])
def test_a_cycle_crosses_the_threshold_beyond_a_third_of_the_speed(percent):
    """A long cycle is taken for short at 4/3 of the speed, when it is a quarter shorter."""
    assert bool(wrong(code="cycle length", wow_percent=0, steady_percent=percent)) == (abs(percent) > 34)


def test_the_bench_answers_the_questions_the_page_asks():
    """Ever less at 2, 4, 8 and 20 Hz; at each character 2 % are borne and 8 % are not; the timer bears all."""
    counts = [wrong(wow_hz=hz) for hz in (2, 4, 8, 20)]
    assert counts == sorted(counts, reverse=True)
    swings = [np.ptp(bench(wow_hz=hz).late_bits) for hz in (2, 4, 8, 20)]
    assert swings == sorted(swings, reverse=True)
    assert wrong(reader=CHARACTER, wow_percent=2) == 0 < wrong(reader=CHARACTER, wow_percent=8)
    assert wrong(reader=TIMER, wow_percent=12) == 0
    assert bench(wow_hz=0.2).borders_s[-1] * 0.2 < 0.5  # of a swing, leader included


@pytest.mark.parametrize(("hertz", "percent"), [(0.8, 0.0500), (4, 0.0997), (20, 0.0505)])
def test_a_wobble_of_a_tenth_of_a_percent_reads_as_aes6_2008_weighs_it(hertz, percent):
    """AES6-2008, table 1, and 0.99692 of the peak of a sine at 4 Hz (computed)."""
    assert meter_percent(hertz) == pytest.approx(percent, abs=0.0002)


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("percent", [-3, 3])
def test_a_tape_at_the_wrong_speed_reads_once_its_speed_is_put_right(code, percent):
    tape = tape_of(code)
    heard = kit.Deck(replay_speed_percent=percent).play(tape)
    before, after = (clock_run(tape, sound, STEADY) for sound in (heard, mended(heard)))
    assert int(np.argmax(np.abs(before.late_bits) > 0.5)) < 56  # "long before your words begin"
    assert sum(before.wrong) > 0.9 * len(before.wrong) and not any(after.wrong)
    file = kit.decode(mended(heard), format=STEADY, counter=kit.Counter()).files[0]
    assert file.complete and file.data == learner(code).message(9).encode()


@pytest.mark.parametrize("code", CODES)
def test_a_leader_does_not_cure_a_wobble(code):
    tape = tape_of(code)
    assert any(clock_run(tape, mended(played(code, tape, 2)), STEADY).wrong)


@pytest.mark.parametrize("percent", [-2, -0.5, 0.5, 2])
def test_a_clock_is_half_a_bit_off_after_half_over_the_error(percent):
    """Against the edges of a real tape: the answer to 9c, and that the clock of the page is as far off as that."""
    tape = tape_of("gull 7")
    late = clock_run(tape, kit.Deck(replay_speed_percent=percent).play(tape), STEADY).late_bits
    first = 1 + int(np.argmax(np.abs(late) > 0.5))
    assert first == pytest.approx(LESSONS[9].items["c"].right([100 * abs(percent)]), rel=0.05, abs=2)


@pytest.mark.parametrize(("depth", "hertz"), [(1.0, 2.0), (0.5, 4.0), (2.0, 5.0)])
def test_the_stretch_of_lesson_9_is_how_far_a_clock_swings(depth, hertz):
    """Against the bench, over a block that is longer than a whole swing."""
    right = LESSONS[9].items["s"].right([10 * depth, 10 * hertz, 100 / 1.2])
    assert np.ptp(bench(wow_percent=depth, wow_hz=hertz).late_bits) == pytest.approx(right, rel=0.05)


def test_the_exit_question_of_lesson_9_has_one_block_that_reads():
    """A fifth of a bit after 20 bits; the other three are half a bit off before they end."""
    assert 20 * 0.01 < 0.35 < 1000 * 0.01
    for settings in ({"steady_percent": 1.0}, {"steady_percent": -1.0}):
        result = bench(wow_percent=0, **settings)
        assert not result.wrong[:20].any() and result.wrong[:1000].any()
    assert all(wrong(wow_percent=1, wow_hz=hz) for hz in (0.5, 1, 2))


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_9_mends_a_tape_that_runs_too_fast(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "fix_speed", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    words = learner(code, "6b").message(9)
    assert "Passed on your message and 3 others." in shown
    assert f"Read: {words}" in shown
    assert shown.count(f"Written: {words}\nRead: {words}\n0 of {len(words)} letters are wrong.") == 3
    assert "You can now write a function that puts the speed of a tape right." in shown


def test_the_solution_of_lesson_9_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert FIX_SPEED.check(space["solved_fix_speed"], learner("gull 7").data("9m"), b"seed").passed
