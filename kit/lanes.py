"""Lanes for a recording: those that read each channel as it is, and those that take more effort."""

from functools import partial

from .ears import ears, mixtures, side_names
from .lane import Lane
from .readers.counter import CounterLane
from .readers.patient import PatientLane
from .trellis import Trellis

__all__ = ["SecondLane", "first_lanes", "second_lanes"]


class SecondLane:
    """A lane that is only fed now and then.

    Parameters
    ----------
    lane : Lane or PatientLane
    mix : Mix
        What it is fed with.
    """

    def __init__(self, lane, mix):
        self.lane, self.mix = lane, mix
        self.open = False
        self._next = 0

    def feed(self, position, samples):
        """Take samples that begin at a position; gives the blocks settled by them."""
        blocks = []
        if not self.open or position != self._next:
            blocks = self.close()
            self.lane.skip_to(position)
            self.open = True
        self._next = position + len(samples)
        return blocks + self.lane.feed(samples)

    def close(self):
        """What was fed last is over: settle all."""
        if not self.open:
            return []
        self.open = False
        return self.lane.finish()


def first_lanes(formats, rate, channels, counter=None):
    """A lane for each channel as it is and each kind of cell; with a `Counter`, as that reads."""
    pairs = [(group, side) for group in _by_cycles(formats) for side in side_names(channels)]
    if counter is not None:
        return [CounterLane(group, rate, counter, side) for group, side in pairs]
    return [Lane(group, rate, next(ears(group[0], rate)), side) for group, side in pairs]


def second_lanes(formats, rate, channels, patient, spans_read):
    """Lanes for stretches that do not read as they are, the patient ones last.

    Parameters
    ----------
    formats : sequence of Format
    rate, channels : int
    patient : bool
        Whether to leave out smoothing, and go to the patient ones at once.
    spans_read : callable
        Given a side and two times, the spans of blocks between them that have been read.
    """
    lanes = []
    for group in _by_cycles(formats):
        patiently = [format for format in group if Trellis.suits(format.code)]
        for mix in mixtures(channels):
            if not patient or len(patiently) < len(group):
                wanted = [ear for ear in ears(group[0], rate) if ear.note or mix.other]
                lanes += [SecondLane(Lane(group, rate, ear, mix.side), mix) for ear in wanted]
    for group in _by_cycles(formats):
        patiently = [format for format in group if Trellis.suits(format.code)]
        for mix in mixtures(channels) if patiently else []:
            if not mix.other:
                lane = PatientLane(patiently, rate, mix.side, partial(spans_read, mix.side))
                lanes.append(SecondLane(lane, mix))
    return lanes


def _by_cycles(formats):
    """Formats grouped by what a lane has to know of them."""
    groups = {}
    for format in formats:
        groups.setdefault(format.cycles, []).append(format)
    return list(groups.values())
