"""Exercises: predictions that open results, functions a learner writes, and checks that explain.

`learner("code name")` is where a notebook begins; `kit.exercises.marking.marked` is what a teacher's marks come from.
"""

from . import lesson01, lesson02, lesson03, lesson04
from .learners import Learner, learner, resume
from .lessons import LESSONS, register

for _module in (lesson01, lesson02, lesson03, lesson04):
    register(_module.LESSON)

__all__ = ["LESSONS", "Learner", "learner", "register", "resume"]
