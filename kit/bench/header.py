"""Header: each of its bits flipped, and what becomes of the file when the loader checks the header, or does not."""

from dataclasses import dataclass

import numpy as np

from ..shown import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILLION
from ..sound import Sound
from ..waves import render
from .fields import State, choice, number, switch, text
from .headerloader import (
    BLAMED,
    FIELDS,
    FORMAT,
    KIND,
    LESS,
    MORE,
    MOVED,
    NAMED,
    REFUSED,
    SAME,
    UNKNOWN,
    Loaded,
    all_outcomes,
    flipped,
    loaded_with,
    tape,
)
from .model import Experiment, Result
from .scene import Marks, Pane, Scene, Tiles, Words

__all__ = ["HEADER_BENCH", "HeaderBench", "HeaderState", "find"]

RATE = 44100
LEADER_S = 0.1
COLUMNS = 32  # bits in a row of the picture, and bytes of memory
ROWS_OF_MEMORY = 5

OUTCOMES = {
    REFUSED: ("refused by the header check", BLUE, ""),
    UNKNOWN: ("passed over: no header", BLACK, "x"),
    MORE: ("eats or waits for more bytes", VERMILLION, "/"),
    LESS: ("stops short", PURPLE, "\\"),
    NAMED: ("other name", ORANGE, "/"),
    KIND: ("taken for other content", GREEN, "\\"),
    MOVED: ("other start address", SKY, "/"),
    BLAMED: ("right, but called wrong", SKY, "x"),
    SAME: ("no harm", BLACK, ""),
}


@dataclass(frozen=True)
class HeaderState(State):
    """Which bit of the header is flipped, and how the loader takes it."""

    check: bool = switch(False, "The loader checks the header")
    field: str = choice("length", tuple(FIELDS), "Field")
    bit: int = number(7, 0, 255, 1, "", "Bit of the field", hint="0 is worth one; past the field's top: its top bit")
    length: int = number(32, 8, 96, 8, "bytes", "Length of the file")
    followed: bool = switch(True, "Another file follows on the tape")
    words: str = text("", 96, "Text of the file", hint="the station's log fills it up to its length")


@dataclass(frozen=True, eq=False)
class HeaderBench(Result):
    """The outcome of every bit, and what the chosen one does.

    Attributes
    ----------
    outcomes : str
        A letter for each bit of the header block, in the order of the tape.
    bit : int
        Number of the chosen one in that order.
    loaded : Loaded
        With the chosen bit flipped.
    """

    outcomes: str
    bit: int
    loaded: Loaded


def _blocks(state):
    """The blocks of the tape, none of them spoilt."""
    return tape(state.length, state.followed, state.words)


def _bit_number(state):
    """Number of the chosen bit in the order of the tape."""
    first = 0
    for name, size in FIELDS.items():
        if name == state.field:
            return first + 8 * size - 1 - min(state.bit, 8 * size - 1)
        first += 8 * size
    raise AssertionError(state.field)


def find(state):
    """Flip every bit of the header in turn, and look closely at one.

    Parameters
    ----------
    state : HeaderState

    Returns
    -------
    HeaderBench
    """
    outcomes = all_outcomes(state.length, state.followed, state.check, state.words)
    loaded = loaded_with(_blocks(state), _bit_number(state), state.check)
    eaten, missing = _strange(state, loaded)
    harmless = outcomes.count(SAME) + outcomes.count(REFUSED)
    figures = (
        ("length as read", f"{loaded.header.length} bytes" if loaded.header else "none"),
        ("wrong bytes eaten", str(eaten)),
        ("bytes waited for", str(missing)),
        ("bits that do harm", f"{len(outcomes) - harmless} of {len(outcomes)}"),
    )
    return HeaderBench(_in_words(state, loaded), figures, outcomes, _bit_number(state), loaded)


def _strange(state, loaded):
    """Bytes in memory that are not the file's, and bytes that never come."""
    if loaded.header is None:
        return 0, 0
    return max(0, len(loaded.data) - state.length), loaded.header.length - len(loaded.data)


def _in_words(state, loaded):
    bit = min(state.bit, 8 * FIELDS[state.field] - 1)
    worth = f", worth {1 << bit}," if state.field in ("length", "bytes a block", "start address") else ""
    return f"Bit {bit} of “{state.field}”{worth} is flipped. {_story(state, loaded)}"


def _story(state, loaded):
    header, outcome = loaded.header, loaded.outcome
    if outcome == REFUSED:
        return ("The check of the header no longer agrees, so the loader refuses it before it has loaded a byte, "
                "and says so. That goes for every single bit of the header. Rewind and try again, or take the "
                "second copy of the header, which lies behind the data.")
    if outcome == UNKNOWN:
        return "The loader takes the block for something it does not know and passes over it: no file is loaded."
    ending = (" CRC-32 over the whole file shows that it is wrong, but only at the very end." if not loaded.agrees
              else " CRC-32 over the whole file says it is right.")
    words = {
        MORE: lambda: _greedy(state, loaded),
        LESS: lambda: f"The header now says {header.length} bytes instead of {state.length}: the loader stops "
                      f"{state.length - header.length} bytes short.",
        NAMED: lambda: f"All bytes are right, but the file is now called “{_shown(header.name)}”.",
        KIND: lambda: f"All bytes are right, but what is text is taken for {header.content}.",
        MOVED: lambda: f"All bytes are right, but they are put at address {header.address} instead of 0.",
        BLAMED: lambda: "All bytes are right, but the CRC-32 that the header has for them is not.",
        SAME: lambda: "This loader does not look at it: the file is loaded right, under the right name.",
    }[outcome]()
    over = outcome != SAME and len(loaded.data) == header.length  # or it never comes to that check
    return words + (ending if over else "")


def _greedy(state, loaded):
    eaten, missing = _strange(state, loaded)
    said = loaded.header.length
    words = f"The header now says {said} bytes instead of {state.length}, and the loader believes it. "
    if eaten:
        words += f"After the file's own {state.length} it eats {eaten} wrong bytes of the next file on the tape"
        words += f", and then waits for {missing} more that never come." if missing else ", and says it is done."
    else:
        words += f"After the file's own {state.length} it waits for {missing} more that never come."
    return words


def _shown(name):
    return "".join(each if each.isprintable() else "·" for each in name)


def _rows():
    """Each field's rows in the picture: label, first bit of the block, bits; a name has eight of them."""
    first = 0
    for name, size in FIELDS.items():
        for start in range(0, 8 * size, COLUMNS):
            yield name if start == 0 else "", first + start, min(COLUMNS, 8 * size - start)
        first += 8 * size


ROWS = tuple(_rows())
PLACES = {first + k: (COLUMNS - bits + k, len(ROWS) - 1 - row) for row, (_, first, bits) in enumerate(ROWS)
          for k in range(bits)}


def draw(state, result):
    """Every bit with its outcome above, memory below."""
    spots = np.array([PLACES[bit] for bit in range(len(result.outcomes))], float)
    letters = np.array(list(result.outcomes))
    tiles = [Tiles(*spots[letters == letter].T, name=name, colour=colour, hatch=hatch, letter=letter)
             for letter, (name, colour, hatch) in OUTCOMES.items() if letter in result.outcomes]
    names = [Words([-0.4], (name,), len(ROWS) - row - 0.5, large=False, align="right")
             for row, (name, _, _) in enumerate(ROWS) if name]
    x, y = PLACES[result.bit]
    here = Marks([x + 0.5], [y + 0.5], "flipped below", VERMILLION, "o")
    bits = Pane((-9, COLUMNS), (0, len(ROWS)), "", "", (*tiles, *names, here), bare=True, share=2.6,
                title="Each bit of the header block, by what happens if it alone is flipped")
    return Scene((bits, _memory_pane(state, result)), _picture_in_words(result), height=640)


def _memory_pane(state, result):
    """Bytes in the order in which they are loaded, 32 in a row."""
    loaded = result.loaded
    wanted = min(loaded.header.length if loaded.header else 0, COLUMNS * ROWS_OF_MEMORY)
    places = np.arange(wanted)
    spots = np.stack((places % COLUMNS, ROWS_OF_MEMORY - 1 - places // COLUMNS)).astype(float)
    own, come = places < state.length, places < len(loaded.data)
    kinds = (("the file's own", own & come, SKY, ""), ("eaten: not the file's", ~own & come, VERMILLION, "/"),
             ("waited for", ~come, BLACK, "x"))
    tiles = [Tiles(*spots[:, which], name=name, colour=colour, hatch=hatch)
             for name, which, colour, hatch in kinds if which.any()]
    texts = [Words(np.arange(len(row)) + 0.5, tuple(map(chr, row)), ROWS_OF_MEMORY - k - 0.5, large=False)
             for k in range(ROWS_OF_MEMORY) if (row := loaded.data[COLUMNS * k : COLUMNS * (k + 1)])]
    first = [Words([-0.4], (f"byte {COLUMNS * k}",), ROWS_OF_MEMORY - k - 0.5, large=False, align="right")
             for k in range(max(1, -(-wanted // COLUMNS)))]
    title = "What the loader puts into memory" if loaded.header else "What the loader puts into memory: nothing"
    return Pane((-9, COLUMNS), (0, ROWS_OF_MEMORY), "", "", (*tiles, *texts, *first), bare=True, title=title)


def _picture_in_words(result):
    counts = [f"{result.outcomes.count(letter)} {name} ({letter})" for letter, (name, _, _) in OUTCOMES.items()
              if letter in result.outcomes]
    memory = f"{len(result.loaded.data)} bytes in memory" if result.loaded.header else "nothing in memory"
    return (f"Above, all {len(result.outcomes)} bits of the header block, field by field, by what happens when one "
            f"alone is flipped: {'; '.join(counts)}. Below, {memory} with the chosen bit flipped.")


def sound(state, result):
    """The header block with the bit flipped, as it would lie on a tape."""
    content = flipped(_blocks(state)[0], result.bit)
    leader = FORMAT.leader.encode(round(LEADER_S / (FORMAT.leader.leader_units * FORMAT.unit_s())))
    tail = FORMAT.leader.encode(FORMAT.tail_cycles, sync=False)
    cells = FORMAT.code.encode(FORMAT.frame.to_bits(content))
    return Sound(render(FORMAT.unit_s() * np.concatenate((leader, cells, tail)), RATE), RATE)


def pick_tile(state, pane, x, y):
    """Pointing at a bit chooses it."""
    spot = int(np.floor(x)), int(np.floor(y))
    bit = next((bit for bit, place in PLACES.items() if place == spot), None)
    if pane != 0 or bit is None:
        return {}
    first = 0
    for name, size in FIELDS.items():
        if bit < first + 8 * size:
            return {"field": name, "bit": first + 8 * size - 1 - bit}
        first += 8 * size
    return {}


HEADER_BENCH = Experiment(
    "header",
    "Flip a bit of the header",
    "What happens to a file when one bit of its header arrives wrong, and what does a check of the header change?",
    HeaderState, find, draw, sound, pick_tile=pick_tile,
)
