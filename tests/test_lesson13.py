"""Lesson 13: what it claims, and that different designs get different, deserved scores from end to end."""

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.ownformat import FILE_BYTES, build, file_bytes
from kit.exercises import LESSONS, learner
from kit.exercises.lesson13rate import USEFUL_RATE, useful_rate
from kit.league import TAPES, design_of, format_of, score

PAGE = page_of(13)
SEEN_LATER = ["two copies: ", "4800 Hz: ", "By the law: 1.3"]
SOLVED = """
import numpy
def solved_by_test(file_bytes, tape_s, right, vouched):
    counts = numpy.array(right, dtype=bool) & numpy.array(vouched, dtype=bool)
    return file_bytes * 8 * (counts.mean() if counts.size else 0) / tape_s
"""
FEW = 6  # tapes of a demonstration here; a learner sees twenty


def learner_rate(file_bytes, tape_s, right, vouched):
    """An answer written another way than the reference: tape by tape."""
    return float(np.mean([8 * file_bytes / tape_s * (a * b) for a, b in zip(right, vouched, strict=True)] or [0]))


INDEPENDENT = {"useful_rate": learner_rate}


def seed_of_tapes(code):
    return learner(code).seed("13a")


def amdahl(stays, times):
    """G. M. Amdahl, AFIPS Conference Proceedings 30 (1967), 483-485, in the form in which it is usually given (from
    memory): how much faster all goes where a part stays as it is and the rest goes so many times as fast."""
    return 1 / (stays + (1 - stays) / times)


def numbers():
    first, double = score(), score(unit_hz=4800)
    begins = {name: getattr(design_of(), name) for name in ("unit_hz", "leader_units", "leader_s", "block_bytes")}
    half_leader = first.parts_s[0] / first.seconds
    return {
        "0": useful_rate(128, 2.0, [], []) == 0 and score(check="none").score == 0,
        "1": useful_rate(100, 4.0, [1, 1], [1, 0]) == 100 == useful_rate(100, 4.0, [1, 0], [1, 1]),
        "128": FILE_BYTES == 128 == len(file_bytes(0)),
        "2400": begins["unit_hz"] == 2400 and build(design_of()).code.shortest_units == 1,
        "4800": double.state.unit_hz == 4800 and double.loads >= first.loads - 1,
        "1967": double.seconds and first.seconds / double.seconds == pytest.approx(amdahl(half_leader, 2), rel=0.01),
        "1927": "(95 % sure: 76 to 99 %)" in first.text and kit.trials.interval(19, 20) == pytest.approx(
            (0.764, 0.991), abs=0.001),
    }


def more_speed_is_worth_less_than_it_seems(code):
    seed = seed_of_tapes(code)
    first, double = (score(unit_hz=hz, seed=seed, tapes=FEW) for hz in (2400, 4800))
    kept = double.parts_s[0] == pytest.approx(first.parts_s[0], rel=0.01)  # leaders are given in seconds
    return kept and 1 < double.score / first.score < 1.8


def a_second_copy_costs_more_score_than_it_brings(code):
    seed = seed_of_tapes(code)
    one, two = (score(copies=copies, seed=seed, tapes=FEW) for copies in (1, 2))
    twice = two.seconds == pytest.approx(2 * one.seconds, rel=0.02)
    return twice and two.loads >= one.loads and 0.45 < two.score / one.score < 0.95


DEMONSTRATIONS = {"13a": more_speed_is_worth_less_than_it_seems, "13b": a_second_copy_costs_more_score_than_it_brings}


def test_the_words_of_the_explanations_hold():
    """Half of the tape is leader; twice the speed is a third more bits and saves a quarter of the tape."""
    first, double = score(), score(unit_hz=4800)
    assert first.parts_s[0] / first.seconds == pytest.approx(0.5, abs=0.02)
    assert double.score / first.score == pytest.approx(4 / 3, rel=0.02)
    assert double.seconds / first.seconds == pytest.approx(3 / 4, rel=0.02)


def test_a_copy_pays_by_the_score_where_fewer_load_than_the_stretch_says():
    item = LESSONS[13].items["s"]
    share = item.right([20, 36]) / 100
    assert useful_rate(128, 2.0, [1] * 20, [1] * 20) * share == pytest.approx(useful_rate(128, 3.6, [1], [1]))


def test_a_part_that_stays_makes_the_gain_what_the_entry_says():
    assert LESSONS[13].items["c"].right([10, 20]) == pytest.approx(amdahl(1 / 3, 2))


def test_what_the_bench_counts_without_a_check_the_score_does_not():
    bench = kit.bench.open_model("designer", deck="worn", tapes=10, check="none").result
    assert bench.score > 0 and "nothing vouches for it" in bench.text
    assert score(check="none").score == 0


def test_of_the_codes_one_puts_most_bits_into_a_cycle_as_the_task_lets_one_find():
    told = {name: kit.bench.open_model("designer", deck="worn", code=name).result.text
            for name in ("cycle length", "two tones", "phase encoding", "delay modulation")}
    per_cycle = {name: float(words.split("puts ")[1].split()[0]) for name, words in told.items()}
    assert max(per_cycle, key=per_cycle.get) == "delay modulation"


def test_from_some_unit_on_no_tape_loads_as_the_task_lets_one_find():
    assert score(unit_hz=4800).loads > 15 and score(unit_hz=6800).loads == 0


def test_the_kit_s_own_reader_brings_back_more_than_the_loader_of_the_league():
    """A design the league's loader reads not once; `decode` does."""
    format = format_of(unit_hz=6800)
    data = file_bytes(0)
    worn = kit.decks["worn"].play(kit.encode(data, name="own.bin", format=format, rate=48_000), 0)
    assert score(unit_hz=6800).loads == 0
    assert kit.decode(worn, format=format).files[0].data == data


def changed(notebook, **settings):
    """The notebook with another design and two trade-offs."""
    for cell in notebook.cells:
        for name, value in settings.items():
            cell.source = cell.source.replace(f'"{name}": {getattr_of_first(name)!r}', f'"{name}": {value!r}')
        cell.source = cell.source.replace(
            'Trade("leader_s", 0.5, "Write one sentence here."),',
            'Trade("leader_s", 0.5, "The motor is up in time."), Trade("copies", 2, "Speed is what we need."),')
    return notebook


def getattr_of_first(name):
    value = getattr(design_of(), name)
    return int(value) if isinstance(value, float) and value == int(value) else value


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_13_scores_and_defends_a_design_of_the_learner_s_own(code, tmp_path, monkeypatch):
    notebook = changed(solved(predicted(stored(PAGE), "d"), "useful_rate", SOLVED), unit_hz=4800, leader_s=0.1)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    mine, first = score(unit_hz=4800, leader_s=0.1), score()
    assert mine.text in shown and mine.score > 2 * first.score
    assert f"Yours: {first.score}" in shown and f"The kit's: {first.score}" in shown
    assert learner(code, "6b").message(13) in shown and "log.txt" in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that scores a design." in shown
    assert "Speed is what we need." in shown and "Still to be justified" not in shown
    table = shown[shown.index("place  design"):].splitlines()
    assert table[1].split()[1] == learner(code, "6b").code_name.split()[0] and "(the first design)" in table[2]


def test_the_solution_of_lesson_13_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert USEFUL_RATE.check(space["solved_useful_rate"], learner("gull 7").data("13m"), b"seed").passed


def test_twenty_tapes_are_tried_half_of_them_on_the_bench_of_the_lesson():
    assert TAPES == 20 == 2 * 10 == len(score().vouched)
