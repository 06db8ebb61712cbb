"""The examples in the docstrings do what they say."""

import doctest
import importlib
import pkgutil

import pytest

import kit

FOUND = [module.name for module in pkgutil.walk_packages(kit.__path__, "kit.")]
MODULES = [name for name in FOUND if not name.endswith("__main__")]  # importing that one would run it


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_hold(name):
    """Each example gives the output printed below it."""
    module = importlib.import_module(name)
    failed, _ = doctest.testmod(module)
    assert failed == 0


def test_there_are_examples():
    """The test above would not notice if it looked in the wrong place."""
    assert "kit.frames" in MODULES
    assert doctest.testmod(importlib.import_module("kit.frames")).attempted > 0
