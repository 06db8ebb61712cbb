"""Worksheets read back from their pages: strips out of pixels, words out of the file, nothing out of the kit."""

import io
import re

import numpy as np
import pypdf
import pypdfium2
from scipy import ndimage

from kit.exercises.lessons import LESSONS
from kit.known import FORMATS

DPI = 240
DOTS_PER_MM = DPI / 25.4
DARK = 128
NAMES = ("gull 7", "tern 2", "seal 11")


def pictures(pdf):
    """The pages as a printer would have them, ndarrays of uint8, shape (rows, columns, 3)."""
    return [page.render(scale=DPI / 72, rev_byteorder=True).to_numpy()[:, :, :3]
            for page in pypdfium2.PdfDocument(pdf)]


def pages(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf)).pages


def words(page):
    """The text of a page on one line."""
    return " ".join(page.extract_text().split())


def spread(trace):
    """How far apart the highest and the lowest dot of each column are, in dots."""
    rows = np.arange(len(trace))[:, None]
    return np.where(trace, rows, -1).max(axis=0) - np.where(trace, rows, len(trace)).min(axis=0)


def upright_lines(trace):
    """Where a trace goes straight up or down, in mm from its left end: the middles of its steepest columns."""
    steep, count = ndimage.label(spread(trace) > 0.4 * len(trace))
    return np.array(ndimage.center_of_mass(steep > 0, steep, range(1, count + 1))).ravel() / DOTS_PER_MM


def strips(picture):
    """Edges of each strip on a page, in mm, from top to bottom.

    A strip is a connected line that is wide and high, and yet thin at almost all places: no box and no letter.
    """
    parts, _ = ndimage.label(picture[:, :, 0] < DARK, structure=np.ones((3, 3)))
    found = []
    for number, place in enumerate(ndimage.find_objects(parts), 1):
        trace = parts[place] == number
        height, width = np.array(trace.shape) / DOTS_PER_MM
        if 7 < height < 20 and width > 40 and np.median(spread(trace)) < 0.1 * len(trace):
            found.append(upright_lines(trace))
    return found


def letter_of(edges_mm):
    """The letter that the kit's cell code and frame read from edges, the shortest cycle being taken for a 0."""
    unit = np.diff(edges_mm[::2]).min()
    cells = FORMATS["house"].code.decode(edges_mm, unit)
    assert cells.margins.min() > 0.8, cells.margins
    return bytes(FORMATS["house"].frame.to_bytes(cells.bits)[0]).decode("ascii")


def printed_lengths(text):
    """Half-cycles in mm as a page says them, a list for each letter."""
    found = re.findall(r"Half-cycles of the (?:first|second|third) letter, in mm: ((?:\d+, )+\d+)", text)
    return [[int(each) for each in row.split(", ")] for row in found]


def worked_out(text):
    """The answer of the calculation that a page asks for, from its own words."""
    if found := re.search(r"has (\d+) bytes of 8 bits .* carries (\d+) bits a second, .* leader of (\d+) s", text):
        size, rate, leader = map(int, found.groups())
        return 8 * size / rate + leader, [size / rate + leader, 8 * size / rate, 7 * size / rate + leader]
    found = re.search(r"has (\d+) s left. It carries (\d+) bits a second, and a leader of (\d+) s", text)
    left, rate, leader = map(int, found.groups())
    data = left - leader
    return data * rate / 8, [data * rate, left * rate / 8, (left + leader) * rate / 8]


def choices():
    """Every question of every lesson that has four options."""
    for lesson in LESSONS.values():
        yield from (item for item in (*lesson.items.values(), *lesson.recall) if item.kind == "choice")


def on_paper(text):
    return re.sub("`([^`]*)`", r"“\1”", text)


def asked(text):
    """The choices whose question and options all stand in a text."""
    return [each for each in choices()
            if all(on_paper(part) in text for part in (each.question, *(option.text for option in each.options)))]
