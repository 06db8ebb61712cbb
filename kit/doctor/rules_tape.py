"""From evidence to findings: what is wrong with the tape's contents rather than with its sound."""

import numpy as np

from kit.doctor.findings import SEVERE_DB, Finding, Measured
from kit.doctor.rules_level import OPPOSED_DB

__all__ = ["blames_nothing", "check_fails", "other_format", "unknown_code"]

SPOILT_DB = 12.0  # a fault of the sound as harmful as this explains more than the contents could
CODEC_NOISE_DB = -18.0  # what slicing and a recorder leave is less
SOUND_MARGIN = 0.35  # a bit no nearer to the other than this was heard well


def other_format(seen, others, found):
    """The tape reads in another format than was asked for.

    Parameters
    ----------
    seen : Evidence
    others : Reading or None
        What reads when all known formats are listened for.
    found : list of Finding
        What is wrong with the sound.
    """
    if others is None or not others.blocks:
        return
    good = [block for block in others.blocks if block.whole]
    names = sorted({block.format.name for block in good})
    asked = {format.name for format in seen.asked}
    if len(good) > len(seen.good) and not set(names) <= asked:
        said = f"The tape is in format {' or '.join(names)}, not in {' or '.join(sorted(asked))}."
        first, last = good[0].span_s[0], good[-1].span_s[1]
        yield Finding("other_format", _with_sides(50.0, found), (
            Measured("blocks that read in it", len(good), "", first, last),
            Measured("blocks that read as asked", len(seen.good), "")), said)


def _with_sides(harm_db, found):
    """The harm of what the tape holds: for a loader that hears both sides at once, these must be mended first."""
    return OPPOSED_DB - 1 if any(finding.key == "sides_opposed" for finding in found) else harm_db


def unknown_code(seen, pulses):
    """A regular code of lengths that no format has."""
    if pulses is None or seen.good:
        return
    short, long = (2000 * half for half in pulses.cells_s)
    facts = [Measured("leader cycle", 2000 * pulses.leader_s, "ms", pulses.from_s, pulses.to_s),
             Measured("short cycle", short, "ms"), Measured("long cycle", long, "ms"),
             Measured("half-cycles of these lengths", 100 * pulses.regular_part, "%")]
    if pulses.sync_s is not None:
        facts.insert(1, Measured("sync cycle", 2000 * pulses.sync_s, "ms"))
    yield Finding("unknown_code", 45.0, tuple(facts))


def check_fails(seen, heard, found):
    """Blocks heard well whose check does not agree, or any with which another check agrees.

    Parameters
    ----------
    seen : Evidence
    heard : list of CellsHeard
    found : list of Finding
        What else is wrong: sound so bad that no block can be said to be heard well, or another format.
    """
    if any(finding.key == "other_format" for finding in found):
        return
    # Where the check of some blocks agrees, it is the right one; then only healthy sound speaks for wrong data.
    most_db = SEVERE_DB if seen.good else SPOILT_DB
    spoilt = any(finding.harm_db > most_db for finding in found)
    asked = {"", *(format.check for format in seen.asked)}
    agreed = [cells for cells in heard if cells.check not in asked]
    well = [cells for cells in heard if cells.weakest > SOUND_MARGIN]
    if not agreed and (spoilt or len(well) < 0.6 * len(heard)):
        return
    checks = sorted({cells.check for cells in agreed})
    well = agreed or well
    if len(well) <= len(seen.good):
        return
    said = f"The sound is healthy, but the data was written with another check: {checks[0]} agrees." if checks else ""
    yield Finding("check_fails", _with_sides(30.0, found), (
        Measured("blocks heard well", len(well), "", well[0].start_s, well[-1].stop_s),
        Measured("blocks whose check agrees", len(seen.good), ""),
        Measured("margin of their weakest bit", min(cells.weakest for cells in well), "(1 is perfect)")), said)


def _noise_with_data_db(seen):
    return float(np.median([data.noise_db for data in seen.data]))


def _sharp_edge_hz(seen):
    """Where the spectrum of most data ends at once, with noise in it as a codec of music leaves: in Hz, or 0."""
    edges = [data.edge_hz for data in seen.data if np.isfinite(data.edge_hz)]
    cut = len(edges) > len(seen.data) / 2 and _noise_with_data_db(seen) > CODEC_NOISE_DB
    return float(np.median(edges)) if cut else 0.0


def blames_nothing(seen, found):
    """It does not read, and no finding is strong enough to say why; or noise follows a stream."""
    behind = [(block.span_s[1], file) for file in seen.reading.files if seen.reads and file.doubtful
              for block in seen.reading.blocks if block.stream]
    for stop_s, file in behind[:1]:
        count = sum(stop - start for start, stop in file.doubtful)
        yield Finding("unexplained", 0.5, (Measured("characters in doubt, up to", count, "", stop_s, stop_s),), (
            "Noise behind the end reads as characters in doubt: nothing in this format says where it ends."))
    if seen.reads or any(finding.harm_db >= 2 for finding in found):
        return
    if edge_hz := _sharp_edge_hz(seen):
        yield Finding("voice_coding", 8.0, (
            Measured("nothing above", edge_hz, "Hz"),
            Measured("noise that comes with the data, against it", _noise_with_data_db(seen), "dB")), (
            "Nothing else explains it, and the sound ends as sharply as software for music leaves it."))
    elif seen.bad:
        first = seen.bad[0]
        yield Finding("unexplained", 10.0, (
            Measured("blocks that do not read", len(seen.bad), "", *first.span_s),))
    elif not seen.good:
        yield Finding("unexplained", 10.0, (Measured("leaders before which no block reads", len(seen.tones), ""),))
