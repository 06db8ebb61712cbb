"""What the tests of the teacher's pages share: the pages, their tables and what they are made by."""

import importlib.util
import re
from pathlib import Path

AGAIN = "run python lessons/teaching/make.py"
TOP = Path(__file__).parents[1]
TEACHING = TOP / "lessons" / "teaching"
PAGES = sorted(TEACHING.glob("*.md"))
TEXTS = {path.name: path.read_text("utf-8") for path in PAGES}

_spec = importlib.util.spec_from_file_location("teaching_make", TEACHING / "make.py")
make = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(make)


def tables(text):
    """Tables of a page: lists of rows, the first is the head."""
    found = re.findall(r"(?:^\|.*\|\n)+", text, re.MULTILINE)
    rows = ([[cell.strip() for cell in line.split("|")[1:-1]] for line in each.splitlines()] for each in found)
    return [[row for row in each if not set("".join(row)) <= set("-")] for each in rows]


def told(pattern, text):
    """The first group of each line a pattern finds."""
    return re.findall(pattern, text, re.MULTILINE)
