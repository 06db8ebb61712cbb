"""A class is marked whatever else lies in its folder: what is broken or hostile is one line, and is never run."""

import json
import os
from collections import Counter

import pytest
from class_cases import EVERY_KEY, KEYS, answers_of, put, verdicts
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import SettingError
from kit.exercises.classmarks import mark_class
from kit.exercises.classpage import class_page
from kit.exercises.classtables import answers_table, in_words, questions_table
from kit.exercises.marking import MISMATCH, RIGHT
from kit.exercises.owning import is_name

pytest_plugins = ["class_fixtures", "commandline_fixtures"]

# -- files that are not to be trusted -------------------------------------------------------------------


def deep(answers):
    return json.dumps(answers | {"items": {"4c": {"answer": "DEEP"}}}).replace('"DEEP"', "[" * 90_000 + "]" * 90_000)


BROKEN = {
    "empty": lambda answers: "",
    "cut off": lambda answers: json.dumps(answers)[:-9],
    "deep": deep,
    "huge": lambda answers: json.dumps(answers) + " " * 1_000_000,
    "a list": lambda answers: "[]",
    "bytes": lambda answers: b"\x00\xff\xfe{}",
    "digits": lambda answers: "9" * 200_000,
    "name a number": lambda answers: json.dumps(answers | {"code_name": 7}),
    "name a path": lambda answers: json.dumps(answers | {"code_name": "../../UP"}),
    "name with control": lambda answers: json.dumps(answers | {"code_name": "gull\x1b[2J"}),
    "name turned round": lambda answers: json.dumps(answers | {"code_name": "gull\u202e"}),
    "name of two lines": lambda answers: json.dumps(answers | {"code_name": "gull\n7"}),
    "no name": lambda answers: json.dumps(answers | {"code_name": ""}),
    "long name": lambda answers: json.dumps(answers | {"code_name": "x" * 3000}),
    "class with control": lambda answers: json.dumps(answers | {"class_code": "\x07"}),
    "items wrong": lambda answers: json.dumps(answers | {"items": {"4a": {"votes": "b"}}}),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_or_hostile_file_is_one_line_and_the_rest_is_marked(name, hand_in, call):
    put(hand_in, answers_of("gull 7", keys=KEYS))
    made = BROKEN[name](answers_of("tern 2", keys=["4a"]))
    (hand_in / "tern.json").write_bytes(made if isinstance(made, bytes) else made.encode())
    marks = mark_class(hand_in)
    assert [remark.file for remark in marks.refused] == ["tern.json"]
    assert "\n" not in marks.refused[0].what and len(marks.refused[0].what) < 200
    assert set(verdicts(marks, "gull 7").values()) == {RIGHT}
    status, out, err = call("mark", hand_in)
    assert (status, err) == (1, "") and out.count("not counted: tern.json: ") == 1
    assert all(character.isprintable() or character == "\n" for character in out)


@pytest.mark.parametrize("odd", ["?", [2], [[0, 1]], [], 0, -1e300, 2**63, "1e999", True, ["=1"], "\ud7ff", None,
                                 [[]], [None], [[1, 2], "x"], "0" * 3000, [0.5] * 300, ["", -1, [[0]]]])  # fmt: skip
def test_an_answer_of_any_shape_to_any_item_is_marked_or_reported(odd, hand_in):
    """Chance may make one right, such as 0 where nothing is to be counted; never more than a few."""
    answers = answers_of("gull 7")
    for record in answers["items"].values():
        record.update({"votes": ["="]} if "votes" in record else {"answer": odd})
    put(hand_in, answers)
    marks = mark_class(hand_in)
    assert not marks.refused
    found = Counter(verdicts(marks, "gull 7").values())
    assert found[RIGHT] <= 3 and found[MISMATCH] >= len(EVERY_KEY) / 3
    assert in_words(marks) and answers_table(marks) and questions_table(marks) and class_page(marks).png()


def test_a_link_a_pipe_and_a_hidden_file_are_not_opened(hand_in, tmp_path):
    put(hand_in, answers_of("gull 7", keys=["4a"]))
    outside = put(tmp_path / "outside", answers_of("tern 2", keys=["4a"]))
    (hand_in / "tern.json").symlink_to(outside)
    (hand_in / "nowhere.json").symlink_to(tmp_path / "nothing")
    (hand_in / "away").symlink_to(outside.parent)
    (hand_in / ".hidden.json").write_text("{}")
    (hand_in / "folder.json").mkdir()
    refused = {"tern.json", "nowhere.json"}
    if hasattr(os, "mkfifo"):
        os.mkfifo(hand_in / "pipe.json")
        refused.add("pipe.json")
    marks = mark_class(hand_in)
    assert {remark.file for remark in marks.refused} == refused
    assert [learner.name for learner in marks.learners] == ["gull 7"]


def test_folders_in_the_folder_are_looked_through_and_other_files_only_named(hand_in):
    put(hand_in / "table 1", answers_of("gull 7", keys=["4a"]))
    put(hand_in / "table 2" / "group", answers_of("tern 2", keys=["4a"]))
    put(hand_in / "a" / "b" / "c", answers_of("crab 3", keys=["4a"]))  # deeper than is looked
    (hand_in / "photo.png").write_bytes(b"\x89PNG")
    (hand_in / "log.txt").write_text("calm")
    marks = mark_class(hand_in)
    assert [learner.name for learner in marks.learners] == ["gull 7", "tern 2"]
    assert any("not looked at" in remark.what and "like 2 more" in remark.what for remark in marks.remarks)
    assert marks.all_usable


def test_a_fault_in_marking_one_file_does_not_stop_the_rest(hand_in, monkeypatch):
    from kit.exercises import classmarks

    def fails_for_tern(answers, lessons):
        if answers["code_name"] == "tern 2":
            raise RecursionError("deep")
        return real(answers, lessons)

    real = classmarks.marked
    monkeypatch.setattr(classmarks, "marked", fails_for_tern)
    for name in ("gull 7", "tern 2"):
        put(hand_in, answers_of(name, keys=["4a"]))
    marks = mark_class(hand_in)
    assert [learner.name for learner in marks.learners] == ["gull 7"]
    assert "cannot be marked (RecursionError)" in marks.refused[0].what


def test_nothing_in_a_file_is_run(hand_in):
    """Texts that would end or change the process, were any of them code."""
    answers = answers_of("gull 7", keys=KEYS)
    for record in answers["items"].values():
        record.update(saw="__import__('os')._exit(9)", attempt="__import__('os')._exit(9)")
    answers["items"]["4m"]["answer"] = "__import__('os')._exit(9)"
    put(hand_in, answers)
    assert verdicts(mark_class(hand_in), "gull 7")["4m"] == MISMATCH


# -- the command ----------------------------------------------------------------------------------------


@given(st.text(max_size=60))
@settings(derandomize=True, max_examples=300, deadline=None)
def test_every_name_a_learner_can_take_is_one_that_is_marked(name):
    from kit.exercises.owning import _even

    try:
        even = _even(name, "code_name")
    except SettingError:
        return
    assert is_name(even)


def test_a_folder_without_a_usable_file_and_one_with_too_many_are_said_to_be_so(hand_in, call, monkeypatch):
    """Not that so many lessons were marked of no learners."""
    hand_in.mkdir()
    (hand_in / "tern.json").write_text("{")
    status, out, _ = call("mark", hand_in)
    assert status == 1 and out.startswith("No file could be marked; files not counted: 1.\nnot counted: tern.json: ")
    monkeypatch.setattr("kit.exercises.gathering.MOST_FILES", 2)
    for name in "abc":
        (hand_in / f"{name}.json").write_text("{")
    status, _, err = call("mark", hand_in)
    assert status == 2 and "must hold 2 files at most, got more" in err
