"""The test tape: what `measure` finds of recorders, against what they were set to, on one machine and on two.

Rungs are held against brute force: each rung's data a tape of its own, through the same machines with several seeds.
"""

import time
from dataclasses import dataclass, field

import numpy as np

import kit
from kit.deck import Deck, decks
from tests import testtape_cases as truth

from .rows import Row, at_most

__all__ = ["BENCHMARKS"]

SEEDS = (1,)
LEAST_FLUTTER_PERCENT = 0.01  # below it there is nothing to take a tenth of


@dataclass
class Case:
    """A recording machine, a replay machine (None: the same one), and how they are wired."""

    name: str
    machine: Deck
    on: Deck | None = None
    wiring: str = "straight"
    errors: dict = field(default_factory=dict)


def cases():
    """All named decks by themselves; pairs; machines of which the ladder finds the end."""
    mono = {"portable", "worn"}
    found = [Case(name, deck, wiring="joined" if name in mono else "straight") for name, deck in decks.items()]
    for first, second in (("studio", "home"), ("home", "portable"), ("portable", "home"), ("studio", "worn"),
                          ("home", "studio"), ("portable", "worn")):  # fmt: skip
        wiring = "joined" if first in mono else "straight"
        found.append(Case(f"{first} on {second}", decks[first], decks[second], wiring))
    for name, settings in (
        ("hiss -30", {"hiss_dbfs": -30}), ("hiss -8", {"hiss_dbfs": -8}), ("hiss -5", {"hiss_dbfs": -5}),
        ("dull", {"hiss_dbfs": -50, "replay_spacing_um": 4}),
        ("very dull", {"hiss_dbfs": -50, "replay_spacing_um": 8}),
        ("dull and noisy", {"hiss_dbfs": -25, "replay_spacing_um": 5, "replay_wow_percent": 0.3}),
        ("swung", {"hiss_dbfs": -45, "record_wow_percent": 2, "replay_flutter_percent": 1, "replay_spacing_um": 2}),
        ("loud", {"hiss_dbfs": -45, "saturation_dbfs": -12, "replay_spacing_um": 2}),
        ("quiet", {"hiss_dbfs": -40, "source_level_db": -25}),
        ("left dead", {"hiss_dbfs": -50, "source_wiring": "left-dead"}),
        ("right dead", {"hiss_dbfs": -50, "output_wiring": "right-dead"}),
        ("opposed", {"hiss_dbfs": -50, "source_wiring": "opposed"}),
        ("inverted", {"hiss_dbfs": -50, "output_inverted": True, "source_skew_us": 100}),
    ):  # fmt: skip
        wiring = {"left dead": "left-dead", "right dead": "right-dead", "opposed": "opposed"}
        found.append(Case(name, Deck(**settings), wiring=wiring.get(name, "straight")))
    return found


def testtape():
    """Speed, flutter, noise, response, wiring and rung of every machine, against what it was set to."""
    every, seconds = cases(), []
    for case in every:
        for seed in SEEDS:
            recording = truth.played(case.machine, case.on, seed)
            start = time.process_time()
            report = kit.measure(recording, recorded_elsewhere=case.on is not None)
            seconds.append(time.process_time() - start)
            for name, error in _errors(case, report, seed).items():
                case.errors[name] = max(error, case.errors.get(name, 0.0))
        found = truth.rung_of(report.fastest)
        case.errors["rung"] = abs(found - truth.fastest_alone(case.machine, case.on, below=found + 2))
        yield Row(f"{case.name}: {_in_short(case, report)}", case.errors["rung"], "rungs off")
    yield from _worst(every)
    yield at_most("slowest reading of two minutes (time of processor)", max(seconds), "s", 12, clock=True)
    yield Row("mean of all readings", float(np.mean(seconds)), "s", clock=True)


def _in_short(case, report):
    shown = (("speed", "%"), ("flutter", "of it"), ("noise", "dB"), ("response", "dB"))
    errors = ", ".join(f"{name} {case.errors[name]:.3f} {unit}" for name, unit in shown if name in case.errors)
    fastest = f"{report.fastest.value:g}x" if report.fastest.known else "nothing"
    return f"errors: {errors}; {report.wiring.name}; loads {fastest}"


def _errors(case, report, seed):
    """How far the figures are off."""
    found = {"wiring": float(case.wiring not in (report.wiring.name, report.wiring.name.split(",")[-1].strip()))}
    found["speed"] = abs(report.speeds.difference.value - truth.true_speed(case.machine, case.on))
    flutter = truth.true_flutter(case.machine, case.on, seed)
    if flutter > LEAST_FLUTTER_PERCENT and report.speeds.wow_and_flutter.known:
        found["flutter"] = abs(report.speeds.wow_and_flutter.value / flutter - 1)
    noises = [figure.value for side, figure in enumerate(report.noise.level) if figure.known]
    found["noise"] = max(abs(level - truth.true_noise(case.machine, case.on)) for level in noises)
    errors = [_response_error(case, report.response[side], side, seed) for side in report.response]
    if max(errors) >= 0:  # -1: noise hides every step
        found["response"] = max(errors)
    return found


def _response_error(case, response, side, seed):
    hz, level_db = response.curve
    expected = truth.true_response(case.machine, hz, case.on)
    if case.machine.room_reverberation_s:
        expected = expected + truth.echo_response(case.machine, hz, side, seed)
    return float(np.max(np.abs(level_db - expected), initial=-1.0))


def _worst(every):
    goals = {"speed": ("%", 0.05), "flutter": ("of the reading", 0.10), "noise": ("dB", 1.0), "response": ("dB", 1.0),
             "wiring": ("wrong", 0), "rung": ("rungs", 1)}  # fmt: skip
    for group, chosen in (("one machine", [c for c in every if c.on is None]),
                          ("two machines", [c for c in every if c.on is not None])):  # fmt: skip
        for name, (unit, goal) in goals.items():
            worst = max((c for c in chosen if name in c.errors), key=lambda c, name=name: c.errors[name])
            yield at_most(f"{group}: worst error of {name} ({worst.name})", worst.errors[name], unit, goal)


def stairs():
    """The quietest level that loads, against brute force: each level a tape of its own, several seeds."""
    worst = 0.0
    for name, settings in (("home", None), ("studio", None), ("worn", None), ("hiss -30", {"hiss_dbfs": -30})):
        machine = decks[name] if settings is None else Deck(**settings)
        found = kit.measure(truth.played(machine, seed=1)).levels.loads_from.value
        alone = _quietest_alone(machine)
        worst = max(worst, abs(found - alone))
        yield Row(f"{name}: loads from {found:g} dB, alone from {alone:g} dB", abs(found - alone), "dB off")
    yield at_most("worst error of the quietest level", worst, "dB", 6)


def _quietest_alone(machine, seeds=(11, 12, 13)):
    quietest = np.nan
    for level in range(0, -61, -6):
        loaded = [truth.loads_alone(machine, None, seed, 1.0, 2, level) for seed in seeds]
        if sum(loaded) <= len(seeds) / 2:
            break
        quietest = level
    return quietest


BENCHMARKS = {"testtape": testtape, "testtape-levels": stairs}
