"""A lossy coding and back, as by a voice message or a music file: what it takes for inaudible is gone."""

import io

import numpy as np

from kit.errors import SettingError, SoundError

__all__ = ["codec_round_trip"]

CODINGS = {"vorbis": ("OGG", "VORBIS"), "opus": ("OGG", "OPUS"), "mp3": ("MP3", "MPEG_LAYER_III")}
RATES_HZ = {"opus": (8000, 12000, 16000, 24000, 48000),
            "mp3": (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000)}
FRAMES_PER_WRITE = 1 << 16  # one very long write of Ogg can overrun the encoder's stack


def codec_round_trip(samples, rate, coding, coding_rate_hz=0):
    """The samples coded and decoded again by libsndfile, at its usual quality.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    coding : {"none", "vorbis", "opus", "mp3"}
        "none" leaves the samples alone (the same object).
    coding_rate_hz : float
        The sample rate to code at, if it is not the sound's own; the nearest that the coding allows is taken.

    Returns
    -------
    numpy.ndarray
        As long as before, at the same rate.

    Raises
    ------
    SettingError
        The coding cannot carry so many sides.
    SoundError
        This computer's libsndfile lacks the coding.
    """
    if coding == "none" or not len(samples):
        return samples
    if coding == "mp3" and samples.ndim == 2 and samples.shape[1] > 2:
        raise SettingError(f"codec 'mp3' carries 1 or 2 sides, got {samples.shape[1]}: choose 'vorbis'")
    inner_rate = _nearest_rate(coding, round(coding_rate_hz) or rate)
    coded = _there_and_back(_resampled(samples, rate, inner_rate), inner_rate, coding)
    back = _resampled(coded, inner_rate, rate)[:len(samples)]
    missing = len(samples) - len(back)
    return np.concatenate([back, np.zeros((missing, *back.shape[1:]), np.float32)]) if missing else back


def _nearest_rate(coding, rate):
    """The lowest allowed rate that is no less, else the highest."""
    allowed = RATES_HZ.get(coding, (rate,))
    return min((r for r in allowed if r >= rate), default=max(allowed))


def _resampled(samples, rate, new_rate):
    from scipy.signal import resample_poly

    if rate == new_rate:
        return samples
    common = np.gcd(rate, new_rate)
    return resample_poly(samples, new_rate // common, rate // common, axis=0).astype(np.float32)


def _there_and_back(samples, rate, coding):
    import soundfile

    container, subtype = CODINGS[coding]
    store = io.BytesIO()
    channels = 1 if samples.ndim == 1 else samples.shape[1]
    try:
        with soundfile.SoundFile(store, "w", rate, channels, subtype, format=container) as file:
            for start in range(0, len(samples), FRAMES_PER_WRITE):
                file.write(np.clip(samples[start:start + FRAMES_PER_WRITE], -1, 1))
        store.seek(0)
        return soundfile.read(store, dtype="float32", always_2d=samples.ndim == 2)[0]
    except (soundfile.SoundFileError, ValueError, TypeError) as error:
        raise SoundError(f"the codec {coding!r} is needed, but libsndfile refuses it here ({error}): "
                         "choose another codec") from None
