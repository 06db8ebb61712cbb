"""Files that commands are asked to write: what can be refused is refused before the work."""

import os
from contextlib import suppress

from ..errors import SettingError
from ..filewriting import FILE_TYPES

__all__ = ["check_target", "refuse_existing", "write_files"]


def check_target(target, what, types=FILE_TYPES):
    """Refuse before the work what could not be written after it.

    Parameters
    ----------
    target : Path
    what : str
        Its name in --help.
    types : iterable of str
        Endings it may have.

    Raises
    ------
    SettingError
        Its ending is of no known type, it is a folder, or its folder is not there or not writable.
    """
    if target.suffix.lower() not in types:
        raise SettingError(
            f"{what} must end in one of {' '.join(types)}, got {target.name!r}: rename it"
        )
    if target.is_dir():
        raise SettingError(f"{what} must be a file, got the folder {str(target)!r}: take another name")
    if not target.parent.is_dir():
        raise SettingError(f"the folder of {what} must exist, got {str(target.parent)!r}: make it first")
    if not os.access(target.parent, os.W_OK):
        raise SettingError(
            f"the folder of {what} must be yours to write in, got {str(target.parent)!r}: take another"
        )


def refuse_existing(groups, force, what):
    """Refuse to replace files.

    Parameters
    ----------
    groups : iterable of iterable of (Path or None)
    force : bool
        Replace them all the same.
    what : str

    Raises
    ------
    SettingError
        One of them is there already.
    """
    for path in (path for group in groups for path in group if path is not None):
        if os.path.lexists(path) and not force:
            raise SettingError(
                f"{what} must be a new file, but {str(path)!r} is there already: take another "
                "name, or --force to replace it"
            )


def write_files(files, force):
    """Write files, all of them or none.

    Parameters
    ----------
    files : dict
        `Path` → bytes.
    force : bool
        Replace what is there; if not, a file that came to be there since it was looked is left alone.

    Raises
    ------
    OSError
    """
    written = []
    try:
        for path, data in files.items():
            with path.open("wb" if force else "xb") as file:
                written.append(path)
                file.write(data)
    except OSError:
        for path in written:
            with suppress(OSError):
                path.unlink()
        raise
