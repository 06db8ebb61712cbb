"""``decode``: audio to files and a report."""

import zlib
from pathlib import Path

from ..delivering import check_folder, deliver
from ..errors import SettingError
from ..found import DAMAGED, UNCHECKED, ranges
from ..known import COMPARED, FORMATS
from ..sound import Sound
from ..tape import decode
from .talking import complain, duration, number, only_our_own_words, progress, say, say_json

__all__ = ["add_to", "run"]

ALL_WELL, SOMETHING_AMISS = 0, 1
SILENT_PEAK = 2.0**-12

EXAMPLES = """
examples:
  python -m kit decode tape.wav -o recovered/
  python -m kit decode tape-1.wav tape-2.wav -o recovered/      (two sides of one tape)
  python -m kit decode tape.wav --list

Files that are there already are never replaced: a new one gets " (2)" after its name.

exit status: 0 all recovered and checked; 1 something is damaged or missing (what there is was
delivered); 2 the recording or the call is wrong (one line says what)
"""


def add_to(subparsers):
    """Add the parser of ``decode``."""
    parser = subparsers.add_parser(
        "decode",
        help="audio to files and a report",
        epilog=EXAMPLES,
        description="Read the files off recordings of a tape, and report on them.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("tapes", nargs="+", metavar="TAPE", help="a recording; several are parts of one tape")
    parser.add_argument("-o", "--output", metavar="FOLDER", help="where the files go; made if it is missing")
    parser.add_argument(
        "--format",
        default="auto",
        help=f"auto (all of them), or one of: {', '.join([*FORMATS, *COMPARED])} (auto)",
    )
    parser.add_argument(
        "--patient",
        action="store_true",
        help="leave nothing untried: slower, for worn heads and odd sides; hiss is read patiently without it, too",
    )
    parser.add_argument("--list", action="store_true", help="report only, write nothing")
    parser.add_argument("--events", action="store_true", help="also say what was heard when, in seconds")
    parser.add_argument("--json", action="store_true", help="report as JSON")


def run(args):
    """Decode, write the files and report; the exit status."""
    with only_our_own_words():
        sounds = [Sound.read(path) for path in args.tapes]  # so far only what is said at their beginning
    if not args.output and not args.list:
        raise SettingError("decode must have a folder to write to, got none: add -o FOLDER, or --list")
    if not args.list:
        check_folder(Path(args.output))
    with only_our_own_words(), progress("reading") as told:
        reading = decode(sounds, format=args.format, patient=args.patient, progress=told)
        silent = not reading.blocks and max(sound.peak for sound in sounds) < SILENT_PEAK
    paths = [None] * len(reading.files) if args.list else deliver(reading.files, Path(args.output))
    status = ALL_WELL if _all_well(reading) else SOMETHING_AMISS
    if args.json:
        say_json(_as_json(reading, paths, sounds, status))
    elif reading.blocks:
        say("\n".join(_in_words(reading, paths, args)))
    if not reading.blocks:
        complain(_nothing_found(reading, silent, args))
    return status


def _all_well(reading):
    """Whether there are files, none with anything wrong, and no damage beside them."""
    damaged = any(block.verdict == DAMAGED for block in reading.left_over)
    return bool(reading.files) and not damaged and all(_is_well(file) for file in reading.files)


def _is_well(file):
    return file.complete or (file.verdict == UNCHECKED and not file.doubtful)


def _nothing_found(reading, silent, args):
    """One line on what to try."""
    heard = f"nothing was found in {duration(reading.seconds)} of sound"
    if silent:
        return f"{heard}, which is silent: check the cable, the recording level and the side of the tape"
    wider = "" if args.format == "auto" else "--format auto, "
    return (
        f"{heard}: try {wider}another playback level, the other side of the tape, "
        "or a cable in place of a microphone"
    )


# -- in words --------------------------------------------------------------------------------------------


def _in_words(reading, paths, args):
    if args.events:
        yield from map(str, reading.events)
    if reading.files or reading.left_over:
        yield reading.report()
    for file, path in zip(reading.files, paths, strict=True):
        yield from _delivery(file, path)
    yield from map(_verdict, (file for file in reading.files if not file.complete))
    yield f"{_counts(reading)}{'; nothing written' if args.list else ''}"


def _counts(reading):
    well, beside = sum(map(_is_well, reading.files)), sum(b.verdict == DAMAGED for b in reading.left_over)
    damaged = len(reading.files) - well
    return (
        f"{well} of {len(reading.files)} files whole"
        + f", {damaged} DAMAGED" * bool(damaged)
        + f", {beside} DAMAGED block{'s' * (beside > 1)} that belong{'s' * (beside == 1)} to no file" * bool(beside)
    )


def _delivery(file, path):
    if file.said_name and file.said_name != file.name:
        yield f"  {file.name}: the tape says {file.said_name!r}"
    if path is not None:
        yield f"  {file.name}: written as {path}"


def _verdict(file):
    if _is_well(file):
        return f"unchecked: {file.name}: its format has no check; nothing looks wrong or vouches for it"
    if not file.blocks and file.length:
        return f"DAMAGED: {file.name}: only its header was read, none of its {file.length} bytes; not written"
    doubtful = sum(stop - start for start, stop in file.doubtful)
    of = f" of {file.length}" if file.length is not None else ""
    why = f"{doubtful}{of} bytes in doubt or lost" if doubtful else file.note or "nothing vouches for it"
    return f"DAMAGED: {file.name}: {why}"


# -- as JSON ---------------------------------------------------------------------------------------------


def _as_json(reading, paths, sounds, status):
    return {
        "verdict": reading.verdict,
        "complete": reading.complete,
        "status": status,
        "seconds": number(reading.seconds),
        "speed": number(reading.speed),
        "recordings": [
            {"path": str(s.path), "seconds": number(s.seconds), "rate_hz": s.rate, "channels": s.channels}
            for s in sounds
        ],
        "files": [_file(reading, k, path) for k, path in enumerate(paths)],
        "blocks": [_block(block) for block in reading.blocks],
        "left_over": [_block(block) for block in reading.left_over],
        "events": [
            {"seconds": number(e.seconds), "recording": e.recording, "what": e.what, "text": e.text}
            for e in reading.events
        ],
    }


def _file(reading, index, path):
    file = reading.files[index]
    return {
        "name": file.name,
        "said_name": file.said_name,
        "path": path and str(path),
        "bytes": len(file.data),
        "length": file.length,
        "verdict": file.verdict,
        "complete": file.complete,
        "doubtful": [_doubtful(reading, index, *span) for span in file.doubtful],
        "crc32": f"{zlib.crc32(file.data):08x}",
        "content": file.content,
        "address": file.address,
        "note": file.note,
    }


def _doubtful(reading, index, start, stop):
    """A range of bytes in doubt, stop not included, and where it lies; null where it is not on the tape."""
    span = {"start": start, "stop": stop, "recording": None, "start_s": None, "stop_s": None}
    held = len(reading.files[index].data)
    if start < held:
        first, last = reading.where(start, index), reading.where(min(stop, held) - 1, index)
        times = (first.start_s, first.stop_s, last.start_s, last.stop_s)
        span.update(recording=first.recording, start_s=number(min(times)), stop_s=number(max(times)))
    return span


def _block(block):
    header, part = block.header, block.part
    start_s, stop_s = block.span_s
    return {
        "format": block.format.name,
        "kind": block.kind,
        "verdict": block.verdict,
        "bytes": len(block.content),
        "doubtful": [{"start": start, "stop": stop} for start, stop in ranges(block.doubtful)],
        "recording": block.recording,
        "side": block.side,
        "leader_s": number(block.leader_s),
        "start_s": number(start_s),
        "stop_s": number(stop_s),
        "speed": number(block.speed),
        "backwards": block.backwards,
        "says_name": header and header.name,
        "tag": part and f"{part.tag:04x}",
        "number": part and part.number,
        "note": block.note,
    }
