"""The doctor on recordings with known faults, on healthy ones, and against the clock."""

import random
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import numpy as np

import kit
from kit.trials import interval
from tests.doctor_cases import BASES, FAULTS, RATES, stored_set
from tests.doctor_visible import mixed, reading

from .rows import Row, at_least, at_most

__all__ = ["BENCHMARKS", "confusion", "cured", "healthy_recording", "named"]

HEALTHY = 180
FAIL_ON_TAPE = ("levels", "on-off")  # codes that no real recorder carries, to show why
NAMED_PERCENT, CURED_PERCENT, HEALTHY_PERCENT, LONG_S = 95, 90, 98, 10


def named(recording):
    """The key of the top finding of a recording, and the diagnosis."""
    sound = recording.sound()
    diagnosis = kit.diagnose(sound, format=recording.asked)
    return (diagnosis.findings[0].key if diagnosis.findings else "healthy"), diagnosis, sound


def confusion(answers):
    """A table: for each fault alone or among others, how often each finding came first.

    Parameters
    ----------
    answers : list of (Recording, str)
    """
    rows = {}
    for recording, key in answers:
        for name in recording.faults:
            rows.setdefault(name, Counter())[key if key not in recording.keys or key in FAULTS[name].keys
                                             else "another of its faults"] += 1
    width = max(map(len, rows))
    for name, counts in sorted(rows.items()):
        told = ", ".join(f"{key} {count}" for key, count in counts.most_common())
        yield f"{name:{width}s} {sum(counts.values()):4d}  {told}"


def score(recording, sound):
    """How well an ordinary loader reads a recording, to compare two of one tape."""
    return _scored(recording, reading(recording, mixed(sound), False))


def best_score(recording, sound):
    """How well the kit reads a recording with every effort, from both sides, when told what was written on it."""
    return _scored(recording, kit.decode(sound, format=recording.made("format") or recording.format))


def _scored(recording, read):
    whole = read.complete and [file.data for file in read.files] == [recording.data]
    right = max((_right_bytes(file, recording.data) for file in read.files), default=0)
    heard = sum(int(np.count_nonzero(block.margins > 0.35)) for block in read.blocks)
    return whole, right, heard


def _right_bytes(file, data):
    same = np.frombuffer(file.data[: len(data)], np.uint8) == np.frombuffer(data[: len(file.data)], np.uint8)
    for start, stop in file.doubtful:
        same[start:stop] = False
    return int(same.sum())


def reads_better(after, recording, sound):
    """By whom a recording reads better than another: "loader", "every effort", or "" if by neither.

    Where each of two faults breaks the load by itself, a loader reads as little without one of them as with both:
    then all that the kit can do decides.
    """
    new = after.sound()
    scores = score(after, new), score(recording, sound)
    if scores[0] != scores[1]:
        return "loader" if scores[0] > scores[1] else ""
    return "every effort" if best_score(after, new) > best_score(recording, sound) else ""


def cured(recording, key, sound):
    """By whom a failed load reads better without the fault the top finding names; None if it did not fail."""
    if score(recording, sound)[0]:
        return None
    blamed = [name for name in recording.faults if key in FAULTS[name].keys]
    return reads_better(recording.without(*blamed), recording, sound) if blamed else ""


def curable(recording, sound):
    """Whether a failed load reads better without any one of its faults."""
    return any(reads_better(recording.without(name), recording, sound) for name in recording.faults)


def healthy_recording(seed):
    """A recording from a good recorder, in any format, at a speed the rate carries."""
    rng = random.Random(seed)
    speed = rng.choice((0.5, 1.0, 1.0, 2.0))
    rate, silence = rng.choice(RATES), rng.choice((0.0, 0.0, 0.4, 0.8))
    format = rng.choice([name for name in kit.FORMATS if name not in FAIL_ON_TAPE])
    data = rng.randbytes(rng.choice((120, 300)))
    tape = kit.encode(data, name="log.bin", format=format, rate=max(rate, 22050), speed=speed,
                      lead_in_s=6.0 / speed if kit.FORMATS[format].stream else 1.2)
    quiet = np.zeros(round(silence * tape.rate), np.float32)
    samples = np.concatenate([quiet, tape.samples, quiet])
    if rng.random() < 0.3:
        samples = np.stack([samples, samples], axis=1)
    return rng.choice(list(BASES.values())).play(kit.Sound(samples, tape.rate), seed=seed)


def _share(name, good, total, goal):
    low, high = interval(good, total)
    yield at_least(name, 100 * good / max(total, 1), f"% of {total}", goal)
    yield Row(f"{name}: 95 % interval from", 100 * low, "%")
    yield Row(f"{name}: 95 % interval to", 100 * high, "%")


def doctor():
    """The doctor: faults named in recordings it was not tuned on, cures, healthy recordings, and the time taken."""
    held_out = [recording for recording in stored_set() if recording.seed % 2]
    with ProcessPoolExecutor() as processes:
        judged = list(processes.map(_judged, held_out))
        yield from _named_share([(recording, key) for recording, (key, _, _) in zip(held_out, judged, strict=True)],
                                "held-out")
        yield from _cured_share([(better, can) for _, better, can in judged if better is not None])
        yield from _healthy(processes)
    yield from _long()


def _judged(recording):
    """The top finding, by whom the load is better without it, and whether it could be without any one fault."""
    key, _, sound = named(recording)
    better = cured(recording, key, sound)
    return key, better, bool(better) or (better == "" and curable(recording, sound))


def _cured_share(failed):
    cures = [better for better, _ in failed]
    yield from _share("a failed load reads better without the top finding", sum(map(bool, cures)), len(cures),
                      CURED_PERCENT)
    yield Row("the same, by an ordinary loader alone", 100 * cures.count("loader") / max(len(cures), 1),
              f"% of {len(cures)}")
    can = sum(can for _, can in failed)
    yield Row("the same, of those that any one removal helps", 100 * sum(map(bool, cures)) / max(can, 1),
              f"% of {can}")


def tuning():
    """The doctor on the recordings it was tuned on: to see whether tuning went too far."""
    answers = [(recording, named(recording)[0]) for recording in stored_set() if recording.seed % 2 == 0]
    yield from _named_share(answers, "tuning")


def _named_share(answers, half):
    print(f"\nFirst findings in the {half} half, by what was injected:")
    print("\n".join(confusion(answers)), flush=True)
    wrong = [recording.seed for recording, key in answers if key not in recording.keys]
    print(f"Seeds whose first finding was not injected: {wrong}", flush=True)
    yield from _share(f"top finding is an injected fault, {half}", len(answers) - len(wrong), len(answers),
                      NAMED_PERCENT)


def _healthy(processes):
    severe = list(processes.map(_severe_in_healthy, range(HEALTHY)))
    wrong = Counter(key for found in severe for key in found)
    print(f"\nSevere findings in healthy recordings: {dict(wrong) or 'none'}")
    yield from _share("healthy, and nothing severe found", sum(not found for found in severe), HEALTHY,
                      HEALTHY_PERCENT)


def _severe_in_healthy(seed):
    return [finding.key for finding in kit.diagnose(healthy_recording(seed)).severe]


LONG = {
    "home": {},
    "drowned in hiss": {"hiss_dbfs": -8},
    "hissing": {"hiss_dbfs": -14},
    "humming": {"hum_dbfs": -10, "hum_hz": 50.0},
    "highs lost": {"replay_spacing_um": 10},
    "noise suppression": {"noise_suppression_db": 25},
    "older recording": {"old_recording_dbfs": -8},
    "voice codec": {"codec": "opus", "codec_rate_hz": 8000.0},
    "dropouts": {"dropouts_per_minute": 100, "dropout_depth_db": 30, "dropout_length_s": 0.1},
    "wow": {"replay_wow_percent": 15, "record_wow_percent": 15, "record_wow_hz": 2.0, "replay_wow_hz": 2.0},
    "flutter": {"replay_flutter_percent": 12, "record_flutter_percent": 12},
    "echo": {"room_distance_m": 2, "room_reverberation_s": 0.7, "room_reverberation_db": 0},
}


def _long():
    """Ten minutes of tape, good, and with each kind of fault that leaves little of it to read."""
    tapes = {speed: kit.encode(random.Random(1).randbytes(round(111_000 * speed)), name="long.bin", speed=speed)
             for speed in (1.0, 2.0)}
    for name, settings in LONG.items():
        tape = tapes[2.0 if "codec" in settings else 1.0]
        played = kit.decks["home"].with_settings(**settings).play(tape)
        start, busy = time.perf_counter(), time.process_time()
        kit.diagnose(played)
        taken, busy = time.perf_counter() - start, time.process_time() - busy
        yield at_most(f"{played.seconds / 60:.1f} min of tape, {name}", taken, "s", LONG_S, clock=True)
        yield at_most(f"{played.seconds / 60:.1f} min of tape, {name}, processor", busy, "s", LONG_S, clock=True)


BENCHMARKS = {"doctor": doctor, "doctor-tuning": tuning}
