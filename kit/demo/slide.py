"""A slide: what one scene shows. Question first, picture and text side by side, a player where it sounds."""

import base64
import functools
import html
import io
import textwrap
from dataclasses import dataclass, field, replace

from ..player import Player
from ..shown import BLACK, Shown
from .sheet import DOTS_PER_INCH, HEIGHT_PX, TYPE_PT, WIDTH_PX, plain_settings

__all__ = ["PAGE_PX", "QUESTION_PX", "TEXT_PX", "Slide", "picture_html", "scene"]

PAGE_PX = 1280, 720
QUESTION_PX, TEXT_PX = 32, 24
LETTERS = 31  # of the text beside the picture, in a line of the page
PAGE_TEXT = 1.1  # type there, as a part of that of the picture
SOUND_WORDS = "Volume down, then press play: {:.1f} s of sound."
MARGIN_PX = 36


# Shift+Enter brings the next cell into sight, and pushes the question of this one out of it: once the picture is
# there, the page goes back to the question, once.
TO_THE_TOP = "this.onload=null;this.closest('section').scrollIntoView({block:'start'})"


def picture_html(shown):
    """A picture just as many pixels wide as its figure, with its text as `alt`; its section comes to the top."""
    with plain_settings():
        source = base64.b64encode(shown.png()).decode("ascii")
    alt = html.escape(" ".join(shown.text.split()))
    width = round(shown.figure.get_figwidth() * DOTS_PER_INCH)
    return (f'<img alt="{alt}" src="data:image/png;base64,{source}" onload="{TO_THE_TOP}" '
            f'style="flex:none;width:{width}px;max-width:none">')


@dataclass(frozen=True, repr=False)
class Slide:
    """One scene, told.

    Attributes
    ----------
    name, question : str
        Both from `scene`; the question is one line.
    happens : tuple of str
        What is seen, line by line.
    why : str
        One sentence.
    shown : kit.shown.Shown
        The picture with its text equal.
    outcomes : dict of str to bytes
        What was sent and what was read, by whom: from the very run that the picture shows.
    player : kit.player.Player or None

    Notes
    -----
    In a notebook it shows as a picture with the text beside it, in type of 24 pixels or more.
    """

    happens: tuple[str, ...]
    why: str
    shown: Shown
    outcomes: dict = field(default_factory=dict)
    player: Player | None = None
    name: str = ""
    question: str = ""

    @property
    def text(self):
        """str: all that the scene says, for those who do not see it, and the text equal of its picture."""
        sound = [SOUND_WORDS.format(self.player.sound.seconds)] if self.player else []
        return "\n".join((self.question, *self.happens, f"Why? {self.why}", *sound, f"Picture: {self.shown.text}"))

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        lines = "".join(f'<p style="margin:0 0 10px">{html.escape(line)}</p>' for line in self.happens)
        return (
            f'<section aria-label="{html.escape(self.question)}" style="font-size:{TEXT_PX}px;line-height:1.25">'
            f'<p style="font-size:{QUESTION_PX}px;font-weight:bold;margin:0 0 8px">{html.escape(self.question)}</p>'
            '<div style="display:flex;flex-wrap:wrap;gap:20px;align-items:flex-start">'
            f"{picture_html(self.shown)}"
            f'<div style="flex:1 1 300px">{lines}<p style="margin:0 0 10px"><b>Why?</b> {html.escape(self.why)}</p>'
            f"{self._player_html()}</div></div></section>"
        )

    def _player_html(self):
        if self.player is None:
            return ""
        words = SOUND_WORDS.format(self.player.sound.seconds)
        audio = self.player.audio._repr_html_()
        return f'<div role="group" aria-label="{words}"><p style="margin:0 0 4px">{words}</p>{audio}</div>'

    def page(self):
        """The whole scene as one picture, for when there is no notebook to show it.

        Returns
        -------
        bytes
            A PNG file of 1280 × 720 pixels, which holds `text` as its description.
        """
        with plain_settings():
            written = io.BytesIO()
            self._page().savefig(written, format="png", dpi=DOTS_PER_INCH, metadata={"Description": self.text})
        return written.getvalue()

    def _page(self):
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        picture = FigureCanvasAgg(self.shown.figure)
        picture.draw()
        width, height = PAGE_PX
        page = Figure(figsize=(width / DOTS_PER_INCH, height / DOTS_PER_INCH), dpi=DOTS_PER_INCH, facecolor="white")
        below = height - HEIGHT_PX - 4 * MARGIN_PX
        page.figimage(picture.buffer_rgba(), MARGIN_PX, below)
        page.text(MARGIN_PX / width, 1 - MARGIN_PX / height, self.question, va="top", fontsize=1.5 * TYPE_PT,
                  fontweight="bold", color=BLACK)
        lines = [*self.happens, f"Why? {self.why}"]
        words = "\n\n".join(textwrap.fill(line, LETTERS) for line in lines)
        page.text((2 * MARGIN_PX + WIDTH_PX) / width, (below + HEIGHT_PX) / height, words, va="top",
                  fontsize=PAGE_TEXT * TYPE_PT, linespacing=1.2, color=BLACK)
        return page


def scene(question):
    """Make a function that tells a scene draw in plain settings, whatever the notebook has set, under a question."""

    def ask(told):
        @functools.wraps(told)
        def plain():
            with plain_settings():
                return replace(told(), name=told.__name__, question=question)

        plain.question = question
        return plain

    return ask
