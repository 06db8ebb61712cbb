"""What a sound may be made of: checks on samples, rates and stretches of time, and the change to float32."""

import math
import numbers

import numpy as np

from .errors import SettingError

__all__ = [
    "MAX_CHANNELS",
    "MAX_RATE_HZ",
    "check_frame_span",
    "check_start",
    "checked_number",
    "checked_rate",
    "checked_samples",
    "count_not_numbers",
    "full_scale",
    "without_not_numbers",
]

MAX_CHANNELS = 8
MAX_RATE_HZ = 768_000


def full_scale(samples):
    """What full scale is in an array of samples: 1.0 of floats, 32768.0 of int16."""
    return 1.0 if samples.dtype.kind == "f" else 32768.0


def checked_number(name, value):
    """A finite number as a float, or SettingError."""
    if not isinstance(value, numbers.Real) or not math.isfinite(value):
        raise SettingError(f"{name} must be a finite number, got {value!r}: give one")
    return float(value)


def checked_rate(rate):
    """A rate in Hz as an int from 1 to 768000, or SettingError."""
    if not isinstance(rate, numbers.Real) or isinstance(rate, bool) or not float(rate).is_integer():
        raise SettingError(f"rate must be a whole number of Hz, got {rate!r}: 44100 is usual")
    if not 1 <= rate <= MAX_RATE_HZ:
        raise SettingError(f"rate must be 1 to {MAX_RATE_HZ} Hz, got {int(rate)} Hz: 44100 is usual")
    return int(rate)


def check_frame_span(frames, start, stop):
    """Refuse all but whole numbers: `frames` ≥ 1, `start` and `stop` ≥ 0 (`stop` may be None)."""
    stop = 0 if stop is None else stop
    for name, value, least in (("frames", frames, 1), ("start", start, 0), ("stop", stop, 0)):
        if not isinstance(value, numbers.Integral) or value < least:
            raise SettingError(f"{name} must be a whole number, {least} or more, got {value!r}: count frames")


def check_start(start_s, seconds):
    """Refuse a beginning, in seconds, that does not lie within a sound of so many seconds."""
    if not 0 <= checked_number("start_s", start_s) <= seconds:
        raise SettingError(f"start_s must lie in the sound, 0 to {seconds:.3f} s, got {start_s} s: move it")


def checked_samples(samples):
    """Samples as a sound keeps them.

    Parameters
    ----------
    samples : array_like
        (frames,) or (frames, channels): floats, or whole numbers of 8, 16 or 32 bits.

    Returns
    -------
    samples : numpy.ndarray
        float32, (frames,) if mono, else (frames, channels); read-only; a view of what was given if possible.
    not_numbers : int
        How many samples were NaN or infinite, and are 0 now.

    Raises
    ------
    SettingError
        They are not numbers, of unknown full scale, or of another shape.
    """
    try:
        array = np.asarray(samples)
    except ValueError:
        raise SettingError("samples must be one array, got rows of unequal length: even them out") from None
    _check_kind(array)
    _check_shape(array)
    cleaned, not_numbers = without_not_numbers(_as_float32(array))
    view = (cleaned[:, 0] if cleaned.ndim == 2 and cleaned.shape[1] == 1 else cleaned).view()
    view.flags.writeable = False
    return view, not_numbers


def _check_kind(array):
    if array.dtype.kind not in "biuf":
        raise SettingError(f"samples must be real numbers, got {array.dtype}: use floats within ±1, or int16")
    if array.dtype.kind in "iu" and array.dtype.name not in ("int8", "uint8", "int16", "int32"):
        raise SettingError(
            "whole-number samples must be int8, uint8, int16 or int32, to know full scale, "
            f"got {array.dtype}: give floats within ±1, or use .astype('int16')"
        )


def _check_shape(array):
    if array.ndim not in (1, 2):
        raise SettingError(f"samples must be (frames,) or (frames, channels), got {array.shape}: reshape")
    if array.ndim == 2 and not 1 <= array.shape[1] <= MAX_CHANNELS:
        raise SettingError(
            f"samples must have 1 to {MAX_CHANNELS} channels, got shape {array.shape}: "
            "frames come first, so you may want samples.T"
        )


def _as_float32(array):
    if array.dtype.kind in "iu":
        exact = np.float32 if array.dtype.itemsize < 4 else np.float64
        middle = 128 if array.dtype == np.uint8 else 0
        step = exact(2.0 ** (1 - 8 * array.dtype.itemsize))
        return ((array.astype(exact) - exact(middle)) * step).astype(np.float32)
    with np.errstate(over="ignore"):  # a double beyond float32 becomes infinite, and then 0
        return np.ascontiguousarray(array, np.float32)


def count_not_numbers(samples):
    """How many of the samples are NaN or infinite."""
    return samples.size - int(np.count_nonzero(np.isfinite(samples)))


def without_not_numbers(samples):
    """The same samples with NaN and infinity replaced by 0 (copied only if there are any), and how many."""
    count = count_not_numbers(samples)
    return (np.nan_to_num(samples, nan=0.0, posinf=0.0, neginf=0.0) if count else samples), count
