"""From evidence to findings: what became of the wave's shape, and what else is in it."""

import numpy as np

from kit.doctor.findings import Finding, Measured, closure_db
from kit.doctor.rules_level import hum_over_db

__all__ = ["WAVE_RULES", "suppressed"]

LOSS_DB = 3.0  # of the shortest cycles: more than on any good recorder
USUAL_DB_PER_KHZ, SPREAD_DB = 0.6, 1.2  # what good recorders lose, and how far they differ in it
MOST_SLIGHT_DB = 1.5  # harm of losses that no loader minds much
ROUND_DB = 5.0  # of what makes edges steep: more than on any good recorder
SHARP, MOST_SHARP_HZ = 2.25, 7000.0  # times the shortest cycles' frequency; where good recorders lose some, too
LEVEL_DB = 1.8  # data weaker than the leader's harmonics say by so much: the loss depends on the level
WHY_BY_LEVEL = "noise reduction on in playing"
WHY_LOST = ("a dirty or worn head", "a tilted head (azimuth)", "recorded so loud that the tape was full",
            WHY_BY_LEVEL)
LEAST_FALL_DB = 0.9  # of the leader itself: what is less, the fit may have made up
LEAST_GONE_DB, CLEAN_DB = 5.0, 15.0
MISFIT_DB = 1.5  # a response that fits worse than this has no corner
CORNER_PART, CORNER_MISFIT_DB = 0.35, 0.6  # a corner must explain so much of what is left, and leave no more
ECHO_LIMIT_DB = -12.5  # late energy at which reading fails
MURMUR_LIMIT_DB = 14.0  # data over another sound at which loaders fail: it rises and falls, and its peaks count
MOST_SWING = 20.0  # percent
SOME_SWING, LEFT_BY_SWINGS_DB = 10.0, 14.5  # what swings leave of a leader is no stronger
LOW_RATE_HZ = 12_000
SLICING_DB = -20.0  # what slicing leaves of any data
LOW_HZ, KEPT_DB = 3000.0, 6.0  # what codecs of speech keep, and how little less strong
FOLLOWS_LIMIT_DB = -5.0
BELOW_EDGE, SMOOTH_DB = 0.92, -4.0
NO_HISS_DB = 60.0  # signal over hiss that no tape and no input has
SURE_DB = 62.0  # so much that a head may have lost highs as well
CLEAN_OVER_DB = 42.0  # signal over all noise: more than any codec leaves
QUIETER_DB = 15.0  # by which a recording may be quieter in its silences than under its sound
UNREAL_DB, APART_DB = 60.0, 20.0  # coloured as only lost highs leave it; so much less under leaders


def highs(seen):
    """High tones lost or raised, from the leader's harmonics and from how strong data is beside it."""
    response, data_db = seen.response, _data_loss_db(seen)
    # Where all harmonics of the leaders are gone, and not in noise, only the data shows the loss.
    gone = response is None and data_db > LEAST_GONE_DB and seen.noise and seen.noise.signal_over_db > CLEAN_DB
    if (response is None and not gone) or _cut_off(seen) or suppressed(seen) or _following_db(seen) is not None:
        return
    steady_db = _leader_loss_db(seen) if response else data_db
    by_level = data_db > steady_db + LEVEL_DB
    steady = Measured(f"loss at {seen.shortest_hz:.0f} Hz against {seen.leader_hz:.0f} Hz", steady_db, "dB")
    facts = ((steady,) if response else (), (Measured("data weaker than leader by", data_db, "dB"),))
    facts = sum(reversed(facts) if by_level else facts, ())  # what the finding rests on comes first
    if max(steady_db, data_db) > LOSS_DB:
        most = 40.0 if seen.good else 12.0  # where nothing reads, the shortest cycles are only guessed
        # Likeliest first, and none of them twice.
        causes = dict.fromkeys((WHY_BY_LEVEL, *WHY_LOST) if by_level else WHY_LOST)
        yield Finding("highs_lost", min(most, max(steady_db, data_db) - 1), facts, candidates=tuple(causes))
    elif response and (over_db := max(_over_usual_db(seen, steady_db, data_db), _rounded_db(seen) - ROUND_DB)) > 0:
        harm = min(MOST_SLIGHT_DB, 0.5 + 0.5 * over_db)
        yield Finding("highs_lost", harm, (*facts, _rounded(seen)), candidates=WHY_LOST)
    elif min(steady_db, data_db) < -1.2 and not (response and response.misfit_db > CORNER_MISFIT_DB):
        yield Finding("highs_raised", min(9.0, -1.5 * min(steady_db, data_db)), facts, candidates=(
            "noise reduction left on in recording only", "a treble control turned up"))


def _leader_loss_db(seen):
    """How much weaker the shortest cycles are than the leader, as its harmonics have it."""
    response = seen.response
    fitted = response.loss_db(seen.shortest_hz, seen.leader_hz)
    # Of some losses, as of those that depend on the level, most is lost at once: no slope and bend do so.
    return max(fitted, response.read_loss_db(seen.shortest_hz)) if response.misfit_db < MISFIT_DB else fitted


def _over_usual_db(seen, steady_db, data_db):
    """How much more of the shortest cycles is lost than on a good recorder, if leader and data say so together."""
    usual_db = USUAL_DB_PER_KHZ * (seen.shortest_hz - seen.leader_hz) / 1000 + SPREAD_DB
    return (steady_db + data_db) / 2 - usual_db


def _rounded_db(seen):
    """How much is lost of what makes the edges of the shortest cycles steep, where good recorders lose little."""
    known = SHARP * seen.shortest_hz < MOST_SHARP_HZ and seen.response.misfit_db < MISFIT_DB
    return _rounded(seen).value if known else 0.0


def _rounded(seen):
    """The same as a fact: noise shifts the edges of a round wave further."""
    hz = SHARP * seen.shortest_hz
    return Measured(f"loss at {hz:.0f} Hz against {seen.leader_hz:.0f} Hz", seen.response.read_loss_db(hz), "dB")


def _data_loss_db(seen):
    """How much weaker data is than the leader before it; 0 where that is not known."""
    return -float(np.median([course.data_db for course in seen.courses])) if seen.courses else 0.0


def lows(seen):
    """Low tones lost, so that long cycles sag."""
    response = seen.response
    if response is None or response.lows_corner_hz == 0 or _echo_db(seen) > ECHO_LIMIT_DB - 9:
        return
    longest_hz = 1 / (seen.code.longest_cycle_units * seen.unit_s) if seen.unit_s else seen.leader_hz
    sag = 1 - np.exp(-np.pi * response.lows_corner_hz / longest_hz)
    fallen_db = response.lows_loss_db(seen.leader_hz, 3 * seen.leader_hz)
    # Where much of the highs is lost, too, the two cannot be told apart by a few harmonics.
    fits = response.misfit_db < CORNER_MISFIT_DB
    clear = fits and response.corner_gain_db > 0.05 + CORNER_PART * response.misfit_db
    sure = clear and response.loss_db(seen.shortest_hz, seen.leader_hz) < 5
    if sag > 0.3 and fallen_db > LEAST_FALL_DB and sure:
        yield Finding("lows_lost", closure_db(0.95 * sag), (
            Measured("lows fall below", response.lows_corner_hz, "Hz"),
            Measured("a long half-cycle sags by", 100 * sag, "%")), candidates=(
            "a small loudspeaker or a telephone in the way", "a capacitor in the lead or a dried-out one"))


def older_recording(seen):
    """Something else that moves, in the band of speech."""
    noise = _murmur(seen)
    if noise is None or _echo_db(seen) > ECHO_LIMIT_DB - 9:
        return
    harm = closure_db(10 ** (-(noise.signal_over_voice_db - MURMUR_LIMIT_DB) / 20))
    if harm > 0.7:
        yield Finding("older_recording", harm, (
            Measured("data over the other sound", noise.signal_over_voice_db, "dB"),
            Measured("how far that sound moves up and down", 100 * noise.restless, "% of its level")),
            candidates=("an earlier recording", "an echo printed from the next turn of the tape"))


def _murmur(seen):
    """The noise in the band of speech, if it is none that hisses and none that only tape makes."""
    # Where nothing could be told of them, they may be too wide for it.
    swings = seen.steadiness.wow_percent + seen.steadiness.flutter_percent if seen.steadiness else np.inf
    # Without hiss all that is left is coloured; and strong hum bends what lies in it.
    if _cut_off(seen) or (seen.noise is not None and hum_over_db(seen) < seen.noise.signal_over_voice_db - 3):
        return None
    # A leader whose speed swings widely leaves some of itself behind when it is taken off; and what lies under a
    # tape lies under its leaders as well: else the silence is one in name only.
    for noise in (seen.quiet_noise if _is_quiet(seen) else None, seen.noise if swings < MOST_SWING else None):
        # Few samples per cycle leave a coloured rest of their own, but an even one.
        moves = noise is not None and (seen.rate > LOW_RATE_HZ or noise.restless > 0.35)
        if noise is seen.noise and swings > SOME_SWING and moves:
            moves = noise.signal_over_voice_db < LEFT_BY_SWINGS_DB
        if moves and noise.coloured and noise.signal_over_voice_db < 26:
            return noise
    return None


def _is_quiet(seen):
    """Whether a silence has nothing in it that is far stronger than all that lies under the leaders."""
    if suppressed(seen):
        return False
    pair = seen.quiet_noise, seen.noise
    return None in pair or pair[0].voice_over_hiss_db < UNREAL_DB or (
        pair[1].signal_over_voice_db - pair[0].signal_over_voice_db < APART_DB)


def _echo_db(seen):
    known = [data.echo_db for data in seen.data if np.isfinite(data.echo_db)]
    return float(np.median(known)) if known else -90.0


def room_echo(seen):
    """Sound that arrives late."""
    echo_db = _echo_db(seen) - (6 if suppressed(seen) else 0)
    harm = closure_db(10 ** ((echo_db - ECHO_LIMIT_DB) / 20))
    if echo_db > -26 and harm > 1:
        yield Finding("room_echo", harm, (Measured("sound that comes 9 to 85 ms late", echo_db, "dB"),))


def voice_coding(seen):
    """A spectrum cut off at a low edge, or noise that comes and goes with the sound."""
    edge_hz, follows_db = _cut_off(seen), _following_db(seen)
    harms, facts = [], []
    if edge_hz:
        harms.append(closure_db(0.95 * min(1.0, 1.1 * seen.shortest_hz / edge_hz) ** 2))
        facts += [Measured("nothing above", edge_hz, "Hz"),
                  Measured("the shortest cycles need", seen.shortest_hz, "Hz")]
    if follows_db is not None:
        harms.append(closure_db(10 ** ((follows_db - FOLLOWS_LIMIT_DB) / 20)))
        facts.append(Measured("noise that comes and goes with the data, against it", follows_db, "dB"))
    if harms:
        yield Finding("voice_coding", max(harms), tuple(facts), candidates=(
            "a voice codec or a low-rate music file", "a low sample rate on the way"))


def _following_db(seen):
    """Noise in data that its leaders do not have, relative to the data; None where there is none worth a word."""
    if not seen.data or seen.noise is None or suppressed(seen) or _echo_db(seen) > -26 or (seen.dips and seen.good):
        return None
    low = seen.response is not None and 3 * seen.leader_hz < LOW_HZ
    if low and seen.response.read_loss_db(3 * seen.leader_hz) > KEPT_DB:
        return None  # what a codec leaves out lies higher
    heard = float(np.median([data.noise_db for data in seen.data]))
    expected = 10 * np.log10(10 ** (-seen.noise.signal_over_db / 10) + 10 ** (SLICING_DB / 10))
    weaker = _data_loss_db(seen) > 6 and heard > -8  # as much is lost of data as of nothing that a head loses
    return heard if heard > -13.5 and heard > expected + 4 and (weaker or _data_loss_db(seen) < 3) else None


def _cut_off(seen):
    """The edge above which nothing is, if it lies low; or 0."""
    if (over_db := _hiss_below_db(seen)) < NO_HISS_DB:
        return 0.0  # a head loses highs, but no hiss: that is added behind it
    edges = [data.edge_hz for data in seen.data if np.isfinite(data.edge_hz)]
    if len(edges) <= len(seen.data) / 2:
        edges = [edge for tone in seen.tones for edge in tone.ends_hz()]
    edge_hz = float(np.median(edges)) if edges else 0.0
    # A codec leaves noise of its own: where there is none, there never was hiss that it could have left out.
    sure = over_db > SURE_DB and seen.noise is not None and seen.noise.signal_over_db < CLEAN_OVER_DB
    low = edge_hz < max(6000, 2.5 * seen.shortest_hz)
    return edge_hz if low and (sure or not _falls_smoothly(seen, edge_hz)) else 0.0


def _hiss_below_db(seen):
    """How far hiss lies below the signal: under the leaders, or in silences, which the way may have made quieter."""
    noises = (seen.noise, 0.0), (seen.quiet_noise, QUIETER_DB)
    level_db = 20 * np.log10(seen.signal_rms)
    return max((level_db - noise.hiss_dbfs - less for noise, less in noises if noise is not None), default=0.0)


def _falls_smoothly(seen, edge_hz):
    """Whether leaders have lost much below an edge already, as by a head: what a codec keeps, it keeps whole."""
    last = []
    for hz, db in (tone.response_db() for tone in seen.tones):
        below = np.flatnonzero(hz < BELOW_EDGE * edge_hz)
        last += [db[below[-1]]] if len(below) > 1 else []
    return bool(last) and np.median(last) < SMOOTH_DB


def noise_suppression(seen):
    """Leaders that die away though the data behind them does not."""
    falls = suppressed(seen)
    if falls:
        fall_db = float(np.median([c.fall_db for c in falls]))
        after_db = float(np.median([c.data_db for c in falls]))
        yield Finding("noise_suppression", min(40.0, fall_db + after_db), (
            Measured("a leader falls by", fall_db, "dB", falls[0].start_s, falls[0].stop_s),
            Measured("what follows is louder by", after_db, "dB")))


def suppressed(seen):
    """Leaders that fall while they last, and are weaker at their end than what follows: list of LevelCourse."""
    falls = [c for c in seen.courses if (c.fall_db > 1.2 and c.data_db > -1) or (c.fall_db > 0.5 and c.data_db > 8)]
    first = seen.courses[0] if seen.courses else None
    clear = first in falls and first.fall_db > 2.5 and first.data_db > 1
    return falls if clear or len(falls) > max(1, len(seen.courses) / 2) else []


def level_pumping(seen):
    """A level that overshoots when sound sets in."""
    onsets = [course for course in seen.courses if course.after_silence]
    if not onsets:
        return
    onset = max(onsets, key=lambda course: course.onset_db)
    if onset.onset_db > 3:
        yield Finding("level_pumping", min(12.0, 0.3 * onset.onset_db), (
            Measured("too loud at first by", onset.onset_db, "dB", onset.start_s, onset.start_s + 0.25),))


WAVE_RULES = (highs, lows, older_recording, room_echo, voice_coding, noise_suppression, level_pumping)
"""Rules, each a function of the evidence that yields findings."""
