"""Lanes for a recording: those that read each channel as it is, and those that take more effort."""

from .ears import ears, mixtures, side_names
from .firstlook import LookLane
from .lane import Lane
from .readers.counter import CounterLane, can_count
from .readers.counterstreams import CounterStreamLane
from .readers.patient import PatientLane
from .streams import StreamLane
from .trellis import Trellis

__all__ = ["first_lanes", "look_lanes", "patient_lanes", "smoothed_lanes"]


def first_lanes(formats, rate, channels, counter=None, doubted=(), brief=False):
    """A lane for each channel as it is and each kind of cell; with a `Counter`, as that reads.

    The channels of one kind follow each other, in order; for `doubted` and `brief` see `Lane`.
    """
    if counter is not None:
        formats = [format for format in formats if can_count(format.code)] or formats
    sides = side_names(channels)
    pairs = [(group, side) for group in _by_cycles(formats) for side in sides]
    streams = [(format, side) for format in formats if format.stream for side in sides]
    strict = bool(pairs)  # where other formats are listened for, nothing of them must be taken for a stream
    if counter is not None:
        lanes = [CounterLane(group, rate, counter, side) for group, side in pairs]
        return lanes + [CounterStreamLane(format, rate, counter, side, strict) for format, side in streams]
    lanes = [Lane(group, rate, next(ears(_shortest(group), rate)), side, doubted, brief) for group, side in pairs]
    return lanes + [StreamLane(format, rate, side, strict) for format, side in streams]


def look_lanes(formats, rate, channels):
    """A `LookLane` for each channel and each kind of cell; the channels of one kind follow each other, in order."""
    groups = _by_cycles(formats)
    return [LookLane(group, rate, next(ears(_shortest(group), rate)), side)
            for group in groups for side in side_names(channels)]


def patient_lanes(formats, rate, channels, thorough=False):
    """Lanes that weigh whole blocks of each channel, of mixtures too if thorough: pairs of a lane and its `Mix`."""
    lanes = []
    for group in _by_cycles([format for format in formats if Trellis.suits(format.code)]):
        heard = [mix for mix in mixtures(channels) if thorough or not mix.other]
        lanes += [(PatientLane(group, rate, mix.side, thorough), mix) for mix in heard]
    return lanes


def smoothed_lanes(formats, rate, channels, doubted=()):
    """Lanes that smooth each channel, and mixtures of them, for several speeds: pairs of a lane and its `Mix`.

    For `doubted` see `Lane`.
    """
    lanes = []
    cheap = any(format.code.draws_alike for format in formats if not format.stream)
    kind = (lambda format: None) if cheap else (lambda format: round(format.shortest_units))
    for group in _by_cycles(formats, kind):
        for mix in mixtures(channels):
            wanted = [ear for ear in ears(_shortest(group), rate) if ear.note or mix.other]
            lanes += [(Lane(group, rate, ear, mix.side, doubted), mix) for ear in wanted]
    return lanes


def _by_cycles(formats, more=lambda format: None):
    """Formats grouped by what a lane has to know of them, and by what else is asked of each.

    Those of streams have lanes of another kind.
    """
    groups = {}
    for format in formats:
        if not format.stream:
            groups.setdefault((format.cycles, more(format)), []).append(format)
    return list(groups.values())


def _shortest(group):
    """Of some formats the one of the shortest cycle, of cheap codes if there are any: what hears that hears most."""
    return min(group, key=lambda format: (not format.code.draws_alike, format.shortest_units))
