"""Which stretches of a recording are leader: where blocks were found, and where steady tones stand otherwise."""

import numpy as np

from kit.doctor.tone import measure_tone
from kit.found import ranges
from kit.known import SPEEDS
from kit.readers.leadertones import find_tones, measured_hz
from kit.waves import edges

__all__ = ["even_part", "even_spans", "leader_spans", "measured_leaders", "tone_spans", "usual_hz"]

LONGEST_S = 3.0  # of one leader that is measured: its end, which the block follows
SHORTEST_S = 0.12
MOST_LEADERS = 8
SEARCHED_S = 150.0  # where no block tells, tones are looked for in so much of the recording
MARGIN_S = 0.012
SLOWEST, FASTEST = 0.55, 1.8  # of a preset's speed: what a tape may run at
PIECE_S = 30.0
RUN = 60  # cycles of data are seldom alike for so long
NEIGHBOURS = 0.16  # by how much neighbours in a leader may differ (as a logarithm)


def leader_spans(blocks):
    """Leaders before blocks that were found: start and stop in seconds, and frequency."""
    spans = []
    for block in blocks:
        if block.headless or not block.unit_s > 0:
            continue
        mark_s = _mark_units(block.format) * block.unit_s
        first, last = sorted((block.leader_s, block.start_s + (mark_s if block.backwards else -mark_s)))
        if last - first > SHORTEST_S:
            spans.append((first, last, 1 / (block.format.leader.leader_units * block.unit_s)))
    return spans


def _mark_units(format):
    """Length of the sync mark, in units; a stream has none."""
    return 0.0 if format.stream else format.leader.sync_cycles * format.leader.sync_units


def tone_spans(wave_of, seconds, rate, formats, lowest_hz=0.0):
    """Steady tones that may be leaders, where blocks do not tell: start and stop in seconds, and frequency."""
    usual = usual_hz(formats)
    low, high = max(min(usual) * SLOWEST, lowest_hz), max(usual) * FASTEST
    spans = []
    for start in np.arange(0, min(seconds, SEARCHED_S), PIECE_S):
        wave = wave_of(start, min(seconds, start + PIECE_S))
        for tone in find_tones(wave, rate, low, min(high, rate / 5)):
            inner = start + tone.start / rate, start + min(tone.stop, len(wave)) / rate
            if inner[1] - inner[0] > SHORTEST_S + tone.window / rate and tone.hz > low:
                # A window at either end may hold what is beside the tone.
                spans.append((inner[0] + tone.window / rate / 2, inner[1] - tone.window / rate / 2,
                              measured_hz(wave, rate, tone)))
    return _of_one_tone(spans)


def usual_hz(formats):
    """Frequencies of leaders at the preset speeds: list of float."""
    hz = {format.unit_hz / format.leader.leader_units for format in formats}
    return sorted({each * speed for each in hz for speed in SPEEDS.values()})


def even_spans(wave, rate):
    """Stretches in which half-cycles change but little from one to the next: leaders, however the speed swings."""
    times = edges(wave - np.median(wave) if len(wave) else wave, rate, 0.2)
    if len(times) < 2 * RUN:
        return []
    cycles = times[2:] - times[:-2]
    # Cycles, not halves: those of a lopsided wave differ.
    alike = np.abs(np.log(cycles[2:] / cycles[:-2])) < NEIGHBOURS
    spans = []
    for first, last in ranges(alike):
        start, stop = times[first], times[last + 2]
        if last - first >= RUN and stop - start > SHORTEST_S:
            spans.append((float(start), float(stop), (last + 2 - first) / 2 / (stop - start)))
    longest = max((stop - start for start, stop, _ in spans), default=0.0)
    return _of_one_tone([span for span in spans if span[1] - span[0] > 0.3 * longest])


def even_part(wave, rate):
    """Part of the cycles in a stretch that are nearly as long as the one before, 0 to 1."""
    times = edges(wave - np.median(wave) if len(wave) else wave, rate, 0.2)
    cycles = times[2:] - times[:-2]
    return float(np.mean(np.abs(np.log(cycles[2:] / cycles[:-2])) < NEIGHBOURS)) if len(cycles) > RUN else 0.0


def _of_one_tone(spans):
    """Those whose frequency is that of the longest, within a quarter: other tones are no leaders of this tape."""
    if not spans:
        return []
    usual = max(spans, key=lambda span: sum(s[1] - s[0] for s in spans if abs(s[2] / span[2] - 1) < 0.1))[2]
    return [span for span in spans if abs(span[2] / usual - 1) < 0.25]


def measured_leaders(wave_of, spans, rate):
    """The longest leaders, measured.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    spans : list of (float, float, float)
    rate : int

    Returns
    -------
    list of ToneMeasured
        In order of time.
    """
    long = sorted(spans, key=lambda span: span[0] - span[1])[:MOST_LEADERS]
    found = []
    for start, stop, hz in sorted(long):
        first, last = max(start + MARGIN_S, stop - LONGEST_S), stop - MARGIN_S
        tone = measure_tone(wave_of(first, last), rate, hz, first) if last - first > SHORTEST_S / 2 else None
        if tone is not None:
            found.append(tone)
    return found
