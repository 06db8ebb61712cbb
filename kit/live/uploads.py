"""A file as the page sends it: piece by piece, into a folder of its own that goes when it is let go of."""

import re
import tempfile
from numbers import Integral
from pathlib import Path

from ..errors import SettingError
from ..names import safe_name
from ..sound import Sound

__all__ = ["MOST_BYTES", "Upload"]

MOST_BYTES = 1 << 30  # 90 minutes of stereo at 44.1 kHz and 16 bits
MOST_PIECE = 4 << 20


class Upload:
    """A file on its way.

    Parameters
    ----------
    name : str
        As the page says it: anything.
    size : int
        Bytes it will have, 1 to 1 GiB.

    Attributes
    ----------
    have : int
        Bytes that are here.

    Raises
    ------
    SettingError
        It is empty or too large.
    """

    def __init__(self, name, size):
        proper = isinstance(size, Integral) and not isinstance(size, bool)
        if not (proper and 0 < size <= MOST_BYTES):
            raise SettingError(f"a file must have 1 to {MOST_BYTES} bytes, got {str(size)[:20]}: for a longer one, "
                               "put it beside the notebook and use ear.open")
        self.size, self.have = int(size), 0
        self._folder = tempfile.TemporaryDirectory(prefix="recording-")
        name = safe_name(name if isinstance(name, str) else "", "recording")
        # Only an ending that looks like one is kept: it tells some types of file apart.
        ending = re.search(r"\.[A-Za-z0-9]{1,5}$", name)
        stem = name[: ending.start()] if ending else name
        self.path = Path(self._folder.name) / f"{stem[:60] or 'recording'}{ending.group() if ending else ''}"

    def add(self, at, data):
        """Take a piece that begins at a byte.

        Returns
        -------
        bool
            Whether the file is whole.

        Raises
        ------
        SettingError
            It is out of order or beyond the size that was said.
        """
        data = bytes(data)
        if isinstance(at, bool) or at != self.have or not 0 < len(data) <= min(MOST_PIECE, self.size - self.have):
            raise SettingError(f"pieces of a file must come in order, got one at byte {str(at)[:20]} in place of "
                               f"{self.have}: open the file again")
        with self.path.open("ab") as target:
            target.write(data)
        self.have += len(data)
        return self.have == self.size

    def sound(self):
        """Sound: the file, once it is whole; it lasts as long as this."""
        return Sound.read(self.path)
