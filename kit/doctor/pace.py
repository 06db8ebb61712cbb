"""The mean speed of a tape, over all its leaders and blocks, and how far swings of speed leave it open."""

import math
from dataclasses import dataclass

import numpy as np

from kit.doctor.codes import ideal_times

__all__ = ["Pace", "mean_pace"]


@dataclass(frozen=True)
class Pace:
    """The mean speed.

    Attributes
    ----------
    unit_s : float
        Length of a unit, on average over all stretches.
    stretches_s : tuple of float
        How long each of them is.
    """

    unit_s: float
    stretches_s: tuple

    def left_open(self, percent, hz):
        """How far a swing may have moved the mean, as a part of it.

        A whole turn of a sine adds nothing; what is left of one adds at most its peak over pi times the turns.

        Parameters
        ----------
        percent : float
            Peak of the swing.
        hz : float

        Returns
        -------
        float
        """
        each = [length * min(1.0, 1 / max(math.pi * hz * length, 1e-9)) for length in self.stretches_s]
        return percent / 100 * sum(each) / sum(self.stretches_s)


def mean_pace(tones, blocks, format):
    """The mean speed.

    Parameters
    ----------
    tones : list of ToneMeasured
    blocks : list of FoundBlock
        Those that were read whole.
    format : Format
        Whose leader the tones are.

    Returns
    -------
    Pace or None
        None where nothing shows it.
    """
    stretches = [(tone.seconds, tone.seconds * tone.hz * format.leader.leader_units) for tone in tones]
    # In a stream there may be marks of any length between characters; of other codes a bit lasts what its row does.
    for block in (b for b in blocks if not b.format.stream and b.format.code.draws_alike):
        times = np.abs(block.cell_s.astype(float))
        units = ideal_times(block.format.code, block.bits, 1.0)
        stretches.append((float(times[-1] - times[0]), float(units[-1] - units[0])))
    seconds, units = (sum(part) for part in zip(*stretches, strict=True)) if stretches else (0.0, 0.0)
    return Pace(seconds / units, tuple(length for length, _ in stretches if length > 0)) if units > 0 else None
