"""The live ear in a notebook: the widget's end in Python. It links, and does nothing else."""

import html
import os
import threading
from pathlib import Path

import anywidget
import numpy as np
import traitlets

from ..bench.frame import STYLE
from ..errors import KitError, SettingError
from .ear import USUAL, Ear
from .inputs import plain
from .take import LOADING_ZONE_DBFS
from .uploads import Upload

__all__ = ["EarFrame", "LiveEar"]

HERE = Path(__file__).parent
SHOWN_LINES = 60
HUB = "This notebook runs on a hub: what you record goes to that server, and those who run it could hear it. "
STILL = ("A microphone and widgets are needed to record, in JupyterLab, Notebook or Voilà. Without them: "
         "ear.open(\"tape.wav\") takes a file, ear.reading gives what is on it.")


class EarFrame(anywidget.AnyWidget):
    """What goes between Python and the page; `ear.js` is the other end.

    The page sends messages; Python sets the traits, and counts up `seq` when they are whole.
    """

    _esm = (HERE / "ear.js").read_text("utf-8")
    _css = STYLE + (HERE / "ear.css").read_text("utf-8")

    key = traitlets.Unicode().tag(sync=True)
    hub = traitlets.Unicode().tag(sync=True)
    zone = traitlets.List().tag(sync=True)
    limit_s = traitlets.Float().tag(sync=True)
    state = traitlets.Unicode("empty").tag(sync=True)
    status = traitlets.Unicode().tag(sync=True)
    lines = traitlets.List().tag(sync=True)
    earlier = traitlets.Int().tag(sync=True)
    files = traitlets.List().tag(sync=True)
    facts = traitlets.Unicode().tag(sync=True)
    warnings = traitlets.List().tag(sync=True)
    seconds = traitlets.Float().tag(sync=True)
    progress = traitlets.Float(1.0).tag(sync=True)
    kept = traitlets.Unicode().tag(sync=True)
    seq = traitlets.Int().tag(sync=True)


class LiveEar(Ear):
    """An `Ear` with its widget; in a notebook it is the widget, elsewhere its text.

    Parameters
    ----------
    format, most_minutes
        As of `Ear`.
    """

    def __init__(self, format=USUAL, most_minutes=30):
        super().__init__(format, most_minutes)
        hub = HUB if any(name in os.environ for name in ("JUPYTERHUB_USER", "JUPYTERHUB_API_URL")) else ""
        self.frame = EarFrame(key=os.urandom(8).hex(), hub=hub, zone=list(LOADING_ZONE_DBFS), limit_s=self.most_s)
        self._upload, self._note, self._showing = None, ("", ""), threading.RLock()
        self._answers = {"start": self._begin, "sound": self._sound_came, "stop": self._stopped, "halt": self._halt,
                         "trouble": self._trouble, "file": self._file_came, "save": self._save,
                         "save files": self._save_files, "again": lambda message, buffers: self.read_again()}
        self.frame.on_msg(self._told)
        self.watch(self._show)
        self._show()

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {**self._widget(), "text/html": self._still_html(), "text/plain": repr(self)}

    def _ipython_display_(self):
        from IPython.display import display

        display({**self._widget(), "text/plain": "Live ear"}, raw=True)
        display({"text/html": self._still_html(), "text/plain": repr(self)}, raw=True)

    def _widget(self):
        shown = self.frame._repr_mimebundle_()
        return (shown[0] if isinstance(shown, tuple) else shown) or {}

    def _still_html(self):
        lines = [self.facts(), self.status, *(words for _, words in self.files()), STILL]
        paragraphs = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        return f'<div class="kitb-still"><h3>Live ear</h3>{paragraphs}</div>'

    # -- from the page ------------------------------------------------------------------------------------

    def _told(self, _, message, buffers):
        """A message of the page: whatever it holds, the kernel goes on."""
        kind = message.get("kind") if isinstance(message, dict) else None
        answer = self._answers.get(kind) if isinstance(kind, str) else None
        if answer is None:
            return
        try:
            answer(message, buffers)
        except (KitError, OSError, TypeError, ValueError) as error:
            if kind in ("start", "sound", "file"):
                self.frame.send({"kind": "refused", "number": message.get("number")})
            self._remark(f"Not taken: {error}" if kind != "save" else f"Not saved: {error}")

    def _begin(self, message, buffers):
        self.begin(message.get("number"), message.get("rate"), message.get("label"), message.get("settings"))

    def _sound_came(self, message, buffers):
        if len(buffers) != 1 or len(buffers[0]) % 4:
            raise SettingError(f"a chunk must be one row of samples, got {len(buffers)} of them: record again")
        was = self.state
        self.hear(message.get("number"), message.get("first"), np.frombuffer(buffers[0], "<f4"))
        if was == "recording" and self.state != "recording":
            self.frame.send({"kind": "enough", "number": message.get("number")})

    def _stopped(self, message, buffers):
        self.end(message.get("number"))

    def _halt(self, message, buffers):
        """Stop was pressed on a page that does not record itself, or while reading."""
        if self.state == "recording":
            self.frame.send({"kind": "enough", "number": self._number})
        self.stop()

    def _trouble(self, message, buffers):
        """Why the page cannot record: kept, so that the ear's text says it, too."""
        self._remark(plain(message.get("words"), 300))

    def _file_came(self, message, buffers):
        at = message.get("at")
        if at == 0 and not isinstance(at, bool):
            self._upload = Upload(message.get("name"), message.get("size"))
        if self._upload is None or len(buffers) != 1:
            raise SettingError("a file must begin with its first piece, got another: open it again")
        coming = self._upload
        try:
            whole = coming.add(at, buffers[0])
            if whole:
                self.open(coming.sound())
                self._opened = coming  # its folder lasts as long as what was opened last
        except (KitError, OSError):
            self._upload = None
            raise
        self.frame.send({"kind": "go on", "number": message.get("number"), "have": coming.have})

    def _save(self, message, buffers):
        name = message.get("name")
        path = self.save(name if isinstance(name, str) and name.strip() else "recording")
        self._keep(f"Saved as {path}")

    def _save_files(self, message, buffers):
        if self.state != "ready":
            raise SettingError("a tape must be read to its end before its files are saved, got one that is not: wait")
        paths = [str(path) for path in self.save_files() if path is not None]
        self._keep(f"Saved: {', '.join(paths)}" if paths else "There is no file to save.")

    # -- to the page --------------------------------------------------------------------------------------

    def _keep(self, words):
        self.frame.kept = words
        self._show()

    def _remark(self, words):
        self._note = words, self.status  # until there is other news
        self._show()

    def _show(self):
        """Bring the page up to what the ear holds; news come from two threads."""
        with self._showing, self.frame.hold_sync():
            frame, lines = self.frame, self.lines
            frame.state, frame.status = self.state, self.status
            if self._note[0] and self._note[1] == self.status:
                frame.status = self._note[0]
            frame.lines, frame.earlier = lines[-SHOWN_LINES:], self.earlier + max(0, len(lines) - SHOWN_LINES)
            frame.files = [list(pair) for pair in self.files()]
            frame.facts, frame.warnings = self.facts(), self.warnings()
            frame.seconds, frame.progress = self.seconds, self.progress
            if self.state == "recording":
                frame.kept = ""
            frame.seq += 1
