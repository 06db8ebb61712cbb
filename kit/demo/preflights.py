"""Before anybody has come: is everything there, is each scene quick, and where does the sound go?"""

import html
import time
from dataclasses import dataclass

import numpy as np

from ..player import Player, play
from ..shown import BLUE, Shown
from ..sound import Sound
from .fallbacks import fallback
from .scenes import SCENES
from .sheet import plain_settings, sheet
from .slide import QUESTION_PX, TEXT_PX, picture_html
from .strips import LINE, quoted, written

__all__ = ["GOAL_S", "Opening", "Preflight", "Row", "preflight", "reset"]

GOAL_S = 2.0
TITLE = "Data on cassette, as sound"
BANNER_LETTERS, BANNER_PX = 1, (1040, 130)
TONE_HZ, TONE_S, RATE = 440.0, 1.0, 44100
CAUTION = "Volume down first, headphones off the ears; then press play, and turn up until the last row hears it."
ROUTE = ("No tone? Look which output the computer uses, then the cable, then the loudspeaker's own volume. "
         "One loudspeaker for the room; never join its output to an input.")
IN_NEED = ("If the kernel dies: Kernel, Restart; run the cell with demo.reset(); go on with any scene. "
           "Or open the picture of the scene.")


@dataclass(frozen=True)
class Row:
    """How one scene did.

    Attributes
    ----------
    name : str
    seconds : float
        Of processor time, from the call to what the page shows.
    kept : bool
        Whether its fallback is there, and says and sounds the same.
    """

    name: str
    seconds: float
    kept: bool

    @property
    def ready(self):
        """bool: quick enough, and with its fallback."""
        return self.seconds < GOAL_S and self.kept

    def __str__(self):
        quick = f"{self.seconds:.1f} s" + ("" if self.seconds < GOAL_S else f", which is over {GOAL_S:g} s")
        return f"{self.name}: {quick}; fallback {'ready' if self.kept else 'missing or old: python media/make.py'}"


@dataclass(frozen=True, repr=False)
class Preflight:
    """What was found.

    Attributes
    ----------
    rows : tuple of Row
    player : kit.player.Player
        A soft tone, to find out where sound comes out.
    """

    rows: tuple[Row, ...]
    player: Player

    @property
    def ready(self):
        """bool: whether every scene is."""
        return all(row.ready for row in self.rows)

    @property
    def text(self):
        """str: a verdict, then a line for each scene, then the sound."""
        late = [row.name for row in self.rows if not row.ready]
        verdict = "Everything is ready." if self.ready else f"Look at: {', '.join(late)}."
        return "\n".join((verdict, *map(str, self.rows), CAUTION, ROUTE, IN_NEED))

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        head, *lines = self.text.splitlines()
        return _page(head, lines, self.player.audio._repr_html_())


@dataclass(frozen=True, repr=False)
class Opening:
    """The opening page: what the scenes ask, and a wave.

    Attributes
    ----------
    text : str
        The title and the questions.
    shown : kit.shown.Shown
    """

    text: str
    shown: Shown

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        head, *lines = self.text.splitlines()
        return _page(head, lines, picture_html(self.shown))


def _page(head, lines, last):
    """Lines in large type under a head; text as it is, never as markup."""
    body = "".join(f'<p style="margin:0 0 6px">{html.escape(line)}</p>' for line in lines)
    return (f'<section aria-label="{html.escape(head)}" style="font-size:{TEXT_PX}px;line-height:1.25">'
            f'<p style="font-size:{QUESTION_PX}px;font-weight:bold;margin:0 0 10px">{html.escape(head)}</p>'
            f"{body}{last}</section>")


def reset():
    """Begin anew, in under 2 s: the opening page, whose wave is drawn so that the first scene need not wait for it.

    Nothing need be forgotten, as no scene remembers anything: each computes all it shows whenever it is run.

    Returns
    -------
    Opening
    """
    questions = [f"{number}. {told.question}" for number, told in enumerate(SCENES.values(), 1)]
    return Opening("\n".join((TITLE, *questions)), _banner())


def _banner():
    """The wave of the first letter of a log, as a picture for the opening page."""
    strip = written(LINE[:BANNER_LETTERS], leader_s=0.05)
    sound = strip.sound.part(strip.data_s, strip.borders_s[-1])
    with plain_settings():
        figure, (axes,) = sheet(width_px=BANNER_PX[0], height_px=BANNER_PX[1])
        axes.plot(sound.samples, color=BLUE, linewidth=2.5)
        axes.set_axis_off()
    return Shown(figure, f"The wave of the letter {quoted(LINE[:BANNER_LETTERS])}: short cycles and long ones.")


def preflight(media=None):
    """Run every scene once, and offer a soft tone; takes a few seconds, so not in front of people.

    Parameters
    ----------
    media : path-like, optional
        Where the fallback files are, if not in the usual place.

    Returns
    -------
    Preflight
    """
    return Preflight(tuple(_row(name, told, media) for name, told in SCENES.items()), play(_tone()))


def _row(name, told, media):
    start = time.process_time()
    slide = told()
    slide._repr_html_()
    seconds = time.process_time() - start
    return Row(name, seconds, fallback(name, media).agrees(slide))


def _tone():
    times_s = np.arange(round(TONE_S * RATE)) / RATE
    return Sound(0.1 * np.sin(2 * np.pi * TONE_HZ * times_s), RATE)
