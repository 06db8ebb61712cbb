"""Answers of learners: kept at once, doubted when read, handed in as one file, marked by what is worked out anew."""

import copy
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from class_cases import verdict_of

import kit
from kit.errors import SettingError
from kit.exercises import LESSONS, learner, resume
from kit.exercises.answers import AnswerError, read_answers
from kit.exercises.lesson04bits import bits_of_edges
from kit.exercises.lessons import asked_of, keys_of
from kit.exercises.marking import MISMATCH, RIGHT, UNANSWERED, WRONG, marked

pytest_plugins = ["class_fixtures"]

# -- the file -------------------------------------------------------------------------------------------


def test_every_answer_is_on_disk_as_soon_as_it_is_given_and_resumes_after_a_killed_process(tmp_path):
    code = ("import os, sys; from kit.exercises import learner; me = learner('gull 7', '6b', sys.argv[1])\n"
            "me.predict('4a', 'c'); me.reveal('4a', 1); me.saw('4a', 'no change'); me.answer('4c', '010101')\n"
            "os._exit(9)")
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=False, stdin=subprocess.DEVNULL,
                          cwd=Path(kit.__file__).parents[1])
    assert done.returncode == 9
    back = resume("gull 7", "6b", tmp_path)
    assert back.file.record("4a") | {"digest": ""} == {
        "digest": "", "votes": ["c"], "seen": True, "saw": "no change"}
    assert back.file.record("4c")["answer"] == [0, 1, 0, 1, 0, 1]


def test_two_notebooks_of_one_learner_do_not_write_over_each_other(tmp_path):
    one, other = learner("gull 7", folder=tmp_path), learner("gull 7", folder=tmp_path)
    one.predict("4a", "a")
    other.predict("4b", "b")
    assert set(resume("gull 7", folder=tmp_path).file.answers["items"]) == {"4a", "4b"}


def test_resuming_where_there_is_nothing_is_refused_in_one_line(tmp_path):
    with pytest.raises(SettingError, match=r"begin with learner\(") as refused:
        resume("gull 7", folder=tmp_path)
    assert "\n" not in str(refused.value)


def test_the_file_is_json_with_the_version_and_a_digest_of_the_data(me):
    me.predict("4a", "b")
    held = json.loads(me.file.path.read_text("utf-8"))
    assert held["kit"] == "0.1.0" and held["code_name"] == "gull 7"
    assert len(held["items"]["4a"]["digest"]) == 20
    assert me.file.path.read_text("utf-8").count("\n") < 12


def test_a_save_that_fails_leaves_the_file_whole_and_is_said_and_nothing_is_forgotten(me, monkeypatch):
    me.predict("4a", "b")
    before = me.file.path.read_bytes()

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "No space left" in repr(me.predict("4b", "a"))
    assert me.file.path.read_bytes() == before
    assert [entry.name for entry in me.file.path.parent.iterdir()] == [me.file.path.name]
    monkeypatch.undo()
    me.predict("4a", "c")
    assert set(resume("gull 7", folder=me.file.path.parent).file.answers["items"]) == {"4a", "4b"}


def good_file(me):
    me.predict("4a", "b")
    me.answer("4c", "010101")
    return json.loads(me.file.path.read_text("utf-8"))


def deep(depth):
    return "[" * depth + "]" * depth


BROKEN = {
    "empty": lambda held: "",
    "cut off": lambda held: json.dumps(held)[:-20],
    "a list": lambda held: "[1, 2]",
    "something else": lambda held: '{"cells": []}',
    "no text": lambda held: b"\xff\xfe\x00\x01",
    "very deep": lambda held: deep(100_000),
    "very long": lambda held: " " * 1_000_001,
    "no number": lambda held: json.dumps(held | {"layout": float("nan")}),
    "half a character": lambda held: json.dumps(held | {"kit": "\ud800"}),
    "another layout": lambda held: json.dumps(held | {"layout": 2}),
    "a truth as number": lambda held: json.dumps(held | {"layout": True}),
    "a field too many": lambda held: json.dumps(held | {"code": "import os"}),
    "a field too few": lambda held: json.dumps({name: held[name] for name in held if name != "kit"}),
    "items no object": lambda held: json.dumps(held | {"items": []}),
    "too many items": lambda held: json.dumps(held | {"items": {str(k): {} for k in range(501)}}),
    "a strange item": lambda held: json.dumps(held | {"items": {"4a": {"run": "rm"}}}),
    "an item no object": lambda held: json.dumps(held | {"items": {"4a": 3}}),
    "votes no letters": lambda held: json.dumps(held | {"items": {"4a": {"votes": [["b"]]}}}),
    "an answer too deep": lambda held: json.dumps(held | {"items": {"4c": {"answer": [[[[[[0]]]]]]}}}),
    "an answer no data": lambda held: json.dumps(held | {"items": {"4c": {"answer": {"__reduce__": 1}}}}),
    "a long name": lambda held: json.dumps(held | {"code_name": "x" * 5000}),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_hostile_or_broken_file_gives_one_clear_line_and_is_set_aside_not_lost(name, me):
    made = BROKEN[name](good_file(me))
    raw = made if isinstance(made, bytes) else made.encode("utf-8", "surrogatepass")
    me.file.path.write_bytes(raw)
    with pytest.raises(AnswerError) as refused:
        read_answers(me.file.path)
    assert "\n" not in str(refused.value) and len(str(refused.value)) < 400
    again = learner("gull 7", folder=me.file.path.parent)
    assert "kept as" in repr(again) and repr(again).count("\n") == 2
    kept = [entry for entry in me.file.path.parent.iterdir() if "broken" in entry.name]
    assert [entry.read_bytes() for entry in kept] == [raw]
    again.predict("4a", "b")
    assert resume("gull 7", folder=me.file.path.parent).file.record("4a")["votes"] == ["b"]


def test_a_file_of_somebody_else_under_one_s_name_is_not_taken_for_one_s_own(me):
    held = good_file(me) | {"code_name": "tern 2"}
    me.file.path.write_text(json.dumps(held), encoding="utf-8")
    assert "somebody else" in repr(learner("gull 7", folder=me.file.path.parent))


def test_what_stands_in_a_file_is_never_run(me, monkeypatch):
    held = good_file(me)
    held["items"]["4a"] |= {"saw": "__import__('os').abort()", "attempt": "__import__('os').abort()"}
    me.file.path.write_text(json.dumps(held), encoding="utf-8")
    sources = [path.read_text("utf-8") for path in sorted((Path(kit.__file__).parent / "exercises").glob("*.py"))]
    assert not any(way in source for source in sources for way in ("eval(", "exec(", "pickle", "__import__("))
    assert marked(read_answers(me.file.path))


# -- hand in and mark -----------------------------------------------------------------------------------


def test_handing_in_makes_one_file_for_each_learner_that_marks_the_same(me, tmp_path):
    me.predict("4a", "a")
    told = repr(me.hand_in(tmp_path / "class"))
    me.predict("4a", "c")
    me.hand_in(tmp_path / "class")
    (path,) = (tmp_path / "class").iterdir()
    assert str(path) in told and "Not answered: 4r1" in told
    assert marked(read_answers(path)) == marked(me.file.answers)


def stub_of(key):
    """The function of an item as the lesson gives it."""
    (stub,) = [each for each in asked_of(key, "", "gull 7")[0].mistakes if each.name == "stub"]
    return stub.function


def test_handing_in_with_nothing_answered_says_so(me, tmp_path):
    told = repr(me.hand_in(tmp_path / "class"))
    assert "Nothing is answered yet" in told and "Every question" not in told


def test_handing_in_names_what_is_missing_step_by_step_until_nothing_is(me, tmp_path):
    """Untouched functions, predictions of which nobody said what was seen, and wrong answers are all missing."""
    def said():
        return repr(me.hand_in(tmp_path / "class")).splitlines()[1:]

    item = asked_of("1m", "", "gull 7")[0]
    me.check("1m", stub_of("1m"))
    assert said() == ["Not answered: 1a, 1e, 1m."]
    me.predict("1a", "a")
    assert said() == ["Not answered: 1e, 1m.", "Not said yet what you saw: 1a."]
    me.reveal("1a", "the result")
    me.answer("1e", "b")
    assert said() == ["Not answered: 1m.", "Not said yet what you saw: 1a.", "Answered, but not right yet: 1e."]
    me.saw("1a", "Some letters were wrong.")
    me.check("1m", item.right)
    assert said() == ["Answered, but not right yet: 1e."] and "Still open: say what" in repr(me.progress())
    me.answer("1e", "a")
    assert said() == ["Every question of lesson 1 is answered."] and "Still open" not in repr(me.progress())


@pytest.mark.parametrize("key", [key for number in sorted(LESSONS) for key in keys_of(number)
                                 if asked_of(key, "", "gull 7")[0].kind == "function"])  # fmt: skip
def test_a_function_checked_as_it_was_given_is_open_and_no_wrong_idea(me, key):
    """Whoever runs a page from top to bottom has checked it so."""
    me.check(key, stub_of(key))
    (found,) = [each for each in marked(me.file.answers, [int(key[:-1])]) if each.key == key]
    assert (found.verdict, found.misconception, found.given) == (UNANSWERED, "", None)


def test_each_answer_is_marked_against_what_is_worked_out_anew(me):
    me.predict("4a", "d")
    me.predict("4b", "a")
    item, data, _ = asked_of("4c", "", "gull 7")
    me.answer("4c", [1 - bit for bit in item.right(data)])
    me.check("4m", bits_of_edges)
    found = {each.key: each for each in marked(me.file.answers, [4])}
    assert set(found) == set(keys_of(4))
    assert (found["4a"].verdict, found["4a"].misconception) == (WRONG, "volume and time depend on each other")
    assert (found["4b"].verdict, found["4b"].misconception) == (RIGHT, "")
    assert (found["4c"].verdict, found["4c"].misconception) == (WRONG, "takes a long cycle for a 0")
    assert found["4m"].verdict == RIGHT
    assert found["4s"].verdict == UNANSWERED


@pytest.mark.parametrize("key", ["1m", "4m"])
def test_every_known_mistake_of_a_function_is_marked_by_the_belief_behind_it(key, me):
    for mistake in asked_of(key, "", "gull 7")[0].mistakes:
        me.check(key, mistake.function)
        result = verdict_of(me, key)
        believed = (UNANSWERED, "") if mistake.name == "stub" else (WRONG, mistake.means)
        assert (result.verdict, result.misconception) == believed


def test_a_file_that_claims_to_have_passed_is_not_believed(me):
    me.check("4m", lambda e, s, n: [1])
    held = copy.deepcopy(me.file.answers)
    held["items"]["4m"] |= {"passed": True, "mistake": ""}
    assert next(each for each in marked(held) if each.key == "4m").verdict == WRONG


def test_an_answer_to_other_data_is_reported_and_not_marked_wrong(me):
    me.answer("4c", "010101")
    held = copy.deepcopy(me.file.answers)
    held["kit"] = "0.0.9"
    held["items"]["4c"]["digest"] = "0" * 20
    held["items"]["12x"] = {"answer": 1}
    found = {each.key: each for each in marked(held)}
    assert found["4c"].verdict == found["12x"].verdict == MISMATCH
    assert "0.0.9" in found["4c"].note and "0.1.0" in found["4c"].note


@pytest.mark.parametrize("odd", ["?", [2], [[0, 1]], {"a": 1}, None, [], "0" * 99, -1e300])
def test_an_answer_of_any_shape_is_marked_without_a_traceback(odd, me):
    me.answer("4c", "010101")
    me.check("4m", bits_of_edges)
    held = copy.deepcopy(me.file.answers)
    for key in ("4c", "4m"):
        held["items"][key]["answer"] = odd
    found = {each.key: each for each in marked(held)}
    assert {found["4c"].verdict, found["4m"].verdict} <= {WRONG, MISMATCH, UNANSWERED}


def test_progress_says_what_one_can_do_and_nothing_else(me):
    assert "Nothing is shown yet" in repr(me.progress())
    item, data, _ = asked_of("4c", "", "gull 7")
    me.answer("4c", item.right(data))
    assert "You can now read bits from the lengths of cycles by hand." in repr(me.progress())
    assert "Still open: write a function that reads bits from edges." in repr(me.progress())


def test_abilities_are_tied_to_items_that_can_still_be_got_right():
    for number, lesson in LESSONS.items():
        for words, letter in lesson.can:
            assert f"{number}{letter}" in keys_of(number) and words[0].islower()
