"""Fixtures of the tests of learners: one with a folder for the answers, and the folder of a class."""

import pytest

from kit.exercises import learner


@pytest.fixture
def me(tmp_path):
    return learner("Gull 7", folder=tmp_path / "answers")


@pytest.fixture
def hand_in(tmp_path):
    """Where the files of a class are to lie: not there yet."""
    return tmp_path / "hand-in"
