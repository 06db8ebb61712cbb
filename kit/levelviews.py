"""Pictures of levels: at which playing levels, and at which recording levels, some words are read without fault."""

from dataclasses import dataclass

import numpy as np

from .bench.levels import TAPE_PEAK, seed_of
from .bench.leveltape import RATE, at_level, bits_wrong, longest_run, message_wave, threshold_edges, wrong_at
from .deck import Deck
from .errors import SettingError
from .known import find_speed
from .shown import BLACK, BLUE, VERMILLION, Shown, blank_figure

__all__ = ["LevelSweep", "playing_sweep", "playing_view", "recording_sweep", "recording_view"]

THRESHOLD = 0.1  # of full scale: the usual one of the bench
USUAL_DB = 20 * np.log10(TAPE_PEAK)  # at which the wave is recorded, if it is not recorded louder
# A plain recorder with a little dirt on its head; all figures are assumptions, saturation as in the kit's decks.
RECORDER = Deck(saturation_dbfs=3, saturation_corner_hz=4000, replay_spacing_um=1.0)
DIRTY = RECORDER.with_settings(replay_spacing_um=1.5, replay_gap_um=2.0)
SOFT_HISS_DB = -22  # of the tape on which recording levels are tried, relative to the usual wave
RECORDED_DB = np.arange(-16, 37, 2)
PLAYED_PEAK = 0.5  # whatever was recorded is played so loud
STYLES = ((BLACK, "o", "-"), (BLUE, "s", "--"), (VERMILLION, "^", ":"))


@dataclass(frozen=True, eq=False)
class LevelSweep:
    """How many bits are wrong at each level.

    Attributes
    ----------
    name : str
    levels_db : ndarray of int64, shape (levels,)
        Playing or recording levels.
    wrong : ndarray of int64, shape (levels,)
    bits : int
        That were written.
    """

    name: str
    levels_db: np.ndarray
    wrong: np.ndarray
    bits: int

    @property
    def good_db(self):
        """ndarray: first and last level of the longest row without a wrong bit; empty if there is none."""
        return longest_run(self.levels_db, self.wrong == 0)

    @property
    def gains(self):
        """list of int: the levels."""
        return self.levels_db.tolist()

    @property
    def passed(self):
        """list of bool: of each level, whether every bit was right."""
        return [bool(wrong == 0) for wrong in self.wrong]


def playing_sweep(words, hiss_db, record_db=0):
    """Play a tape at every level from −40 to 20 dB.

    Parameters
    ----------
    words : str
    hiss_db : float
        Of the tape, relative to a wave recorded as usual.
    record_db : float
        How much louder than usual it is recorded.

    Returns
    -------
    LevelSweep
    """
    bits, sound, _ = message_wave(words.encode("utf-8"), TAPE_PEAK)
    deck = RECORDER.with_settings(source_level_db=record_db, hiss_dbfs=USUAL_DB + hiss_db)
    heard = deck.play(sound, seed=seed_of(words)).samples.astype(float)
    recorded = TAPE_PEAK * 10 ** (record_db / 20)
    levels, wrong = wrong_at(bits, heard / recorded, THRESHOLD)
    name = f"recorded {record_db:g} dB louder" if record_db else "recorded as usual"
    return LevelSweep(name, levels, wrong, len(bits))


def recording_sweep(words, speed="ordinary"):
    """Record some words at many levels, each time on the same tape, and play each as loud as any other.

    Parameters
    ----------
    words : str
    speed : str or float
        Name of a speed, or part of ordinary speed.

    Returns
    -------
    LevelSweep
        Levels are relative to the usual one.
    """
    bits, sound, _ = message_wave(words.encode("utf-8"), TAPE_PEAK, find_speed(speed))
    wrong = [_wrong_recorded(bits, sound, level, seed_of(words)) for level in RECORDED_DB]
    return LevelSweep(f"{speed} speed", RECORDED_DB, np.array(wrong), len(bits))


def _wrong_recorded(bits, sound, record_db, seed):
    deck = DIRTY.with_settings(source_level_db=float(record_db), hiss_dbfs=USUAL_DB + SOFT_HISS_DB)
    heard = deck.play(sound, seed=seed).samples.astype(float)
    played = at_level(heard * PLAYED_PEAK / np.abs(heard).max(), 0)
    return bits_wrong(bits, threshold_edges(played, THRESHOLD) / RATE)


def playing_view(words, hiss_db=-8, record_db=(0,)):
    """At which playing levels a hissy tape reads, recorded as usual or louder.

    Parameters
    ----------
    words : str
    hiss_db : float
        Relative to a wave recorded as usual.
    record_db : sequence of float
        One line in the picture for each, three at most.

    Returns
    -------
    Shown
    """
    sweeps = [playing_sweep(words, hiss_db, each) for each in record_db]
    return _view(sweeps, "playing level in dB", "Played at every level", "no playing level")


def recording_view(words, speeds=("ordinary", "double")):
    """At which recording levels some words are read.

    Parameters
    ----------
    words : str
    speeds : sequence of str
        One line in the picture for each, three at most.

    Returns
    -------
    Shown
    """
    sweeps = [recording_sweep(words, speed) for speed in speeds]
    label = "recording level in dB, 0 being the usual one"
    return _view(sweeps, label, "Recorded at every level", "no recording level")


def _view(sweeps, label, title, never):
    if not 1 <= len(sweeps) <= len(STYLES):
        raise SettingError(f"a picture must have 1 to {len(STYLES)} lines, got {len(sweeps)}: leave some out")
    figure, (axes,) = blank_figure(height_in=3.4)
    for sweep, (colour, mark, line) in zip(sweeps, STYLES, strict=False):
        percent = 100 * sweep.wrong / max(1, sweep.bits)
        axes.plot(sweep.levels_db, percent, color=colour, marker=mark, linestyle=line, label=sweep.name,
                  markersize=5, linewidth=1.4)
    axes.set(xlabel=label, ylabel="bits wrong in %", ylim=(-5, 108))
    axes.set_title(title, loc="left")
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)
    return Shown(figure, "\n".join(_in_words(sweep, never) for sweep in sweeps))


def _in_words(sweep, never):
    good, least = sweep.good_db, int(sweep.wrong.min())
    name = sweep.name[0].upper() + sweep.name[1:]
    if not len(good):
        return f"{name}: without fault at {never}; at best {least} of {sweep.bits} bits are wrong."
    span = f"from {good[0]} to {good[1]} dB" if good[0] < good[1] else f"at {good[0]} dB alone"
    return f"{name}: without fault {span}.".replace("-", "−")
