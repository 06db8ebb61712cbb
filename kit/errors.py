"""The kit's exceptions: one family, each message one line that says what to do; and its warnings."""

import sys
import warnings

__all__ = ["KitError", "SettingError", "SoundError", "ReadingError", "warn"]


class KitError(Exception):
    """Anything the kit refuses or cannot do."""

    def _render_traceback_(self):
        """What a notebook shows of it: the one line, and not how the kit came to it."""
        return [f"{type(self).__name__}: {self}"]


class SettingError(KitError, ValueError):
    """A setting is wrong; the message gives the range it must lie in and the value it got."""


class SoundError(KitError):
    """A recording cannot be opened, read or written."""


class ReadingError(KitError):
    """A tape could not be read as asked.

    Parameters
    ----------
    message : str
        One line.
    recovered : bytes
        What was read before reading stopped.
    start_s, stop_s : float or None
        Where in the recording the trouble lies, in seconds.
    """

    def __init__(self, message, recovered=b"", start_s=None, stop_s=None):
        super().__init__(message)
        self.recovered = recovered
        self.start_s = start_s
        self.stop_s = stop_s


def warn(message):
    """Warn of something that is not refused, at the line that called the kit, however deep in it the call went.

    Parameters
    ----------
    message : str
        One line.
    """
    # From Python 3.12 on, skip_file_prefixes of warnings.warn would do this.
    frame, level = sys._getframe(), 1
    while frame is not None and frame.f_globals.get("__name__", "").partition(".")[0] == "kit":
        frame, level = frame.f_back, level + 1
    warnings.warn(message, stacklevel=level)
