"""``encode``: files to audio."""

import warnings
from pathlib import Path

from ..blocks import CONTENTS, fit_name
from ..errors import SettingError
from ..known import COMPARED, FORMATS, SPEEDS, find_format, find_speed
from ..player import CAUTION, quiet, quiet_path
from ..tape import TapeFile, encode_sides, playing_seconds, sides_needed
from .arguments import add_target, add_target_settings, address, real, whole
from .talking import complain, duration, number, progress, say, say_json
from .targets import check_target, refuse_existing

__all__ = ["add_to", "run"]

CASSETTES = {"C60": 60, "C90": 90}  # minutes on both sides; common practice
MOST_MEMORY_BYTES = 4e9  # a tape is made in memory
BYTES_PER_SAMPLE = 8  # float32, twice while the pieces are joined

EXAMPLES = (
    """
examples:
  python -m kit encode log.txt picture.pgm pages.zip -o tape.wav
  python -m kit encode station/ -o tape.wav --speed double --copies 2
  python -m kit encode log.txt -o tape.flac --address 0x4000 --content code
  python -m kit encode station/ -o tape.wav --side-minutes 30      (tape-1.wav, tape-2.wav, ...)

exit status: 0 done; 2 the files or the call are wrong (one line says what)
"""
    + CAUTION.capitalize()
    + "."
)


def add_to(subparsers):
    """Add the parser of ``encode``."""
    parser = subparsers.add_parser(
        "encode",
        help="files to audio",
        epilog=EXAMPLES,
        description="Put files on a tape: one audio file to play to a recorder.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("files", nargs="+", metavar="FILE", help="a file, or a folder whose files are taken")
    add_target(parser)
    _add_tape_settings(parser)
    _add_file_settings(parser)
    add_target_settings(parser, ("8", "16", "24", "float"))


def _add_tape_settings(parser):
    names = ", ".join(f"{name} ({value:g})" for name, value in SPEEDS.items())
    parser.add_argument("--format", default="house", help=f"one of: {', '.join([*FORMATS, *COMPARED])} (house)")
    parser.add_argument("--speed", default="ordinary", help=f"{names} or a number from 0.1 to 16 (ordinary)")
    parser.add_argument(
        "--copies",
        type=whole("copies"),
        metavar="N",
        help="write each block N times, 1 to 9 (as the format says; house: 1)",
    )
    parser.add_argument(
        "--block-bytes",
        type=whole("bytes"),
        metavar="BYTES",
        help="data bytes in a block, 16 to 4080 (as the format says; house: 1024)",
    )
    parser.add_argument(
        "--lead-in",
        type=real("seconds"),
        metavar="S",
        help="leader before the first block, 0 to 600 seconds (as the format says; house: 5)",
    )
    parser.add_argument(
        "--side-minutes",
        type=real("minutes"),
        metavar="MIN",
        help="split into numbered files that play MIN minutes at most: TAPE-1, TAPE-2, ...",
    )


def _add_file_settings(parser):
    parser.add_argument("--name", help="name of a single file on the tape (its own)")
    parser.add_argument("--content", choices=CONTENTS, help="what the files hold (follows from the name)")
    parser.add_argument(
        "--address",
        type=address,
        default=0,
        metavar="A",
        help="start address noted with the files, decimal or 0x... (0)",
    )


def run(args):
    """Encode, and say what was made; the exit status."""
    target = Path(args.output)
    check_target(target, "TAPE")
    if args.side_minutes is None:
        refuse_existing(_outputs(target, None, args), args.force, "TAPE")
    files = _tape_files(args, target)
    sounds, notes = _encoded(files, args)
    tapes = _outputs(target, None if args.side_minutes is None else len(sounds), args)
    refuse_existing(tapes, args.force, "TAPE")
    _write(sounds, tapes, args)
    for note in notes:
        complain(note)
    made = _summary(files, sounds, tapes, notes, args)
    say_json(made) if args.json else say(_in_words(made))
    return 0


def _outputs(target, sides, args):
    """Pairs of a tape to write and its listening copy, or None: one pair, or one for each side."""
    if sides is None:
        tapes = [target]
    else:
        digits = len(str(sides))  # so that a list by name is a list by number
        tapes = [target.with_stem(f"{target.stem}-{k + 1:0{digits}}") for k in range(sides)]
    return [(t, quiet_path(t) if args.listening_copy else None) for t in tapes]


def _tape_files(args, target):
    if "" in args.files:
        raise SettingError("FILE must be a file or a folder, got an empty name: give the name")
    paths = [path for name in args.files for path in _gathered(Path(name), target)]
    _refuse_too_long(paths, args)
    return [TapeFile.of(path, args.name, args.content, args.address) for path in paths]


def _gathered(path, target):
    """The path itself, or the files in a folder: by name, without hidden ones and the tape itself."""
    if path.is_dir():
        found = sorted(p for p in path.iterdir() if p.is_file() and not p.name.startswith("."))
        found = [p for p in found if not (target.exists() and p.samefile(target))]
        if not found:
            raise SettingError(f"a folder must hold files, got {str(path)!r} with none: name the files")
        complain(f"from the folder {str(path)!r}: {', '.join(p.name for p in found)}")
        return found
    if path.exists() and not path.is_file():
        raise SettingError(
            f"FILE must be a file or a folder, got {str(path)!r}, which is neither: copy it to a file first"
        )
    return [path]


def _refuse_too_long(paths, args):
    """A tape is made in memory: a film put in by mistake must not take the whole computer."""
    format, speed = find_format(args.format), find_speed(args.speed)
    size = sum(path.stat().st_size for path in paths if path.is_file())
    copies = min(9, max(1, args.copies or format.copies))
    seconds = size * copies * format.frame.bits_per_byte / (format.bits_per_second * speed)
    most_s = MOST_MEMORY_BYTES / (BYTES_PER_SAMPLE * min(192_000, max(1, args.rate)))
    if seconds > most_s:
        raise SettingError(
            f"a tape may play {duration(most_s)} at {args.rate} Hz, as it is made in memory, "
            f"got {size} bytes, about {duration(seconds)}: take fewer files or more --speed"
        )


def _encoded(files, args):
    """The sounds, and the library's warnings as notes."""
    with warnings.catch_warnings(record=True) as caught, progress("making the tape") as told:
        warnings.simplefilter("always")
        sounds = encode_sides(
            files,
            name=args.name,
            format=args.format,
            speed=args.speed,
            rate=args.rate,
            copies=args.copies,
            block_bytes=args.block_bytes,
            lead_in_s=args.lead_in,
            side_minutes=args.side_minutes,
            progress=told,
        )
    return sounds, [str(warning.message) for warning in caught]


def _write(sounds, tapes, args):
    bits = args.bits if args.bits == "float" else int(args.bits)
    for sound, (path, quiet_file) in zip(sounds, tapes, strict=True):
        sound.write(path, bits)
        if quiet_file is not None:
            quiet(sound).write(quiet_file, bits)


def _summary(files, sounds, tapes, notes, args):
    """All that is said of the tape, as JSON would have it."""
    return {
        "tapes": [
            {"path": str(path), "seconds": number(sound.seconds), "listening_copy": copy and str(copy)}
            for sound, (path, copy) in zip(sounds, tapes, strict=True)
        ],
        "seconds": number(playing_seconds(sounds)),
        "sides": {name: _sides(sounds, minutes) for name, minutes in CASSETTES.items()},
        "format": args.format,
        "speed": find_speed(args.speed),
        "rate_hz": args.rate,
        "bits": args.bits,
        "files": _named(files),
        "notes": notes,
        "caution": CAUTION,
    }


def _sides(sounds, cassette_minutes):
    return sum(sides_needed(sound.seconds, cassette_minutes) for sound in sounds)


def _named(files):
    """The files, with the names they got on the tape."""
    taken, named = set(), []
    for file in files:
        taken.add(name := fit_name(file.name, taken))
        named.append(
            {
                "name": name,
                "own_name": file.name,
                "bytes": len(file.data),
                "content": file.content,
                "address": file.address,
            }
        )
    return named


def _in_words(made):
    lines = [f"{tape['path']}: plays {duration(tape['seconds'])}" for tape in made["tapes"]]
    lines += [f"{t['listening_copy']}: quiet, for listening" for t in made["tapes"] if t["listening_copy"]]
    lines += [f"  {file['name']}: {file['bytes']} bytes, {file['content']}" for file in made["files"]]
    sides = [f"{count} side{'s' * (count > 1)} of a {name}" for name, count in made["sides"].items()]
    lines.append(f"in all {duration(made['seconds'])}: {' or '.join(sides)}")
    if made["sides"]["C60"] > len(made["tapes"]):
        lines.append("too long for a side of 30 minutes: --side-minutes splits it")
    return "\n".join([*lines, made["caution"]])
