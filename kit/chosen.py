"""Which formats to listen for: those asked for, or all that may be there."""

import math
from functools import partial

from .firstlook import first_formats
from .known import COMPARED, FORMATS, find_format
from .lanes import look_lanes

__all__ = ["costly", "formats_of", "formats_to_hear"]


def costly(formats):
    """Names of the formats whose codes are costly to read; none if all are."""
    names = [format.name for format in formats if not (format.stream or format.code.draws_alike)]
    return names if len(names) < len(formats) else []


def formats_to_hear(format, sounds, most_s=math.inf):
    """What to listen for in some recordings, and on which of it no effort is to be spent unless it is met.

    Parameters
    ----------
    format : str, Format, or list of these
        Where it is ``"auto"``, a first look tells whether to listen for formats whose codes are costly to read, too.
    sounds : sequence of Sound
        Recordings of one tape's parts.
    most_s : float
        How much of each recording, silence not counted, the first look may take in.

    Returns
    -------
    formats : list of Format
    doubted : set of str or None
        As `Listener` takes it.
    """
    usual = formats_of(format)
    if not (isinstance(format, str) and format == "auto"):
        return usual, None
    dear = {**COMPARED, **{name: FORMATS[name] for name in costly(usual)}}
    usual = [one for one in usual if one.name not in dear]
    blocks = [one for one in usual if not one.stream]
    names = first_formats(sounds, partial(look_lanes, [*blocks, *dear.values()]), most_s)
    met = [one for name, one in dear.items() if name in names]
    return [*met, *usual], ({one.name for one in usual} - names if met else None)


def formats_of(format):
    """A list of formats from what a caller may give."""
    if isinstance(format, str) and format == "auto":
        formats = []
        for one in FORMATS.values():
            # Formats whose blocks read alike are listened for once; a reading tells them apart afterwards.
            if not any(one.reads_like(other) for other in formats):
                formats.append(one)
        return formats
    if isinstance(format, (list, tuple)):
        return [find_format(one) for one in format]
    return [find_format(format)]

