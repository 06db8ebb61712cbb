"""The control beside a question: native radio buttons or a text field, with a button that saves."""

from pathlib import Path

import anywidget
import traitlets

__all__ = ["Control"]

HERE = Path(__file__).parent
LONGEST = 2_000  # characters of an answer in words


class Control(anywidget.AnyWidget):
    """What goes between Python and the page; see `control.js` for the other end.

    The page sends ``{"kind": "save", "value": …}``; Python answers in `status`.
    """

    _esm = (HERE / "control.js").read_text("utf-8")
    _css = (HERE / "control.css").read_text("utf-8")

    question = traitlets.Unicode().tag(sync=True)
    options = traitlets.List().tag(sync=True)
    button = traitlets.Unicode().tag(sync=True)
    value = traitlets.Unicode().tag(sync=True)
    status = traitlets.Unicode().tag(sync=True)

    @classmethod
    def of(cls, question):
        """The control of a question: see `kit.exercises.shows.Asked`.

        Parameters
        ----------
        question : dict

        Returns
        -------
        Control
        """
        names = ("question", "button", "value", "status")
        made = cls(options=[list(pair) for pair in question["options"]], **{name: question[name] for name in names})
        made._save = question["save"]
        made.on_msg(made._told)
        return made

    def _told(self, _, message, buffers):
        if not isinstance(message, dict) or message.get("kind") != "save":
            return
        value = message.get("value")
        if isinstance(value, str):
            self.status = ""  # said again, should it be the same
            self.status = self._save(value[:LONGEST]).text
