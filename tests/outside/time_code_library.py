"""A general library for time code, reached through ctypes; only tests use it.

Declared after the public header of its version 1.3.2: Debian's package libltc11.
"""

import ctypes
import os
import sys

import numpy as np
import pytest

SONAME = "libltc.so.11"
ADVICE = f"there is no {SONAME} here: apt-get install libltc11"
TV_525_60, TV_625_50, FILM_24 = 0, 1, 3
STANDARDS = {30: TV_525_60, 25: TV_625_50, 24: FILM_24}
BGF_DONT_TOUCH = 4
NO_PARITY = 8


class RawFrame(ctypes.Structure):
    """Eighty bits in fields of unsigned int: three of these, least significant bit first."""

    _fields_ = (("words", ctypes.c_uint32 * 3),)


class HeardFrame(ctypes.Structure):
    _fields_ = (
        ("frame", RawFrame),
        ("off_start", ctypes.c_longlong),
        ("off_end", ctypes.c_longlong),
        ("reverse", ctypes.c_int),
        ("biphase_tics", ctypes.c_float * 80),
        ("sample_min", ctypes.c_ubyte),
        ("sample_max", ctypes.c_ubyte),
        ("volume", ctypes.c_double),
    )


class Time(ctypes.Structure):
    _fields_ = (
        ("timezone", ctypes.c_char * 6),
        *((name, ctypes.c_ubyte) for name in ("years", "months", "days", "hours", "mins", "secs", "frame")),
    )


POINTER, INT, DOUBLE = ctypes.c_void_p, ctypes.c_int, ctypes.c_double
FUNCTIONS = {
    "ltc_frame_to_time": (None, (ctypes.POINTER(Time), ctypes.POINTER(RawFrame), INT)),
    "ltc_time_to_frame": (None, (ctypes.POINTER(RawFrame), ctypes.POINTER(Time), INT, INT)),
    "ltc_frame_reset": (None, (ctypes.POINTER(RawFrame),)),
    "ltc_frame_increment": (INT, (ctypes.POINTER(RawFrame), INT, INT, INT)),
    "ltc_frame_decrement": (INT, (ctypes.POINTER(RawFrame), INT, INT, INT)),
    "ltc_frame_set_parity": (None, (ctypes.POINTER(RawFrame), INT)),
    "ltc_frame_parse_bcg_flags": (INT, (ctypes.POINTER(RawFrame), INT)),
    "ltc_frame_get_user_bits": (ctypes.c_ulong, (ctypes.POINTER(RawFrame),)),
    "ltc_decoder_create": (POINTER, (INT, INT)),
    "ltc_decoder_free": (INT, (POINTER,)),
    "ltc_decoder_write_float": (None, (POINTER, POINTER, ctypes.c_size_t, ctypes.c_longlong)),
    "ltc_decoder_read": (INT, (POINTER, ctypes.POINTER(HeardFrame))),
    "ltc_encoder_create": (POINTER, (DOUBLE, DOUBLE, INT, INT)),
    "ltc_encoder_free": (None, (POINTER,)),
    "ltc_encoder_set_buffersize": (INT, (POINTER, DOUBLE, DOUBLE)),
    "ltc_encoder_set_frame": (None, (POINTER, ctypes.POINTER(RawFrame))),
    "ltc_encoder_get_frame": (None, (POINTER, ctypes.POINTER(RawFrame))),
    "ltc_encoder_encode_byte": (INT, (POINTER, INT, DOUBLE)),
    "ltc_encoder_end_encode": (INT, (POINTER,)),
    "ltc_encoder_copy_buffer": (INT, (POINTER, POINTER)),
    "ltc_encoder_get_buffersize": (ctypes.c_size_t, (POINTER,)),
    "ltc_encoder_inc_timecode": (INT, (POINTER,)),
    "ltc_encoder_dec_timecode": (INT, (POINTER,)),
}


def loaded():
    """The library; where it is missing the test is skipped, but for the checks of the project, which fail."""
    try:
        library = ctypes.CDLL(SONAME)
    except OSError:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(ADVICE)
    assert sys.byteorder == "little", "the fields of a frame are declared for machines that count so"
    for name, (result, arguments) in FUNCTIONS.items():
        function = getattr(library, name)
        function.restype, function.argtypes = result, arguments
    return library


def raw_of(bits):
    """Eighty bits as the library keeps them."""
    packed = np.packbits(np.append(np.asarray(bits, np.uint8), np.zeros(16, np.uint8)), bitorder="little")
    return RawFrame.from_buffer_copy(packed.tobytes())


def bits_of(raw):
    """The eighty bits of a frame of the library."""
    return np.unpackbits(np.frombuffer(bytes(raw), np.uint8), bitorder="little")[:80]


def raw_at(library, hours, minutes, seconds, frames, fps):
    """A frame as the library makes it, with its own polarity bit."""
    raw = RawFrame()
    library.ltc_frame_reset(raw)
    time = Time(hours=hours, mins=minutes, secs=seconds, frame=frames)
    library.ltc_time_to_frame(raw, time, STANDARDS[fps], 0)
    return raw


def heard(library, samples, samples_per_frame):
    """Frames that the library hears in samples, shape (n,), as (bits, whether reversed, first and last sample)."""
    decoder = library.ltc_decoder_create(round(samples_per_frame), 4096)
    found, frame = [], HeardFrame()
    try:
        samples = np.ascontiguousarray(samples, np.float32)
        library.ltc_decoder_write_float(decoder, samples.ctypes.data, len(samples), 0)
        while library.ltc_decoder_read(decoder, frame):
            found.append((bits_of(frame.frame), bool(frame.reverse), frame.off_start, frame.off_end))
    finally:
        library.ltc_decoder_free(decoder)
    return found


def written(library, rows, rate, real_fps, fps, slowdown=1.0):
    """Rows of 80 bits as the library writes them; a negative slowdown writes each from its end to its start.

    Returns
    -------
    ndarray of float, shape (samples,)
        Full scale is ±1.
    """
    encoder = library.ltc_encoder_create(rate, real_fps, STANDARDS[fps], BGF_DONT_TOUCH | NO_PARITY)
    room = library.ltc_encoder_set_buffersize(encoder, rate * 2 * abs(slowdown), real_fps)
    assert room == 0
    pieces = []
    try:
        for bits in rows:
            library.ltc_encoder_set_frame(encoder, raw_of(bits))
            for byte in range(10) if slowdown > 0 else range(9, -1, -1):
                assert library.ltc_encoder_encode_byte(encoder, byte, slowdown) == 0
            pieces.append(_taken(library, encoder))
        library.ltc_encoder_end_encode(encoder)
        pieces.append(_taken(library, encoder))
    finally:
        library.ltc_encoder_free(encoder)
    return (np.concatenate(pieces).astype(float) - 128) / 127


def _taken(library, encoder):
    buffer = np.zeros(library.ltc_encoder_get_buffersize(encoder), np.uint8)
    size = library.ltc_encoder_copy_buffer(encoder, buffer.ctypes.data)
    return buffer[:size]
