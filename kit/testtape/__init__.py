"""The test tape: find out what a recorder can carry."""

from kit.testtape.write import level_tone, test_tape

__all__ = ["level_tone", "test_tape"]
