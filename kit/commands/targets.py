"""Files that commands are asked to write: what can be refused is refused before the work."""

import os

from ..errors import SettingError
from ..filewriting import FILE_TYPES

__all__ = ["check_target", "refuse_existing"]


def check_target(target, what):
    """Refuse before the work what could not be written after it.

    Parameters
    ----------
    target : Path
    what : str
        Its name in --help.

    Raises
    ------
    SettingError
        Its ending is of no known type, or its folder is not there or not writable.
    """
    if target.suffix.lower() not in FILE_TYPES:
        raise SettingError(
            f"{what} must end in one of {' '.join(FILE_TYPES)}, got {target.name!r}: rename it"
        )
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
