"""Exercises: functions a learner writes, and checks that explain."""

from .checking import FunctionTask, Mistake, Outcome
from .letters import check_to_bits

__all__ = ["FunctionTask", "Mistake", "Outcome", "check_to_bits"]
