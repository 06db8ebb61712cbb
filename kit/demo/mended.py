"""Three scenes in which something is lost or swapped, and what was written besides brings it back."""

import numpy as np

from ..bench.headerloader import NEXT_NAME, flipped, load, tape
from ..checks import CHECKS
from ..found import DAMAGED
from ..player import play
from ..shown import BLACK, BLUE, GREEN, VERMILLION, Shown
from ..sound import Sound
from ..tape import decode, encode
from .opening import PARTS, outline
from .sheet import TYPE_PT, bare, sheet, title
from .slide import Slide, scene
from .strips import HOUSE, LINE, as_bytes, quoted, read_strip, written

__all__ = ["header", "scratch", "swapped"]

SHORT = HOUSE.changed(lead_in_s=0.3, leader_s=0.2, gap_s=0.1)
SCRATCH_S = 0.05
STRIP_LEADER_S = 0.3
SEED = 3

COUNT, SWAPPED = b"Gulls 13", b"Gulls 31"
SUM, CRC = CHECKS["sum-8"], CHECKS["crc-16/ibm-3740"]

LENGTH, BIT = 32, 8 * (1 + 1 + 4) + 24  # the topmost bit of the lowest byte of the length: worth 128
LETTERS = 32  # in a row of memory


@scene("A scratch on the tape. Are the words gone?")
def scratch():
    """A scratch on a tape with one copy of each block, and the same scratch on one with two.

    Returns
    -------
    Slide
    """
    figure, rows = sheet(2, sharex=True)
    outcomes, said, words = {"sent": LINE}, [], []
    for axes, copies in zip(rows, (1, 2), strict=True):
        name = ("one copy", "two copies")[copies - 1]
        sound = encode(LINE, name="log.txt", format=SHORT, copies=copies)
        start_s = _middle_of_data(sound) - SCRATCH_S / 2
        worn = sound.scratch(start_s, SCRATCH_S, seed=SEED)
        reading = decode(worn, format="house", quick=True)
        data = reading.files[0].data if reading.files else b""
        outcomes[name] = data
        lost = sum(1 for a, b in zip(data, LINE, strict=False) if a != b) + abs(len(LINE) - len(data))
        _draw_scratch(axes, worn, start_s, reading.blocks)
        title(axes, f"{name}: {lost} of {len(LINE)} letters lost")
        said.append(f"{name.capitalize()}: {quoted(data)}")
        words.append(f"{name}, {worn.seconds:.1f} s, {sum(map(_damaged, reading.blocks))} block damaged, {lost} "
                     f"letters lost, verdict {reading.verdict}")
        played = worn.part(max(0.0, start_s - 0.8), start_s + 2.0)
    rows[-1].set_xlabel("time in seconds; N: the name, W: the words")
    text = (f"The outlines of two tapes, each with a scratch of {1000 * SCRATCH_S:.0f} ms in the words: "
            f"{'; '.join(words)}.")
    return Slide(
        tuple(said),
        "The check tells which block is damaged, and its second copy lies elsewhere on the tape.",
        Shown(figure, text), outcomes, play(played),
    )


def _middle_of_data(sound):
    block = next(block for block in decode(sound, format="house", quick=True).blocks if block.part)
    return sum(block.span_s) / 2


def _damaged(block):
    return block.verdict == DAMAGED


def _draw_scratch(axes, sound, start_s, blocks):
    """Outline, blocks as brackets, the damaged ones hatched, and where the scratch is."""
    times_s, low, high = outline(sound)
    for levels in (low, high):
        axes.plot(times_s, levels, color=BLUE, linewidth=1.5)
    for block in blocks:
        start, stop = block.span_s
        hatch = {"hatch": "///", "edgecolor": VERMILLION} if _damaged(block) else {"edgecolor": BLACK}
        axes.broken_barh([(start, stop - start)], (0.6, 0.6), facecolor="white", linewidth=1.5, **hatch)
        axes.text((start + stop) / 2, 0.88, PARTS[block.kind][0].upper(), ha="center", va="center", fontsize=TYPE_PT,
                  bbox={"facecolor": "white", "edgecolor": "none", "pad": 1})
    axes.annotate("scratch", (start_s + SCRATCH_S / 2, -0.5), (start_s + SCRATCH_S / 2 + 0.08, -1.0),
                  fontsize=TYPE_PT, va="center", color=VERMILLION,
                  arrowprops={"arrowstyle": "-", "color": VERMILLION, "linewidth": 2})
    axes.set(xlim=(0, sound.seconds), ylim=(-1.3, 1.25), yticks=[])
    axes.spines["left"].set_visible(False)


@scene("Two letters change places. Who notices?")
def swapped():
    """Two letters that changed places: a loader that adds takes them, one that has a CRC takes the second copy.

    Returns
    -------
    Slide
    """
    outcomes, agrees = {"sent": COUNT}, {}
    for name, check in (("sum", SUM), ("CRC", CRC)):
        read, sound = _taped([each + check.compute(COUNT) for each in (SWAPPED, COUNT)])
        copies = [(each[: -check.size_bytes], each[-check.size_bytes :]) for each in read]
        outcomes[name] = next((data for data, value in copies if check.agrees(data, value)), b"")
        agrees[name] = check.agrees(*copies[0])
    figure, (axes,) = sheet()
    _draw_swap(axes, outcomes["sum"], agrees)
    text = (f"Sent {quoted(COUNT)}, {_numbers(COUNT)}, arrived {quoted(SWAPPED)}, {_numbers(SWAPPED)}. Sum, 8 bits: "
            f"{_value(SUM, COUNT)} and {_value(SUM, SWAPPED)}. CRC, 16 bits: {_value(CRC, COUNT)} and "
            f"{_value(CRC, SWAPPED)}.")
    return Slide(
        (f"Loader with a sum: takes it, {quoted(outcomes['sum'])}.",
         f"Loader with a CRC: refuses it, takes the second copy, {quoted(outcomes['CRC'])}."),
        "A sum does not mind the order of what it adds; in a CRC each bit counts by its place.",
        Shown(figure, text), outcomes, play(sound),
    )


def _taped(contents):
    """Strips of tape one after the other: what was read from the sound of each, and that sound."""
    strips = [written(content, leader_s=STRIP_LEADER_S) for content in contents]
    sounds = [strip.sound for strip in strips]
    read = [as_bytes(strip, read_strip(strip, sound)) for strip, sound in zip(strips, sounds, strict=True)]
    return read, Sound(np.concatenate([sound.samples for sound in sounds]), sounds[0].rate)


def _numbers(data):
    return " ".join(map(str, data))


def _value(check, data):
    return int.from_bytes(check.compute(data), "big")


def _draw_swap(axes, arrived, agrees):
    """Both rows of letters with their numbers, then what the two checks say of the first copy."""
    bare(axes)
    axes.set(xlim=(0, 10.4), ylim=(0, 6.4))
    for y, name, data in ((5.6, "sent", COUNT), (3.9, "arrived", arrived)):
        axes.text(0, y, name, fontsize=TYPE_PT)
        for k, (letter, right) in enumerate(zip(data, COUNT, strict=True)):
            other = letter != right
            x, style = 2.5 + 1.02 * k, {"ha": "center", "color": VERMILLION if other else BLACK}
            weight = "bold" if other else "normal"
            axes.text(x, y, chr(letter).replace(" ", "␣"), fontsize=1.4 * TYPE_PT, fontweight=weight, **style)
            axes.text(x, y - 0.65, str(letter), fontsize=TYPE_PT, **style)
    for y, name, check in ((1.7, "sum", SUM), (0.6, "CRC", CRC)):
        sent, came = _value(check, COUNT), _value(check, arrived)
        verdict, colour = ("agrees: not noticed", VERMILLION) if agrees[name] else ("differs: noticed", GREEN)
        axes.text(0, y, f"{name}   {sent} {'=' if sent == came else '≠'} {came}", fontsize=TYPE_PT)
        axes.text(5.0, y, verdict, fontsize=TYPE_PT, color=colour, fontweight="bold")
    axes.axhline(2.6, color=BLACK, linewidth=1)


@scene("One bit of the header is wrong. What then?")
def header():
    """One bit of a header flipped: a loader that believes it runs into the next file; one that checks does not.

    Returns
    -------
    Slide
    """
    read, sound = _header_tape()
    believed, eaten = load(read, check=False)
    refused, _ = load(read, check=True)
    second = next(block for block in read[1:] if load([block], check=True)[0] is not None)
    header_read, kept = load([second, *read[1:]], check=True)
    outcomes = {"sent": _file(), "believed": eaten, "checked": kept}
    figure, (axes,) = sheet()
    _draw_memory(axes, eaten, header_read.length, believed.length)
    wrong = len(eaten) - header_read.length
    refusal = "refuses the header" if refused is None else "takes the header"
    text = (f"Memory in rows of {LETTERS} bytes after the loader that believes: {header_read.length} of the file's "
            f"own, then {wrong} of what follows on the tape, dashed: {quoted(eaten)}.")
    return Slide(
        (f"The length says {believed.length} instead of {header_read.length}: the loader eats {wrong} bytes of "
         f"“{NEXT_NAME}”.",
         f"One that asks the check {refusal}, reads the second one, and stops after {len(kept)}."),
        "A loader without a check believes the length, and has no other sign where to stop.",
        Shown(figure, text), outcomes, play(sound),
    )


def _header_tape():
    """Blocks of a tape, one bit of its first header flipped, as read from their sound; and that sound."""
    first, *others = tape(LENGTH, True)
    return _taped([flipped(first, BIT), *others])


def _file():
    return load(tape(LENGTH, True), check=True)[1]


def _draw_memory(axes, data, own, said):
    """The length as it was and as it was read, and bytes in rows; what is not the file's own is dashed."""
    rows = -(-len(data) // LETTERS)
    bare(axes)
    axes.set(xlim=(-1, LETTERS + 1), ylim=(-rows - 0.1, 2.1))
    for row in range(rows):
        piece = data[LETTERS * row : LETTERS * (row + 1)]
        mine = LETTERS * row < own
        letters = "".join(chr(each) if 32 <= each < 127 else "·" for each in piece)
        axes.text(0, -row - 0.5, letters, fontsize=1.3 * TYPE_PT, family="monospace", va="center",
                  color=BLACK if mine else VERMILLION)
        style = {"edgecolor": BLUE} if mine else {"edgecolor": VERMILLION, "linestyle": "--"}
        axes.broken_barh([(-0.5, LETTERS + 1)], (-row - 0.94, 0.88), facecolor="none", linewidth=2, **style)
    axes.text(0, 1.3, f"length: {own:08b} = {own} became {said:08b} = {said}", fontsize=TYPE_PT)
    axes.text(0, 0.35, "solid: the file's own; dashed: eaten", fontsize=TYPE_PT)
