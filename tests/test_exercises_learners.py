"""Learners: a code name brings own data, a prediction opens its result, answers survive, marks are worked out."""

import copy
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import kit
from kit.errors import KitError, SettingError
from kit.exercises import LESSONS, learner, resume
from kit.exercises.answers import AnswerError, answer_name, read_answers
from kit.exercises.builds import DEMONSTRATION, INSTEAD, learner_copy, write_learner_copies
from kit.exercises.items import Choice, Option
from kit.exercises.lesson04bits import bits_of_edges
from kit.exercises.lessons import BACK, asked_of, keys_of
from kit.exercises.marking import MISMATCH, RIGHT, UNANSWERED, WRONG, marked

CHOICES = [choice for lesson in LESSONS.values()
           for choice in (*lesson.recall, *lesson.items.values()) if isinstance(choice, Choice)]
each_choice = pytest.mark.parametrize("choice", CHOICES, ids=lambda choice: choice.question[:30])


@pytest.fixture
def me(tmp_path):
    return learner("Gull 7", folder=tmp_path / "answers")


# -- questions --------------------------------------------------------------------------------------------


@each_choice
def test_a_choice_has_four_options_one_right_and_three_misconceptions_each_with_its_reply(choice):
    assert len(choice.options) == 4
    assert sum(not option.misconception for option in choice.options) == 1
    assert len({option.misconception for option in choice.options}) == 4
    assert len({option.reply for option in choice.options}) == len({option.text for option in choice.options}) == 4


@each_choice
def test_options_are_alike_in_length_so_that_length_gives_nothing_away(choice):
    lengths = [len(option.text) for option in choice.options]
    assert max(lengths) <= 1.3 * min(lengths)


def test_the_right_letter_is_not_mostly_the_same():
    keys = [choice.key for choice in CHOICES]
    assert all(keys.count(letter) >= len(keys) / 10 for letter in "abcd")


def test_the_right_option_is_not_mostly_the_longest_or_the_shortest():
    places = [sorted(len(option.text) for option in choice.options).index(len(choice.option(choice.key).text))
              for choice in CHOICES]
    assert max(places.count(0), places.count(3)) < 0.6 * len(places)


def test_a_choice_without_three_misconceptions_is_refused_in_one_line():
    with pytest.raises(SettingError, match="four options") as refused:
        Choice("?", (Option("a", "b"),) * 4)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("number", sorted(LESSONS))
def test_a_lesson_opens_with_three_different_questions_from_lessons_before_it(number):
    if number == 1:
        assert not any("r" in key for key in keys_of(1))
        return
    earlier = [max(1, number - back) for back in BACK]
    assert BACK == (1, 2, 4)
    seen = set()
    for k in range(50):
        asked = [asked_of(f"{number}r{place}", "", f"code {k}")[0] for place in (1, 2, 3)]
        assert len({question.question for question in asked}) == 3
        assert all(question in LESSONS[lesson].recall for question, lesson in zip(asked, earlier, strict=True))
        seen.add(tuple(question.question for question in asked))
    assert len(seen) > 2


# -- code names -------------------------------------------------------------------------------------------


def test_a_code_name_gives_the_same_words_data_seed_and_sound_again_and_again(tmp_path):
    one, other = learner("Gull 7", folder=tmp_path), learner(" gull   7", folder=tmp_path / "elsewhere")
    assert one.message(4) == other.message(4) and one.data("4m") == other.data("4m")
    assert one.seed("1a") == other.seed("1a") != one.seed("4a")
    assert one.tape(1).samples.tobytes() == other.tape(1).samples.tobytes()
    assert kit.decode(one.tape(1)).files[0].data.decode() == one.message(1) == one.data("1m")


def test_the_words_of_one_learner_never_change():
    """Written down when they were first drawn: a change would make answer files of before worthless."""
    assert learner("gull 7").message(1) == "Wednesday 0900. Wind north 4, drizzle before noon. Boats: 82."
    assert learner("gull 7").message(4) == "Terns 35 NW1"


def test_a_hundred_codes_give_a_hundred_words_and_tapes():
    for lesson in (1, 4):
        words = [learner(f"code {k}", "6b").message(lesson) for k in range(100)]
        assert len(set(words)) >= (100 if lesson == 1 else 99)  # twelve characters hold fewer


def test_the_class_code_changes_the_data(tmp_path):
    assert learner("gull 7", "6b", tmp_path).data("4m") != learner("gull 7", "6c", tmp_path).data("4m")


def test_a_learner_is_told_to_use_a_code_name_and_where_the_answers_are(me):
    assert "never your real name" in repr(me)
    assert f"answers/{me.file.path.name}" in repr(me)
    assert "choose a code name" in repr(learner("guest"))


@pytest.mark.parametrize("name", ["", "   ", "\x00\u200b", "x" * 41, 7, None, ["gull"]])
def test_what_is_no_name_is_refused_in_one_line(name, tmp_path):
    with pytest.raises(SettingError, match="code_name must be text") as refused:
        learner(name, folder=tmp_path)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("name", ["../../up", "CON", "a/b\\c:d*?", "‮gull", "<b>gull</b>", ".hidden", "…", "鴎", "\n"])
def test_any_name_stays_inside_the_folder_and_is_shown_escaped(name, tmp_path):
    if not name.strip():
        return
    folder = tmp_path / "answers"
    made = learner(name, folder=folder)
    made.predict("4a", "b")
    assert [entry.parent for entry in folder.iterdir()] == [folder]
    assert resume(name, folder=folder).file.record("4a")["votes"] == ["b"]
    assert "<b>" not in made._repr_html_()
    assert [entry.name for entry in tmp_path.iterdir()] == ["answers"]


def test_names_that_look_alike_when_made_safe_have_files_of_their_own():
    assert len({answer_name("", name) for name in ("a/b", "a_b", "a:b")}) == 3
    assert answer_name("a", "b") != answer_name("", "a b")


# -- predict, look, say, read -----------------------------------------------------------------------------


def test_a_result_is_locked_until_it_is_predicted_and_says_so(me):
    looked = []
    assert repr(me.reveal("4a", lambda: looked.append(1))).startswith("Predict first.")
    assert repr(me.saw("4a", "nothing")).startswith("Predict first.")
    assert repr(me.explain("4a")).startswith("Predict first.")
    assert not looked and not me.file.path.exists()


def test_after_a_prediction_the_result_shows_and_what_was_seen_is_asked_before_it_is_explained(me):
    assert "Saved: b)" in repr(me.predict("4a", " B "))
    assert repr(me.explain("4a")).startswith("Predict first.")
    assert me.reveal("4a", lambda: "the result") == me.reveal("4a", "the result") == "the result"
    assert "First say what you saw" in repr(me.explain("4a"))
    assert repr(me.saw("4a", "  ")) == "Write a sentence first."
    assert "Saved." in repr(me.saw("4a", "The bits stayed."))
    volume = LESSONS[4].items["a"]
    assert volume.option("b").reply in repr(me.explain("4a")) and volume.explanation in repr(me.explain("4a"))


def test_a_prediction_may_change_until_the_result_was_seen_and_both_votes_are_kept(me):
    me.predict("4a", "a")
    me.predict("4a", "c")
    me.reveal("4a", 1)
    assert "that stays" in repr(me.predict("4a", "d"))
    assert me.file.record("4a")["votes"] == ["a", "c"]


def test_of_many_votes_the_first_and_the_latest_are_kept(me):
    for k in range(60):
        me.answer("4e", "abd"[k % 3])
    votes = me.file.record("4e")["votes"]
    assert len(votes) <= 10 and votes[0] == "a" and votes[-1] == "d"


def test_an_answer_that_was_right_stays_right_whatever_is_tried_after_it_and_all_votes_are_kept(me):
    key = LESSONS[1].items["e"].key
    me.answer("1e", key)
    others = [letter for letter in "abcd" if letter != key]
    told = [repr(me.answer("1e", letter)) for letter in others]
    assert all(f"Your answer {key} was right, and counts." in each for each in told)
    assert me.file.record("1e")["votes"] == [key, *others]
    assert (verdict_of(me, "1e").verdict, verdict_of(me, "1e").given) == (RIGHT, key)
    assert "You can now say what it means that a file is checked." in repr(me.progress())
    assert f"Answered so far: {key}" in repr(me.answer("1e"))


def test_an_answer_that_was_wrong_counts_as_wrong_until_a_right_one_is_given(me):
    right = LESSONS[1].items["e"].key
    wrong = next(letter for letter in "abcd" if letter != right)
    assert "was right" not in repr(me.answer("1e", wrong))
    assert verdict_of(me, "1e").verdict == WRONG and "Still open" in repr(me.progress())
    me.answer("1e", right)
    assert verdict_of(me, "1e").verdict == RIGHT and verdict_of(me, "1e").first == wrong


def test_of_predictions_the_last_counts_even_if_an_earlier_one_was_right(me):
    right = LESSONS[4].items["a"].key
    wrong = next(letter for letter in "abcd" if letter != right)
    me.predict("4a", right)
    me.predict("4a", wrong)
    assert verdict_of(me, "4a").verdict == WRONG and f"Answered so far: {wrong}" in repr(me.predict("4a"))


def test_a_right_answer_in_a_file_without_a_choice_counts_for_nothing(me):
    me.answer("1e", LESSONS[1].items["e"].key)
    held = copy.deepcopy(me.file.answers)
    held["items"]["1e"]["votes"] = []
    assert next(each for each in marked(held) if each.key == "1e").verdict == UNANSWERED


def test_saving_with_nothing_chosen_says_to_choose_first(me):
    for told in (me.predict("4a", ""), me.answer("4e", " ")):
        assert repr(told) == "Choose one of the four first: a, b, c or d."


@pytest.mark.parametrize("typed", ["0.92 ms", "31,4 %", "0.92ms", "-3 µs", "40%"])
def test_a_number_with_its_unit_is_told_to_leave_the_unit_away_and_is_not_kept(typed, me):
    told = repr(me.answer("4d", typed))
    assert told == f"Leave the unit away and give the number alone, got {typed!r}."
    assert not me.file.record("4d")


@pytest.mark.parametrize("typed", ["ms", "three", "1.2.3", "", "1 2"])
def test_what_is_no_number_at_all_is_told_to_be_one(typed, me):
    assert repr(me.answer("4d", typed)).startswith("This answer is a number, got ")


@pytest.mark.parametrize("letter", ["e", "", "ab", 3, ["a"], "?"])
def test_a_letter_that_is_none_is_answered_in_one_line_and_not_kept(me, letter):
    assert "a, b, c or d" in repr(me.predict("4a", letter))
    assert "a, b, c or d" in repr(me.answer("4e", letter))
    assert not me.file.record("4a") and not me.file.record("4e")


@pytest.mark.parametrize("key", ["4z", "99a", "", "a", "4", None, 4, "4r4", "1r1", "4" * 5000])
def test_an_item_that_is_none_is_refused_in_one_line_that_names_those_there_are(me, key):
    with pytest.raises(SettingError, match="4a, 4b") as refused:
        me.predict(key, "a")
    assert "\n" not in str(refused.value)


def test_the_wrong_verb_is_refused_with_the_right_one(me):
    with pytest.raises(SettingError, match=r"take me\.check"):
        me.answer("4m", [0])
    with pytest.raises(SettingError, match=r"take me\.answer"):
        me.predict("4c", "a")


def test_a_question_says_how_to_answer_it_in_code_and_escapes_what_was_said(me):
    asked = me.predict("4a")
    assert 'me.predict("4a", "letter")' in repr(asked) and repr(asked).count("\n") >= 5
    me.predict("4a", "b")
    me.reveal("4a", 1)
    me.saw("4a", "<script>alert(1)</script>")
    assert "<script>" not in me.saw("4a")._repr_html_()
    assert "&lt;script&gt;" in me.saw("4a")._repr_html_()


def test_the_control_beside_a_question_saves_what_it_is_told_and_nothing_odd(me):
    from kit.exercises.control import Control

    control = Control.of(me.predict("4a").questions[0])
    assert control.value == "" and [letter for letter, _ in control.options] == list("abcd")
    for odd in (None, {}, {"kind": "save"}, {"kind": "save", "value": 3}, {"kind": "go", "value": "a"}):
        control._told(None, odd, [])
    assert not me.file.record("4a")
    control._told(None, {"kind": "save", "value": "d"}, [])
    assert me.file.record("4a")["votes"] == ["d"] and control.status.startswith("Saved: d)")


# -- hints ------------------------------------------------------------------------------------------------


def test_the_next_hint_needs_a_changed_attempt_and_how_many_are_left_is_not_said(me):
    def lengths_first(edges_s, short_s, long_s):
        return [0 * each for each in range(0)]

    tries = [lambda e, s, n: [], lambda e, s, n: [][:1], lengths_first, lambda e, s, n: [1][1:]]
    stub = next(each for each in asked_of("4m", "", "gull 7")[0].mistakes if each.name == "stub")
    first = repr(me.check("4m", tries[0]))
    again = repr(me.check("4m", tries[0]))
    assert first == stub.shows and again.splitlines()[0] == stub.shows and "Change something" in again
    told = [repr(me.check("4m", each)) for each in tries[1:]]
    assert told[:2] == [stub.look, asked_of("4m", "", "gull 7")[0].worked] and told[2] == told[1]
    assert not any(digit in first + again for digit in "123")


def test_another_mistake_begins_with_its_own_first_hint(me):
    me.check("4m", lambda e, s, n: [])
    me.check("4m", lambda e, s, n: [0][1:])
    outcome = me.check("4m", lambda *given: [1 - bit for bit in bits_of_edges(*given)])
    assert outcome.mistake == "inverted"
    assert "each is the other one" in repr(outcome)


def test_what_was_right_once_is_not_lost_by_trying_further(me):
    assert me.check("4m", bits_of_edges).passed
    me.check("4m", lambda e, s, n: [])
    assert verdict_of(me, "4m").verdict == RIGHT


# -- the file ---------------------------------------------------------------------------------------------


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


# -- hand in and mark -------------------------------------------------------------------------------------


def verdict_of(me, key):
    return next(each for each in marked(me.file.answers) if each.key == key)


def test_handing_in_makes_one_file_for_each_learner_that_marks_the_same(me, tmp_path):
    me.predict("4a", "a")
    told = repr(me.hand_in(tmp_path / "class"))
    me.predict("4a", "c")
    me.hand_in(tmp_path / "class")
    (path,) = (tmp_path / "class").iterdir()
    assert str(path) in told and "Not answered: 4r1" in told
    assert marked(read_answers(path)) == marked(me.file.answers)


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
        assert (result.verdict, result.misconception) == (WRONG, mistake.means)


def test_a_file_that_claims_to_have_passed_is_not_believed(me):
    me.check("4m", lambda e, s, n: [])
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


# -- in a notebook ----------------------------------------------------------------------------------------


def test_a_refusal_shows_as_one_line_in_a_notebook():
    line = "x must be 1, got 2: take 1"
    assert SettingError(line)._render_traceback_() == [f"SettingError: {line}"]
    assert issubclass(AnswerError, KitError)


def test_learners_copies_differ_from_the_lessons_in_solutions_only(tmp_path):
    lessons = Path(__file__).parents[1] / "lessons"
    paths = write_learner_copies(lessons, tmp_path / "copies")
    pages = {path.name for path in lessons.iterdir() if path.is_file()}
    assert {path.name for path in paths} == pages - {DEMONSTRATION} != pages
    for source in sorted(set(lessons.glob("*.ipynb")) - {lessons / DEMONSTRATION}):
        whole = json.loads(source.read_text("utf-8"))
        made = json.loads((tmp_path / "copies" / source.name).read_text("utf-8"))
        assert made == learner_copy(whole)
        differing = [one for one, other in zip(whole["cells"], made["cells"], strict=True) if one != other]
        is_lesson = re.match(r"(?!00)\d\d-", source.name) is not None  # the others have nothing to solve
        assert bool(differing) == is_lesson
        assert all("solution" in cell["metadata"]["tags"] for cell in differing)
        assert all(cell["source"] == [INSTEAD] for cell in made["cells"]
                   if "solution" in cell["metadata"].get("tags", []))
        assert {**whole, "cells": 0} == {**made, "cells": 0}


def test_no_line_of_a_solution_is_left_in_a_learner_s_copy(tmp_path):
    """By the text of the file, not by its cells: what a solution alone says is nowhere."""
    lessons = Path(__file__).parents[1] / "lessons"
    write_learner_copies(lessons, tmp_path)
    for source in sorted(set(lessons.glob("*.ipynb")) - {lessons / DEMONSTRATION}):
        cells = json.loads(source.read_text("utf-8"))["cells"]
        made = (tmp_path / source.name).read_text("utf-8")
        for cell in cells:
            if "solution" in cell["metadata"].get("tags", []):
                assert "solved_" in "".join(cell["source"]) and "solved_" not in made


def test_pages_of_text_are_copied_as_they_are_and_what_is_somebody_s_own_is_not(tmp_path):
    lessons = tmp_path / "lessons"
    (lessons / "answers").mkdir(parents=True)
    (lessons / "answers" / "gull.json").write_text("{}")
    (lessons / "page.ipynb").write_text('{"cells": [], "metadata": {}}')
    (lessons / "words.md").write_bytes("M\xf6we\r\n".encode())
    (lessons / "tape.wav").write_bytes(b"RIFF")
    paths = write_learner_copies(lessons, tmp_path / "copies")
    assert {path.name for path in paths} == {path.name for path in (tmp_path / "copies").iterdir()} == {
        "page.ipynb", "words.md"}
    assert (tmp_path / "copies" / "words.md").read_bytes() == "M\xf6we\r\n".encode()


def test_where_copies_cannot_be_made_it_says_so_and_writes_nothing(tmp_path):
    lessons, empty = tmp_path / "lessons", tmp_path / "empty"
    lessons.mkdir(), empty.mkdir()
    (lessons / "a.ipynb").write_text('{"cells": [], "metadata": {}}')
    with pytest.raises(SettingError, match="name another"):
        write_learner_copies(lessons, lessons)
    for source in (empty, tmp_path / "none"):
        with pytest.raises(SettingError, match="name another"):
            write_learner_copies(source, tmp_path / "copies")
    for broken in ("[]", "{", '{"cells": [3]}', "\ud800"):
        (lessons / "b.ipynb").write_bytes(broken.encode("utf-8", "surrogatepass"))
        with pytest.raises(SettingError, match=r"b\.ipynb must be a notebook"):
            write_learner_copies(lessons, tmp_path / "copies")
    assert not (tmp_path / "copies").exists()


SLEEPY = """
import time
from kit.exercises import learner
me = learner("gull 7")
me.check("4m", lambda edges_s, short_s, long_s: time.sleep(600))
"""


def test_a_call_that_python_cannot_stop_says_how_to_interrupt_it_and_is_interrupted(tmp_path, monkeypatch):
    from jupyter_client.manager import start_new_kernel

    monkeypatch.setenv("PYTHONPATH", str(Path(kit.__file__).parents[1]))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path))
    manager, client = start_new_kernel(cwd=str(tmp_path))
    try:
        asked = client.execute(SLEEPY)
        shown = []
        while not (shown and shown[-1].get("execution_state") == "idle"):
            message = client.get_iopub_msg(timeout=60)
            if message["parent_header"].get("msg_id") != asked:
                continue  # the answer to the interruption itself, for one
            content = message["content"]
            shown.append(content)
            if "Interrupt Kernel" in content.get("data", {}).get("text/plain", ""):
                manager.interrupt_kernel()
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    said = [content["data"]["text/plain"] for content in shown if "data" in content]
    assert len(said) == 2 and "your answers are kept" in said[0]
    assert said[1].startswith("It was stopped from outside: ")
    assert not any("traceback" in content for content in shown)
