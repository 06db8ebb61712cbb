"""Long work in steps: it yields while a task goes on beside it, and what comes of it is what it is undivided."""

import dataclasses
import itertools
import threading

import numpy as np
import pytest

from kit.bench import designer, speeds
from kit.bench.designer import DESIGNER, sound
from kit.bench.longwork import as_parts, beside
from kit.bench.model import Experiment, Model, Result
from kit.bench.scene import Scene
from kit.bench.speeds import FORMATS, PATIENT, RATE, SPEEDS, SpeedsState
from kit.errors import SettingError
from kit.readers.patient import PatientLane
from kit.waves import render


def gone_through(steps):
    """What a generator yields, and what it returns."""
    yielded = []
    while True:
        try:
            yielded.append(next(steps))
        except StopIteration as end:
            return yielded, end.value


def test_while_a_task_goes_on_there_is_a_step_again_and_again_until_it_is_done():
    may_end = threading.Event()
    steps = beside(lambda word: may_end.wait(30) and word, "done")
    for _ in range(3):
        next(steps)
    may_end.set()
    assert gone_through(steps)[1] == "done"


def test_what_a_task_raises_is_raised_where_it_was_asked_for():
    def refuse():
        raise SettingError("the level must be 0 or less, got 3: take less")

    with pytest.raises(SettingError, match="got 3"):
        gone_through(beside(refuse))


def test_of_work_that_is_stopped_nothing_is_begun_that_still_waits():
    """The first task has begun and is waited for; the second is never begun, and the third is done."""
    may_end, begun = threading.Event(), []
    first, second = beside(may_end.wait, 30), beside(begun.append, "second")
    next(first)
    next(second)
    first.close()
    second.close()
    may_end.set()
    gone_through(beside(begun.append, "third"))
    assert begun == ["third"]


def test_steps_nobody_can_count_are_parts_that_grow_and_stay_below_the_end():
    yielded, _ = gone_through(as_parts(iter_of(50), 0.25, 0.75))
    assert len(yielded) == 50 and yielded[0] > 0.25 and yielded[-1] < 0.75
    assert all(one < other for one, other in itertools.pairwise(yielded))
    assert gone_through(as_parts(iter_of(0))) == ([], "end")


def iter_of(count):
    for _ in range(count):
        yield
    return "end"


def test_work_that_is_stopped_is_closed_at_once():
    """Not when memory is next tidied: it may keep a thread."""
    closed, last = [], itertools.count(1)

    def find(state):
        if next(last) == 1:
            return Result("At rest.", ())
        try:
            yield 0.5
            yield 0.6
        finally:
            closed.append(state)

    model = Model(Experiment("long", "Long", "How long?", SpeedsState, find, lambda *_: Scene((), "")))
    model.observe(lambda change: model.stop(), "progress")
    model.move({"reader": 3})
    assert len(closed) == 1 and model.refused.startswith("Stopped")


@pytest.mark.parametrize("settings", [
    {},
    {"code": "cycle length", "wow_percent": 10.5, "wow_hz": 0.8, "steady_percent": -2.5},
    {"code": "cycle length", "wow_percent": 12.0, "wow_hz": 20.0, "steady_percent": 40.0},
])
def test_the_patient_reader_in_steps_reads_what_it_reads_at_once(settings):
    """Block by block: bits, times and verdicts; where it tries much there is a step for each place it tries."""
    state = SpeedsState(reader=PATIENT, **settings)
    parts, result = gone_through(SPEEDS.find(state))
    lane = PatientLane([FORMATS[state.code]], RATE)
    blocks = [*lane.feed(render(np.diff(result.edges_s), RATE)), *lane.finish()]
    longest = max(blocks, key=lambda one: len(one.bits), default=None)
    assert np.array_equal(result.read, longest.bits if blocks else np.zeros(0))
    assert parts == sorted(parts) and parts[0] == speeds.BEGUN and parts[-1] < 1
    assert len(parts) > 2 if settings else len(parts) >= 2


def test_the_designer_in_steps_tries_what_it_tries_at_once_and_keeps_the_first_tape_to_be_heard():
    state = DESIGNER.state(code="phase encoding", unit_hz=9600.0, deck="worn")
    parts, result = gone_through(DESIGNER.find(state))
    assert parts == sorted(parts) and parts[-1] < 1
    alone = [designer.tried.__wrapped__(result.format, "worn", designer.SEED + tape) for tape in range(3)]
    assert list(map(dataclasses.astuple, result.tried)) == list(map(dataclasses.astuple, alone))
    worn = designer._worn.__wrapped__(result.format, "worn", designer.SEED)
    assert np.array_equal(sound(state, result).samples, np.clip(worn.samples, -1, 1))
