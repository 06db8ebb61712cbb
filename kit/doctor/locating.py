"""Where leaders lie: by blocks, by tones where blocks do not tell, by a long look where noise is stronger."""

import numpy as np

from kit.doctor.drowned import LOOKED_S, find_drowned
from kit.doctor.holes import quiet_spans
from kit.doctor.leaders import SEARCHED_S, even_spans, leader_spans, tone_spans, usual_hz
from kit.doctor.noise import high_passed

__all__ = ["drowned_leader", "locate_leaders", "sure_leaders", "without_loud_hum"]

NEEDED_S = 0.4
LOWEST_HZ = 130.0  # of a leader that is looked for: hum lies below
ABOVE_HUM_HZ = 265.0  # the same where hum is strong, and its multiples with it
LOUD_DB = 4.0


def without_loud_hum(wave_of, hum, seen):
    """Waves without hum, where it is about as strong as the signal and would pass for a leader.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    hum : Hum or None
    seen : Evidence

    Returns
    -------
    wave_of : callable
    lowest_hz : float
        Of leaders that can be looked for.
    """
    loud = hum is not None and hum.clear and hum.dbfs > 20 * np.log10(seen.line.usual_level) - LOUD_DB
    return (high_passed(wave_of, seen.rate, ABOVE_HUM_HZ), ABOVE_HUM_HZ) if loud else (wave_of, LOWEST_HZ)


def locate_leaders(wave_of, seen, lowest_hz):
    """Where leaders lie, and the format of the blocks, in `leaders` and `format`.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    seen : Evidence
        With what was read.
    lowest_hz : float
        The lowest leader looked for.

    Returns
    -------
    dict
    """
    blocks = seen.good or seen.bad
    spans = leader_spans(blocks)
    format = max({b.format.name: b.format for b in blocks}.values(),
                 key=lambda f: sum(b.format.name == f.name for b in blocks), default=None)
    if sum(stop - start for start, stop, _ in spans) < NEEDED_S or not seen.reads:
        without_hum = high_passed(wave_of, seen.rate, lowest_hz)
        spans = _both(tone_spans(without_hum, seen.seconds, seen.rate, seen.asked, lowest_hz),
                      spans if seen.good else [])
        if sum(stop - start for start, stop, _ in spans) < NEEDED_S:
            spans = even_spans(wave_of(0.0, SEARCHED_S), seen.rate) or spans
    return {"leaders": spans, "format": format}


def sure_leaders(leaders, format):
    """Those to be measured: in a stream, short runs of marks among characters only look like leaders."""
    longest = max((stop - start for start, stop, _ in leaders), default=0.0)
    stream = format is not None and format.stream
    return [leader for leader in leaders if not stream or leader[1] - leader[0] > 0.3 * longest]


def _both(tones, known):
    """Tones, and leaders known from blocks where no tone was found; only such as are equally high."""
    if not known:
        return tones
    usual = float(np.median([hz for _, _, hz in known]))
    tones = [tone for tone in tones if abs(tone[2] / usual - 1) < 0.25]
    alone = [span for span in known if not any(start < span[1] and stop > span[0] for start, stop, _ in tones)]
    return sorted([*tones, *alone])


def drowned_leader(wave_of, seen, lowest_hz):
    """A leader under stronger noise; what is left in the silences of a tape is none."""
    wave = wave_of(0.0, LOOKED_S)
    for start, stop in quiet_spans(seen.line):
        wave[round(start * seen.rate) : round(stop * seen.rate)] = 0
    return find_drowned(wave, seen.rate, lowest_hz, seen.rate / 5, usual_hz(seen.asked))
