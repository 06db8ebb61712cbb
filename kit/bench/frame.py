"""The frame: a model in a notebook. It links, and does nothing else; what is drawn and said comes from the model."""

import html
import inspect
from pathlib import Path

import anywidget
import traitlets

from ..player import play
from ..shown import Shown
from .fields import fields_of
from .still import still
from .worker import Worker

__all__ = ["Bench", "Frame"]

HERE = Path(__file__).parent
SCRIPT = "\n".join((HERE / name).read_text("utf-8") for name in ("scope.js", "tiles.js", "controls.js", "frame.js"))
STYLE = (HERE / "frame.css").read_text("utf-8")
LISTEN_S = 3.0


class Frame(anywidget.AnyWidget):
    """What goes between Python and the page; see `frame.js` for the other end.

    The page sends `values` (positions of the controls, by name) with the number of the `gesture`, and messages
    ``{"kind": "reset" | "listen" | "pick" | "stop"}``. Python sends everything else, and counts up `seq` when it
    is whole.
    """

    _esm = SCRIPT
    _css = STYLE

    name = traitlets.Unicode().tag(sync=True)
    title = traitlets.Unicode().tag(sync=True)
    question = traitlets.Unicode().tag(sync=True)
    fields = traitlets.List().tag(sync=True)
    sounds = traitlets.Bool().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    gesture = traitlets.Int().tag(sync=True)
    plan = traitlets.Dict().tag(sync=True)
    numbers = traitlets.Bytes().tag(sync=True)
    png = traitlets.Bytes().tag(sync=True)
    alt = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    figures = traitlets.List().tag(sync=True)
    changed = traitlets.Unicode().tag(sync=True)
    wav = traitlets.Bytes().tag(sync=True)
    heard = traitlets.Unicode().tag(sync=True)
    progress = traitlets.Float(1.0).tag(sync=True)
    seq = traitlets.Int().tag(sync=True)


class Bench:
    """An experiment to touch: what a notebook shows of a model.

    Parameters
    ----------
    model : kit.bench.model.Model

    Attributes
    ----------
    model : Model
    frame : Frame
        The widget.

    Notes
    -----
    In a notebook it is the widget; where widgets cannot run, a still picture with its text. A page made by
    nbconvert asks the network for widgets, and shows nothing without it; so the still picture is put beside
    the widget, whose style hides it once it runs.
    """

    def __init__(self, model):
        self.model = model
        experiment = model.experiment
        self.frame = Frame(
            name=experiment.name,
            title=experiment.title,
            question=experiment.question,
            fields=[_plan_of(field) for field in fields_of(model.state)],
            sounds=experiment.sound is not None,
            values=_positions(model.state),
        )
        self._worker = Worker(model.stop) if inspect.isgeneratorfunction(experiment.find) else None
        self._show()
        self.frame.observe(self._moved, "values")
        self.frame.on_msg(self._told)
        model.observe(self._show, "outcome")
        model.observe(self._show, "refused")
        model.observe(self._go_on, "progress")

    def still(self):
        """The present picture with its text, as a `Shown`."""
        return still(self._drawn())

    def __repr__(self):
        figures = ", ".join(f"{name} {value}" for name, value in self.model.result.figures)
        return f"{self.model.experiment.title}: {figures}\n{self.model.result.text}"

    def _repr_mimebundle_(self, include=None, exclude=None):
        """Widget, still picture and text in one, for those who show one of them."""
        return {**self._widget(), "text/html": self._still_html(), "text/plain": repr(self)}

    def _ipython_display_(self):
        from IPython.display import display

        display({**self._widget(), "text/plain": self.model.experiment.title}, raw=True)
        display({"text/html": self._still_html(), "text/plain": repr(self)}, raw=True)

    def _widget(self):
        shown = self.frame._repr_mimebundle_()
        return (shown[0] if isinstance(shown, tuple) else shown) or {}

    def _still_html(self):
        experiment, result = self.model.experiment, self.model.result
        state = self.model.state
        settings = "; ".join(f"{one.label}: {one.shown(getattr(state, one.name))}" for one in fields_of(state))
        lines = [experiment.question, f"Set to {settings}.", result.text]
        lines += ["This is a still picture: run the notebook in JupyterLab, Notebook or Voilà to move it."]
        paragraphs = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        title = html.escape(experiment.title)
        return f'<div class="kitb-still"><h3>{title}</h3>{self.still()._repr_html_()}{paragraphs}</div>'

    def _drawn(self):
        return self.model.experiment.draw(self.model.state, self.model.result)

    def _show(self, _=None):
        """Bring the page up to what the model holds."""
        drawn, model = self._drawn(), self.model
        real = isinstance(drawn, Shown)
        plan, numbers = ({}, b"") if real else drawn.packed()
        with self.frame.hold_sync():
            self.frame.values = _positions(model.state)
            self.frame.plan, self.frame.numbers = plan, numbers
            self.frame.png = drawn.png() if real else b""
            self.frame.alt = drawn.text
            self.frame.text = model.refused or model.result.text
            self.frame.figures = [list(pair) for pair in model.result.figures]
            self.frame.changed = model.outcome.changed
            self.frame.wav = b""  # of what is no longer shown
            self.frame.seq += 1

    def _moved(self, change):
        now = _positions(self.model.state)
        moved = {name: place for name, place in change["new"].items() if now.get(name) != place}
        if moved:
            gesture = self.frame.gesture
            self._do(lambda: self.model.move(moved, gesture))

    def _told(self, _, message, buffers):
        kind = message.get("kind") if isinstance(message, dict) else None
        if kind == "reset":
            self._do(self.model.reset)
        elif kind == "stop":
            self.model.stop()
        elif kind == "listen":
            self._listen()
        elif kind == "pick":
            self._do(lambda: self.model.pick(message.get("pane"), message.get("x"), message.get("y")))

    def _do(self, task):
        """At once, or beside the kernel's thread if it may take long."""
        if self._worker is None:
            task()
        else:
            self._worker.do(task)

    def _go_on(self, change):
        self.frame.progress = change["new"]

    def _listen(self):
        sound = self.model.sound()
        if sound is None:
            return
        player = play(sound, LISTEN_S)
        with self.frame.hold_sync():
            self.frame.heard = player.text
            self.frame.wav = player.audio.data


def _plan_of(field):
    names = ("kind", "name", "label", "hint", "most")
    return {**{name: getattr(field, name) for name in names}, "words": list(field.words)}


def _positions(state):
    return {field.name: int(place) if field.kind != "text" else place
            for field in fields_of(state) for place in [field.position(getattr(state, field.name))]}
