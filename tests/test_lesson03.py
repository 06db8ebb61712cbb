"""Lesson 3: what it claims, and that a learner's longest run tells what a coupling leaves."""

import re
from unittest import mock

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of
from scipy import signal

import kit
from kit.bench import coupling
from kit.comparison import CODES, Condition
from kit.exercises import LESSONS, learner
from kit.exercises.lesson03run import LONGEST_RUN, longest_of
from kit.passage import carried

PAGE = page_of(3)
SEEN_LATER = ["Cycle length: every bit is right", "behind black, in raw levels:"]
SOLVED = """
import re
def solved_by_test(bits):
    return max(map(len, re.findall("0+|1+", "".join(map(str, bits)))))
"""
BLACK_BYTES, TOO_FAST_PERCENT = 40, 3


def learner_run(bits):
    """An answer written another way than the reference: by the places where the bit changes."""
    row = np.array(bits)
    ends = np.concatenate(([0], np.flatnonzero(row[1:] != row[:-1]) + 1, [len(row)]))
    return int(np.diff(ends).max())


INDEPENDENT = {"longest_run": learner_run}


def bench(content, **settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("coupling", content=content, **settings).result


def behind(front, words, code, **condition):
    """The words as they are read behind other bytes."""
    row = np.unpackbits(np.frombuffer(front + words.encode(), np.uint8))
    read = carried(CODES[code], row, Condition(**condition)).cells.bits
    return np.packbits(read).tobytes()[len(front) :]


def left_after(seconds, corner_hz):
    """What a coupling leaves of a held level, by scipy's filter: its response to a step."""
    times, levels = signal.step(([1, 0], [1, 2 * np.pi * corner_hz]), T=np.linspace(0, 2 * seconds, 4001))
    return float(np.interp(seconds, times, levels))


def numbers():
    raw = CODES["raw levels"]
    row = [1, 1, 0, 0, 0, 1]
    state = coupling.CouplingState()
    spectrum = kit.codefacts.facts(raw).spectrum(np.linspace(0.001, 3, 500))
    fast = bench("text", corner_hz=0, speed_percent=TOO_FAST_PERCENT).raw
    usual = bench("text", corner_hz=0).raw
    return {
        "0": int(np.argmax(spectrum)) == 0 and raw.encode([1, 0, 0, 0, 1]).max() == 3,
        "1": [len(part) for part in re.findall("0+|1+", "110001")] == [2, 3, 1],
        "2": longest_of(row[:2]) == 2,
        "3": longest_of(row) == 3 and fast.start_s * (1 + TOO_FAST_PERCENT / 100) == pytest.approx(usual.start_s),
        # Computed from first principles: a held level decays as e^(-2 pi f t).
        "50": state.corner_hz == 50 and left_after(0.01, 50) == pytest.approx(np.exp(-np.pi), rel=1e-3),
        "1200": coupling.BITS_PER_SECOND == 1200,
        "40": BLACK_BYTES == 40 and LESSONS[3].items["b"].question.count("40 black bytes") == 1,
    }


def black_sags_and_gives_no_edge_to_count(code):
    """On the bench, with hiss of the learner's own: no edge was written, some bits are lost, none in cycle length."""
    with mock.patch.object(coupling, "SEED", learner(code).seed("3a")):
        found = bench("black picture")
    written, level = found.written_edges, found.run_level
    return bool(written == 0 and level < 0.01 and found.raw_wrong.any() and not found.other_wrong.any())


def words_behind_black_are_garbled(code):
    """In raw levels and behind black alone: behind nothing, behind random bytes and in cycle length they arrive."""
    me = learner(code)
    words = me.message(3)
    random = np.random.default_rng(me.seed("3b")).bytes(BLACK_BYTES)
    fronts = {b"", random, bytes(BLACK_BYTES)}
    whole = {(front, name) for front in fronts for name in ("raw levels", "cycle length")
             if behind(front, words, name, speed_percent=TOO_FAST_PERCENT) == words.encode()}
    garbled = behind(bytes(BLACK_BYTES), words, "raw levels", speed_percent=TOO_FAST_PERCENT)[:8]
    right = sum(got == sent for got, sent in zip(garbled, words.encode(), strict=False))
    return len(whole) == 5 and (bytes(BLACK_BYTES), "raw levels") not in whole and right <= 1


DEMONSTRATIONS = {"3a": black_sags_and_gives_no_edge_to_count, "3b": words_behind_black_are_garbled}


@pytest.mark.parametrize("bits", [10, 24, 320])
def test_the_kits_recorder_lets_a_held_level_sag_by_the_law_the_lesson_checks(bits):
    """e^(-2 pi f t), computed from first principles; here against a filter of scipy's as well."""
    seconds = bits / 1200
    held = kit.Deck(replay_coupling_hz=50).play(kit.Sound(np.full(round(0.3 * 44100), 0.5), 44100))
    left = float(held.samples[round(seconds * 44100)]) / 0.5
    assert left == pytest.approx(np.exp(-2 * np.pi * 50 * seconds), rel=0.02, abs=1e-4)
    assert left == pytest.approx(left_after(seconds, 50), rel=0.02, abs=1e-4)


def test_text_and_random_bits_come_through_the_same_coupling_as_the_lesson_says():
    for code in ("gull 7", "tern 2", "code 0", "code 10", "code 20"):
        words = learner(code).message(3)[:4]
        assert not bench("text", words=words).raw_wrong.any()
    assert not bench("random bits").raw_wrong.any()


def test_the_reader_is_short_by_some_nine_bits_as_explained():
    found = LESSONS[3].items["b"].explanation
    assert "320 equal bits" in found and "some nine bits short" in found
    assert 8 * BLACK_BYTES == 320
    assert 8.5 < 320 - 320 / (1 + TOO_FAST_PERCENT / 100) < 9.5


def test_a_reader_that_heard_words_before_the_black_bears_a_steady_error_and_not_a_changing_one():
    front, words = b"Mond" + bytes(BLACK_BYTES), "Gulls: 97."
    steady = behind(front, words, "raw levels", speed_percent=3)
    assert steady == words.encode()
    assert behind(front, words, "raw levels", wow_percent=6) != words.encode()
    assert behind(front, words, "cycle length", wow_percent=6) == words.encode()


def test_no_other_code_of_the_bench_is_spoilt_by_black_at_its_first_settings():
    """What one may find under *Change it*; the on-off tone, where zeros are silence, is the exception."""
    codes = [name for name in CODES if name != "raw levels"]
    spoilt = [code for code in codes if bench("black picture", code=code).other_wrong.any()]
    assert set(spoilt) <= {"on-off tone"}


def test_four_blanks_are_spoilt_by_their_long_run_and_less_is_left_behind_a_higher_corner():
    """A blank is 00100000: from its one to the next there are seven zeros."""
    assert bench("text", words="    ").run_bits == 7
    assert bench("text", words="    ").raw_wrong.any()
    left = [bench("text", corner_hz=hz).run_level for hz in range(0, 301, 50)]
    assert bool(np.all(np.diff(left) < 0))


def test_edges_are_counted_as_the_code_draws_them():
    item = LESSONS[3].items["c"]
    for bits in ([1, 1, 0, 1, 0, 0, 0, 1, 1, 1, 1, 0], [0] * 12, [1, 0] * 6):
        drawn = CODES["raw levels"].encode(bits)
        edges = np.cumsum(drawn)[:-1]  # the first half-cycle begins with the one that is added in front
        inside = (edges > 1 + 1e-9) & (edges < 1 + len(bits) - 1e-9)
        assert item.right(bits) == np.count_nonzero(inside)


@pytest.mark.parametrize(("corner_hz", "rate"), [(10, 1200), (85, 2100), (50, 600)])
def test_the_stretch_of_lesson_3_leaves_37_percent(corner_hz, rate):
    bits = LESSONS[3].items["s"].right([corner_hz, rate])
    assert left_after(bits / rate, corner_hz) == pytest.approx(0.3679, abs=0.001)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_3_judges_a_learner_s_own_words(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "b"), "longest_run", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    words = learner(code, "6b").message(3)
    longest = learner_run([int(digit) for byte in words.encode() for digit in f"{byte:08b}"])
    assert f"words: {longest} equal bits" in shown
    assert "black picture: 320 equal bits, 0% of the level left, 9.60 bits off" in shown
    assert f"behind random bytes, in raw levels: {words.encode()[:16]}" in shown
    assert f"behind black, in raw levels: {words.encode()[:16]}" not in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that finds the longest run of equal bits." in shown


def test_the_solution_of_lesson_3_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert LONGEST_RUN.check(space["solved_longest_run"], (learner("gull 7").data("3m"),), b"seed").passed
