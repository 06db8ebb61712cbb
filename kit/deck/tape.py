"""What the tape itself does: saturation, dropouts, print-through, hiss; and hum beside it."""

import math

import numpy as np

from kit.deck.pieces import by_side, db_to_gain, filtered, spans

__all__ = ["HISS_BAND_HZ", "dropouts", "hiss", "hum", "print_through", "saturation"]

HISS_BAND_HZ = 20_000  # the width over which the level of the hiss is stated
HUM_HARMONICS = (1.0, 0.5, 0.25)  # amplitudes of the mains frequency and its multiples (assumption)


@by_side
def saturation(samples, rate, most_dbfs, corner_hz):
    """The tape holds so much and no more, and less of the highs.

    A recorder lifts the highs before the tape, and replay lowers them by as much; between the two, the tape
    bends the wave over. Loud sounds therefore lose their highs, where a clipped wave would keep its sharp
    edges.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    most_dbfs : float
        The level that low frequencies come close to and never pass; inf leaves the samples alone (the same
        object).
    corner_hz : float
        Where the lift begins: at this frequency the tape holds 3 dB less, above it 6 dB less per octave.

    Returns
    -------
    numpy.ndarray
    """
    if math.isinf(most_dbfs):
        return samples
    most = np.float32(db_to_gain(most_dbfs))
    pole = math.exp(-2 * math.pi * corner_hz / rate)
    lifted = filtered(samples, [1 / (1 - pole), -pole / (1 - pole)], [1])
    lifted /= most
    np.tanh(lifted, out=lifted)
    lifted *= most
    return filtered(lifted, [1 - pole], [1, -pole])


@by_side
def dropouts(samples, rate, per_minute, depth_db, length_s, fade_s, rng):
    """The tape leaves the head here and there, and the level falls.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels); each side has dropouts of its own.
    rate : int
        In Hz.
    per_minute : float
        How many, on average (a Poisson number); 0 leaves the samples alone (the same object).
    depth_db : float
        How far the level falls; dropouts that overlap fall no deeper.
    length_s, fade_s : float
        From the first change to the last; and the part of it at either end in which the level moves.
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
    """
    if per_minute == 0 or depth_db == 0 or not len(samples):
        return samples
    count = rng.poisson(per_minute * len(samples) / rate / 60)
    dip = _dip(max(2, round(length_s * rate)), fade_s * rate, db_to_gain(-depth_db))
    level = np.ones(len(samples), np.float32)
    for start in (rng.random(count) * len(samples)).astype(int):
        place = level[start:start + len(dip)]
        np.minimum(place, dip[:len(place)], out=place)
    return samples * level


def _dip(frames, fade_frames, floor):
    """The level through one dropout: down, along the floor, up; each fade straight, at most half of it."""
    edge = np.minimum(np.arange(frames) + 1, np.arange(frames)[::-1] + 1)
    way = np.clip(edge / max(1.0, min(fade_frames, frames / 2)), 0, 1)
    return (1 - (1 - floor) * way).astype(np.float32)


@by_side
def print_through(samples, rate, level_db, turn_s):
    """An echo from the next turn of the reel, and one ahead of time from the turn before.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    level_db : float
        Level of either echo relative to the signal; −inf leaves the samples alone (the same object).
    turn_s : float
        Playing time of one turn.

    Returns
    -------
    numpy.ndarray
    """
    away = round(turn_s * rate)
    if math.isinf(level_db) or away >= len(samples):
        return samples
    out = samples.copy()
    out[away:] += np.float32(db_to_gain(level_db)) * samples[:-away]
    out[:-away] += np.float32(db_to_gain(level_db)) * samples[away:]
    return out


@by_side
def hiss(samples, rate, level_dbfs, rng):
    """White noise added, its density independent of the sample rate.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels); each side has hiss of its own.
    rate : int
        In Hz.
    level_dbfs : float
        Its rms in a band 20 kHz wide; −inf leaves the samples alone (the same object).
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
    """
    if math.isinf(level_dbfs):
        return samples
    rms = np.float32(db_to_gain(level_dbfs) * math.sqrt(rate / 2 / HISS_BAND_HZ))
    out = np.empty(len(samples), np.float32)
    for start, stop in spans(len(samples)):
        noise = rng.standard_normal(stop - start, dtype=np.float32)
        noise *= rms
        np.add(noise, samples[start:stop], out=out[start:stop])
    return out


def hum(samples, rate, level_dbfs, frequency_hz, rng):
    """The mains and its first two harmonics added, alike on all sides.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    level_dbfs : float
        Its rms; −inf leaves the samples alone (the same object).
    frequency_hz : float
    rng : numpy.random.Generator
        For the phase.

    Returns
    -------
    numpy.ndarray
    """
    if math.isinf(level_dbfs):
        return samples
    shape = np.array(HUM_HARMONICS)
    strengths = shape * db_to_gain(level_dbfs) / math.sqrt(np.sum(shape ** 2) / 2)
    turns = frequency_hz / rate * np.arange(1, len(HUM_HARMONICS) + 1)
    start_turns = rng.random(len(HUM_HARMONICS))
    out = np.empty_like(samples)
    for start, stop in spans(len(samples)):
        wave = _tones(strengths, turns, start_turns + turns * start, stop - start)
        out[start:stop] = samples[start:stop] + (wave if samples.ndim == 1 else wave[:, None])
    return out


def _tones(strengths, turns, start_turns, frames):
    """A sum of sines. Those of a sum of angles come from few sines of its parts, far quicker than singly."""
    block = 256
    wave = np.zeros((-(-frames // block), block))
    for strength, turn, start in zip(strengths, turns, start_turns, strict=True):
        coarse = 2 * np.pi * (np.arange(len(wave))[:, None] * block * turn + start)
        fine = 2 * np.pi * turn * np.arange(block)
        wave += strength * (np.sin(coarse) * np.cos(fine) + np.cos(coarse) * np.sin(fine))
    return wave.ravel()[:frames].astype(np.float32)
