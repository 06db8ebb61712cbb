"""Character row: what was read of a stream so far, in order, and which of it is noise behind its end."""

from dataclasses import dataclass

import numpy as np

from .characters import Characters

__all__ = ["CharacterRow"]

STRAY = (8, 24)  # characters in doubt in a row after which a stream is over: if they are weak; in any case
WEAK = 0.75  # margin below which they are
HIDES = 0.4  # part of a cell, unheard before a start bit, that may hide the true one
HEARD = 0.6  # a character must be of the two tones for this part of its time
PAUSE_CELLS = 0.7  # marks that last so long are none that noise feigns


@dataclass(frozen=True)
class _Note:
    """Of a character: for which part of its time it was of the two tones, and what came before it."""

    heard: float = 0.0
    marks: float = 0.0  # how many cells of them
    unsure: bool = False  # whether there may have been another character


class CharacterRow:
    """Characters of one stream, of so many bits each.

    Attributes
    ----------
    parts : list of Characters
        One character in each.
    """

    def __init__(self, each):
        self.each = each
        self.parts, self._notes = [], []

    def __len__(self):
        return len(self.parts)

    def read(self, wave, found, ends, begins):
        """Add characters, and in doubt those of which nothing was heard, until they are noise; gives how many.

        Parameters
        ----------
        wave : Wave
        found : Characters
        ends, begins : ndarray of float64, shape (characters,)
            Where the one before each of them has ended, and where it begins, in cells.
        """
        stops = np.minimum(begins + self.each, wave.last)
        heard = (stops - begins) * wave.proper(begins, stops) / self.each
        marks = (begins - ends) * wave.marks(ends, begins)
        near = np.maximum(ends, begins - self.each)
        found.doubt[:] |= (begins - near) * (1 - wave.proper(near, begins)) > HIDES
        for k in range(len(found)):
            unsure = self.lose(wave, ends[k], begins[k])
            self._add(found[k : k + 1], _Note(float(heard[k]), float(marks[k]), unsure))
            if self._doubted(STRAY[1]) == STRAY[1]:
                return k + 1
        return len(found)

    def lose(self, wave, end, start):
        """Add characters in doubt for what was not heard between two places; True if there may be one or none."""
        gap = start - end
        unheard = gap * (1 - float(wave.proper(end, start))) if gap > self.each - 1 else 0.0
        count = round(unheard / self.each)
        if unheard > 1 and count == 0 and gap < 1.5 * self.each:
            count = 1
        for k in range(count):
            places = end + gap * (k + np.arange(self.each + 1) / self.each) / count
            self._add(_lost(wave.time(places)), _Note())
        return unheard > 1 and count == 0

    def _add(self, one, note):
        self.parts.append(one)
        self._notes.append(note)

    def stray(self):
        """How many of the last characters are none: noise after the end; 0 if they are too few to say so."""
        count = self._doubted(STRAY[1])
        weak = [part.margins.mean() for part in self.parts[len(self) - count :]]
        return count if count >= STRAY[1] or (count >= STRAY[0] and np.mean(weak) < WEAK) else 0

    def drop(self, count):
        """Drop the last characters, one or more; gives how many cells of marks lie before them."""
        marks = self._notes[-count].marks
        del self.parts[-count:], self._notes[-count:]
        return marks

    def drop_unheard(self, marks):
        """At the end of a stream, drop characters that are hardly of its tones, if no marks follow them.

        `marks` says how many cells of them follow the last character; gives the same of the last one left.
        """
        while len(self) and self.parts[-1].doubt[0] and self._notes[-1].heard < HEARD and marks < PAUSE_CELLS:
            marks = self.drop(1)
        return marks

    def joined(self):
        """All as one."""
        all_ = Characters.joined(self.parts)
        # In so long a pause there need not have been another character, but there may.
        all_.doubt[:-1] |= np.array([note.unsure for note in self._notes[1:]], bool)
        return all_

    def good(self, most):
        """How many of the first ones, up to so many, are in order."""
        return sum(not part.doubt[0] for part in self.parts[:most])

    def _doubted(self, most):
        """How many of the last ones, up to so many, are in doubt one after the other."""
        for count, part in enumerate(reversed(self.parts[-most:])):
            if not part.doubt[0]:
                return count
        return min(most, len(self))


def _lost(times):
    """A character of which nothing was heard."""
    each = len(times) - 1
    return Characters(
        np.zeros((1, each), np.uint8), np.zeros((1, each), np.float32), times[None], np.ones(1, bool)
    )
