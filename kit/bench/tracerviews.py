"""Pictures of the tracer: the whole tape, the text on it, and one byte with its wave, cells, bits and margins."""

import numpy as np

from ..blocks import DATA, HEADER
from ..found import ranges
from ..shown import BLACK, BLUE, ORANGE, SKY, VERMILLION
from .headerloader import FIELDS
from .scene import Level, Line, Marks, Pane, Scene, Stretch, Words

__all__ = ["BYTE", "TIME", "draw", "place_in_words", "value"]

BYTE, TIME = "the byte", "the time"
SHOWN_S, BEFORE_S = 0.009, 0.0008


def value(place):
    """The byte that lies at a place, as letter and number."""
    if place is None or place.block_byte is None:
        return "lost"
    number = place.block.content[place.block_byte]
    letter = f"“{chr(number)}” = " if 32 <= number < 127 else ""
    return f"{letter}{number}"


def place_in_words(place):
    """What lies somewhere: the part of which block, and which byte of it."""
    if place is None:
        return "nothing that was read"
    kind = {HEADER: "header", DATA: "data block"}.get(place.block.kind, "damaged block")
    if place.block_byte is None:
        return f"leader of the {kind}"
    if place.part == "check":
        return f"check of the {kind}"
    if place.byte is not None:
        return f"byte {place.byte + 1} of the text"
    if kind == "header":
        return f"header: {_field(place.block_byte)}"
    return "mark of the data block" if place.part == "mark" else f"byte {place.block_byte} of the {kind}"


def _field(block_byte):
    first = 0
    for name, size in FIELDS.items():
        if block_byte < first + size:
            return name
        first += size
    return "past its end"


def draw(state, result):
    """The whole tape, the text on it, and the wave of what is asked for with its cells, bits and margins."""
    place = result.at_byte if state.follows == BYTE else result.at_time
    middle = state.time_s
    if state.follows == BYTE and result.span is not None:
        middle = (result.span.start_s + result.span.stop_s) / 2
    panes = (_whole_pane(state, result), _letters_pane(state, result), *_near_panes(result, place, middle))
    return Scene(panes, _picture_in_words(result, place, middle), height=640)


def _whole_pane(state, result):
    blocks, seconds = result.tape.reading.blocks, result.tape.sound.seconds
    looks = ((HEADER, ORANGE, "\\", "header"), (DATA, SKY, "/", "data"))
    names = {HEADER: "header", DATA: "data"}
    parts = [(max(0.0, block.leader_s), block.start_s, BLACK, "", "leader") for block in blocks
             if block.leader_s < block.start_s]
    parts += [(*block.span_s, colour, hatch, "") for block in blocks for kind, colour, hatch, _ in looks
              if block.kind == kind]
    words = Words([block.middle_s for block in blocks], tuple(names.get(block.kind, "damaged") for block in blocks),
                  0.3, large=False)
    doubts = [Stretch(block.byte_span_s(first)[0], block.byte_span_s(stop - 1)[1], "in doubt", VERMILLION, "\\")
              for block in blocks for first, stop in ranges(block.doubtful)]
    here = [] if result.span is None else [Marks([result.span.start_s], [0.5], "the byte", VERMILLION, "v")]
    return Pane((0.0, seconds), (0.0, 1.0), "time in seconds", "tape",
                (*(Stretch(start, stop, label, colour, hatch) for start, stop, colour, hatch, label in parts),
                 *doubts, words, *here, Level(state.time_s, name="the time", upright=True, colour=BLACK)),
                bare=True, share=0.45, title="The whole tape")


def _letters_pane(state, result):
    """The data block alone, its letters where they lie."""
    data = [block for block in result.tape.reading.blocks if block.kind == DATA]
    if not data or result.tape.reading.files[0].data == b"":
        return Pane((0.0, 1.0), (0.0, 1.0), "", "text", (Words([0.5], ("no data block was read",), large=False),),
                    bare=True, share=0.3, title="The text on the tape")
    spans = [result.tape.reading.where(k) for k in range(len(result.tape.reading.files[0].data))]
    middles = [500 * (span.start_s + span.stop_s) for span in spans]
    letters = tuple(chr(each) if 32 <= each < 127 else "·" for each in result.tape.reading.files[0].data)
    start, stop = (1000 * end for end in data[0].span_s)
    doubts = [Stretch(1000 * data[0].byte_span_s(first)[0], 1000 * data[0].byte_span_s(last - 1)[1], "in doubt",
                      VERMILLION, "\\") for first, last in ranges(data[0].doubtful)]
    near = [Level(1000 * state.time_s, upright=True)] if start <= 1000 * state.time_s <= stop else []
    here = [] if result.span is None else [500 * (result.span.start_s + result.span.stop_s)]
    mark = Marks(here, [0.68] * len(here), symbol="v")
    items = (*doubts, Words(middles, letters, 0.35), *near, mark)
    return Pane((start, stop), (0.0, 1.0), "time in ms", "text", items, bare=True, share=0.4,
                title="The data block: its mark, the text, its check")


def _near_panes(result, place, middle_s):
    """The wave near a place, on one axis with its bits and their margins."""
    first_s = middle_s - SHOWN_S / 2
    bits, cells_s = np.zeros(0, np.uint8), np.zeros(0)
    if place is not None and place.block_byte is not None:
        bits, cells_s = _cells(place)
        first_s = cells_s[0] - BEFORE_S
    span = (1000 * first_s, 1000 * (first_s + SHOWN_S))
    axis = {"x_span": span, "x_label": "time in ms from the start of the tape", "grid": tuple(1000 * cells_s)}
    sound = result.tape.sound
    times_ms = 1000 * (np.arange(sound.frames) + 0.5) / sound.rate
    near = slice(*np.searchsorted(times_ms, span))
    peak = max(0.05, float(np.abs(sound.samples).max()))
    turns = 1000 * result.tape.edges_s
    turns = turns[(turns >= span[0]) & (turns <= span[1])]
    wave = Pane(y_span=(-1.15 * peak, 1.15 * peak), y_label="level", title=_title(place), items=(
        Line(times_ms[near], sound.samples[near], "wave, its samples as dots", BLUE, look="dots"),
        Marks(turns, np.zeros(len(turns)), "edges", VERMILLION, "o")), share=1.1, **axis)
    middles = 500 * (cells_s[:-1] + cells_s[1:])
    row = Pane(y_span=(0, 1), y_label="bits", bare=True, share=0.2,
               items=(Words(middles, tuple(map(str, bits))),), **axis)
    margins = np.zeros(0) if not len(bits) else _margins(place)
    stems = Pane(y_span=(0.0, 1.05), y_label="margin", items=(Line(middles, margins, "", BLACK, look="stems"),),
                 share=0.45, **axis)
    return wave, row, stems


def _cells(place):
    first = 8 * place.block_byte
    times_s = place.block.start_s + place.block.cell_s[first : first + 9].astype(float)
    return place.block.bits[first : first + 8], times_s


def _margins(place):
    return np.clip(place.block.margins[8 * place.block_byte :][:8], 0, 1)


def _title(place):
    words = place_in_words(place)
    read = "" if place is None or place.block_byte is None else f": {value(place)} = {_bits_in_words(place)}"
    return words[0].upper() + words[1:] + read


def _bits_in_words(place):
    return "".join(map(str, _cells(place)[0]))


def _picture_in_words(result, place, middle_s):
    blocks = [f"{one.span_s[0]:.3f} to {one.span_s[1]:.3f} s" for one in result.tape.reading.blocks]
    words = f"The tape has blocks at {', '.join(blocks) or 'no place'}. Below, the wave round {middle_s:.4f} s: "
    if place is None or place.block_byte is None:
        return words + f"{place_in_words(place)}, so there are no bits."
    lasts = " ".join(f"{1000 * length:.2f}" for length in np.diff(_cells(place)[1]))
    margins = " ".join(f"{margin:.2f}" for margin in _margins(place))
    return words + f"{_title(place)}. Its cells last {lasts} ms; their margins are {margins}."
