"""An experiment and its model: a pure function, and what remembers its state. No widget is needed to use them."""

import dataclasses
import inspect
from collections.abc import Callable
from dataclasses import dataclass

import traitlets

from ..errors import KitError, SettingError
from .fields import fields_of

__all__ = ["Experiment", "Model", "Outcome", "Result", "Stopped", "what_changed"]


@dataclass(frozen=True, eq=False)
class Result:
    """What an experiment gives; each one adds its arrays.

    Attributes
    ----------
    text : str
        Says in words what happened.
    figures : tuple of (str, str)
        The few numbers to watch: name, and value with its unit.
    """

    text: str
    figures: tuple


@dataclass(frozen=True)
class Experiment:
    """All there is to an experiment: what is asked, and pure functions.

    Attributes
    ----------
    name : str
        What it is opened by.
    title, question : str
    state : type
        A frozen dataclass that inherits from `kit.bench.fields.State`.
    find : callable
        state -> `Result`. One that may take longer than 0.3 s is a generator function: it yields the part that is
        done, 0 to 1, several times a second, and returns the result; it can then be stopped at each yield.
    draw : callable
        state, result -> `kit.bench.scene.Scene`, or a `kit.shown.Shown` where a real figure is wanted.
    sound : callable or None
        state, result -> Sound to listen to.
    pick : callable or None
        state, number of the pane, x -> dict of changes to the state, when someone points at the picture. What
        pointing does, a control must do as well.
    pick_tile : callable or None
        The same where the height counts, too: state, number of the pane, x, y -> dict of changes.
    """

    name: str
    title: str
    question: str
    state: type
    find: Callable
    draw: Callable
    sound: Callable | None = None
    pick: Callable | None = None
    pick_tile: Callable | None = None


class Stopped(KitError):
    """Long work was stopped before it had a result."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """State and result at one moment.

    Attributes
    ----------
    state : State
    result : Result
    changed : str
        What the last change was, and what it did; "" before any.
    """

    state: object
    result: Result
    changed: str = ""


class Model(traitlets.HasTraits):
    """State in, result out, with a history of one step.

    Parameters
    ----------
    experiment : Experiment
    start : State, optional
        Where it begins and what `reset` goes back to.
    state : State, optional
        Where it is now, if somewhere else.

    Attributes
    ----------
    outcome : Outcome
        The present one; observe it to be told of a new one.
    refused : str
        Why the last change was not made, one line; "" if it was.
    progress : float
        Part of long work that is done; 1 when there is none.
    """

    outcome = traitlets.Instance(Outcome)
    refused = traitlets.Unicode("")
    progress = traitlets.Float(1.0)

    def __init__(self, experiment, start=None, state=None):
        self.experiment = experiment
        self.start = experiment.state() if start is None else start
        now = self.start if state is None else state
        self._before = self._gesture = None
        self._stopping = False
        super().__init__()
        self.outcome = Outcome(now, self._found(now))

    @property
    def state(self):
        """The present state."""
        return self.outcome.state

    @property
    def result(self):
        """The present result."""
        return self.outcome.result

    def change(self, gesture=None, **values):
        """Change some fields of the state.

        Parameters
        ----------
        gesture : int, optional
            The same number for all steps of one movement of the hand, whose changes then count as one.
        **values
            By the names of the state's fields.

        Raises
        ------
        SettingError
            A name is unknown or a value out of range; nothing is changed.
        """
        known = [field.name for field in fields_of(self.state)]
        unknown = [name for name in values if name not in known]
        if unknown:
            raise SettingError(f"settings must be among {', '.join(known)}, got {unknown[0]!r}: choose one of these")
        same = None if gesture is None else (gesture, tuple(values))
        self._go_to(dataclasses.replace(self.state, **values), same)

    def move(self, positions, gesture=None):
        """As `change`, but by positions as a browser sends them; a refusal is kept in `refused`, not raised."""
        fields = {field.name: field for field in fields_of(self.state)}

        def change():
            values = {name: fields[name].at(place) for name, place in dict(positions).items() if name in fields}
            self.change(gesture, **values)

        self._try(change)

    def pick(self, pane, x, y=0.0):
        """What pointing at a place of the picture changes; refused as by `move`."""
        experiment = self.experiment
        if experiment.pick is not None:
            self._try(lambda: self.change(**experiment.pick(self.state, pane, float(x))))
        elif experiment.pick_tile is not None:
            self._try(lambda: self.change(**experiment.pick_tile(self.state, pane, float(x), float(y))))

    def _try(self, change):
        try:
            change()
            self.refused = ""
        except Stopped:
            self.refused = "Stopped: what is shown is the last whole result."
        except (KitError, TypeError, ValueError) as error:
            self.refused = f"Not taken: {error}"

    def reset(self):
        """Back to where it began, and no history."""
        self._before = self._gesture = None
        self.refused = ""
        self.outcome = Outcome(self.start, self._found(self.start))

    def stop(self):
        """Stop long work at its next step; from another thread, as the work keeps its own busy."""
        self._stopping = True

    def sound(self):
        """The `Sound` to listen to, or None."""
        make = self.experiment.sound
        return None if make is None else make(self.state, self.result)

    def _go_to(self, state, gesture):
        if state == self.state:
            return
        same = gesture is not None and gesture == self._gesture and self._before is not None
        before = self._before if same else self.outcome
        result = self._found(state)
        self._before, self._gesture = before, gesture
        self.outcome = Outcome(state, result, what_changed(before, Outcome(state, result)))

    def _found(self, state):
        """The result, by as many steps as it takes."""
        self._stopping = False
        steps = self.experiment.find(state)
        if not inspect.isgenerator(steps):
            return steps
        try:
            while True:
                self.progress = min(float(next(steps)), 0.999)
                if self._stopping:
                    raise Stopped("stopped before there was a result")
        except StopIteration as end:
            return end.value
        finally:
            steps.close()
            self.progress = 1.0


def what_changed(before, after):
    """One sentence: which fields moved from what to what, and which figures with them.

    Parameters
    ----------
    before, after : Outcome

    Returns
    -------
    str
        "" if no field differs.
    """
    moved = [
        f"{field.label.lower()} from {field.shown(old)} to {field.shown(new)}"
        for field in fields_of(after.state)
        if (old := getattr(before.state, field.name)) != (new := getattr(after.state, field.name))
    ]
    if not moved:
        return ""
    old = dict(before.result.figures)
    new = [(name, old.get(name, "–"), value) for name, value in after.result.figures]
    effects = [f"{name} from {was} to {value}" for name, was, value in new if was != value]
    effect = "; ".join(effects) if effects else "no figure moved"
    return f"You changed {' and '.join(moved)}. Then: {effect}."
