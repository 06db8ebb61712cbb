"""Draw recordings whose faults are each visible: alone, it breaks the read or takes 3 dB or more of its margin.

The read is that of two loaders with one input, which hear both sides mixed: the kit's own without extra effort, and
the counting loop of old, if the good recording reads with that. ``python -m tests.doctor_visible 0 640`` draws them
anew (an hour or so), for `tests/doctor_set.jsonl`. The margin is the strongest white noise, in dB
relative to full scale, that may be added before the read breaks, in steps of 3 dB.
"""

import json
import random
import sys
from dataclasses import asdict

import numpy as np

import kit
from kit.readers import Counter
from tests.doctor_cases import BASES, FAULTS, FORMATS, RATES, Recording

STEP_DB = 3
LOUDEST_DBFS, QUIETEST_DBFS = -9, -60
STRONGER = 0.125  # the next strength tried where one is not visible
OVER = 0.1  # how much stronger than just visible a fault may be


def mixed(sound):
    """What an input with one side hears."""
    return sound if sound.channels == 1 else kit.Sound(sound.samples.mean(axis=1), sound.rate)


def noisy(sound, dbfs, seed):
    if dbfs is None:
        return sound
    noise = np.random.default_rng(seed).standard_normal(sound.frames, dtype=np.float32)
    return kit.Sound(sound.samples + noise * np.float32(10 ** (dbfs / 20)), sound.rate)


def reading(recording, sound, counter):
    if counter:
        speed = recording.made("speed") or 1.0
        return kit.decode(sound, format=recording.format, counter=Counter(speed=speed))
    # Only what is on the tape is listened for: it reads the same, and sooner.
    format = recording.format if recording.asked == "auto" and not recording.made("format") else recording.asked
    return kit.decode(sound, format=format, quick=True)


def reads(recording, sound, counter, dbfs=None):
    """Whether the tape reads whole, with so much noise added."""
    read = reading(recording, noisy(mixed(sound), dbfs, recording.seed), counter)
    return read.complete and [file.data for file in read.files] == [recording.data]


def margin_dbfs(recording, sound, counter):
    """The strongest noise with which it reads; None if it does not read at all."""
    for dbfs in range(LOUDEST_DBFS, QUIETEST_DBFS - 1, -STEP_DB):
        if reads(recording, sound, counter, dbfs):
            return dbfs
    return None


def visible(recording, sound, margins):
    """Whether a recording reads with 3 dB less noise than the good one no more, by either loader."""
    return any(dbfs is not None and not reads(recording, sound, counter, dbfs - STEP_DB)
               for counter, dbfs in margins.items())


def just_visible(good, name, margins, rng):
    """A strength at which a fault alone is visible, or None."""
    u = 0.5 * rng.random()
    while u <= 1.0:
        alone = good.alone(**{name.replace(" ", "_"): u})
        if visible(alone, alone.sound(), margins):
            return min(1.0, u + OVER * rng.random())
        u += STRONGER
    return None


def _compatible(names):
    groups = [FAULTS[name].group for name in names]
    settings = [set(FAULTS[name].settings(0.5, random.Random(0))) for name in names if FAULTS[name].settings]
    return len(set(groups)) == len(groups) and sum(map(len, settings)) == len(set().union(*settings, set()))


def draw(seed, never=None):
    """A recording with one to three visible faults.

    Parameters
    ----------
    seed : int
    never : dict, optional
        Counts how often each fault was tried, and how often it was not visible at any strength.

    Returns
    -------
    Recording
    """
    rng = random.Random(seed)
    while True:
        silence_s = rng.choice(((0.0, 0.0), (0.0, 0.0), (0.5, 0.6), (0.9, 0.3)))
        good = Recording(seed, rng.choice(list(BASES)), rng.choice(FORMATS), rng.choice(RATES),
                         rng.uniform(1.0, 1.8), silence_s)
        names = rng.sample(list(FAULTS), rng.choice((1, 2, 3)))
        if not _compatible(names):
            continue
        strengths = _strengths(good, names, rng, never)
        if strengths is not None:
            return Recording(seed, good.base, good.format, good.rate, good.lead_in_s, silence_s, strengths)


def _strengths(good, names, rng, never):
    speeds = [FAULTS[name].make for name in names if FAULTS[name].make]
    sound = good.sound()
    margins = {counter: margin_dbfs(good, sound, counter) for counter in (False, True)}
    strengths = {}
    for name in names:
        plain = not (speeds and FAULTS[name].make)
        u = just_visible(good, name, margins if plain else {False: margins[False]}, rng)
        if never is not None:
            tried = never.setdefault(name, [0, 0])
            tried[0] += 1
            tried[1] += u is None
        if u is None:
            return None
        strengths[name] = u
    return strengths


def main(first, stop):
    """Draw recordings, and write them as lines of JSON; what was never visible goes to standard error."""
    never = {}
    for seed in range(first, stop):
        print(json.dumps(asdict(draw(seed, never))), flush=True)
    print({name: counts for name, counts in never.items() if counts[1]}, file=sys.stderr)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3] or (0, 640)))
