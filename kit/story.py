"""The story of a block: what is told of it while a tape is heard."""

from .blocks import DATA, HEADER, PARITY
from .found import CHECKED, DAMAGED, MENDED, UNCHECKED

__all__ = ["story"]


def story(block):
    """Events of a block: time, what, text."""
    stop = block.span_s[1]
    way = " (recorded backwards)" if block.backwards else ""
    long = f", {abs(block.start_s - block.leader_s):.1f} s of marks" if block.stream else ""
    yield block.leader_s, "leader", f"leader found on {block.side}{long}{way}"
    if not block.headless:
        hz = 1 / block.unit_s
        yield block.start_s, "sync", f"locked and in sync: a unit is one cycle of {hz:.0f} Hz"
    what = {HEADER: "header", DATA: "data"}.get(block.kind, "data")
    yield block.start_s, what, described(block)
    if block.verdict == DAMAGED:
        count = len(block.content) - block.sure_bytes
        fault = "not all characters are in order" if block.stream else "check does not agree"
        yield stop, "damage", f"{fault}; {count} of {len(block.content)} bytes are in doubt"
    else:
        text = {
            CHECKED: "check agrees",
            MENDED: "check agrees after mending",
            UNCHECKED: "the format has no check",
        }
        note = f" ({block.note})" if block.note else ""
        yield stop, "check", text[block.verdict] + note


def described(block):
    if block.stream:
        return f"stream, {len(block.content)} bytes"
    header, part = block.header, block.part
    if header is not None:
        return f"header: {header.name!r}, {header.length} bytes"
    if part is not None:
        return f"data block {part.number} of tag {part.tag:04x}, {len(part.data)} bytes"
    if block.kind == PARITY:
        return f"parity block, {len(block.payload)} bytes"
    if block.kind not in (None, HEADER, DATA):
        return f"block of unknown kind {block.kind}, {len(block.payload)} bytes, skipped"
    return f"block whose beginning is in doubt, {len(block.content)} bytes"
