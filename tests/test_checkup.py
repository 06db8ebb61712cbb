"""The checkup: it says when all is well, and says so in one line when something is not."""

import importlib.metadata
import sys

import numpy as np
import pytest

import kit
from kit import checkup
from kit.exercises.shows import Asked
from kit.sound import Sound


def test_where_all_is_installed_every_package_the_kit_needs_has_its_version():
    fine, last = checkup.versions().text.splitlines()
    python, *packages = fine.split(", ")
    assert python == "Python " + ".".join(map(str, sys.version_info[:3]))
    assert [each.split()[0] for each in packages] == ["kit", *checkup.NEEDED]
    assert f"numpy {np.__version__}" in packages and last == "All of these are as they should be."


def test_the_packages_looked_for_are_those_the_kit_asks_for():
    import tomllib
    from pathlib import Path

    project = tomllib.loads((Path(kit.__file__).parent / "pyproject.toml").read_text("utf-8"))["project"]
    assert {each.split(">=")[0] for each in project["dependencies"]} == set(checkup.NEEDED)
    assert project["requires-python"] == ">=" + ".".join(map(str, checkup.LEAST_PYTHON))


def test_a_package_that_is_missing_or_too_old_is_named_with_what_to_do(monkeypatch):
    there = importlib.metadata.version

    def version(name):
        if name == "tqdm":
            raise importlib.metadata.PackageNotFoundError
        return "1.9.5rc1" if name == "numpy" else there(name)

    monkeypatch.setattr(importlib.metadata, "version", version)
    monkeypatch.setattr(importlib.metadata, "requires", lambda name: ["numpy>=1.26", "pytest>=8; extra == 'test'"])
    lines = checkup.versions().text.splitlines()
    assert "numpy 1.9.5rc1 ! It must be 1.26 or newer." in lines and "tqdm ! It is not installed." in lines
    assert lines[-1].startswith("2 of these need your help: run the command")


def test_an_old_python_is_told(monkeypatch):
    monkeypatch.setattr(checkup, "LEAST_PYTHON", (99, 1))
    first, second, last = checkup.versions().text.splitlines()
    assert "Python" not in first and second.endswith("! It must be 99.1 or newer.") and last.startswith("1 of these")


def test_a_kit_that_was_never_installed_is_told_and_not_stumbled_over(monkeypatch):
    def nothing(name):
        raise importlib.metadata.PackageNotFoundError

    monkeypatch.setattr(importlib.metadata, "version", nothing)
    monkeypatch.setattr(importlib.metadata, "requires", nothing)
    assert checkup.versions().text.count("! It is not installed.") == 1 + len(checkup.NEEDED)


@pytest.mark.parametrize("text", ["Wind west 5, gulls 3.", "Möwe", "x"])
def test_words_go_through_a_real_file_and_come_back(text):
    told = checkup.round_trip(text).text
    assert told.endswith("Sent and received are the same.") and f"{len(text.encode())} bytes became" in told
    assert "log.txt" in told and "checked" in told


def test_words_that_do_not_come_back_are_told(monkeypatch):
    read = Sound.read
    monkeypatch.setattr(Sound, "read", staticmethod(lambda path: read(path).scratch(0.9, 0.3)))
    told = checkup.round_trip().text
    assert "Sent and received differ" in told and "are the same" not in told


def test_where_no_file_can_be_written_it_says_what_to_do(monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Sound, "write", full)
    told = checkup.round_trip().text
    assert told.startswith("It stopped on the way:") and "make room" in told and "\n" not in told


def test_a_control_sends_a_word_to_python_and_the_reply_says_so():
    asked = checkup.widgets()
    assert isinstance(asked, Asked)
    (question,) = asked.questions
    assert question["save"](" gulls \n 3 ").text == "Python heard “gulls 3”: the way is open."
    assert 'checkup.widgets("a word")' in repr(asked)  # for pages without controls
    assert checkup.widgets("<b>")._repr_html_().count("<b>") == 0
