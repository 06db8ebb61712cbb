"""From evidence to findings: speed and its swings, moments of failure, a tape that was cut."""


import numpy as np

from kit.doctor.codes import decided_part
from kit.doctor.findings import Finding, Measured, closure_db
from kit.doctor.holes import LEAST_HOLE_S
from kit.doctor.rules_wave import suppressed
from kit.found import DAMAGED

__all__ = ["TIME_RULES", "only_leader"]

RATES_HZ = (8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000)
SAME_RATE = 0.006  # how near to a ratio of rates a speed must lie
OFF = 0.015
CLEAR_DB = 20.0  # over what lies under it: in more noise data may be there and not be seen
FAR_OFF = 0.2  # as much no recorder is, with its leader heard well
CUT_S = 0.08
DEEP_DB = 10.0
BORNE_DB = 4.0  # a fall of the level that every loader bears
NEAR_BLOCK_S = 0.05
STRONG_PART = 0.4  # of the usual level
LITTLE_S, LONG_S = 0.12, 0.4  # no block is as short as the one; the other is more than edges of leaders are off
MARGIN_S, START_S = 0.05, 0.03
FEW_CYCLES = 200  # of a leader: with a block behind it there are more


def speed_off(seen):
    """A steady error of speed, against the nearest preset, or against either of two that are about as near."""
    if seen.speed is None or not (seen.good or seen.tones):
        return
    error, _ = seen.speed
    several = len(seen.speeds) > 1
    if abs(error) < OFF + seen.speed_open:
        return
    where = (seen.leaders[0][0], seen.leaders[-1][1]) if seen.leaders else (None, None)
    facts = tuple(Measured("speed", 100 * off, f"%{_against(preset)}", *where) for off, preset in seen.speeds)
    # The ordinary speed first: it is what most tapes have.
    ways = [_way(*each, several) for each in sorted(seen.speeds, key=lambda each: abs(np.log(each[1])))]
    labels = _labels(seen.rate, [off for off, _ in seen.speeds])
    harm = closure_db(decided_part(seen.code, error))
    # The kit's reader follows any speed: where it fails, something else is to blame; and where nothing reads, the
    # leader may be another format's.
    mislabelled = f", or the recording's sample rate is written wrong ({labels[0]})" if labels else ""
    said = f"The tape runs {', or '.join(ways)}{mislabelled}."
    yield Finding("speed_off", harm if seen.reads else min(harm, 4.0), facts, said,
                  (*ways, *labels) if several else ("tape speed", *labels) if labels else ())


def _way(error, preset, several):
    against = " (against ordinary speed)" if several and preset == 1 else _against(preset)
    return f"{abs(100 * error):.1f} % {'fast' if error > 0 else 'slow'}{against}"


def _against(preset):
    return "" if preset == 1 else f" (against {preset:g} times ordinary speed)"


def _labels(rate, errors):
    """Sample rates that may have been mislabelled so."""
    # A recording made at one rate and labelled with another plays at the ratio of the two.
    return tuple(f"{true / 1000:g} kHz labelled {rate / 1000:g}" for true in RATES_HZ
                 if true != rate and any(abs(rate / true / (1 + error) - 1) < SAME_RATE for error in errors))


def wow(seen):
    """Slow swings of speed."""
    even = seen.steadiness
    if even is None or even.wow_percent < 0.6:
        return
    rate = (Measured("it comes", even.wow_hz, "times a second"),) if even.wow_hz else ()
    yield Finding("wow", _swing_harm(seen, even.wow_percent), (
        Measured("wow, peak", even.wow_percent, "%", even.from_s, even.to_s), *rate))


def flutter(seen):
    """Quick swings of speed."""
    even = seen.steadiness
    if even is None or even.flutter_percent < max(0.6, _noise_swing(seen)):
        return
    yield Finding("flutter", _swing_harm(seen, even.flutter_percent), (
        Measured("flutter, peak", even.flutter_percent, "%", even.from_s, even.to_s),
        Measured("it comes", even.flutter_hz, "times a second")))


def _noise_swing(seen):
    """Swings of speed that noise alone may feign, in percent."""
    if seen.noise is None:
        return 3.0
    return 100 * 0.5 * 10 ** (-seen.noise.signal_over_voice_db / 20)


def _swing_harm(seen, percent):
    swing = percent / 100
    return closure_db(max(decided_part(seen.code, swing), decided_part(seen.code, -swing)))


def dropouts(seen):
    """Moments in which the level fails."""
    if not seen.dips:
        return
    deepest = max(seen.dips, key=lambda dip: dip.depth_db)
    hit = [block for block in seen.bad if any(
        dip.start_s < block.span_s[1] + NEAR_BLOCK_S and dip.stop_s > block.span_s[0] - NEAR_BLOCK_S
        for dip in seen.dips)]
    depth_db = min(deepest.depth_db, 30.0)
    lost = hit or (_long_holes(seen) and not seen.reads)  # of a block that a hole took whole, nothing is seen
    harm = depth_db - BORNE_DB if lost and not suppressed(seen) else 0.3 * max(depth_db - 3, 0)
    yield Finding("dropouts", harm, (
        Measured("moments of failure", len(seen.dips), "in all"),
        Measured("the deepest", deepest.depth_db, "dB", deepest.start_s, deepest.stop_s)))


def _long_holes(seen):
    return [dip for dip in seen.dips if dip.stop_s - dip.start_s >= LEAST_HOLE_S]


def start_cut(seen):
    """Data at the very start, without the leader or without the header that belongs before it."""
    first_leader = min((start for start, _, _ in seen.leaders), default=0.0 if seen.good else None)
    if first_leader is None or any(start < 0.02 for start, _ in seen.silences):
        return
    # Where all reads, what comes before the first leader may be a motor that was still starting.
    likely = seen.starts_in_data or not seen.reads
    cut = likely and not seen.starts_evenly and not _header_first(seen)
    if first_leader > CUT_S and _sounds_before(seen, first_leader) and cut:
        yield Finding("start_cut", 1.5 if seen.reads else 35.0 if seen.starts_in_data else 6.0, (
            Measured("sound before the first leader", first_leader, "s", 0.0, first_leader),))
    elif first_leader <= CUT_S and _begins_amid(seen):
        block = min(seen.good, key=lambda block: block.span_s)
        yield Finding("start_cut", 1.5 if seen.reads else 35.0, (
            Measured(f"the first block is {'a closing' if block.header else 'no'} header, at", block.span_s[0], "s",
                     *block.span_s),))
    elif first_leader <= CUT_S and (remains := _remains(seen)):
        yield Finding("start_cut", 35.0, (
            Measured("the end of a block at the very start, up to", remains.span_s[1], "s", *remains.span_s),))


def _sounds_before(seen, stop_s):
    """Whether what comes before a time is about as strong as the tape's sound, its noise not counted."""
    level = float(np.median(seen.line.levels[: max(2, int(stop_s / seen.line.level_s))]))
    noise = 10 ** (seen.noise.dbfs / 20) if seen.noise else 0.0
    return level**2 - noise**2 > STRONG_PART**2 * seen.line.usual_level**2


def _begins_amid(seen):
    """Whether the first block was read and is no header that opens a tape, with nothing but leader before it."""
    first = min((block for block in seen.good if not block.format.stream), key=lambda block: block.span_s,
                default=None)
    if first is None or first.backwards or (first.header is not None and not _closes(seen, first)):
        return False
    return first.span_s[0] - _led(seen, 0.0, first.span_s[0]) < LITTLE_S


def _closes(seen, header):
    """Whether a header is the one behind the data: too little leader is before it to be the first of a tape."""
    return not seen.reads and header.span_s[0] < LONG_S and len(seen.good) == 1


def _remains(seen):
    """What is left at the very start of a block whose beginning is missing, where not all reads; or None."""
    heard = [block for block in seen.bad if block.headless and block.span_s[0] < START_S]
    return heard[0] if heard and seen.starts_in_data and not seen.reads else None


def _header_first(seen):
    """Whether the first block there is, is a header that was read."""
    first = min(seen.good, key=lambda block: block.span_s, default=None)
    return first is not None and first.header is not None and first.span_s[0] < min(
        (start for start, _, _ in seen.leaders), default=0.0)


def end_cut(seen):
    """Data at the very end, without the tail that belongs behind it, or a leader with nothing behind it."""
    blocks = sorted(seen.good + seen.bad, key=lambda block: block.span_s)
    if not blocks or any(stop > seen.seconds - 0.03 for _, stop in seen.silences):
        return
    last = blocks[-1]
    tail_s = last.format.tail_cycles * last.format.leader.leader_units * last.unit_s
    short = last.verdict == DAMAGED and not seen.ends_in_leader and last.span_s[1] > seen.seconds - 0.4 * tail_s
    if short or (not seen.reads and (_open_ended(seen, blocks) or _leads_nowhere(seen, last, tail_s))):
        # In noise, and behind a dropout, a block seems to go on when it does not.
        hit = any(dip.stop_s > last.span_s[0] and dip.depth_db > DEEP_DB for dip in seen.dips)
        noisy = last.verdict == DAMAGED and (hit or (
            seen.noise is not None and seen.noise.signal_over_db < 16))
        yield Finding("end_cut", 1.5 if seen.reads else 8.0 if noisy else 40.0, (
            Measured("the last block reaches to the end, at", seen.seconds, "s", *last.span_s),))


def _open_ended(seen, blocks):
    """Whether nothing but leader is behind the last block, though what it says wants more to follow."""
    last = blocks[-1]
    # A header behind blocks that are no header closes the tape.
    begun = last.header is not None and all(block.header for block in blocks) and not _closes(seen, last) and not (
        seen.starts_in_data or _long_holes(seen) or _sounds_ahead(seen, blocks))  # which may be data that is not read
    wants = (last.part or last.parity_part) is not None or begun
    rest_s = seen.seconds - last.span_s[1]
    short = seen.ends_in_leader and rest_s * seen.leader_hz < FEW_CYCLES
    return last.whole and wants and (short or rest_s - _led(seen, last.span_s[1], seen.seconds) < LITTLE_S)


def _sounds_ahead(seen, blocks):
    """Whether there is more from the first leader to the last block than blocks, leaders and silence."""
    start = min([blocks[0].span_s[0], *(first for first, _, _ in seen.leaders)])
    stop = blocks[-1].span_s[0]
    silent = sum(max(0.0, min(b, stop) - max(a, start)) for a, b in seen.silences)
    read = sum(block.span_s[1] - block.span_s[0] for block in blocks[:-1])
    return stop - start - _led(seen, start, stop) - silent - read > LONG_S


def _leads_nowhere(seen, last, tail_s):
    """Whether the recording ends in a leader too long for a tail."""
    start, stop, _ = max(seen.leaders, key=lambda span: span[1], default=(0.0, 0.0, 0.0))
    return seen.ends_in_leader and start > last.leader_s and stop - start > 2 * tail_s + MARGIN_S and (
        stop > seen.seconds - MARGIN_S)


def only_leader(seen):
    """One steady tone from end to end, and no data: a recording that was ended too soon, or no tape at all.

    Parameters
    ----------
    seen : Evidence

    Returns
    -------
    list of Finding
    """
    clear = seen.noise is not None and seen.noise.signal_over_db > CLEAR_DB
    if seen.good or seen.bad or not seen.leaders or not clear:
        return []
    first, last = min(span[0] for span in seen.leaders), max(span[1] for span in seen.leaders)
    outside = [(a, b) for a, b in seen.silences if b <= first + MARGIN_S or a >= last - MARGIN_S]
    silent = sum(stop - start for start, stop in outside)
    if last - first - _led(seen, first, last) > MARGIN_S or seen.seconds - silent - (last - first) > LITTLE_S:
        return []
    where = Measured("one steady tone, at", 1 / np.median([1 / tone.hz for tone in seen.tones]), "Hz",
                     seen.leaders[0][0], seen.leaders[-1][1])
    if seen.speed and abs(seen.speed[0]) > FAR_OFF:
        return [Finding("nothing_there", 60.0, (where,), "There is one steady tone here, and no data.")]
    return [Finding("end_cut", 50.0, (where,), "There is a leader and nothing behind it: the recording ends before "
                                               "the data begins.")]


def _led(seen, from_s, to_s):
    """How much of a stretch is leader, in seconds."""
    led, here = 0.0, from_s
    for start, stop, _ in sorted(seen.leaders):  # which may overlap
        led += max(0.0, min(stop, to_s) - max(start, here))
        here = max(here, stop)
    return led


TIME_RULES = (speed_off, wow, flutter, dropouts, start_cut, end_cut)
"""Rules, each a function of the evidence that yields findings."""
