"""Repair: lost and damaged blocks rebuilt from parity blocks, which say themselves what they protect."""

import numpy as np

from .blocks import PART_START, DataPart
from .checks import CHECKS
from .found import DAMAGED, MENDED, FoundBlock
from .placing import Entry
from .repair_copies import aligned
from .repair_field import correct
from .repair_outer import ParityPart

__all__ = ["rebuild"]


def rebuild(entries, header, group):
    """Bring back lost data blocks of a file from its parity blocks.

    Parameters
    ----------
    entries : list of Entry
        Of the whole tape.
    header : Header or None
    group : dict of int to Entry
        The file's data blocks by number: the best reading of each.

    Returns
    -------
    tuple of (dict, str)
        The data blocks, those rebuilt among them as `FoundBlock` in entries of their own, and what was done.
    """
    tag = header.tag if header else next(e.tag for e in group.values())
    last = min(header.blocks, 1 << 16) if header else 1 << 16
    group, rebuilt = dict(group), 0
    for code, found in _parity_groups(entries, tag).items():
        if code.numbers[-1] >= last:
            continue
        lost = [n for n in code.numbers if n not in group or not group[n].whole]
        if lost:
            made = _Words(code, found, group, header).mended()
            rebuilt += sum(block.whole for number, block in made.items() if number in lost)
            for number, block in made.items():
                if number in group:
                    group[number].spare = True
                group[number] = Entry(block, tag=tag, number=number)
    count = header.blocks if header else max(group, default=-1) + 1
    note = f"{rebuilt} of {count} blocks rebuilt from the parity blocks" if rebuilt else ""
    return dict(sorted(group.items())), note


def _parity_groups(entries, tag):
    """Groups of a file's blocks, each with the best reading of each of its parity blocks."""
    groups = {}
    for entry in entries:
        if entry.parity is not None and entry.parity.tag == tag:
            entry.spare = True
            found = groups.setdefault(entry.parity.group, {})
            best = found.get(entry.parity.index)
            if best is None or (entry.whole, entry.block.sure_bytes) > (best.whole, best.block.sure_bytes):
                found[entry.parity.index] = entry
    return groups


class _Words:
    """The codewords of a group: one in each column, one block in each row."""

    def __init__(self, code, parity, group, header):
        self.code, self.parity, self.group, self.header = code, parity, group, header
        sizes = [len(entry.parity.data) for entry in parity.values()]
        self.size = max(set(sizes), key=sizes.count)
        rows = code.data_blocks + code.parity_blocks
        self.words = np.zeros((rows, self.size), np.uint8)
        self.lost = np.ones((rows, self.size), bool)
        self.sound = np.zeros(rows, bool)  # rows that a check vouches for
        for row, number in enumerate(code.numbers):
            entry = group.get(number)
            if entry is not None and entry.block.part is not None:
                self._fill(row, entry.block, PART_START, entry.block.part.data)
        for index, entry in parity.items():
            if len(entry.parity.data) == self.size:
                self._fill(code.data_blocks + index, entry.block, ParityPart.START, entry.parity.data)

    def _fill(self, row, block, start, data):
        if len(data) <= self.size:
            self.words[row, : len(data)] = np.frombuffer(data, np.uint8)
            self.lost[row], self.sound[row] = False, block.whole
            if not block.whole:
                self.lost[row, : len(data)] = block.doubtful[start : start + len(data)]

    def mended(self):
        """Blocks that came out better than they went in, by number."""
        words, solved, guessed = self._corrected()
        made = {}
        for row, number in enumerate(self.code.numbers):
            length = self._length(number)
            lost, right = self.lost[row, :length], solved[:length]
            damaged = number not in self.group or not self.group[number].whole
            changed = (words[row] != self.words[row])[:length][~lost].any()
            if changed or (damaged and ((lost & right).any() or right.all())):
                data = words[row, :length].tobytes()
                made[number] = self._block(number, data, lost & ~right, guessed[:length] & ~self.sound[row])
        return made

    def _corrected(self):
        """Words with whole damaged blocks left out, if parity suffices; what then does not fit, byte by byte.

        The last of the three says which were got byte by byte: from bytes of damaged blocks, which no check
        vouches for.
        """
        whole_rows = np.broadcast_to(~self.sound[:, None], self.lost.shape)
        words, solved = correct(self.words, whole_rows, self.code.parity_blocks)
        guessed = ~solved
        if guessed.any():
            words[:, guessed], solved[guessed] = correct(
                self.words[:, guessed], self.lost[:, guessed], self.code.parity_blocks
            )
        return words, solved, guessed

    def _length(self, number):
        """Data bytes that a block has."""
        if self.header is not None:
            left = self.header.length - number * self.header.block_bytes
            return min(self.size, self.header.block_bytes, left)
        entry = self.group.get(number)
        return self.size if entry is None or entry.block.part is None else len(entry.block.part.data)

    def _block(self, number, data, doubt, guessed):
        near = next(iter(self.parity.values()))
        body = DataPart(near.parity.tag, number, data).body()
        check = CHECKS[near.block.format.check].compute(body)
        if guessed.any() and not doubt.any():
            agrees = self._check_agrees(number, body + check)
            doubt = guessed if agrees is None else np.full(len(data), not agrees)
        content, doubtful = body + check, np.zeros(len(body + check), bool)
        doubtful[PART_START : PART_START + len(data)] = doubt
        # A check computed from bytes in doubt is in doubt itself.
        doubtful[len(body) :] = doubt.any()
        entry = self.group.get(number)
        heard = entry.block if entry is not None else self._unheard(number, near.block, content)
        heard = heard.with_room(len(content))
        verdict = DAMAGED if doubt.any() else MENDED
        note = "rebuilt in part from the parity blocks" if doubt.any() else "rebuilt from the parity blocks"
        return heard.changed(
            content=content, doubtful=doubtful, verdict=verdict, headless=False, soft=None, note=note
        )

    def _check_agrees(self, number, content):
        """Whether a block's check as it was heard is that of the content made; None if it was not heard."""
        block = self.group[number].block if number in self.group else None
        reading = block and aligned(block, len(content))
        check = slice(len(content) - block.format.check_bytes, None) if block else slice(None)
        if not reading or reading[1][check].any():
            return None
        return reading[0][check].tobytes() == content[check]

    def _unheard(self, number, near, content):
        """A block of which nothing was heard, laid between those that were."""
        before = max((n for n in self.group if n < number), default=None)
        after = min((n for n in self.group if n > number), default=None)
        bits = near.format.block_bits(content[: len(content) - near.format.check_bytes])
        start, stop = _between(self.group, before, after, number, near)
        times = np.linspace(0, stop - start, len(bits) + 1, dtype=np.float32)
        margins, doubtful = np.zeros(len(bits), np.float32), np.zeros(len(content), bool)
        settings = {"side": near.side, "recording": near.recording, "backwards": near.backwards}
        return FoundBlock(
            near.format, content, doubtful, MENDED, bits, margins, times, start, start, near.unit_s, **settings
        )


def _between(group, before, after, number, near):
    """Start and stop of an unheard block, in seconds: its share of the time between its neighbours."""
    ends = [group[n].block for n in (before, after) if n is not None]
    if len(ends) < 2 or ends[0].recording != ends[1].recording:
        known = group.get(before if after is None else after)
        span = (known.block if known else near).span_s
        moment = span[1] if before is not None else span[0]
        return moment, moment
    first, last = sorted(ends, key=lambda b: b.span_s)
    (_, first_s), (last_s, _) = first.span_s, last.span_s
    each = (last_s - first_s) / (after - before - 1)
    place = number - before - 1
    if near.backwards:
        return last_s - place * each, last_s - (place + 1) * each
    return first_s + place * each, first_s + (place + 1) * each
