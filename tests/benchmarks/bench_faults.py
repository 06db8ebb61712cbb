"""Faults of recorders, alone and in pairs, mild to severe: how much of what theory allows is read whole."""

import json
import random

from kit import Deck
from kit.trials import Trial, interval, run

from .rows import Row, at_least, at_most
from .theory import expected_errors

__all__ = ["BENCHMARKS", "FAULTS", "READERS", "described", "recordings", "summary", "whole"]

READERS = (True, False)  # whether patient, of each way of reading that is tried; the last one must meet the goal
RECORDINGS, GOAL_PERCENT = 300, 95
FORMATS = ("house", "house", "framed", "twice", "sturdy")
BASE = {"hiss_dbfs": -57}  # of a good home deck: no recording is free of noise


def _log(rng, mild, severe):
    """A strength from mild to severe, each ratio as likely."""
    return round(mild * (severe / mild) ** rng.random(), 4)


def _sign(rng):
    return rng.choice((-1, 1))


def _level(rng):
    return {"source_level_db": -_log(rng, 10, 56)}


def _noise(rng):
    return {"hiss_dbfs": -_log(rng, 40, 3)}


def _clipping(rng):
    where = rng.choice(("input", "output"))
    return {f"{where}_clip_dbfs": -_log(rng, 8, 30), f"{where}_lopsided_percent": rng.choice((0, 20, 50, 80))}


def _saturation(rng):
    return {"saturation_dbfs": -_log(rng, 3, 30), "saturation_corner_hz": _log(rng, 6000, 1000)}


def _wow(rng):
    return {"replay_wow_percent": _log(rng, 0.3, 6), "replay_wow_hz": _log(rng, 0.4, 4)}


def _flutter(rng):
    return {"replay_flutter_percent": _log(rng, 0.2, 3), "replay_flutter_hz": _log(rng, 5, 60)}


def _drift(rng):
    return {"replay_drift_percent": _log(rng, 1, 15), "replay_drift_period_s": _log(rng, 60, 10)}


def _speed(rng):
    return {"replay_speed_percent": _sign(rng) * _log(rng, 2, 30)}


def _dropouts(rng):
    return {"dropouts_per_minute": _log(rng, 3, 60), "dropout_depth_db": _log(rng, 6, 60),
            "dropout_length_s": _log(rng, 0.002, 0.5)}


def _spacing(rng):
    return {rng.choice(("record_spacing_um", "replay_spacing_um")): _log(rng, 0.5, 12)}


def _azimuth(rng):
    return {"replay_azimuth_arcmin": _sign(rng) * _log(rng, 5, 50)}


def _gap(rng):
    return {"replay_gap_um": _log(rng, 2, 16)}


def _coupling(rng):
    return {rng.choice(("record_coupling_hz", "replay_coupling_hz")): _log(rng, 50, 1500)}


def _hum(rng):
    return {"hum_dbfs": -_log(rng, 40, 6), "hum_hz": rng.choice((50, 60, 100))}


def _level_control(rng):
    return {"record_level_control_dbfs": -_log(rng, 6, 20), "record_level_boost_db": _log(rng, 5, 40),
            "record_attack_s": _log(rng, 0.5, 0.005), "record_release_s": _log(rng, 3, 0.05)}


def _wiring(rng):
    lead = {rng.choice(("source_wiring", "output_wiring")): rng.choice(("left-dead", "right-dead", "opposed"))}
    return lead | {"source_inverted": rng.random() < 0.5}


def _skew(rng):
    return {"source_skew_us": _sign(rng) * _log(rng, 20, 400), "output_wiring": rng.choice(("straight", "mono"))}


def _room(rng):
    return {"room_distance_m": _log(rng, 0.3, 6), "room_reverberation_s": _log(rng, 0.2, 1.5),
            "room_reverberation_db": rng.uniform(-20, 3), "room_noise_dbfs": -_log(rng, 60, 25)}


def _codec(rng):
    return {"codec": rng.choice(("vorbis", "opus", "mp3")), "codec_rate_hz": rng.choice((8000, 16000, 24000, 48000))}


FAULTS = {
    "level": _level, "noise": _noise, "clipping": _clipping, "saturation": _saturation, "wow": _wow,
    "flutter": _flutter, "drift": _drift, "speed": _speed, "dropouts": _dropouts, "spacing": _spacing,
    "azimuth": _azimuth, "gap": _gap, "coupling": _coupling, "hum": _hum, "level control": _level_control,
    "wiring": _wiring, "skew": _skew, "room": _room, "codec": _codec,
}
"""Settings of a deck with a fault, drawn from mild to severe, by the fault's name."""


def recordings(patient=False, every=1):
    """The recordings as trials: half of them with one fault, half with two; `every` so many-th of them."""
    names, rng = list(FAULTS), random.Random(19)
    trials = []
    for number in range(RECORDINGS):
        first = names[number % len(names)]
        second = rng.choice([name for name in names if name != first])
        chosen = [first] if number < RECORDINGS // 2 else [first, second]
        trials.append(_recording(random.Random(number), number, chosen, patient))
    return trials[::every]


def _recording(rng, number, faults, patient):
    settings = dict(BASE)
    for name in faults:
        settings |= FAULTS[name](rng)
    stereo = "skew" in faults or rng.random() < 0.2
    return Trial(rng.choice(FORMATS), Deck(**settings), seed=number, size=rng.randrange(200, 400),
                 channels=1 + stereo, patient=patient, label=f"{number}: {' and '.join(faults)}")


def whole(row):
    """Whether all was read, and rightly."""
    return row["complete"] and not row["wrong"]


def summary(pairs):
    """Counts: recordings, allowed ones, those of them read whole, others read whole, wrong ones, errors."""
    allowed = [row for row, said in pairs if said.allowed]
    beyond = [row for row, said in pairs if not said.allowed]
    return {"recordings": len(pairs), "allowed": len(allowed), "read": sum(map(whole, allowed)),
            "beyond": sum(map(whole, beyond)), "wrong": sum(row["wrong"] for row, _ in pairs),
            "refused": sum(bool(row["error"]) for row, _ in pairs)}


def described(row, said):
    """A recording in one line: what was wrong with it, and what was read."""
    trial = json.loads(row["trial"])
    settings = ", ".join(f"{name} {value}" for name, value in trial["deck"].items())
    blocks = f"{row['blocks_checked']} of {row['blocks']} blocks checked, {row['right_share']:.0%} of bytes right"
    return (f"  {row['deck']} ({row['format']}, {row['channels']} ch; {settings}): weakest {said.weakest:.1f}; "
            f"{row['verdict']}, {blocks}; {row['how']}{row['error']}")


def faults():
    """300 recordings with one fault or two: at least 95 % of those theory allows are read whole, none wrongly."""
    said = None
    for patient in READERS:
        trials = recordings(patient)
        said = said or [expected_errors(trial) for trial in trials]
        pairs = list(zip(run(trials, processes=1), said, strict=True))
        print("\n".join(described(*pair) for pair in pairs if pair[1].allowed and not whole(pair[0])))
        yield from _rows(pairs, "patient" if patient else "timer", goal=patient == READERS[-1])


def _rows(pairs, reader, goal):
    counts = summary(pairs)
    share = 100 * counts["read"] / counts["allowed"]
    low, high = interval(counts["read"], counts["allowed"])
    yield Row(f"{reader}: allowed by theory, of {counts['recordings']}", counts["allowed"], "recordings")
    name = f"{reader}: of these read whole (95 % interval {100 * low:.1f} to {100 * high:.1f})"
    yield at_least(name, share, "%", GOAL_PERCENT) if goal else Row(name, share, "%")
    yield Row(f"{reader}: read whole though not allowed", counts["beyond"], "recordings")
    yield at_most(f"{reader}: called complete and wrong", counts["wrong"], "recordings", 0)
    yield at_most(f"{reader}: refused", counts["refused"], "recordings", 0)


BENCHMARKS = {"faults": faults}
