"""A picture, and a sound where there is one, for every scene: for when the notebook cannot be used.

They are kept in `media`, and made anew by ``python media/make.py``. A picture shows the whole scene, question and
text included, and holds its text as description; a sound is just what the scene's player plays.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..errors import KitError
from ..sound import Sound
from .scenes import SCENES

__all__ = ["Fallback", "fallback", "folder", "write_fallbacks"]


@dataclass(frozen=True)
class Fallback:
    """Where the files of a scene are, or would be.

    Attributes
    ----------
    picture : pathlib.Path
    sound : pathlib.Path
        Where the sound is, if the scene sounds.
    """

    picture: Path
    sound: Path

    def agrees(self, slide):
        """Whether the files say and sound just as a slide does.

        Returns
        -------
        bool
            False, too, if one is missing or cannot be read.
        """
        try:
            return _description(self.picture) == slide.text and _sounds_alike(self.sound, slide.player)
        except (OSError, ValueError, KitError):
            return False

    def write(self, slide):
        """Write a slide's page and what it plays; files that are there are replaced.

        Returns
        -------
        list of pathlib.Path
        """
        self.picture.write_bytes(slide.page())
        return [self.picture] + ([slide.player.sound.write(self.sound)] if slide.player else [])


def folder():
    """The folder the files are kept in: `media` beside the kit, or beside the notebooks.

    Returns
    -------
    pathlib.Path
        Of several the first that has a picture; if none has, the last.
    """
    places = [Path(__file__).parents[2] / "media", Path("../media"), Path("media")]
    return next((place for place in places if any(place.glob("demo-*.png"))), places[-1])


def fallback(name, media=None):
    """Where the files of a scene are.

    Parameters
    ----------
    name : str
        One of `SCENES`.
    media : path-like, optional
        In place of `folder()`.

    Returns
    -------
    Fallback

    Examples
    --------
    >>> fallback("clock", "media").picture.name
    'demo-5-clock.png'
    """
    media = folder() if media is None else Path(media)
    stem = f"demo-{list(SCENES).index(name) + 1}-{name}"
    return Fallback(media / f"{stem}.png", media / f"{stem}.flac")


def write_fallbacks(media):
    """Write the files of every scene into a folder; those that are there are replaced.

    Returns
    -------
    list of pathlib.Path
    """
    return [path for name, told in SCENES.items() for path in fallback(name, media).write(told())]


def _description(path):
    """What a PNG file says of itself."""
    from PIL import Image

    with Image.open(path) as picture:
        return picture.info.get("Description")


def _sounds_alike(path, player):
    """Whether a file of 16 bits holds what a player plays."""
    if player is None:
        return not path.exists()
    kept = Sound.read(path)
    same = kept.rate == player.sound.rate and kept.samples.shape == player.sound.samples.shape
    return same and bool(np.abs(kept.samples - player.sound.samples).max() <= 0.5001 / 32768)
