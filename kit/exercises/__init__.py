"""Exercises: predictions that open results, functions a learner writes, and checks that explain.

`learner("code name")` is where a notebook begins; `kit.exercises.marking.marked` is what a teacher's marks come from.
"""

from importlib import import_module
from pkgutil import iter_modules
from re import fullmatch

from .learners import Learner, learner, resume
from .lessons import LESSONS, register

# A module with a number alone, as lesson04, holds a lesson; what is longer belongs to one.
for _module in iter_modules(__path__):
    if fullmatch(r"lesson\d\d", _module.name):
        register(import_module(f".{_module.name}", __name__).LESSON)

__all__ = ["LESSONS", "Learner", "learner", "register", "resume"]
