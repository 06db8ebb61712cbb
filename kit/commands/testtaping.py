"""``testtape``: the test tape to record, and the tone to set a level by."""

from pathlib import Path

from ..player import CAUTION, quiet, quiet_path
from .arguments import add_target, add_target_settings
from .talking import duration, number, say, say_json
from .targets import check_target, refuse_existing

__all__ = ["add_to", "run"]

HANDS = "volume down and headphones off first; never join a loudspeaker or power amplifier output to an input"
EXAMPLES = f"""
examples:
  python -m kit testtape --level-only -o level.wav     (20 s to set the recording level by)
  python -m kit testtape -o testtape.wav --listening-copy
  python -m kit measure recording.wav

Record the tape on the recorder, play it back into a file, and give that file to measure.
exit status: 0 done; 2 the call is wrong (one line says what)
Before you plug in: {HANDS}.
{CAUTION.capitalize()}.
"""


def add_to(subparsers):
    """Add the parser of ``testtape``."""
    parser = subparsers.add_parser(
        "testtape",
        help="a tape to measure a recorder with",
        epilog=EXAMPLES,
        description="Write the test tape: two minutes to record, to play back, and to give to measure.",
    )
    parser.set_defaults(run=run)
    add_target(parser)
    parser.add_argument(
        "--level-only", action="store_true", help="a steady sound of 20 s, as loud as data, to set a level by"
    )
    add_target_settings(parser, ("16", "24", "float"))


def run(args):
    """Write the tape, and say what was made; the exit status."""
    from ..testtape import level_tone, test_tape

    target = Path(args.output)
    copy = quiet_path(target) if args.listening_copy else None
    check_target(target, "TAPE")
    refuse_existing([[target, copy]], args.force, "TAPE")
    sound = level_tone(args.rate) if args.level_only else test_tape(args.rate)
    bits = args.bits if args.bits == "float" else int(args.bits)
    sound.write(target, bits)
    if copy is not None:
        quiet(sound).write(copy, bits)
    made = _summary(sound, target, copy, args)
    say_json(made) if args.json else say(_in_words(made))
    return 0


def _summary(sound, target, copy, args):
    return {
        "path": str(target),
        "listening_copy": copy and str(copy),
        "what": "level tone" if args.level_only else "test tape",
        "seconds": number(sound.seconds),
        "rate_hz": sound.rate,
        "peak": number(sound.peak, 3),
        "before_you_plug_in": HANDS,
        "caution": CAUTION,
    }


def _in_words(made):
    lines = [f"{made['path']}: the {made['what']}, plays {duration(made['seconds'])}"]
    if made["listening_copy"]:
        lines.append(f"{made['listening_copy']}: quiet, for listening")
    if made["what"] == "level tone":
        lines.append("set the recording level so that the meter just reaches 0 dB, then record the test tape")
    else:
        lines.append("record it from beginning to end, play it back into a file, and give that to measure")
    return "\n".join([*lines, f"before you plug in: {made['before_you_plug_in']}", made["caution"]])
