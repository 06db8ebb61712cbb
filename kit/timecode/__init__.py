"""Linear time code: the time of day of every picture or sound frame, written along a tape as biphase mark.

`TimecodeFrame` packs a time into 80 bits and unpacks it, `encode_timecode` writes frames as sound, and
`decode_timecode` reads them at whatever speed and in whatever direction the tape is played.

Source
------
SMPTE 12M / IEC 60461.
"""

from .found import FoundFrame
from .frame import FRAME_RATES, SYNC_WORD, TimecodeFrame, has_even_zeros
from .reading import decode_timecode
from .writing import encode_frames, encode_timecode

__all__ = [
    "FRAME_RATES",
    "SYNC_WORD",
    "FoundFrame",
    "TimecodeFrame",
    "decode_timecode",
    "encode_frames",
    "encode_timecode",
    "has_even_zeros",
]
