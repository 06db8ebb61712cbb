"""From evidence to findings: level, noise, hum, wiring. Each rule gives findings with the harm they do, in dB.

The harm is on one scale: how much of the way to a loader's next wrong decision the fault takes up by itself,
as dB of margin (`closure_db`). Noise that a counting loop just bears takes all of it.
"""

import numpy as np

from kit.doctor.findings import Finding, Measured, closure_db
from kit.doctor.overview import NOTHING

__all__ = ["LEVEL_RULES", "hum_over_db"]

NOISE_LIMIT_DB = 8.0  # signal over noise at which loaders fail: between the timer's 3 dB and the counter's 11 dB
QUIET_DBFS = -21.5
ORDINARY_HISS_DBFS = -50.0
MICROPHONE_DBFS = -48.0  # microphone level lies 50 to 60 dB below line level
OPPOSED_DB = 8.0  # harm of sides that cancel, where they do not read alone
SIDE_DEAD_DB = 18.0
MOST_SWING = 20.0  # percent of speed: beyond it a leader is not taken off cleanly


def nothing_there(seen):
    """Silence, or sound without any data in it."""
    peak_dbfs = _db(seen.line.peak)
    if seen.good or seen.bad:
        return
    level = Measured("peak level", max(peak_dbfs, -140.0), "dBFS", 0.0, seen.seconds)
    if seen.line.usual_level < NOTHING:
        yield Finding("nothing_there", 60.0, (level,), "The recording is silent: no tape can be heard in it.")
    elif not seen.tones and not seen.drowned and not seen.two_levels:
        said = "There is sound, but no leader tone and no pulses: this is not the data part of a tape."
        yield Finding("nothing_there", 60.0, (level, Measured("leader tones found", 0, "")), said)


def too_quiet(seen):
    """A signal far below what line inputs carry."""
    level = _db(seen.signal_rms)
    if level < QUIET_DBFS:
        candidates = ("playback volume too low", "a microphone's signal in a line input") if (
            level < MICROPHONE_DBFS) else ()
        yield Finding("too_quiet", _quiet_harm(seen, level),
                      (Measured("signal level (rms)", level, "dBFS"),), candidates=candidates)


def _quiet_harm(seen, level):
    """The harm of a low level: to loaders with a fixed threshold, and to all where it drowns in ordinary noise.

    The kit's reader reads at any level: where it fails, something else is to blame.
    """
    harm = min(40.0 if seen.reads else 4.0, 0.8 * (QUIET_DBFS - level))
    hisses = list(hiss(seen))
    if hisses and hisses[0].harm_db > 3 and (seen.noise or seen.quiet_noise).hiss_dbfs < ORDINARY_HISS_DBFS:
        return min(40.0, max(harm, hisses[0].harm_db + 1))
    return harm


def too_loud(seen):
    """Tops at full scale, or flat where noise should move them."""
    line, tops = seen.line, seen.line.top_part + seen.line.bottom_part
    loud = line.peak > 0.985 and tops > 0.02
    cut = tops > 0.02 and seen.noise is not None and seen.quiet_noise is not None and (
        seen.quiet_noise.signal_over_db < 45)
    if loud or cut:
        yield Finding("too_loud", 2.5 + 10 * _lean(seen), (
            Measured("peak", _db(line.peak), "dBFS"), Measured("samples at the very top or bottom", 100 * tops, "%")),
            candidates=("level too high", "a line output in a microphone input"))


def lopsided(seen):
    """One half of the wave unlike the other."""
    held = _held(seen)  # is a finding of its own
    high, low = np.percentile(seen.line.high, 98) - held, held - np.percentile(seen.line.low, 2)
    uneven = abs(high - low) / max(high + low, 1e-9)
    lean = _lean(seen)
    if lean > 0.05 or (uneven > 0.25 and seen.line.peak > 0.05):
        yield Finding("lopsided", closure_db(1.2 * lean + 0.3 * uneven), (
            Measured("second harmonic", 100 * lean, "% of the leader"),
            Measured("upper half over lower half", 20 * np.log10(max(high, 1e-6) / max(low, 1e-6)), "dB")))


def _lean(seen):
    return float(np.median([tone.lean for tone in seen.tones])) if seen.tones else 0.0


def hiss(seen):
    """Even noise over all frequencies."""
    swings = seen.steadiness.wow_percent + seen.steadiness.flutter_percent if seen.steadiness else 0.0
    noise = seen.quiet_noise or seen.noise if swings > MOST_SWING else seen.noise or seen.quiet_noise
    if noise is None:
        return
    band_db = 10 * np.log10(min(seen.rate / 2, 20_000) / 20_000)
    # What comes and goes, as speech does, hisses as well, but not all along.
    hiss_dbfs = min(noise.hiss_dbfs, seen.steady_hiss_dbfs) if noise.coloured else noise.hiss_dbfs
    over_db = _db(seen.signal_rms) - hiss_dbfs - band_db
    harm = closure_db(_noise_part(over_db))
    if harm > 0.5 and noise.voice_over_hiss_db < 25:
        yield Finding("hiss", harm, (
            Measured("signal over hiss", over_db, "dB"),
            Measured("hiss, as if 20 kHz wide", hiss_dbfs, "dBFS (rms)")),
            candidates=("tape hiss", "noise of the room or of the input"))


def _noise_part(over_db):
    return 10 ** (-(over_db - NOISE_LIMIT_DB) / 20)


def hum(seen):
    """Lines of the mains."""
    over_db = hum_over_db(seen)
    harm = closure_db(2.2 * 10 ** (-over_db / 20))
    if harm > 0.5:
        yield Finding("hum", harm, (
            Measured(f"hum of {seen.hum.hz:g} Hz and its multiples", seen.hum.dbfs, "dBFS (rms)"),
            Measured("signal over hum", over_db, "dB")),
            f"A hum of {seen.hum.hz:g} Hz from the mains lies under the data.")


def hum_over_db(seen):
    """Signal over hum; inf where there is none."""
    return _db(seen.signal_rms) - seen.hum.dbfs if seen.hum is not None and seen.hum.clear else np.inf


def held_level(seen):
    """A level that the wave swings about."""
    offset = _held(seen)
    part = abs(offset) / max(seen.signal_rms, 1e-9)
    if part > 0.06:
        yield Finding("held_level", closure_db(part), (
            Measured("held level", 100 * offset, "% of full scale"),
            Measured("relative to the signal", 100 * part, "%")))


def _held(seen):
    """The level that the wave swings about."""
    return float(np.median([tone.offset for tone in seen.tones] or [seen.line.offset]))


def two_sides(seen):
    """A dead side, sides that cancel, sides out of step."""
    sides = seen.sides
    if sides is None:
        return
    apart_db = sides.left_dbfs - sides.right_dbfs
    levels = (Measured("left side", sides.left_dbfs, "dBFS"), Measured("right side", sides.right_dbfs, "dBFS"))
    if abs(apart_db) > SIDE_DEAD_DB:
        dead = "right" if apart_db > 0 else "left"
        yield Finding("side_dead", 7.0 if seen.reads else 5.0, levels, f"The {dead} side carries no signal.")
    elif sides.alike < -0.4:
        facts = (Measured("sameness of the sides", sides.alike, "(1 same, -1 opposed)"),)
        # Where nothing reads of either side by itself, more is wrong than their sum.
        yield Finding("sides_opposed", 40.0 if seen.good else OPPOSED_DB, facts)
    elif sides.alike > 0.4 and abs(sides.skew_us) > 15:
        harm = min(40.0, sides.sum_loss_db + abs(sides.skew_us) / 100)
        yield Finding("sides_skewed", harm, (
            Measured("right side later by", sides.skew_us, "µs"),
            Measured("loss of the shortest cycles in the sum", sides.sum_loss_db, "dB")))


def _db(ratio):
    return float(20 * np.log10(max(ratio, 1e-9)))


LEVEL_RULES = (nothing_there, too_quiet, too_loud, lopsided, hiss, hum, held_level, two_sides)
"""Rules, each a function of the evidence that yields findings."""
