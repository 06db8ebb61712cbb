"""The picture of a culprit: the wave where a block was lost, with the same in words."""

from textwrap import fill, shorten

from kit.errors import SettingError
from kit.shown import Shown
from kit.views import tape_view, wave_view

__all__ = ["culprit_view"]

LOOKED_S = 0.04
LINE = 86  # characters of a title


def culprit_view(diagnosis, block=None):
    """The wave at the place that a block's trouble is laid to, or where the top finding shows.

    Parameters
    ----------
    diagnosis : Diagnosis
    block : int, optional
        Which of the blocks that did not read, from 0; without it the first that is laid to the top finding.

    Returns
    -------
    Shown
        Of a healthy recording, the whole of it.

    Raises
    ------
    SettingError
        There is no such block.
    """
    seen, blocks = diagnosis.evidence, diagnosis.blocks
    if block is not None and not 0 <= block < max(1, len(blocks)):
        raise SettingError(f"block must lie in 0 to {max(0, len(blocks) - 1)}, got {block!r}: see diagnosis.blocks")
    place, why = _place(diagnosis, block)
    if place is None or seen.seconds < 0.01:
        return tape_view(diagnosis.sound, seen.reading)
    start, stop = place
    shown = wave_view(diagnosis.sound, start, min(stop, start + 2 * LOOKED_S, seen.seconds))
    (axes, *_) = shown.figure.axes
    axes.set_title(fill(shorten(why, 2 * LINE, placeholder=" ..."), LINE), loc="left")
    return Shown(shown.figure, f"{why}\n{shown.text}")


def _place(diagnosis, block):
    """Where to look, and why."""
    top, blocks = next(iter(diagnosis.findings), None), diagnosis.blocks
    if block is None:
        block = next((n for n, trouble in enumerate(blocks) if top is None or trouble.cause == top.key), None)
    if block is not None and blocks:
        return blocks[block].look_s, f"A lost block: {blocks[block].text}"
    if top is None or diagnosis.evidence.seconds <= LOOKED_S:
        return None, ""
    for fact in (fact for fact in top.evidence if fact.start_s is not None and fact.stop_s is not None):
        return _around((fact.start_s + fact.stop_s) / 2), f"{top.name}: {fact}"
    return _around(diagnosis.evidence.seconds / 2), f"{top.name}, all along it"


def _around(middle_s):
    return max(0.0, middle_s - LOOKED_S / 2), middle_s + LOOKED_S / 2
