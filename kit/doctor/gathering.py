"""Measure a recording: read it once without effort, outline it, and look closer where leaders and data are."""

from dataclasses import replace

import numpy as np

from kit.chosen import formats_of
from kit.doctor.cellwave import measure_data
from kit.doctor.codes import cycles_units, swings_evenly
from kit.doctor.envelope import find_dips, level_courses
from kit.doctor.evidence import Evidence
from kit.doctor.holes import like_cells, quiet_spans, sort_quiet, without
from kit.doctor.leaders import even_part, measured_leaders
from kit.doctor.locating import drowned_leader, locate_leaders, sure_leaders, without_loud_hum
from kit.doctor.noise import hum_lines, noise_of
from kit.doctor.overview import outline
from kit.doctor.pace import mean_pace
from kit.doctor.shape import fit_response
from kit.doctor.steadiness import steadiness
from kit.doctor.twosides import compare_sides
from kit.found import CHECKED, DAMAGED
from kit.tape import decode

__all__ = ["channel_wave", "gather"]

MOST_DATA = 4
EVEN_PART = 0.85
DATA_S = 2.0
HEAD_S = 2.0
MOST_LOST_DB = 12.0  # of the shortest cycles, that is looked past in the search for dips
LITTLE_DB, BEYOND_DB = 1.5, 6.0
SHORT_PART = 0.8
SETTLES_S = 0.3
MOMENT_S, DEEP_DB = 0.15, 15.0
SEEN_S = 0.15  # beside the ends of a leader, where its level is compared


def gather(sound, format="auto"):
    """Measure a recording.

    Parameters
    ----------
    sound : Sound
    format : str, Format, or list of these
        What to listen for.

    Returns
    -------
    Evidence
    """
    asked = formats_of(format)
    reading = decode(sound, format=format, quick=True, brief=True)
    outlines = outline(sound)
    side = _side(reading, outlines, sound.channels)
    facts = {"seconds": sound.seconds, "rate": sound.rate, "channels": sound.channels, "asked": asked,
             "reading": reading, "outlines": outlines, "side": side, "silences": outlines[side].silences}
    seen = Evidence(**facts)
    if not sound.frames or outlines[side].usual_level == 0:
        return seen
    return replace(seen, **_closer(sound, seen))


def channel_wave(sound, side, start_s, stop_s):
    """Samples of one channel between two times: float32, (n,)."""
    first, last = (max(0, round(s * sound.rate)) for s in (start_s, min(stop_s, sound.seconds)))
    pieces = [piece[:, side] for piece in sound.pieces(start=first, stop=max(first, last))]
    return np.concatenate([np.zeros(0, np.float32), *pieces])


def _side(reading, outlines, channels):
    """The channel most blocks were read from, or else the strongest."""
    names = {"left": 0, "mono": 0, "right": 1}
    read = [names.get(block.side, 0) for block in reading.blocks if block.verdict != DAMAGED]
    if read and channels <= 2:
        return max(set(read), key=read.count)
    return int(np.argmax([line.usual_level for line in outlines]))


def _closer(sound, seen):
    """What a closer look at some stretches shows."""
    def raw(start_s, stop_s):
        return channel_wave(sound, seen.side, start_s, stop_s)

    hum = hum_lines(raw, seen.seconds, seen.rate)
    wave_of, lowest_hz = without_loud_hum(raw, hum, seen)
    found = {"hum": hum, **locate_leaders(wave_of, seen, lowest_hz)}
    # Whatever a stretch without signal is, it is no leader.
    spans = without(sure_leaders(found["leaders"], found["format"]), quiet_spans(seen.line))
    found["tones"] = tones = measured_leaders(wave_of, spans, seen.rate)
    placed = replace(seen, **found)
    found["unit_s"] = _unit_s(placed)
    found["silences"], holes = sort_quiet(wave_of, replace(placed, unit_s=found["unit_s"]))
    placed = replace(placed, **found, dips=holes)
    found["data"] = _data(wave_of, placed)
    if not (tones or seen.reading.blocks or replace(placed, **found).two_levels):
        found["drowned"] = drowned_leader(wave_of, seen, lowest_hz)
    placed = replace(placed, **found)
    found |= _noise(wave_of, placed)
    density = 10 ** (found["noise"].hiss_dbfs / 10) / 20_000 if found["noise"] else 0.0
    found["response"] = fit_response(tones, density) if tones else None
    whole = [block for block in seen.reading.blocks if block.verdict == CHECKED]
    found |= {"steadiness": steadiness(tones, whole), "pace": mean_pace(tones, whole, placed.format or seen.asked[0])}
    if seen.channels == 2:
        found["sides"] = compare_sides(sound, _data_start(placed), placed.shortest_hz)
    found |= _levels(wave_of, placed, found["response"])
    found |= _without_moments(found, seen.rate)
    found |= _ends(wave_of, placed)
    return found


def _unit_s(placed):
    """Length of a unit: from blocks, or from the frequency of the leaders."""
    units = sorted(block.unit_s for block in placed.good)
    if units:
        return units[len(units) // 2]
    format = placed.format or placed.asked[0]
    if placed.tones:
        return 1 / (format.leader.leader_units * float(np.median([tone.hz for tone in placed.tones])))
    return placed.bad[0].unit_s if placed.bad else None


def _under(tones, rate):
    """Noise under the leaders: that of a worse than usual one, for what lies under a tape comes and goes."""
    read = _noises(tones, rate)
    return read[int(0.7 * len(read))] if read else None


def _noises(tones, rate):
    """Noise under each leader, the weakest first."""
    read = [noise_of(tone.residue, rate, tone.rms, tone.top_hz) for tone in tones]
    return sorted((noise for noise in read if noise is not None), key=lambda noise: noise.dbfs)


def _noise(wave_of, placed):
    """What lies under leaders, and in silences; and the hiss where there is least, as that is the same all along."""
    quiet = _silence_noise(wave_of, placed)
    each = [noise for noise in (*_noises(placed.tones, placed.rate), quiet) if noise is not None]
    return {"noise": placed.drowned.noise if placed.drowned else _under(placed.tones, placed.rate),
            "quiet_noise": quiet, "steady_hiss_dbfs": min((noise.hiss_dbfs for noise in each), default=0.0)}


def _silence_noise(wave_of, placed):
    silences = sorted(placed.silences, key=lambda span: span[0] - span[1])[:1]
    for start, stop in silences:
        wave = wave_of(start + 0.02, min(stop - 0.02, start + 5))
        return noise_of(wave - wave.mean(), placed.rate, placed.signal_rms) if len(wave) > 2048 else None
    return None


def _data_spans(placed):
    """Where data lies, longest first: in blocks that were read, and in what is neither leader nor silence."""
    spans = [block.span_s for block in placed.good]
    holes = [(dip.start_s, dip.stop_s) for dip in placed.dips]
    walls = sorted([*((start, stop) for start, stop, _ in placed.leaders), *placed.silences, *holes, *spans])
    here = 0.0
    for start, stop in [*walls, (placed.seconds, placed.seconds)]:
        if start > here:
            spans.append((here, start))
        here = max(here, stop)
    return sorted(spans, key=lambda span: span[0] - span[1])


def _data_start(placed):
    spans = _data_spans(placed)
    return spans[0][0] if spans else 0.0


def _data(wave_of, placed):
    found = []
    for start, stop in _data_spans(placed)[:MOST_DATA] if swings_evenly(placed.code) else ():
        wave = wave_of(start, min(stop, start + DATA_S))
        if len(wave) and placed.shortest_hz < 0.4 * placed.rate:
            found.append(measure_data(wave, placed.rate, placed.shortest_hz, start))
    return [each for each in found if each is not None]


def _ends(wave_of, placed):
    """Whether the recording ends in a leader, and how far what comes before the first leader is data."""
    leader, code = placed.leader_hz, placed.code
    units = 1 / (leader * (placed.unit_s or 1.0))
    tail = wave_of(max(0.0, placed.seconds - 9 / leader), placed.seconds)
    first = min((start for start, _, _ in placed.leaders), default=0.0)
    head = wave_of(0.0, min(first, HEAD_S))
    return {"ends_in_leader": like_cells(tail, placed, [units]) > 0.6,
            "starts_in_data": like_cells(head, placed, cycles_units(code)) > 0.75,
            "starts_evenly": even_part(head, placed.rate) > EVEN_PART}


def _levels(wave_of, placed, response):
    """Dropouts, and how the level moves through leaders."""
    if not swings_evenly(placed.code):
        return {"dips": [], "courses": []}
    period_s, holes = 1 / placed.leader_hz, placed.dips
    nothing = [*placed.silences, *((hole.start_s, hole.stop_s) for hole in holes)]
    courses = [course for course in level_courses(placed.line, placed.leaders, period_s, placed.silences)
               if not _meets(course.start_s, course.start_s + SEEN_S, holes)
               and not _meets(course.stop_s - SEEN_S, course.stop_s, holes)
               # What follows a leader is no data where there is none.
               and not any(start < course.stop_s + SEEN_S and stop > course.stop_s + 0.02 for start, stop in nothing)]
    steady_db = response.loss_db(placed.shortest_hz, placed.leader_hz) if response else 0.0
    weaker_db = -float(np.median([course.data_db for course in courses])) if courses else 0.0
    lost_db = max(steady_db, weaker_db)
    dips = find_dips(placed.line, period_s, 10 ** (-min(max(steady_db, 0.0), MOST_LOST_DB) / 20), placed.silences)
    dips = [dip for dip in _within(dips, placed) if not _meets(dip.start_s, dip.stop_s, holes)
            and not _settles(dip, courses) and not _explained(wave_of, placed, dip, lost_db)]
    return {"dips": sorted([*dips, *holes], key=lambda dip: dip.start_s), "courses": courses}


def _without_moments(found, rate):
    """Noise under leaders, and levels along them, where no moment of failure passes for either."""
    short = [dip for dip in found["dips"] if dip.stop_s - dip.start_s < MOMENT_S and dip.depth_db > DEEP_DB]
    whole = [tone for tone in found["tones"] if not _meets(tone.start_s, tone.stop_s, short)]
    courses = [course for course in found["courses"] if not _meets(course.start_s, course.start_s + SEEN_S, short)
               and not _meets(course.stop_s - SEEN_S, course.stop_s, short)]
    return {"noise": _under(whole, rate) or found["noise"], "courses": courses}


def _within(dips, placed):
    """Those between the first leader and the end of the last block."""
    spans = [*placed.leaders, *((*block.span_s, 0.0) for block in placed.good + placed.bad)]
    first, last = min((s[0] for s in spans), default=0.0), max((s[1] for s in spans), default=0.0)
    return [dip for dip in dips if first < dip.start_s and dip.stop_s < last]


def _settles(dip, courses):
    """Whether a level control was still settling: what it does after sound sets in is no dropout."""
    return any(course.after_silence and course.onset_db > LITTLE_DB
               and course.start_s - 0.05 < dip.start_s < course.start_s + SETTLES_S for course in courses)


def _explained(wave_of, placed, dip, lost_db):
    """Whether a dip is no more than weak highs make: hardly deeper than their loss, or a run of shortest cycles."""
    if lost_db < LITTLE_DB:
        return False
    shortest = cycles_units(placed.code)[:1]
    return dip.depth_db < lost_db + BEYOND_DB or (
        like_cells(wave_of(dip.start_s, dip.stop_s), placed, shortest) > SHORT_PART)


def _meets(start_s, stop_s, holes):
    return any(hole.start_s < stop_s and hole.stop_s > start_s for hole in holes)
