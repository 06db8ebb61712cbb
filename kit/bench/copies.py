"""Copies: a scratch on four layouts of one file, what comes back, and how many seconds of tape each layout takes."""

import functools
from dataclasses import dataclass

import numpy as np

from ..shown import BLACK, ORANGE, SKY, VERMILLION
from ..sound import Sound
from .copytapes import ADJACENT, COLUMNS, FLIPPED_BLOCK, LAYOUTS, ONE, STURDY, TEXT, layout_format, written
from .fields import State, choice, number, switch
from .model import Experiment, Result
from .quickreading import read_at_once
from .scene import Pane, Scene, Stretch, Tiles, Words

__all__ = ["COPIES", "Copies", "CopiesState", "find"]

SEED = 3
HEARD_S = 2.0
RIGHT, DOUBTFUL, WRONG, DIFFERS = range(4)


@dataclass(frozen=True)
class CopiesState(State):
    """How the file lies on the tape, and what happens to the tape."""

    layout: str = choice(ONE, LAYOUTS, "Layout")
    scratch_percent: int = number(45, 0, 100, 1, "%", "Place of the scratch", hint="its middle, of the tape")
    scratch_ms: int = number(300, 0, 3000, 50, "ms", "Length of the scratch")
    check: bool = switch(True, "Each block has a check")
    flipped: bool = switch(False, "A bit was written wrong", hint="in data block 3, in its first copy only")


@dataclass(frozen=True, eq=False)
class Copies(Result):
    """What came back.

    Attributes
    ----------
    sound : Sound
        The tape as it is played.
    blocks : tuple of (str, float, float, bool)
        Each block that was written: H, the number of a data block, or P; from when to when it lies, in seconds;
        whether it was read whole.
    scratch_s : tuple of float
        From when to when; the same twice if there is none.
    data : bytes
        The file as read, as long as it was.
    kinds : ndarray of int, shape (bytes,)
        0 right, 1 in doubt or lost, 2 wrong without being in doubt, 3 in doubt because whole copies differ.
    verdict : str
        Of the file as a whole.
    """

    sound: Sound
    blocks: tuple
    scratch_s: tuple
    data: bytes
    kinds: np.ndarray
    verdict: str


@functools.lru_cache(maxsize=64)
def _played(layout, check, flipped, scratch_percent, scratch_ms):
    """The tape with its scratch, where that lies, and what is read."""
    sound, blocks = written(layout, check, flipped)
    length_s = scratch_ms / 1000
    start_s = min(max(0.0, scratch_percent / 100 * sound.seconds - length_s / 2), sound.seconds - length_s)
    if scratch_ms:
        sound = sound.scratch(start_s, length_s, seed=SEED)
    reading = read_at_once(sound, layout_format(layout, check))
    return sound, (start_s, start_s + length_s), tuple((*one, _is_whole(one, reading)) for one in blocks), reading


def _is_whole(block, reading):
    """Whether a block that was written is among those read whole."""
    middle_s = (block[1] + block[2]) / 2
    return any(one.whole and one.span_s[0] < middle_s < one.span_s[1] for one in reading.blocks)


def find(state):
    """Write the file, scratch the tape, read it.

    Parameters
    ----------
    state : CopiesState

    Returns
    -------
    Copies
    """
    played = _played(state.layout, state.check, state.flipped, state.scratch_percent, state.scratch_ms)
    sound, scratch_s, blocks, reading = played
    data, kinds, verdict = _compared(reading)
    right, wrong = (int(np.count_nonzero(kinds == kind)) for kind in (RIGHT, WRONG))
    figures = (
        ("tape used", f"{sound.seconds:.1f} s"),
        ("sure and right", f"{right} of {len(TEXT)}"),
        ("in doubt", str(len(TEXT) - right - wrong)),
        ("wrong, not noticed", str(wrong)),
    )
    words = _in_words(state, played, kinds, verdict)
    return Copies(words, figures, sound, blocks, scratch_s, data, kinds, verdict)


def _compared(reading):
    """The file as read, each byte right, in doubt or wrong, and the verdict on the whole."""
    file = max(reading.files, key=lambda one: len(one.data), default=None)
    if file is None:
        return bytes(len(TEXT)), np.full(len(TEXT), DOUBTFUL), "lost"
    data = file.data[: len(TEXT)].ljust(len(TEXT), b"\0")
    doubtful = np.arange(len(TEXT)) >= len(file.data)
    for start, stop in file.doubtful:
        doubtful[start:stop] = True
    same = np.frombuffer(data, np.uint8) == np.frombuffer(TEXT, np.uint8)
    differs = doubtful & _copies_differ(reading)
    return data, np.select([differs, doubtful, same], [DIFFERS, DOUBTFUL, RIGHT], WRONG), file.verdict


def _copies_differ(reading):
    """Which bytes two copies have differently though both were read whole."""
    differs, first = np.zeros(len(TEXT), bool), {}
    for part in (block.part for block in reading.blocks if block.whole and block.part is not None):
        other = first.setdefault(part.number, part)
        if len(part.data) == len(other.data) == COLUMNS and part.number < len(TEXT) // COLUMNS:
            unlike = np.frombuffer(part.data, np.uint8) != np.frombuffer(other.data, np.uint8)
            differs[COLUMNS * part.number :][:COLUMNS] |= unlike
    return differs


def _in_words(state, played, kinds, verdict):
    sound, scratch_s, blocks, _ = played
    words = f"This layout takes {sound.seconds:.1f} s of tape for {len(TEXT)} bytes. "
    torn = [name for name, start, stop, _ in blocks if start < scratch_s[1] and stop > scratch_s[0]]
    if state.scratch_ms:
        words += f"The scratch of {state.scratch_ms / 1000:g} s hits {_names(torn)}. "
    if state.flipped:
        words += f"A bit of block {FLIPPED_BLOCK} was written wrong. "
    if (kinds == RIGHT).all():
        return words + "Every byte comes back" + _help(state, blocks, verdict)
    doubt, wrong = (int(np.isin(kinds, which).sum()) for which in ((DOUBTFUL, DIFFERS), WRONG))
    words += f"{len(TEXT) - doubt - wrong} of {len(TEXT)} bytes come back for certain"
    words += f", {doubt} are in doubt" if doubt else ""
    words += f", {wrong} are wrong and no check noticed" if wrong else ""
    return words + ". " + _why(state, kinds)


def _help(state, blocks, verdict):
    """What made good what was not read, if anything."""
    lost = {name for name, _, _, whole in blocks if not whole} - {"H"}
    if not lost:
        return ", for no data block was lost."
    if state.layout == STURDY:
        return ": the parity blocks bring back what was lost."
    if state.layout == ONE:
        return ": what was lost was no part of the data."
    return f": what one copy lost the other has; the file is {verdict}."


def _why(state, kinds):
    differing = int(np.count_nonzero(kinds == DIFFERS))
    if differing and not state.check:
        return (f"The two copies differ in {differing} {'byte' if differing == 1 else 'bytes'}, and neither has a "
                "check: it is known that one is wrong, not which.")
    if not state.check and not (kinds == RIGHT).any():
        return ("No block has a check. CRC-32 over the whole file, in its header, shows that something is wrong, but "
                "not where.")
    if state.layout == ONE:
        return "There is no other copy to take them from."
    if state.layout == STURDY:
        return "More blocks are lost than there are parity blocks."
    near = "they lie side by side, so one scratch takes both" if state.layout == ADJACENT else "it is that long"
    return f"The scratch has hit the same bytes in both copies: {near}."


def _names(names):
    """Blocks in words."""
    numbers = list(dict.fromkeys(name for name in names if name.isdigit()))
    said = [f"data {'block' if len(numbers) == 1 else 'blocks'} {', '.join(numbers)}"] if numbers else []
    said += [words for name, words in (("H", "a header"), ("P", "parity")) if name in names]
    return " and ".join(said) if said else "no block"


def draw(state, result):
    """The tape above, the file as it came back below."""
    return Scene((_tape_pane(result), _file_pane(result)), _picture_in_words(result), height=520)


def _tape_pane(result):
    tiles = []
    for whole, name, colour, hatch in ((True, "read whole", SKY, ""), (False, "not whole", VERMILLION, "x")):
        mine = [block for block in result.blocks if block[3] == whole]
        tiles += [Tiles([start], [0.0], stop - start, 1.0, "" if k else name, colour, hatch)
                  for k, (_, start, stop, _) in enumerate(mine)]
    names = Words([(start + stop) / 2 for _, start, stop, _ in result.blocks],
                  tuple(name for name, *_ in result.blocks), 0.4, large=False)
    first, last = result.scratch_s
    scratch = [Stretch(first, last, "scratch", BLACK, "\\")] if last > first else []
    return Pane((0, result.sound.seconds), (0, 1.6), "time in seconds", "tape", (*tiles, *scratch, names), bare=True,
                share=0.5, title="On the tape: H header, 0 to 7 data, P parity")


def _file_pane(result):
    """A row for each block's data: the letters as they came back."""
    rows = len(TEXT) // COLUMNS
    places = np.arange(len(TEXT))
    x, y = (places % COLUMNS).astype(float), (rows - 1 - places // COLUMNS).astype(float)
    looks = ((RIGHT, "right", SKY, ""), (DOUBTFUL, "in doubt or lost", VERMILLION, "/"),
             (DIFFERS, "copies differ", ORANGE, "\\"), (WRONG, "wrong, not noticed", BLACK, "x"))
    tiles = [Tiles(x[which], y[which], name=name, colour=colour, hatch=hatch)
             for kind, name, colour, hatch in looks if (which := result.kinds == kind).any()]
    letters = [Words(np.arange(COLUMNS) + 0.5, tuple(_shown(result.data[COLUMNS * k : COLUMNS * (k + 1)])),
                     rows - k - 0.5, large=False) for k in range(rows)]
    names = [Words([-0.4], (f"block {k}",), rows - k - 0.5, large=False, align="right") for k in range(rows)]
    return Pane((-4, COLUMNS), (0, rows), "", "", (*tiles, *letters, *names), bare=True, share=1.6,
                title="The file as it comes back")


def _shown(data):
    return "".join(chr(each) if 32 <= each < 127 else "·" for each in data)


def _picture_in_words(result):
    lost = _names([name for name, _, _, whole in result.blocks if not whole])
    doubt = ", ".join(f"{start} to {stop - 1}" for start, stop in _runs(np.isin(result.kinds, (DOUBTFUL, DIFFERS))))
    first, last = result.scratch_s
    scratch = f"a scratch from {first:.2f} to {last:.2f} s" if last > first else "no scratch"
    return (f"Above, {len(result.blocks)} blocks on {result.sound.seconds:.1f} s of tape, and {scratch}; "
            f"not read whole: {lost}. Below, the {len(TEXT)} bytes of the file; in doubt: {doubt or 'none'}.")


def _runs(flags):
    turns = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(int), [0]))))
    return turns.reshape(-1, 2).tolist()


def sound(state, result):
    """Two seconds round the scratch."""
    middle = sum(result.scratch_s) / 2
    start = min(max(0.0, middle - HEARD_S / 2), result.sound.seconds - HEARD_S)
    return result.sound.part(start, start + HEARD_S)


def pick(state, pane, x):
    """Pointing at the tape scratches it there."""
    percent = 100 * x / written(state.layout, state.check, state.flipped)[0].seconds
    return {"scratch_percent": percent} if pane == 0 and 0 <= percent <= 100 else {}


COPIES = Experiment(
    "copies",
    "Scratch a tape with copies",
    "How must a file lie on a tape to come back whole after a scratch, and what does that cost in seconds?",
    CopiesState, find, draw, sound, pick,
)
