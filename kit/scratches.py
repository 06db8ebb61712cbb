"""What a scratch in the tape does to a sound: the signal all but gone, and crackle in its place."""

import numpy as np

__all__ = ["scratched"]

REMAINING = 0.03  # of the signal, about −30 dB
NOISE_RMS = 0.3  # of the level nearby; this and the clicks were chosen by ear and eye
CLICKS_PER_S = 300
CLICK_FADE_S = 0.0002
NEARBY_S = 0.25


def scratched(table, rate, start, stop, rng):
    """Samples with a scratch in them.

    Parameters
    ----------
    table : numpy.ndarray
        float32, (frames, channels).
    rate : int
        In Hz.
    start, stop : int
        First frame, and the frame after the last.
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
        Like `table`; each channel's crackle follows its own level nearby, and nothing exceeds its own peak.
    """
    margin = int(NEARBY_S * rate)
    near = table[max(start - margin, 0) : stop + margin]
    level = np.sqrt(np.square(near, dtype=np.float64).sum(axis=0) / max(len(near), 1))
    peak = np.abs(table).max(axis=0, initial=0)
    result = table.copy()
    crackle = level * _crackle(result[start:stop].shape, rate, rng)
    result[start:stop] = np.clip(REMAINING * table[start:stop] + crackle, -peak, peak)
    return result


def _crackle(shape, rate, rng):
    """Rough noise, and sparse clicks across all channels at once, each dying away quickly."""
    noise = NOISE_RMS * rng.standard_normal(shape)
    heights = rng.uniform(-2, 2, len(noise)) * (rng.random(len(noise)) < CLICKS_PER_S / rate)
    fading = np.exp(-np.arange(max(int(5 * CLICK_FADE_S * rate), 1)) / (CLICK_FADE_S * rate))
    clicks = np.convolve(heights, fading)[: len(noise)] if len(noise) else heights
    return noise + clicks[:, None]
