"""What can be wrong with a recording: names, meanings and cures, as data; and a finding with its evidence.

A cure that touches equipment says so in `touches`, and its caution follows from that: no finding can tell people
to turn something up, plug something in or open something without telling them what to mind.
"""

import math
from dataclasses import dataclass, replace

from kit.doctor.catalogue import CAUSES
from kit.errors import SettingError

__all__ = ["SEVERE_DB", "Finding", "Measured", "closure_db", "without_contradictions"]

SEVERE_DB, CLEAR_DB = 6.0, 2.0
MOST_DB = 40.0
SHORT_S = 0.1


def closure_db(part):
    """How much margin goes when a part of the way to the next wrong decision is taken up: 0 none, 1 all of it.

    Parameters
    ----------
    part : float

    Returns
    -------
    float
        In dB, at most 40.

    Examples
    --------
    >>> round(closure_db(0.5), 2)
    6.02
    """

    return min(MOST_DB, -20 * math.log10(max(1 - min(max(part, 0.0), 1.0), 10 ** (-MOST_DB / 20))))


@dataclass(frozen=True)
class Measured:
    """One piece of evidence.

    Attributes
    ----------
    what : str
    value : float
    unit : str
    start_s, stop_s : float or None
        Where in the recording; None: all along it.
    """

    what: str
    value: float
    unit: str
    start_s: float | None = None
    stop_s: float | None = None

    def __str__(self):
        digits = 3 if self.start_s is not None and self.stop_s - self.start_s < SHORT_S else 2
        where = "" if self.start_s is None else f", at {self.start_s:.{digits}f} to {self.stop_s:.{digits}f} s"
        return f"{self.what}: {_plain(self.value)} {self.unit}".rstrip() + where


def _plain(value):
    """A number as people write it."""
    digits = 0 if abs(value) >= 100 or float(value).is_integer() else 1 if abs(value) >= 10 else 2
    return f"{value:.{digits}f}"


@dataclass(frozen=True)
class Finding:
    """Something that is wrong with a recording.

    Attributes
    ----------
    key : str
        One of `CAUSES`.
    harm_db : float
        About how much of a loader's margin it takes, in dB: findings are ordered by it.
    evidence : tuple of Measured
        At least one.
    said : str
        What it is here, in one plain sentence; empty: as the catalogue says.
    candidates : tuple of str
        What it may be, where one recording cannot tell these apart.
    left_out : tuple of Remedy
        Cures that would undo those of a more harmful finding.
    """

    key: str
    harm_db: float
    evidence: tuple
    said: str = ""
    candidates: tuple = ()
    left_out: tuple = ()

    def __post_init__(self):
        if self.key not in CAUSES:
            raise SettingError(f"key must be one of {', '.join(CAUSES)}, got {self.key!r}: add it to the catalogue")
        if not self.evidence:
            raise SettingError(f"a finding must have evidence, got none for {self.key!r}: say what was measured")

    @property
    def cause(self):
        """Cause: its entry in the catalogue."""
        return CAUSES[self.key]

    @property
    def name(self):
        """str: what it is called."""
        return self.cause.name

    @property
    def sentence(self):
        """str: what is wrong, in one sentence for people who know nothing of signals."""
        return self.said or (self.severity != "severe" and self.cause.mildly) or self.cause.meaning

    @property
    def severity(self):
        """str: severe, clear or slight."""
        return "severe" if self.harm_db >= SEVERE_DB else "clear" if self.harm_db >= CLEAR_DB else "slight"

    @property
    def remedies(self):
        """tuple of Remedy: what to do, most likely first."""
        return tuple(remedy for remedy in self.cause.remedies if remedy not in self.left_out)

    @property
    def cautions(self):
        """tuple of str: what to mind when doing that."""
        return tuple(dict.fromkeys(caution for remedy in self.remedies for caution in remedy.cautions))


def without_contradictions(findings):
    """Findings without cures that would undo those of a more harmful one.

    Parameters
    ----------
    findings : list of Finding
        Most harmful first.

    Returns
    -------
    list of Finding
    """
    kept = []
    # What is too loud already must not be turned up, whatever else it has.
    advised = [remedy for finding in findings if finding.key == "too_loud" for remedy in finding.remedies]
    for finding in findings:
        against = tuple(mine for mine in finding.remedies if any(mine.contradicts(other) for other in advised))
        kept.append(replace(finding, left_out=against))
        advised += kept[-1].remedies
    return kept
