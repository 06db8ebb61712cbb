"""Run one trial: a row of the table."""

import time
from collections import Counter

from ..found import CHECKED, DAMAGED, MENDED
from .trial import Trial

__all__ = ["COLUMNS", "error_row", "one"]

COLUMNS = {
    "key": str, "format": str, "deck": str, "seed": int, "speed": float, "size": int, "message": str,
    "lead_in_s": float, "rate": int, "channels": int, "generations": int, "listen": str, "patient": bool,
    "counter": str,
    "complete": bool, "verdict": str, "right_share": float, "wrong": bool, "blocks": int, "blocks_checked": int,
    "blocks_mended": int, "blocks_damaged": int, "sound_s": float, "wall_s": float, "how": str, "error": str,
    "trial": str,
}
"""Columns of the table and what they hold: first what identifies a trial, then what came of it.

complete
    The reading says that it has all there is.
verdict
    The worst of any file: checked, mended, unchecked, damaged; empty after an error.
right_share
    Part of the message's bytes that came out right and in their place, doubtful ones too; 0 to 1.
wrong
    A file was called complete whose bytes are not those of the message. Must never happen.
blocks, blocks_checked, blocks_damaged
    Blocks heard, and those whose check agreed or did not as they were heard.
blocks_mended
    Blocks made good by copies or parity.
sound_s, wall_s
    How long the recording plays; how long the trial took.
how
    Which formats, sides and aids it was read with.
error
    Why there was nothing to read, in one line; else empty.
trial
    All settings as JSON, for `Trial.from_json`.
"""


def one(trial):
    """Run a trial.

    Parameters
    ----------
    trial : Trial

    Returns
    -------
    dict
        A row with all `COLUMNS`; an exception becomes a row with an `error`.
    """
    start = time.perf_counter()
    try:
        row = _identity(trial) | _results(trial)
    except Exception as error:  # whatever one trial does must not end the others
        row = error_row(trial, error)
    row["wall_s"] = time.perf_counter() - start
    return row


def error_row(trial, error):
    """The row of a trial that an exception ended."""
    said = " ".join(str(error).split())
    text = said if said and type(error).__module__.startswith("kit.") else f"{type(error).__name__}: {said}"
    return _identity(trial) | {name: kind() for name, kind in COLUMNS.items() if name in RESULTS} | {"error": text}


def _identity(trial):
    own = {name: getattr(trial, name) for name in COLUMNS if name in Trial.__dataclass_fields__}
    counter = "" if trial.counter is None else repr(trial.counter)
    named = {"key": trial.key, "format": trial.format.name, "deck": trial.label, "counter": counter}
    row = {**own, **named, "trial": trial.to_json()}
    return {name: row.get(name) for name in COLUMNS}


RESULTS = [name for name in COLUMNS if name not in Trial.__dataclass_fields__ and name not in ("key", "trial")]


def _results(trial):
    data, sound = trial.data(), trial.play()
    reading = trial.read(sound)
    verdicts = Counter(block.verdict for block in reading.blocks)
    used = {id(block): block for file in reading.files for block in file.blocks}
    return {
        "complete": reading.complete,
        "verdict": reading.verdict,
        "right_share": max((_right_share(file.data, data) for file in reading.files), default=0.0),
        "wrong": any(file.complete and file.data != data for file in reading.files),
        "blocks": len(reading.blocks),
        "blocks_checked": verdicts[CHECKED],
        "blocks_mended": sum(block.verdict == MENDED for block in used.values()),
        "blocks_damaged": verdicts[DAMAGED],
        "sound_s": sound.seconds,
        "how": _how(reading),
        "error": "",
    }


def _right_share(got, sent):
    return sum(a == b for a, b in zip(got, sent, strict=False)) / len(sent)


def _how(reading):
    """Formats, sides, and what it took, each once."""
    found = [block.format.name for block in reading.blocks]
    found += [block.side for block in reading.blocks if block.side != "mono"]
    found += [block.note for block in reading.blocks] + [file.note for file in reading.files]
    found += [block.note for file in reading.files for block in file.blocks]
    return "; ".join(dict.fromkeys(filter(None, found)))
