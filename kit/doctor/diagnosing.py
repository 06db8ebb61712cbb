"""`diagnose`: measure a recording, and say what is wrong with it, most harmful first."""

from kit.doctor.diagnosis import Diagnosis
from kit.doctor.evidence import channel_wave, gather
from kit.doctor.explain import explain_blocks
from kit.doctor.overview import NOTHING
from kit.doctor.pulses import LOOKED_S, measure_pulses, propose
from kit.doctor.rules_level import LEVEL_RULES, nothing_there
from kit.doctor.rules_tape import blames_nothing, check_fails, other_format, unknown_code
from kit.doctor.rules_time import TIME_RULES
from kit.doctor.rules_wave import WAVE_RULES
from kit.sound import Sound
from kit.tape import decode

__all__ = ["conclude", "diagnose"]

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
    found = [finding for rule in RULES for finding in rule(seen)]
    found += [*check_fails(seen), *other_format(seen, _others(sound, seen))]
    pulses = _pulses(sound, seen, found)
    strange = list(unknown_code(seen, pulses))
    if strange:  # the speed of a code that is not known cannot be off
        found = [*strange, *(finding for finding in found if finding.key != "speed_off")]
    found += blames_nothing(seen, found)
    found.sort(key=lambda finding: -finding.harm_db)
    proposed = propose(pulses) if any(finding.key == "unknown_code" for finding in found) else None
    return Diagnosis(tuple(found), tuple(explain_blocks(seen, found)), seen, sound, proposed)


def _pulses(sound, seen, found):
    """The lengths of an unknown code, where nothing reads though the sound is not bad."""
    spoilt = any(finding.harm_db > 12 for finding in found)
    if seen.good or spoilt or seen.line.usual_level == 0:
        return None
    return measure_pulses(channel_wave(sound, seen.side, 0.0, LOOKED_S), seen.rate)


def _others(sound, seen):
    """What reads in any known format, where what was asked for does not."""
    from kit.listener import formats_of

    everything = formats_of("auto")
    if seen.reads or all(any(one.reads_like(other) for other in seen.asked) for one in everything):
        return None
    return decode(sound, format="auto", quick=True)
