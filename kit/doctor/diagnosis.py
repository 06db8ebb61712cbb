"""What the doctor says: findings, blocks explained, as text, as numbers, and in a notebook."""

from dataclasses import dataclass
from functools import cached_property

from kit.doctor.findings import CLEAR_DB, SEVERE_DB
from kit.doctor.page import as_html

__all__ = ["Diagnosis"]

LONGEST_READ_S = 20.0  # of a recording that is read with all effort: longer ones take too long
READS = {True: "everything on the tape reads", False: "not everything on the tape reads"}


@dataclass(frozen=True, repr=False, eq=False)
class Diagnosis:
    """What is wrong with a recording, most harmful first.

    Attributes
    ----------
    findings : tuple of Finding
        Empty if nothing is wrong.
    blocks : tuple of BlockTrouble
        The blocks that did not read, in order of time.
    evidence : Evidence
        What was measured.
    sound : Sound
    proposed : Format or None
        Of an unknown code.
    """

    findings: tuple
    blocks: tuple
    evidence: object
    sound: object
    proposed: object = None

    @property
    def reads(self):
        """bool: whether there are files, and all of them read without effort."""
        return self.evidence.reads

    @property
    def healthy(self):
        """bool: whether it reads, and nothing that matters is wrong."""
        return self.reads and not any(finding.harm_db >= CLEAR_DB for finding in self.findings)

    @property
    def severe(self):
        """tuple of Finding: those that break a load by themselves, or nearly so."""
        return tuple(finding for finding in self.findings if finding.harm_db >= SEVERE_DB)

    def report(self):
        """Plain text: the first two lines say what is wrong and what to change.

        Returns
        -------
        str
        """
        return "\n".join([*self._verdict(), "", *self._details()]).rstrip()

    def _verdict(self):
        """Two lines for people who know nothing of signals."""
        if self.healthy:
            return ["Nothing is wrong with this recording.",
                    f"Nothing need be changed: {READS[True]}" + (
                        ", and what was noticed below does no harm." if self.findings else ".")]
        if not self.findings:
            return ["This recording does not read, and nothing measured says why.",
                    "Do this first: record it once more and compare."]
        first = self.findings[0]
        also = [finding.name for finding in self.findings[1:] if finding.harm_db >= CLEAR_DB]
        wrong = first.sentence + (f" Also: {', '.join(also[:3])}." if also else "")
        remedy = first.remedies[0]
        caution = f" (Caution: {'; '.join(remedy.cautions)}.)" if remedy.cautions else ""
        return [wrong + self._good_news(), f"Do this first: {remedy.text}.{caution}"]

    @cached_property
    def read_in_full(self):
        """bool: whether decode, with all its effort, reads what does not read as it is; a short recording tells."""
        if self.reads or self.evidence.seconds > LONGEST_READ_S or self.sound.frames == 0:
            return False
        if not (self.evidence.tones or self.evidence.good or self.evidence.bad):
            return False
        from kit.tape import decode

        reading = decode(self.sound, format=list(self.evidence.asked))
        return bool(reading.files) and reading.complete

    def _good_news(self):
        if self.reads:
            return " All the same, decode reads it."
        if self.read_in_full:
            return " All the same, decode reads it, as it tries more."
        tried = self.evidence.seconds <= LONGEST_READ_S and (self.evidence.good or self.evidence.bad)
        return " As it is, decode does not read all of it." if tried else ""

    def _details(self):
        seen = self.evidence
        yield (f"{self._name()}{seen.seconds:.1f} s, {seen.rate} Hz, {seen.channels} "
               f"channel{'s' * (seen.channels != 1)}; {_counted(len(seen.good), len(seen.bad), seen.reads)}.")
        for number, finding in enumerate(self.findings, 1):
            yield from ("", f"{number}. {finding.name}: {finding.severity}")
            yield from (f"   {line}" for line in _finding_lines(finding))
        if self.proposed is not None:
            yield from ("", f"Proposed format: {_format_in_words(self.proposed)}")
        if self.blocks:
            yield from ("", "Blocks that do not read:", *(f"   {block.text}" for block in self.blocks[:20]))
        if len(self.blocks) > 20:
            yield f"   and {len(self.blocks) - 20} more"

    def _name(self):
        return f"{self.sound.path.name!r}: " if self.sound.path else ""

    def as_dict(self):
        """The same as numbers and texts, for JSON.

        Returns
        -------
        dict
        """
        seen = self.evidence
        return {
            "healthy": self.healthy, "reads": self.reads, "reads_with_effort": self.reads or self.read_in_full,
            "verdict": self._verdict(),
            "seconds": seen.seconds, "rate_hz": seen.rate, "channels": seen.channels,
            "blocks_read": len(seen.good), "blocks_not_read": len(seen.bad),
            "findings": [_finding_dict(finding) for finding in self.findings],
            "blocks": [{"start_s": b.start_s, "stop_s": b.stop_s, "look_s": list(b.look_s),
                        "samples": list(b.samples), "cause": b.cause, "text": b.text} for b in self.blocks],
            "proposed": None if self.proposed is None else _format_in_words(self.proposed),
        }

    def picture(self, block=None):
        """The wave at the culprit, with its text equal; see `kit.doctor.pictures.culprit_view`."""
        from kit.doctor.pictures import culprit_view

        return culprit_view(self, block)

    def __str__(self):
        return self.report()

    __repr__ = __str__

    def _repr_html_(self):
        return as_html(self)


def _counted(good, bad, complete):
    """How many blocks read at the first try, in words."""
    if not good and not bad:
        return "at the first try, no block was found"
    read = f"{good} block{'s' * (good != 1)} read{'s' * (good == 1)} as {'they are' if good != 1 else 'it is'}"
    missing = ", and others are missing" if not (bad or complete) else ""
    return f"{read}, {bad} do{'es' * (bad == 1)} not{missing}"


def _finding_lines(finding):
    yield finding.sentence
    if finding.candidates:
        yield f"It may be: {'; or '.join(finding.candidates)}."
    yield from (f"- {fact}" for fact in finding.evidence)
    yield from (f"Do: {remedy.text}." for remedy in finding.remedies)
    yield from (f"Caution: {caution}." for caution in finding.cautions)


def _finding_dict(finding):
    return {
        "key": finding.key, "name": finding.name, "severity": finding.severity, "harm_db": finding.harm_db,
        "sentence": finding.sentence, "candidates": list(finding.candidates),
        "evidence": [{"what": m.what, "value": m.value, "unit": m.unit, "start_s": m.start_s, "stop_s": m.stop_s}
                     for m in finding.evidence],
        "remedies": [{"text": r.text, "touches": list(r.touches), "cautions": list(r.cautions)}
                     for r in finding.remedies],
        "cautions": list(finding.cautions),
    }


def _format_in_words(format):
    unit_ms = 1000 * format.unit_s()
    return (f"cycles of {format.code.zero_units * unit_ms:.3f} ms for a zero, "
            f"{format.code.one_units * unit_ms:.3f} ms for a one, {format.leader.sync_units * unit_ms:.3f} ms in the "
            f"sync mark, {format.leader.leader_units * unit_ms:.3f} ms in the leader")
