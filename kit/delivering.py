"""Put files into a folder: never outside it, never over what is there, and whole or not at all."""

import os
from contextlib import suppress

from .errors import SettingError, SoundError
from .names import LONGEST_BYTES, free_name, safe_name

__all__ = ["check_folder", "deliver", "deliver_sound"]


def check_folder(folder):
    """Refuse, before the work, a folder that could not be written to after it.

    Parameters
    ----------
    folder : pathlib.Path
        It may be missing: then the nearest folder above it counts.

    Raises
    ------
    SettingError
    """
    nearest = next(place for place in (folder, *folder.absolute().parents) if os.path.lexists(place))
    if not nearest.is_dir():
        raise SettingError(f"FOLDER must be a folder or new, but {str(nearest)!r} is none: choose another")
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise SettingError(f"FOLDER must be yours to write in, got {str(nearest)!r}: choose another")


def deliver(files, folder):
    """Write files into a folder, each under its own name or that name with a number.

    Parameters
    ----------
    files : list of ReadFile
    folder : pathlib.Path
        Made if missing.

    Returns
    -------
    list of pathlib.Path or None
        Where each file went; None where nothing of it but a header was read.

    Raises
    ------
    SoundError
        The disk is full or does not let us; the file at which it happened is not left behind.
    """
    paths = []
    try:
        if any(_has_something(file) for file in files):
            folder.mkdir(parents=True, exist_ok=True)
        taken = _names_in(folder)
        for file in files:
            path = _write_new(folder, file, taken) if _has_something(file) else None
            paths.append(path)
    except (OSError, ValueError) as error:
        written = sum(path is not None for path in paths)
        reason = getattr(error, "strerror", None) or error
        raise SoundError(
            f"writing into {str(folder)!r} failed ({reason}) after {written} "
            f"of {len(files)} files: make room or choose another folder"
        ) from None
    return paths


def _names_in(folder):
    """Names that are taken, in one spelling; none where we may not look: then writing finds out."""
    with suppress(PermissionError, FileNotFoundError):
        return {name.casefold() for name in os.listdir(folder)}
    return set()


def _has_something(file):
    """Whether any byte was read, or the file is known to have none."""
    return bool(file.blocks) or file.length == 0


def deliver_sound(sound, folder, name, bits="float"):
    """Write a sound into a folder as a WAV file, under a safe name that is free there.

    Parameters
    ----------
    sound : Sound
    folder : pathlib.Path
        Made if missing.
    name : str
        Anything; ".wav" is added if it is not there.
    bits : {8, 16, 24, "float"}
        As in `Sound.write`.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    SoundError, SettingError
        The disk is full or does not let us, or the sound cannot be written so; nothing is left behind.
    """
    stem = safe_name(name[:-4] if name.lower().endswith(".wav") else name, "recording")
    stem = stem.encode()[: LONGEST_BYTES - 4].decode(errors="ignore")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path = _new_file(folder, f"{stem}.wav", _names_in(folder))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SoundError(
            f"writing into {str(folder)!r} failed ({reason}): make room or choose another folder"
        ) from None
    try:
        return sound.write(path, bits)
    except BaseException:
        with suppress(OSError):
            path.unlink()
        raise


def _new_file(folder, name, taken):
    """An empty file under the first free name. Making it fails where anything is, even a link leading away."""
    while True:
        name = free_name(name, taken)
        taken.add(name.casefold())
        try:
            (folder / name).open("xb").close()
        except FileExistsError:
            continue
        return folder / name


def _write_new(folder, file, taken):
    path = _new_file(folder, safe_name(file.name), taken)
    try:
        path.write_bytes(file.data)
    except BaseException:
        with suppress(OSError):
            path.unlink()
        raise
    return path
