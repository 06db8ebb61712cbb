"""``degrade``: a recording through a simulated recorder."""

from pathlib import Path

from ..deck import Deck, decks
from ..errors import SettingError
from ..player import CAUTION
from ..sound import Sound
from .arguments import whole
from .talking import duration, number, progress, say, say_json
from .targets import check_target, refuse_existing

__all__ = ["add_to", "run"]

EXAMPLES = """
examples:
  python -m kit degrade tape.wav -o worn.wav --deck portable
  python -m kit degrade tape.wav -o dub.wav --deck home --generations 3 --seed 7
  python -m kit degrade tape.wav -o dull.wav --replay-spacing-um 2 --hiss-dbfs -45
  python -m kit degrade tape.wav -o other.wav --deck home --play-on worn

Settings of --deck are changed by those given by name. The same call with the same seed gives the same sound.
exit status: 0 done; 2 the call or the input is wrong (one line says what)
"""
MOST_GENERATIONS = 100


def add_to(subparsers):
    """Add the parser of ``degrade``, with an option for each setting of a deck."""
    parser = subparsers.add_parser(
        "degrade",
        help="a recording through a simulated recorder",
        epilog=EXAMPLES,
        description="Record a sound on a simulated recorder and play it back.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("tape", metavar="TAPE", help="the recording to wear")
    parser.add_argument("-o", "--output", required=True, metavar="WORN", help="the audio file to write")
    parser.add_argument("--deck", metavar="NAME", help=f"one of: {', '.join(decks)} (a neutral one)")
    parser.add_argument("--play-on", metavar="NAME", help="play it on another named deck")
    parser.add_argument("--replay-only", action="store_true", help="a tape made elsewhere: only play it")
    parser.add_argument(
        "--generations", type=whole("copies"), default=1, metavar="N", help="copy of a copy (1)"
    )
    parser.add_argument(
        "--seed", type=whole("0 or more"), default=0, metavar="N", help="of all that is chance (0)"
    )
    parser.add_argument(
        "--bits", choices=("8", "16", "24", "float"), default="16", help="bits per sample (16)"
    )
    parser.add_argument("--force", action="store_true", help="replace WORN if it is there already")
    parser.add_argument("--json", action="store_true", help="say what was done as JSON")
    group = parser.add_argument_group("settings of the recorder, in the order of the signal's path")
    for setting in Deck.fields:
        wanted = setting.range.split(", or ")[0] + (", or off" if setting.off is not None else "")
        help_text = f"{setting.help}: {wanted}".replace("%", "%%")
        group.add_argument(_option(setting), dest=f"set_{setting.name}", metavar="X", help=help_text)


def _option(setting):
    return "--" + setting.name.replace("_", "-")


def run(args):
    """Wear the recording, and say what was done; the exit status."""
    target = Path(args.output)
    check_target(target, "WORN")
    refuse_existing([[target]], args.force, "WORN")
    deck, other = _deck(args), _named(args.play_on, "--play-on")
    _check(args)
    sound = Sound.read(args.tape)
    worn = _worn(sound, deck, other, args)
    worn.write(target, args.bits if args.bits == "float" else int(args.bits))
    done = _summary(sound, worn, deck, args)
    say_json(done) if args.json else say(_in_words(done))
    return 0


def _named(name, option):
    if name is not None and name not in decks:
        raise SettingError(f"{option} must be one of {', '.join(decks)}, got {name!r}")
    return None if name is None else decks[name]


def _deck(args):
    """The deck that was named, with the settings that were given."""
    given = {setting: getattr(args, f"set_{setting.name}") for setting in Deck.fields}
    changes = {setting.name: setting.parse(text) for setting, text in given.items() if text is not None}
    return (_named(args.deck, "--deck") or Deck()).with_settings(**changes)


def _check(args):
    if not 1 <= args.generations <= MOST_GENERATIONS:
        raise SettingError(
            f"--generations must lie in 1 to {MOST_GENERATIONS} copies, got {args.generations}"
        )
    if args.seed < 0:
        raise SettingError(f"--seed must be 0 or more, got {args.seed}")
    if args.replay_only and args.play_on:
        raise SettingError("--replay-only and --play-on exclude each other: name the machine with --deck")
    if args.generations > 1 and (args.replay_only or args.play_on):
        raise SettingError("--generations goes with one machine: leave out --replay-only and --play-on")


def _worn(sound, deck, other, args):
    with progress("wearing the tape") as told:
        if args.replay_only:
            return deck.replay(sound, args.seed)
        if other is not None:
            return deck.play(sound, args.seed, on=other)
        for done in range(args.generations):
            sound = deck.play(sound, args.seed, generation=done)
            if told is not None:
                told((done + 1) / args.generations)
        return sound


def _summary(sound, worn, deck, args):
    return {
        "tape": args.tape,
        "path": args.output,
        "deck": args.deck,
        "play_on": args.play_on,
        "settings": {name: _json_value(value) for name, value in deck.changed().items()},
        "generations": args.generations,
        "seed": args.seed,
        "seconds": number(worn.seconds),
        "peak_dbfs_before": number(sound.peak_dbfs, 2),
        "peak_dbfs": number(min(worn.peak_dbfs, 0.0), 2),
        "cut_off_db": number(max(worn.peak_dbfs, 0.0), 2),
        "rms_dbfs": number(worn.rms_dbfs, 2),
        "caution": CAUTION,
    }


def _json_value(value):
    return number(value) if isinstance(value, float) else value


def _in_words(done):
    copies = f", copied {done['generations']} times" if done["generations"] > 1 else ""
    name = done["deck"] or "a deck of your own settings"
    lines = [
        f"{done['path']}: {duration(done['seconds'])} from {name}{copies}, seed {done['seed']}",
        f"  peak {_level(done['peak_dbfs_before'])} before, {_level(done['peak_dbfs'])} after",
    ]
    if done["cut_off_db"]:
        lines.append(f"  its tops went {done['cut_off_db']:.1f} dB beyond full scale, and are cut off in the file")
    if not done["settings"] and done["play_on"] is None:
        lines.append("  nothing was set, so nothing was changed: name a --deck or a setting")
    return "\n".join([*lines, done["caution"]])


def _level(dbfs):
    return "silence" if dbfs is None else f"{dbfs:.1f} dBFS"
