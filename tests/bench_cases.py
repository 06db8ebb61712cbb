"""An experiment to try the benches' foundation with, one that takes its time, and text that must stay text."""

from dataclasses import dataclass

from kit.bench import gallery
from kit.bench.fields import State, choice, number, switch, text
from kit.bench.model import Experiment, Result
from kit.bench.scene import Level, Line, Marks, Pane, Scene, Stretch, Tiles, Words

__all__ = ["HOSTILE", "LONG", "TRY", "Tape", "count_to_the_level", "draw", "find", "fresh_gallery"]

HOSTILE = "<img src=x onerror=alert(1)> $\\frac{1}{2}$ & \"quotes\""


@dataclass(frozen=True)
class Tape(State):
    level_db: float = number(-6, -40, 0, 2, "dB", "Level")
    cutoff_hz: float = number(1000, 100, 10000, 20, "Hz", "Cut-off", log=True)
    rate_hz: int = choice(44100, (22050, 44100), "Rate", unit="Hz")
    inverted: bool = switch(False, "Upside down")
    words: str = text("Wind", 60, "Text")


def find(state):
    return Result(f"It says {state.words}.", (("letters", str(len(state.words))),))


def draw(state, result):
    items = (Line([0, 1, 2], [0.0, 0.5, state.level_db], "wave"), Marks([1], [0], "edges", symbol="x"),
             Level(0.2, state.words), Level(1.0, "here", upright=True), Stretch(0, 1, state.words),
             Words([0.5], (state.words,)), Tiles([0, 1], [0, 0], name=state.words, hatch="x", letter="A"),
             Tiles([0.5], [0.5], shades=[0.3]))
    return Scene((Pane((0, 2), (-1, 1), "time in ms", "level", items, title=state.words),), result.text)


TRY = Experiment("try", "Try", "What happens?", Tape, find, draw)


def count_to_the_level(state):
    """Long work, a step for each dB."""
    for step in range(-40, int(state.level_db)):
        yield (step + 40) / 40
    return Result(f"It went to {state.level_db}.", (("level", str(state.level_db)),))


LONG = Experiment("long", "Long", "How long?", Tape, count_to_the_level, draw)


def fresh_gallery(monkeypatch):
    """A gallery that has the experiment to try, and in which nothing was opened before."""
    monkeypatch.setattr(gallery, "_left_at", {})
    monkeypatch.setitem(gallery.EXPERIMENTS, "try", TRY)
