"""``formats``: list the formats that have a name."""

from ..known import COMPARED, FORMATS, SPEEDS
from .talking import number, say, say_json

__all__ = ["add_to", "run"]

EXAMPLES = """
examples:
  python -m kit formats
  python -m kit formats --json

exit status: 0 done; 2 the call is wrong
"""


def add_to(subparsers):
    """Add the parser of ``formats``."""
    parser = subparsers.add_parser(
        "formats",
        help="list the formats",
        epilog=EXAMPLES,
        description="List the formats and speeds that go by a name.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("--json", action="store_true", help="list them as JSON")


def run(args):
    """List them; the exit status."""
    formats = [_described(format) for format in (*FORMATS.values(), *COMPARED.values())]
    if args.json:
        say_json({"formats": formats, "speeds": SPEEDS})
    else:
        say("\n".join([*map(_in_words, formats), "", "speeds: " + _speeds_in_words()]))
    return 0


def _described(format):
    unit_s = format.unit_s()
    cycles = {"leader": format.leader.leader_units}
    if not format.stream:
        cycles["sync"] = format.leader.sync_units
    if format.code.draws_alike:
        cycles |= {"one": format.code.one_units, "zero": format.code.zero_units}
    else:
        cycles |= {"data up to": format.code.shortest_cycle_units}
    return {
        "name": format.name,
        "about": format.about,
        "bits_per_second": number(format.bits_per_second),
        "cycles_hz": {name: number(1 / (units * unit_s)) for name, units in cycles.items()},
        "bits_per_byte": format.frame.bits_per_byte,
        "bit_order": format.frame.order,
        "check": format.check,
        "stream": format.stream,
        "block_bytes": None if format.stream else format.block_bytes,
        "copies": format.copies,
        "leaders_s": {"lead_in": format.lead_in_s, "before_header": format.leader_s, "between": format.gap_s},
        "needed_rate_hz": number(format.needed_rate()),
    }


def _in_words(format):
    cycles = ", ".join(f"{name} {hz:g} Hz" for name, hz in format["cycles_hz"].items())
    held = "a file is one block" if format["stream"] else f"{format['block_bytes']} bytes a block"
    return (
        f"{format['name']}: {format['about']}\n"
        f"  about {format['bits_per_second']:.0f} bits per second at ordinary speed; {cycles}\n"
        f"  {format['bits_per_byte']} bits on tape for a byte ({format['bit_order']} first), "
        f"{held}, check {format['check']}, copies {format['copies']}"
    )


def _speeds_in_words():
    return ", ".join(f"{name} ({value:g})" for name, value in SPEEDS.items()) + ", or a number from 0.1 to 16"
