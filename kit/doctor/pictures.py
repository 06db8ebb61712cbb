"""The picture of a culprit: the wave where a block was lost, with the same in words."""

from kit.errors import SettingError
from kit.shown import Shown
from kit.views import tape_view, wave_view

__all__ = ["culprit_view"]

LOOKED_S = 0.04


def culprit_view(diagnosis, block=0):
    """The wave at the place that a block's trouble is laid to, or at the first finding that has a place.

    Parameters
    ----------
    diagnosis : Diagnosis
    block : int
        Which of the blocks that did not read, from 0.

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
    if block and not 0 <= block < len(blocks):
        raise SettingError(f"block must lie in 0 to {max(0, len(blocks) - 1)}, got {block!r}: see diagnosis.blocks")
    place, why = _place(diagnosis, block)
    if place is None or seen.seconds < 0.01:
        return tape_view(diagnosis.sound, seen.reading)
    start, stop = place
    shown = wave_view(diagnosis.sound, start, min(stop, start + 2 * LOOKED_S, seen.seconds))
    (axes, *_) = shown.figure.axes
    axes.set_title(why[:90], loc="left")
    return Shown(shown.figure, f"{why}\n{shown.text}")


def _place(diagnosis, block):
    """Where to look, and why."""
    if diagnosis.blocks:
        trouble = diagnosis.blocks[block]
        return trouble.look_s, f"A lost block: {trouble.text}"
    for finding in diagnosis.findings:
        for fact in finding.evidence:
            if fact.start_s is not None and fact.stop_s is not None:
                middle = (fact.start_s + fact.stop_s) / 2
                return (max(0.0, middle - LOOKED_S / 2), middle + LOOKED_S / 2), f"{finding.name}: {fact}"
    if diagnosis.findings and diagnosis.evidence.seconds > LOOKED_S:
        middle = diagnosis.evidence.seconds / 2
        return (middle - LOOKED_S / 2, middle + LOOKED_S / 2), f"{diagnosis.findings[0].name}, all along it"
    return None, ""
