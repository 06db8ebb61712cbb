"""`diagnose`: measure a recording, and say what is wrong with it, most harmful first."""

import numpy as np

from kit.chosen import formats_of
from kit.doctor.cellsheard import hear_cells
from kit.doctor.diagnosis import Diagnosis
from kit.doctor.explain import explain_blocks
from kit.doctor.findings import without_contradictions
from kit.doctor.gathering import channel_wave, gather
from kit.doctor.overview import NOTHING
from kit.doctor.pulses import LOOKED_S, known_as, measure_pulses, propose
from kit.doctor.rules_level import LEVEL_RULES, nothing_there
from kit.doctor.rules_tape import blames_nothing, check_fails, other_format, unknown_code
from kit.doctor.rules_time import TIME_RULES, only_leader
from kit.doctor.rules_wave import WAVE_RULES
from kit.sound import Sound
from kit.tape import decode

__all__ = ["conclude", "diagnose"]

SAME_LEADER = 0.1  # as a part of its length

RULES = (*LEVEL_RULES, *WAVE_RULES, *TIME_RULES)


def diagnose(sound, format="auto"):
    """Say why a recording does not load, or that nothing is wrong with it.

    Parameters
    ----------
    sound : Sound or path
    format : str, Format, or list of these
        What the tape should be; ``"auto"`` is every named format.

    Returns
    -------
    Diagnosis

    Raises
    ------
    SoundError
        The path holds no readable sound.

    Examples
    --------
    >>> import kit
    >>> print(diagnose(kit.encode(b"wind west 5", name="log.txt")).healthy)
    True
    """
    sound = sound if isinstance(sound, Sound) else Sound.read(sound)
    seen = gather(sound, format)
    return conclude(sound, seen)


def conclude(sound, seen):
    """A diagnosis from what was measured.

    Parameters
    ----------
    sound : Sound
    seen : Evidence

    Returns
    -------
    Diagnosis
    """
    if seen.line.usual_level < NOTHING and not seen.reading.blocks:
        return Diagnosis(tuple(nothing_there(seen)), (), seen, sound)
    if alone := only_leader(seen):  # what is said of data would be made up
        return Diagnosis(tuple(alone), (), seen, sound)
    found = [finding for rule in RULES for finding in rule(seen)]
    found += other_format(seen, _others(sound, seen), found)
    wave = _unread(sound, seen)
    found += check_fails(seen, hear_cells(wave, seen.rate, seen.asked, seen.unit_s), found)
    known = seen.good or any(finding.key in ("other_format", "check_fails") for finding in found)
    pulses = None if known else measure_pulses(wave, seen.rate)
    if pulses is not None and (known_as(pulses, formats_of("auto")) or _other_leader(pulses, seen)):
        pulses = None
    strange = list(unknown_code(seen, pulses))
    if strange:  # the speed of a code that is not known cannot be off
        found = [*strange, *(finding for finding in found if finding.key != "speed_off")]
    found += blames_nothing(seen, found)
    found = without_contradictions(sorted(found, key=lambda finding: -finding.harm_db))
    proposed = propose(pulses) if any(finding.key == "unknown_code" for finding in found) else None
    return Diagnosis(tuple(found), tuple(explain_blocks(seen, found)), seen, sound, proposed)


def _unread(sound, seen):
    """The wave to ask about its contents; none of it where it reads."""
    wave = channel_wave(sound, seen.side, 0.0, 0.0 if seen.reads else LOOKED_S)
    for start, stop in seen.silences:  # whose noise has lengths of its own
        wave[round(start * seen.rate) : round(stop * seen.rate)] = 0
    return wave


def _other_leader(pulses, seen):
    """Whether the steady tones that were found are not the leader of a supposed code."""
    heard_s = [1 / tone.hz for tone in seen.tones]
    return bool(heard_s) and abs(2 * pulses.leader_s / np.median(heard_s) - 1) > SAME_LEADER


def _others(sound, seen):
    """What reads in any known format, where what was asked for does not."""
    everything = formats_of("auto")
    if seen.reads or all(any(one.reads_like(other) for other in seen.asked) for one in everything):
        return None
    return decode(sound, format="auto", quick=True, brief=True)
