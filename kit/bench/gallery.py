"""The gallery: every experiment by its name, and where its controls were left."""

from ..errors import SettingError
from . import (
    cells,
    codes,
    copies,
    coupling,
    damage,
    designer,
    generations,
    harmonics,
    header,
    leader,
    levels,
    loader,
    memory,
    speeds,
    tracer,
)
from .model import Model

__all__ = ["EXPERIMENTS", "names", "open"]

EXPERIMENTS = {one.name: one for one in (
    harmonics.HARMONICS,
    coupling.COUPLING,
    cells.CELLS,
    codes.CODES_BENCH,
    tracer.TRACER,
    leader.LEADER,
    header.HEADER_BENCH,
    memory.MEMORY,
    damage.DAMAGE,
    copies.COPIES,
    speeds.SPEEDS,
    levels.LEVELS,
    loader.LOADER,
    generations.GENERATIONS,
    designer.DESIGNER,
)}

# Where each bench was left: by name and start, so that the same cell run again goes on where it was. States are
# a few numbers each; the widgets themselves are not kept.
_left_at = {}


def names():
    """Names of all experiments, in the order of the lessons.

    Returns
    -------
    list of str
    """
    return list(EXPERIMENTS)


def open(name, **settings):
    """Open an experiment as a `Bench`, to be shown by the notebook.

    Parameters
    ----------
    name : str
        One of `names()`.
    **settings
        Where its controls start, and what reset goes back to.

    Returns
    -------
    Bench
        With the controls where they were left, if the same experiment was opened with the same settings before.

    Raises
    ------
    SettingError
        There is no such experiment or setting, or a value is out of range.
    """
    from .frame import Bench

    model = open_model(name, **settings)
    return Bench(model)


def open_model(name, **settings):
    """As `open`, but only the model: no widget is made."""
    if name not in EXPERIMENTS:
        known = ", ".join(EXPERIMENTS)
        raise SettingError(f"name must be one of {known}, got {str(name)[:40]!r}: choose one of these")
    experiment = EXPERIMENTS[name]
    start = _start(experiment, settings)
    model = Model(experiment, start, _left_at.get((name, start)))
    model.observe(lambda change: _keep(name, start, change["new"].state), "outcome")
    return model


def _start(experiment, settings):
    known = list(experiment.state.__dataclass_fields__)
    unknown = [each for each in settings if each not in known]
    if unknown:
        raise SettingError(f"settings must be among {', '.join(known)}, got {unknown[0]!r}: choose one of these")
    return experiment.state(**settings)


def _keep(name, start, state):
    if state == start:
        _left_at.pop((name, start), None)
    else:
        _left_at[name, start] = state
