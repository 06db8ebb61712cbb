"""How long any bench keeps Python busy without a word, wherever its controls stand: seeded states, no browser."""

import inspect
import time

import numpy as np

from kit.bench.fields import fields_of
from kit.bench.gallery import EXPERIMENTS
from kit.errors import SettingError
from kit.player import play

from .rows import at_most

__all__ = ["BENCHMARKS", "seeded_states", "steps_s"]

STATES = 120
MOST_STEP_MS = 300
FOR_ONE_S, FOR_STATE_S = 40.0, 4.0  # after so long no more states of an experiment, or steps of a state, are tried
LISTEN_S = 3.0


def bench_steps():
    """Longest time without progress of every bench over seeded states, the ends of its controls often among them.

    It is processor time, so that what else the machine does has no part in it.
    """
    for name, experiment in EXPERIMENTS.items():
        states = seeded_states(experiment, STATES, seed=1)
        steps_s(experiment, experiment.state())  # the first use of a library is left out
        until, longest = time.perf_counter() + FOR_ONE_S, []
        for state in states:
            longest.append(1000 * max(steps_s(experiment, state)))
            if time.perf_counter() > until:
                break
        yield at_most(f"{name}: longest step, {len(longest)} states", max(longest), "ms", MOST_STEP_MS, clock=True)


def seeded_states(experiment, count, seed):
    """So many states drawn at random: each control stands at either end a quarter of the time."""
    rng = np.random.default_rng(seed)
    states = []
    while len(states) < count:
        values = {field.name: _drawn(field, rng) for field in fields_of(experiment.state())}
        try:
            states.append(experiment.state(**values))
        except SettingError:  # not all values go together
            continue
    return states


def _drawn(field, rng):
    if field.kind == "text":
        size = (0, field.most, int(rng.integers(0, field.most + 1)))[rng.integers(3)]
        return "".join(map(chr, rng.integers(32, 127, size)))
    return field.values[(0, -1, *rng.integers(len(field.values), size=2))[rng.integers(4)]]


def steps_s(experiment, state):
    """Seconds of each step: to each word of progress, to the picture, and to the sound when it is asked for.

    Of a state that takes very long, the first steps: the others are like them.
    """
    told = [time.process_time()]
    steps = experiment.find(state)
    result = steps if not inspect.isgenerator(steps) else _gone_through(steps, told)
    if result is None:
        return np.diff(told)
    drawn = experiment.draw(state, result)
    drawn.packed() if hasattr(drawn, "packed") else drawn.png()
    told.append(time.process_time())
    if experiment.sound is not None and (sound := experiment.sound(state, result)) is not None:
        play(sound, LISTEN_S)
        told.append(time.process_time())
    return np.diff(told)


def _gone_through(steps, told):
    """What some steps return, with the time of each told; None if that would take too long."""
    until = time.perf_counter() + FOR_STATE_S
    while time.perf_counter() < until:
        try:
            next(steps)
        except StopIteration as end:
            return end.value
        told.append(time.process_time())
    steps.close()
    return None


BENCHMARKS = {"bench-steps": bench_steps}
