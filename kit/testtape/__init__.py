"""The test tape: find out what a recorder can carry."""

from kit.testtape.report import RecorderReport, measure
from kit.testtape.write import level_tone, test_tape

__all__ = ["RecorderReport", "level_tone", "measure", "test_tape"]
