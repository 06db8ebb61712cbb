"""Pictures of a tape: its wave, the bits of one byte, and the whole of it with what was found where.

Pure functions of a sound and its reading; each gives a `Shown`, a figure with its text equal.
"""

import numpy as np

from .errors import SettingError
from .found import DAMAGED, ranges
from .shown import BLACK, BLUE, LABEL_SIZE, SKY, VERMILLION, Shown, blank_figure
from .waves import edges

__all__ = ["byte_view", "lengths_view", "tape_view", "wave_view"]

MOST_WAVE_S = 2.0  # beyond this a wave is a solid band on the page: `tape_view` shows its outline
COLUMNS = 900  # points along the outline of a whole tape
AROUND_S = 0.001  # shown on either side of a byte
NARROW = 0.03  # part of the picture's width below which a label would not fit
LEAST_MS = 0.01  # shorter half-cycles are no lengths of a wave: two figures could not tell them from nothing
LETTER = 0.0115  # the part that a letter of a label takes


def wave_view(sound, start_s, stop_s):
    """The wave of a stretch of sound.

    Parameters
    ----------
    sound : Sound
    start_s, stop_s : float
        In seconds, at most 2 s apart.

    Returns
    -------
    Shown

    Raises
    ------
    SettingError
        The stretch is empty, too long, or lies outside the sound.
    """
    part = _stretch(sound, start_s, stop_s)
    figure, (axes,) = blank_figure()
    _draw_wave(axes, part, start_s)
    if part.channels > 1:
        axes.legend(loc="upper right")
    stop_s = start_s + part.seconds
    axes.set_title(f"The wave from {start_s:.3f} to {stop_s:.3f} s", loc="left")
    return Shown(figure, f"The wave from {start_s:.4f} to {stop_s:.4f} s: {_wave_in_words(part)}.")


def _stretch(sound, start_s, stop_s):
    if not 0 < stop_s - start_s <= MOST_WAVE_S:
        raise SettingError(
            f"stop_s must lie after start_s ({start_s} s), by {MOST_WAVE_S:g} s at most, got "
            f"{stop_s} s: take tape_view for a longer stretch"
        )
    part = sound.part(start_s, stop_s)
    if part.frames < 2:
        raise SettingError(f"a stretch must have 2 samples to be drawn, got {part.frames}: take a longer one")
    return part


def _draw_wave(axes, part, start_s):
    """One line for each channel, in milliseconds from the start of the recording."""
    table = part.samples.reshape(part.frames, part.channels)
    times_ms = 1000 * (start_s + (np.arange(part.frames) + 0.5) / part.rate)
    styles = [(BLUE, "-", "left"), (VERMILLION, "--", "right")]
    for channel in range(min(part.channels, 2)):
        colour, dashes, name = styles[channel]
        axes.plot(times_ms, table[:, channel], color=colour, linestyle=dashes, linewidth=1.6, label=name)
    axes.axhline(0, color=BLACK, linewidth=0.6)
    axes.set(xlabel="time in milliseconds", ylabel="level (full scale is 1)")
    axes.set_xlim(times_ms[0], times_ms[-1])


def _wave_in_words(part):
    """Level and half-cycles, as measured; of several channels the first."""
    first = part.samples.reshape(part.frames, part.channels)[:, 0]
    times = edges(first, part.rate)
    words = f"{len(times)} crossings of zero, largest level {part.peak:.2f} of full scale"
    if len(times) < 2:
        return words
    halves_ms = 1000 * np.diff(times)
    shortest, longest = halves_ms.min(), halves_ms.max()
    if longest < 1.05 * shortest:
        hertz = 500 / halves_ms.mean()
        return f"{words}, each half-cycle {halves_ms.mean():.2f} ms long, which makes {hertz:.0f} Hz"
    least = f"{shortest:.2f}" if shortest >= LEAST_MS else f"under {LEAST_MS:g}"
    return f"{words}, half-cycles {least} to {longest:.2f} ms long"


def lengths_view(sound, start_s, stop_s):
    """How long each half-cycle of a stretch lasts: what a loader goes by.

    Parameters
    ----------
    sound : Sound
        Of several channels the first is taken.
    start_s, stop_s : float
        In seconds, at most 2 s apart.

    Returns
    -------
    Shown
    """
    part = _stretch(sound, start_s, stop_s)
    times_s = edges(part.samples.reshape(part.frames, part.channels)[:, 0], part.rate)
    halves_ms = 1000 * np.diff(times_s)
    figure, (axes,) = blank_figure()
    axes.plot(start_s + times_s[:-1], halves_ms, ".", color=BLUE, markersize=4)
    axes.set(xlabel="time in seconds", ylabel="half-cycle in ms")
    axes.set_xlim(start_s, start_s + part.seconds)
    axes.set_ylim(0, 1.15 * max(halves_ms, default=1.0))
    axes.set_title("How long each half-cycle lasts", loc="left")
    lines = [f"Half-cycles from {start_s:.3f} to {start_s + part.seconds:.3f} s: {len(halves_ms)} of them."]
    lines += _usual_lengths(halves_ms)
    return Shown(figure, "\n".join(lines))


def _usual_lengths(halves_ms):
    """The lengths that occur most, up to five, longest first, in words; then how many are next to nothing."""
    ranked = np.sort(halves_ms[halves_ms >= LEAST_MS])
    # A new group begins where the next length is a tenth longer.
    groups = np.split(ranked, np.flatnonzero(ranked[1:] > 1.1 * ranked[:-1]) + 1)
    usual = sorted((group for group in groups if len(group)), key=len, reverse=True)[:5]
    for group in sorted(usual, key=lambda group: -group[0]):
        alike = group[-1] <= 1.1 * group[0]
        length = f"about {group.mean():.2f}" if alike else f"{group[0]:.2f} to {group[-1]:.2f}"
        yield f"{len(group)} of {length} ms"
    if len(ranked) < len(halves_ms):
        yield f"{len(halves_ms) - len(ranked)} of under {LEAST_MS:g} ms"


def byte_view(sound, reading, byte, file=0):
    """One byte of a file: its wave, and its bits at the cells they were read from.

    Parameters
    ----------
    sound : Sound
        What was read.
    reading : Reading
    byte : int
        Number of the byte in the file, from 0.
    file : int or str
        Number of the file, or its name.

    Returns
    -------
    Shown
    """
    span = reading.where(byte, file)
    place = reading.at((span.start_s + span.stop_s) / 2, span.recording)
    if place is None or place.byte != byte:
        raise SettingError(f"byte must be one that was read, got {byte}, which lies in a gap: take another")
    bits, cells_s = _cells(place)
    title = _byte_in_words(place.block.content[place.block_byte], byte)
    figure, (axes,) = blank_figure(height_in=3.4)
    first_s = max(0.0, cells_s[0] - AROUND_S)
    part = _stretch(sound, first_s, cells_s[-1] + AROUND_S)
    _draw_wave(axes, part, first_s)
    _label_cells(axes, bits, cells_s, 1.25 * max(part.peak, 0.01))
    axes.set_title(title, loc="left")
    lengths = " ".join(f"{1000 * length:.2f}" for length in np.diff(cells_s))
    doubt = ", in doubt" if place.block.doubtful[place.block_byte] else ""
    return Shown(
        figure,
        f"{title}{doubt}. It lies at {cells_s[0]:.4f} to {cells_s[-1]:.4f} s.\n"
        f"Bits in order of time: {' '.join(str(bit) for bit in bits)}. Their bit cells last {lengths} ms.",
    )


def _cells(place):
    """Bits of a byte with the times between them, in order of time, start, stop and parity bits included."""
    block, each = place.block, place.block.bits_per_byte
    first = place.block_byte * each
    bits = block.bits[first : first + each]
    times = block.start_s + block.cell_s[first : first + each + 1].astype(float)
    if block.stream:
        times[-1] = block.byte_span_s(place.block_byte)[1]  # and not where the pause after it ends
    return (bits[::-1], times[::-1]) if block.backwards else (bits, times)


def _byte_in_words(value, number):
    letter = f"{chr(value)!r} = " if 32 <= value < 127 else ""
    return f"Byte {number}: {letter}{value} = {value:08b}"


def _label_cells(axes, bits, cells_s, top):
    for bit, start, stop in zip(bits, cells_s[:-1], cells_s[1:], strict=True):
        axes.text(500 * (start + stop), top, str(bit), ha="center", va="center", fontsize=16)
    for edge in cells_s:
        axes.axvline(1000 * edge, color=SKY, linewidth=1, linestyle=":")
    axes.set_ylim(-top, 1.2 * top)


def tape_view(sound, reading, recording=0):
    """The whole of a recording: the outline of its wave, the parts that were found, and what is in doubt.

    Parameters
    ----------
    sound : Sound
        What was read.
    reading : Reading
    recording : int
        Number of the recording in the reading, from 0.

    Returns
    -------
    Shown
    """
    blocks = [block for block in reading.blocks if block.recording == recording]
    figure, (above, below) = blank_figure(
        2, height_in=3.6, sharex=True, gridspec_kw={"height_ratios": [1, 2]}
    )
    times_s, low, high = _outline(sound)
    below.plot(times_s, high, color=BLUE, linewidth=1)
    below.plot(times_s, low, color=BLUE, linewidth=1)
    below.set(xlabel="time in seconds", ylabel="level (full scale is 1)")
    below.set_title("outline of the wave: its highest and lowest level", loc="left", fontsize=LABEL_SIZE)
    below.set_xlim(0, max(sound.seconds, 1e-3))
    parts = sorted((part for block in blocks for part in _parts(block)), key=lambda part: part[1])
    doubts = sorted(span for block in blocks for span in _doubts(block))
    _label_parts(above, parts, doubts, sound.seconds)
    return Shown(figure, _tape_in_words(sound, parts, doubts))


def _outline(sound):
    """Lowest and highest level in each of at most `COLUMNS` stretches; reads a file piece by piece."""
    step = max(1, -(-sound.frames // COLUMNS))
    low, high = [], []
    for piece in sound.pieces(frames=step * max(1, (1 << 18) // step)):
        starts = np.arange(0, len(piece), step)
        low.append(np.minimum.reduceat(piece.min(axis=1), starts))
        high.append(np.maximum.reduceat(piece.max(axis=1), starts))
    if not low:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    low, high = np.concatenate(low), np.concatenate(high)
    return (np.arange(len(low)) + 0.5) * step / sound.rate, low, high


def _parts(block):
    """Leader and contents of a block: name, start and end in seconds."""
    start, stop = block.span_s
    name = "header" if block.header is not None else "data"
    leader = sorted((block.leader_s, stop if block.backwards else start))
    if leader[1] > leader[0] and not block.headless:
        yield "leader", *leader
    yield name + (" (damaged)" if block.verdict == DAMAGED else ""), start, stop


def _doubts(block):
    for first, stop in ranges(block.doubtful):
        times = (*block.byte_span_s(first), *block.byte_span_s(stop - 1))
        yield min(times), max(times), stop - first


def _label_parts(axes, parts, doubts, seconds):
    """A bracket with a name over each part, and a hatched bar under what is in doubt."""
    free_s = 0.0  # where the last label ends: one that would run into it is left to the text
    for name, start, stop in parts:
        axes.plot([start, start, stop, stop], [0.35, 0.5, 0.5, 0.35], color=BLACK, linewidth=1.2)
        label, middle = name.split()[0], (start + stop) / 2
        half_s = LETTER * len(label) * seconds / 2
        if stop - start > NARROW * seconds and middle - half_s > free_s:
            axes.text(middle, 0.58, label, ha="center", va="bottom", fontsize=LABEL_SIZE)
            free_s = middle + half_s
    for start, stop, _ in doubts:
        # However short, it must be seen.
        width = max(stop - start, 0.004 * seconds)
        axes.broken_barh([(start, width)], (0.0, 0.25), facecolor="white", edgecolor=VERMILLION, hatch="////")
    if doubts:
        _label_doubts(axes, doubts, seconds)
    axes.set_ylim(-0.05, 1.1)
    axes.yaxis.set_visible(False)
    axes.spines[["left", "bottom"]].set_visible(False)
    axes.tick_params(bottom=False, labelbottom=False)


def _label_doubts(axes, doubts, seconds):
    """The name of the hatched bars, before the first or, where there is no room, after the last."""
    first, last = doubts[0][0], max(stop for _, stop, _ in doubts)
    before = first > 0.1 * seconds
    at, side = (first - 0.008 * seconds, "right") if before else (last + 0.012 * seconds, "left")
    axes.text(at, 0.1, "in doubt", ha=side, va="center", fontsize=LABEL_SIZE)


def _tape_in_words(sound, parts, doubts):
    lines = [f"The whole recording, {sound.seconds:.2f} s."]
    lines += [f"{name}: {start:.3f} to {stop:.3f} s" for name, start, stop in parts]
    lines += [f"in doubt: {count} bytes at {start:.3f} to {stop:.3f} s" for start, stop, count in doubts]
    if not parts:
        lines.append("No block was found.")
    return "\n".join(lines)
