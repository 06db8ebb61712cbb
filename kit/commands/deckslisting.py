"""``decks``: list the simulated recorders that have a name."""

from ..deck import Deck, assumptions, capacity, decks
from .talking import number, say, say_json

__all__ = ["add_to", "run"]

EXAMPLES = """
examples:
  python -m kit decks
  python -m kit decks --json

exit status: 0 done; 2 the call is wrong
"""
READ_AT_HZ = (1200, 2400, 4800, 9600)


def add_to(subparsers):
    """Add the parser of ``decks``."""
    parser = subparsers.add_parser(
        "decks",
        help="list the simulated recorders",
        epilog=EXAMPLES,
        description="List the simulated recorders that go by a name, with the reason for each figure.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("--json", action="store_true", help="list them as JSON")


def run(args):
    """List them; the exit status."""
    listed = [_described(name, deck) for name, deck in decks.items()]
    say_json({"decks": listed}) if args.json else say("\n\n".join(map(_in_words, listed)))
    return 0


def _described(name, deck):
    settings = [
        {
            "name": setting.name,
            "value": value,
            "unit": setting.unit,
            "reason": assumptions[name][setting.name],
        }
        for setting in Deck.fields
        if (value := deck.changed().get(setting.name)) is not None
    ]
    response = dict(zip(map(str, READ_AT_HZ), map(number, deck.response(READ_AT_HZ)), strict=True))
    return {
        "name": name,
        "settings": settings,
        "response_db": response,
        "capacity_bits_per_second": number(capacity(deck), 0),
    }


def _in_words(deck):
    lines = [deck["name"]]
    lines += [f"  {s['name']}: {_value(s)}  ({s['reason']})" for s in deck["settings"]]
    levels = ", ".join(f"{db:+.1f} dB at {hz} Hz" for hz, db in deck["response_db"].items())
    lines.append(f"  passes {levels}")
    if deck["capacity_bits_per_second"] is not None:
        lines.append(
            f"  can carry {deck['capacity_bits_per_second']:.0f} bits per second at most, whatever the code"
        )
    return "\n".join(lines)


def _value(setting):
    value = setting["value"]
    return f"{value:g} {setting['unit']}".strip() if isinstance(value, float) else str(value)
