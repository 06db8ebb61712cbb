"""The live ear: records a tape in a notebook, reads it while it plays, and keeps it.

``ear = kit.live.listen()`` shows it; ``ear.sound`` and ``ear.reading`` are what came of it. It needs a browser to
record, and none to open a file, to read it and to keep it.
"""

from .ear import USUAL, Ear
from .take import Take

__all__ = ["USUAL", "Ear", "Take", "listen"]


def listen(format=USUAL, most_minutes=30):
    """A live ear, to be shown by the notebook.

    Parameters
    ----------
    format : str, Format, or list of these
        What to listen for; ``"auto"`` is every named format, and takes longer where a tape is damaged.
    most_minutes : float
        How long a recording may be, up to 60; it is kept in memory, about 11 MB a minute.

    Returns
    -------
    kit.live.page.LiveEar
        An `Ear` with its widget.
    """
    from .page import LiveEar

    return LiveEar(format, most_minutes)
