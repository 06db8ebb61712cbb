"""What is said while a tape is heard, in plain words, line by line."""

from ..found import DAMAGED
from ..story import described
from .inputs import plain

__all__ = ["Teller", "file_in_words"]

MOST_LINES = 500
SAME_S = 0.1  # a leader that was noticed at once, and the same one once its block was read


class Teller:
    """Turn what is noticed and what is read into lines.

    Attributes
    ----------
    lines : list of str
        The last of them.
    earlier : int
        How many more there were.
    """

    def __init__(self):
        self.lines, self.earlier = [], 0
        self._headers = {}  # by tag
        self._said = {"leader": [], "locked": []}  # in seconds

    def say(self, line):
        """Add a line."""
        self.lines.append(line)
        if len(self.lines) > MOST_LINES:
            self.earlier += len(self.lines) - MOST_LINES
            del self.lines[:-MOST_LINES]

    def noticed(self, what, seconds, hz=None):
        """A leader or a sync mark; said once."""
        if any(abs(seconds - each) < SAME_S for each in self._said[what]):
            return
        self._said[what] = [*self._said[what][-20:], seconds]
        tone = f" ({hz:.0f} Hz)" if hz else ""
        words = {"leader": f"leader found at {seconds:.1f} s{tone}", "locked": f"locked at {seconds:.1f} s"}
        self.say(words[what])

    def read(self, block, again=False):
        """A block, as it is read; `again` if it is one that was read worse before."""
        self.noticed("leader", block.leader_s)
        if not (block.headless or block.stream):
            self.noticed("locked", block.start_s)
        self.say(f"{'with more effort: ' if again else ''}{self._block(block)}")

    def files(self, files):
        """What it came to, file by file."""
        for file in files:
            self.say(f"done: {file_in_words(file)}")
        if not files:
            self.say("done: nothing of a tape was found")

    def _block(self, block):
        header, part = block.header, block.part
        damage = _damage(block)
        if header is not None and not damage:
            again = header.tag in self._headers
            self._headers[header.tag] = header
            more = " (once more)" if again else ""
            return f"header: {plain(header.name)}, {header.length} bytes{more}"
        if part is not None and len(part.data):
            return f"{self._bytes(part)} read{damage}"
        return f"{plain(described(block))}{damage}"

    def _bytes(self, part):
        header = self._headers.get(part.tag)
        if header is None:
            return f"data block {part.number}: {len(part.data)} bytes"
        first = part.number * header.block_bytes
        of = f" of {plain(header.name)}" if len(self._headers) > 1 else ""
        return f"bytes {first} to {first + len(part.data) - 1}{of}"


def _damage(block):
    if block.verdict != DAMAGED:
        return ""
    count = len(block.content) - block.sure_bytes
    return f", damaged: {count} of {len(block.content)} bytes in doubt"


def file_in_words(file):
    """A file that was read: name, bytes, whether it is whole.

    Parameters
    ----------
    file : ReadFile

    Returns
    -------
    str
    """
    name, size = plain(file.name), len(file.data)
    if file.complete:
        return f"{name}, {size} bytes, whole ({file.verdict})"
    doubtful = sum(stop - start for start, stop in file.doubtful)
    if file.verdict != DAMAGED and not doubtful:
        return f"{name}, {size} bytes, {file.verdict}: nothing vouches for it"
    count = max(size, file.length or 0)
    return f"{name}, damaged: {doubtful} of {count} bytes in doubt or lost"
