"""All that was measured of one recording, before anything is concluded from it."""

import math
from dataclasses import dataclass

import numpy as np

from kit.found import DAMAGED, UNCHECKED
from kit.known import SPEEDS

__all__ = ["Evidence"]

TWO_LEVELS_DB = -9.0  # what does not follow a wave of two levels, against what does
FEW_BYTES, END_S = 4, 0.02
MOST_BEHIND = 24  # characters that noise behind a stream may feign
AS_NEAR = 1.5  # a preset so many times as far as the nearest, in the logarithm, may be meant as well


@dataclass(frozen=True, eq=False)
class Evidence:
    """What was measured; None, or an empty list, where a recording did not show it.

    Attributes
    ----------
    seconds, rate, channels
        Of the recording.
    asked : list of Format
        What was listened for.
    reading : Reading
        What reads without effort.
    outlines : list of Outline
        One for each channel.
    side : int
        The channel that the rest was measured on.
    format : Format or None
        Of the blocks found.
    unit_s : float or None
        Length of a unit.
    leaders : list of (float, float, float)
        Start, stop, frequency.
    tones : list of ToneMeasured
    drowned : Drowned or None
        A leader that only a long look shows, where there are no others.
    noise, quiet_noise : Noise or None
        Under the leaders, or over one that is drowned; and in the silences.
    steady_hiss_dbfs : float
        Level of the hiss where there is least of it; 0 where it is not known.
    hum : Hum or None
    response : Response or None
    steadiness : Steadiness or None
    pace : Pace or None
        The mean speed, over all leaders and blocks.
    data : list of CellWave
    sides : Sides or None
    silences : list of (float, float)
        Where no signal is, and none should be: not where data is only weak, and not the long holes among `dips`.
    dips : list of Dip
    courses : list of LevelCourse
    ends_in_leader, starts_in_data, starts_evenly : bool
        Whether the last cycles of the recording are those of a leader; whether those before its first leader are
        those of data, or as even as those of a leader whose speed is not yet that of the tape.
    """

    seconds: float
    rate: int
    channels: int
    asked: list
    reading: object
    outlines: list
    side: int
    format: object = None
    unit_s: float | None = None
    leaders: list = ()
    tones: list = ()
    drowned: object = None
    noise: object = None
    quiet_noise: object = None
    steady_hiss_dbfs: float = 0.0
    hum: object = None
    response: object = None
    steadiness: object = None
    pace: object = None
    data: list = ()
    sides: object = None
    silences: list = ()
    dips: list = ()
    courses: list = ()
    ends_in_leader: bool = False
    starts_in_data: bool = False
    starts_evenly: bool = False

    @property
    def line(self):
        """Outline: of the channel that was measured."""
        return self.outlines[self.side]

    @property
    def code(self):
        """CellCode: of the format found, or of the first that was listened for."""
        return (self.format or self.asked[0]).code

    @property
    def shortest_hz(self):
        """float: frequency of the shortest cycles of the data."""
        return _cycle_hz(self, lambda code: code.shortest_cycle_units)

    @property
    def leader_units(self):
        """float: length of the leader's cycles, in units."""
        return (self.format or self.asked[0]).leader.leader_units

    @property
    def leader_hz(self):
        """float: frequency of the leader."""
        return 1 / (self.leader_units * (self.unit_s or (self.format or self.asked[0]).unit_s()))

    @property
    def tail_s(self):
        """float: how long the leader's cycles go on behind a block."""
        return (self.format or self.asked[0]).tail_cycles / self.leader_hz

    @property
    def signal_rms(self):
        """float: rms of the signal under the leaders, or what comes nearest to it."""
        if self.tones:
            return float(np.median([tone.rms for tone in self.tones]))
        return self.drowned.rms if self.drowned else self.line.usual_level

    @property
    def two_levels(self):
        """bool: whether what is heard swings between two levels, as data does and neither noise nor speech do."""
        return bool(self.data) and float(np.median([data.noise_db for data in self.data])) < TWO_LEVELS_DB

    @property
    def good(self):
        """list of FoundBlock: those read whole."""
        return [block for block in self.reading.blocks if block.verdict != DAMAGED]

    @property
    def bad(self):
        """list of FoundBlock: those that did not read."""
        return [block for block in self.reading.blocks if block.verdict == DAMAGED and not self._made_up(block)]

    def _made_up(self, block):
        """Whether a damaged block was made of noise.

        It lies in a silence, or among whole ones of another code, or is a few bytes behind the last block.
        """
        start, stop = block.span_s
        silent = sum(max(0.0, min(stop, b) - max(start, a)) for a, b in self.silences)
        codes = {one.format.code for one in self.good}
        last = max((one.span_s[1] for one in self.good), default=self.seconds)
        few = block.headless and len(block.content) <= FEW_BYTES and start > last - END_S
        return silent > 0.5 * (stop - start) or (bool(codes) and block.format.code not in codes) or few

    @property
    def reads(self):
        """bool: whether there are files, and all of them read without effort."""
        files, left = self.reading.files, [block for block in self.reading.left_over if not self._made_up(block)]
        well = all(file.complete or self._reads_as_stream(file) for file in files)
        return bool(files) and well and not any(block.verdict == DAMAGED for block in left)

    def _reads_as_stream(self, file):
        """Whether a file without a check has nothing in doubt, but for noise behind it: nothing tells its end."""
        if file.verdict == UNCHECKED and not file.doubtful:
            return True
        behind = all(start >= len(file.data) - MOST_BEHIND for start, _ in file.doubtful)
        return behind and all(block.stream for block in self.reading.blocks)

    @property
    def speed(self):
        """tuple of float or None: speed relative to the nearest preset, minus 1; and that preset."""
        return self.speeds[0] if self.speeds else None

    @property
    def speeds(self):
        """list of (float, float): the same for each preset that is about as near as the nearest; may be empty."""
        unit_s = self.pace.unit_s if self.pace else self.unit_s
        if unit_s is None:
            return []
        ratio = (self.format or self.asked[0]).unit_s() / unit_s
        away = {preset: abs(math.log(ratio / preset)) for preset in SPEEDS.values()}
        near = sorted(away, key=away.get)
        return [(ratio / preset - 1, preset) for preset in near if away[preset] <= AS_NEAR * away[near[0]]]

    @property
    def speed_open(self):
        """float: how far swings of speed leave the mean speed open, as a part of it."""
        even = self.steadiness
        if not self.pace or not even:
            return 0.0
        return self.pace.left_open(even.wow_percent, even.wow_hz) + self.pace.left_open(
            even.flutter_percent, even.flutter_hz)


def _cycle_hz(evidence, units_of):
    format = evidence.format or evidence.asked[0]
    return 1 / (units_of(format.code) * (evidence.unit_s or format.unit_s()))
