"""Lesson 10: what it claims of levels, hiss and full tapes, and that a learner's function finds the level."""

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.leveltape import threshold_edges
from kit.exercises import LESSONS, learner
from kit.exercises.lesson10level import BEST_LEVEL, middle_of_longest, runs_of
from kit.levelviews import THRESHOLD, playing_sweep, recording_sweep

PAGE = page_of(10)
SEEN_LATER = ["The reader finds", "Recorded 12 dB louder: without fault", "Double speed: without fault"]
CODES = [f"code {k}" for k in range(5, 100, 10)]
SOLVED = """
def solved_by_test(gains, passed):
    marks = "".join("x" if right else " " for right in passed)
    longest = max(marks.split(), key=len)
    first = marks.index(longest)
    return gains[first + len(longest) // 2]
"""


def learner_level(gains, passed):
    """An answer written another way than the reference: marks in a text, and the middle one of the longest word."""
    marks = "".join("x" if right else " " for right in passed)
    longest = max(marks.split(), key=len)
    return gains[marks.index(longest) + len(longest) // 2]


INDEPENDENT = {"best_level": learner_level}


def bench(code, **settings):
    return kit.bench.open_model("levels", words=learner(code).message(10), **settings).result


def hissy_tape(code, hiss_dbfs=-16):
    """A learner's tape, as the page plays it first."""
    deck = kit.Deck(replay_spacing_um=1, hiss_dbfs=hiss_dbfs)
    return deck.play(learner(code).tape(10), seed=learner(code).seed("10a"))


def numbers():
    gains, passed = [-20, -18, -16, -14, -12], [True, False, True, True, True]
    alone, row = runs_of(passed)
    decibels = LESSONS[10].items["c"].right
    before, clean = bench("gull 7", hiss_db=-11, level_db=-14), bench("gull 7", hiss_db=-60, level_db=0)
    words = learner("gull 7").message(10)
    return {
        "0": np.percentile(np.abs(clean.samples), 95) == pytest.approx(1, abs=0.1),
        "2.5": round(10 ** (8 / 20), 1) == 2.5,
        "6": bench("gull 7", hiss_db=-11, level_db=-6).wrong > before.wrong,
        "6.02": round(20 * np.log10(0.5), 2) == -6.02 and decibels([1, 0]) == pytest.approx(6.0206),
        "8": sum(playing_sweep(words, -8).passed) <= 2,
        "10": decibels([0, 1]) == pytest.approx(20),
        "11": before.wrong == 0,
        "12": gains[row[1]] == -12 and sum(playing_sweep(words, -8, 12).passed) > 15,
        "14": middle_of_longest(gains, passed) == -14,
        "16": gains[row[0]] == -16,
        "18": gains[alone[1] + 1] == -18 and not passed[1],
        "20": gains[alone[0]] == 20 * np.log10(THRESHOLD) == -20,
        "25": bench("gull 7", hiss_db=-11, level_db=-6, threshold_percent=25).wrong == before.wrong,
        "40": (clean.levels_db[0], clean.levels_db[-1]) == (-40, 20),
        "60": decibels([0, 3]) == pytest.approx(60) and bench("gull 7", hiss_db=-60, level_db=20).wrong == 0,
        "1000": 10 ** (decibels([0, 3]) / 20) == pytest.approx(1000),
    }


def turning_up_a_hissy_tape_makes_it_worse(code):
    """From −14 to −6 dB, on a learner's own words with hiss of their own; and hiss adds edges there."""
    first, louder = (bench(code, hiss_db=-11, level_db=level) for level in (-14, -6))
    return louder.wrong > first.wrong and len(louder.edges_ms) > len(first.edges_ms)


def recording_louder_makes_most_levels_read(code):
    words = learner(code).message(10)
    usual, louder = (playing_sweep(words, -8, record_db) for record_db in (0, 12))
    return sum(usual.passed) <= 2 and sum(louder.passed) > len(louder.passed) / 2


DEMONSTRATIONS = {
    "10a": turning_up_a_hissy_tape_makes_it_worse,
    "10b": recording_louder_makes_most_levels_read,
}


@pytest.mark.parametrize("code", CODES)
def test_what_the_page_says_of_the_bench_before_the_prediction(code):
    """'Can mostly still be read' at −14 dB: without fault, or but for a part of it."""
    assert bench(code, hiss_db=-11, level_db=-14).wrong < 0.35 * bench(code).bits


def test_on_nine_tapes_of_ten_the_level_of_14_db_below_reads_without_fault():
    right = [bench(f"code {k}", hiss_db=-11, level_db=-14).wrong == 0 for k in range(40)]
    assert sum(right) >= 34


@pytest.mark.parametrize("code", CODES[:5])
def test_what_the_tasks_let_one_find_on_the_bench(code):
    quiet = bench(code, hiss_db=-11, level_db=-30)
    assert quiet.wrong == quiet.bits and len(quiet.edges_ms) == 0  # below the threshold there is no edge
    cut_off = bench(code, hiss_db=-60, level_db=20)
    assert cut_off.wrong == 0 and np.mean(np.abs(cut_off.samples) == 1.0) > 0.5
    raised, lowered = (bench(code, hiss_db=-11, level_db=level, threshold_percent=part)
                       for level, part in ((-6, 25), (-14, 10)))
    assert raised.wrong == pytest.approx(lowered.wrong, abs=0.05 * lowered.bits)
    stretches = [np.count_nonzero(bench(code, hiss_db=hiss).wrong_at == 0) for hiss in (-14, -11, -6)]
    assert stretches[0] > stretches[1] > stretches[2] == 0


@pytest.mark.parametrize("code", CODES)
def test_turning_up_what_reaches_the_threshold_gives_the_same_or_worse(code):
    """By 8 dB from −14 dB, at every hiss from none to one that half of the bits are guessed at; these by chance."""
    for hiss_db in (-60, -20, -16, -14, -13, -12, -11, -10):
        found = bench(code, hiss_db=hiss_db)
        here, louder = (int(found.wrong_at[found.levels_db == level][0]) for level in (-14, -6))
        assert louder >= here - (0.05 * found.bits if hiss_db > -11 else 0)


@pytest.mark.parametrize("code", CODES)
def test_next_to_nothing_is_cut_off_where_the_prediction_is_tried(code):
    """At −6 dB, as the reply to 'it is cut off' has it; at 20 dB more than half of the wave is."""
    cut_off = [np.mean(np.abs(bench(code, hiss_db=-11, level_db=level).samples) == 1) for level in (-6, 20)]
    assert cut_off[0] < 0.002 and cut_off[1] > 0.5


@pytest.mark.parametrize("code", CODES[:5])
def test_a_full_tape_spoils_a_fast_one_and_not_one_of_ordinary_speed(code):
    words = learner(code).message(10)
    ordinary, double = (recording_sweep(words, speed) for speed in ("ordinary", "double"))
    assert ordinary.wrong[0] > 0 and double.wrong[0] > 0  # too quiet: hiss
    assert ordinary.good_db[1] == ordinary.levels_db[-1]
    assert double.good_db[0] >= -4 and 16 <= double.good_db[1] <= 24
    assert double.wrong[-1] > 0.2 * double.bits


@pytest.mark.parametrize("code", CODES)
def test_the_level_a_function_sets_has_room_on_both_sides(code):
    """Of the tape that the page lets it set the knob for: what lies within one step of it reads as well."""
    sweep = playing_sweep(learner(code).message(10), -14)
    level_db = middle_of_longest(sweep.gains, sweep.passed)
    near = [right for gain, right in zip(sweep.gains, sweep.passed, strict=True) if abs(gain - level_db) <= 1]
    assert near and all(near)
    assert sweep.good_db[0] <= level_db <= sweep.good_db[1]


@pytest.mark.parametrize("part", [0.02, 0.2, 1.5])
def test_the_kit_s_own_reader_minds_the_level_less_as_the_page_says(part):
    sent = learner("gull 7").message(10).encode()
    heard = hissy_tape("gull 7", -26).scaled(part)
    assert kit.decode(heard).files[0].data == sent
    if part < 0.1:
        assert len(threshold_edges(heard.samples.astype(float), THRESHOLD)) == 0


def test_at_a_crossing_the_hiss_takes_the_wave_there_and_back():
    """What the page asks one to look for: more crossings of zero than were written, in the picture's six ms."""
    extra = 0
    for code in CODES:
        tape = learner(code).tape(10)
        start_s, _ = kit.decode(tape).blocks[1].span_s
        counts = [np.count_nonzero(np.diff(np.signbit(sound.part(start_s, start_s + 0.006).samples)))
                  for sound in (tape, hissy_tape(code))]
        extra += counts[1] > counts[0]
    assert extra >= 9


@pytest.mark.parametrize("part", [0.5, 0.25])
def test_half_the_height_is_6_02_db_less_by_power_too(part):
    """20·log10 of the height is 10·log10 of the power (from memory: IEC 60027-3 defines both levels so)."""
    tape = learner("gull 7").tape(10)
    power = [np.mean(sound.samples.astype(float) ** 2) for sound in (tape.scaled(part), tape)]
    assert 10 * np.log10(power[0] / power[1]) == pytest.approx(np.log2(part) * 6.02, abs=0.01)


def test_the_stretch_of_lesson_10_is_what_the_deck_does():
    """A wave and a hiss are measured apart: recorded louder, only the first rises; played louder, both do."""
    silence, tape = kit.Sound(np.zeros(44100, np.float32), 44100), learner("gull 7").tape(10).scaled(0.02)
    data = [6, 10, 8]
    rms = lambda sound: np.sqrt(np.mean(sound.samples.astype(float) ** 2))  # noqa: E731
    hiss_dbfs = 20 * np.log10(rms(tape)) - data[0]
    deck = kit.Deck(source_level_db=data[1], replay_gain_db=data[2], hiss_dbfs=hiss_dbfs)
    wave = rms(kit.Deck(source_level_db=data[1], replay_gain_db=data[2]).play(tape))
    ratio = wave / rms(deck.play(silence, seed=3))
    # The level of hiss is stated over 20 kHz, and a sound of 44.1 kHz carries 22.05 kHz.
    assert ratio * np.sqrt(22.05 / 20) == pytest.approx(LESSONS[10].items["s"].right(data), rel=0.02)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_10_sets_the_knob_for_a_learner_s_own_words(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "best_level", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    sweep = playing_sweep(learner(code, "6b").message(10), -14)
    assert "Passed on your message and 3 others." in shown
    assert f"Your function sets the knob to {learner_level(sweep.gains, sweep.passed)} dB." in shown
    assert "You can now write a function that chooses the best level." in shown
    assert "0.5 of the height is -6.02 dB" in shown


def test_the_solution_of_lesson_10_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert BEST_LEVEL.check(space["solved_best_level"], learner("gull 7").data("10m"), b"seed").passed
