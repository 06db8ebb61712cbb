"""A class is marked: each learner once, by right answers worked out anew; copies are told."""

import os
from collections import Counter

import pytest
from class_cases import (
    EVERY_KEY,
    KEYS,
    SHORT_KEYS,
    answers_of,
    idea_behind,
    put,
    table,
    verdicts,
    wrong_record,
)

from kit.errors import SettingError
from kit.exercises import LESSONS
from kit.exercises.answers import answer_name
from kit.exercises.classcounts import misconceptions, questions
from kit.exercises.classmarks import mark_class
from kit.exercises.classtables import answers_table
from kit.exercises.lessons import asked_of
from kit.exercises.marking import MISMATCH, RIGHT, UNANSWERED, WRONG

pytest_plugins = ["class_fixtures", "commandline_fixtures"]

OWN = [key for key in KEYS if asked_of(key, "", "gull 7")[0].kind != "choice"]


# -- right and wrong ------------------------------------------------------------------------------------


def test_every_right_answer_is_right_and_every_known_mistake_is_wrong_with_its_belief(hand_in):
    """Of every lesson there is, whatever its items are."""
    put(hand_in, answers_of("gull 7"))
    put(hand_in, answers_of("tern 2", wrong=EVERY_KEY))
    marks = mark_class(hand_in)
    assert marks.all_usable and marks.lessons == tuple(sorted(LESSONS)) and marks.keys == EVERY_KEY
    assert set(verdicts(marks, "gull 7").values()) == {RIGHT}
    assert set(verdicts(marks, "tern 2").values()) == {WRONG}
    believed = {result.key: result.misconception for result in marks.learners[1].results}
    assert believed == {key: idea_behind(key, "tern 2") for key in EVERY_KEY}


def test_only_lessons_that_someone_began_are_marked_unless_lessons_are_named(hand_in):
    put(hand_in, answers_of("gull 7", keys=["4a"]))
    put(hand_in, answers_of("tern 2", keys=["1a"]))
    assert mark_class(hand_in).lessons == (1, 4)
    assert mark_class(hand_in, [4]).keys == KEYS
    assert verdicts(mark_class(hand_in, [4]), "tern 2") == dict.fromkeys(KEYS, UNANSWERED)
    with pytest.raises(SettingError, match="a lesson must be one of"):
        mark_class(hand_in, [99])


def test_questions_count_who_chose_which_wrong_answer(hand_in):
    """Counted a second time here, from the very records that were written."""
    given = {f"gull {k}": wrong_record("4a", f"gull {k}", which=k % 3) for k in range(7)}
    for name, record in given.items():
        answers = answers_of(name, keys=["4b"])
        answers["items"]["4a"] = record
        put(hand_in, answers)
    put(hand_in, answers_of("tern 2", keys=["4a", "4b"]))
    counts = {count.key: count for count in questions(mark_class(hand_in, [4])) if count.key in ("4a", "4b", "4c")}
    letters = Counter(record["votes"][0] for record in given.values())
    assert {each.letter: len(each.learners) for each in counts["4a"].wrong} == dict(letters)
    assert (counts["4a"].right, counts["4a"].wrong_count, counts["4a"].asked) == (1, 7, 8)
    assert (counts["4b"].right, counts["4b"].wrong_count) == (8, 0)
    assert (counts["4c"].unanswered, counts["4c"].asked) == (8, 8)
    assert counts["4a"].wrong[0].learners == ("gull 0", "gull 3", "gull 6")
    assert misconceptions(list(counts.values()))[0][1:] == (3, ["4a"])


def test_opening_questions_are_counted_by_what_was_asked_as_each_learner_is_asked_others(hand_in):
    for k in range(20):
        put(hand_in, answers_of(f"gull {k}", keys=["4r1"]))
    counts = [count for count in questions(mark_class(hand_in, [4])) if count.key == "4r1"]
    assert len(counts) > 1 and sum(count.right for count in counts) == 20
    asked = Counter(asked_of("4r1", "", f"gull {k}")[0].question for k in range(20))
    assert {count.question: count.asked for count in counts} == dict(asked)


def test_the_first_choice_and_the_last_are_told_apart(hand_in):
    answers = answers_of("gull 7", keys=["4a"])
    right = answers["items"]["4a"]["votes"][0]
    answers["items"]["4a"]["votes"] = ["a" if right != "a" else "b", right]
    put(hand_in, answers)
    (count,) = [count for count in questions(mark_class(hand_in, [4])) if count.key == "4a"]
    assert (count.right, count.right_at_first) == (1, 0)
    (row,) = [row for row in table(answers_table(mark_class(hand_in))) if row["item"] == "4a"]
    assert (row["given"], row["first choice"]) == (right, answers["items"]["4a"]["votes"][0])


# -- copies, forgeries, the same learner twice ----------------------------------------------------------


def test_answers_to_another_s_data_are_a_copy_and_nothing_of_the_file_counts(hand_in, call):
    original = answers_of("gull 7", keys=KEYS)
    put(hand_in, original)
    put(hand_in, original | {"code_name": "tern 2"})
    put(hand_in, answers_of("crab 3", keys=KEYS))
    marks = mark_class(hand_in)
    assert set(verdicts(marks, "tern 2").values()) == {MISMATCH}
    assert {*verdicts(marks, "gull 7").values(), *verdicts(marks, "crab 3").values()} == {RIGHT}
    (remark,) = marks.refused
    assert remark.file == answer_name("", "tern 2") and answer_name("", "gull 7") in remark.what
    assert all(count.mismatch == 1 and not count.wrong_count for count in questions(marks)
               if not count.key.startswith("4r"))  # fmt: skip
    assert call("mark", hand_in)[0] == 1


def test_a_copy_that_claims_its_data_as_its_own_gets_the_answers_wrong(hand_in):
    """Whoever changes the digests as well is marked by their own data: what is right for another is wrong there."""
    original, forged = answers_of("gull 7", keys=OWN), answers_of("tern 2", keys=OWN)
    for key in OWN:
        forged["items"][key]["answer"] = original["items"][key]["answer"]
    put(hand_in, original)
    put(hand_in, forged)
    assert set(verdicts(mark_class(hand_in), "tern 2")[key] for key in OWN) == {WRONG}


def test_to_be_asked_the_same_by_chance_makes_no_copy(hand_in):
    """Where little is drawn, two of ten learners are asked the same; here all give answers of a wrong kind."""
    names, asked = [f"gull {k}" for k in range(10)], Counter()
    for name in names:
        answers = answers_of(name, keys=SHORT_KEYS)
        for key, record in answers["items"].items():
            if "answer" in record:
                asked[key, record["digest"]] += 1
                record["answer"] = [["odd"]]
        put(hand_in, answers)
    assert max(asked.values()) > 1
    marks = mark_class(hand_in)
    assert not marks.refused
    choices = sum("r" in key or asked_of(key, "", names[0])[0].kind == "choice" for key in EVERY_KEY)
    assert [learner.count(RIGHT) for learner in marks.learners] == [choices] * len(names)


def test_data_of_nobody_here_are_other_data_and_no_copy(hand_in, call):
    answers = answers_of("gull 7", keys=KEYS)
    for key in OWN:
        answers["items"][key]["digest"] = "0" * 20
    put(hand_in, answers)
    put(hand_in, answers_of("tern 2", keys=KEYS))
    marks = mark_class(hand_in)
    found = verdicts(marks, "gull 7")
    assert {found[key] for key in OWN} == {MISMATCH}
    assert {found[key] for key in KEYS if key not in OWN} == {RIGHT}
    assert not marks.refused and not marks.all_usable and call("mark", hand_in)[0] == 1


def test_answers_of_another_version_are_other_data_even_if_they_look_like_somebody_else_s(hand_in):
    original = answers_of("gull 7", keys=KEYS)
    put(hand_in, original)
    put(hand_in, original | {"code_name": "tern 2", "kit": "0.0.9"})
    marks = mark_class(hand_in)
    assert not marks.refused
    note = next(each.note for each in marks.learners[1].results if each.key == OWN[0])
    assert "0.0.9" in note and "other data" in note


def test_an_item_this_kit_does_not_know_is_other_data_at_the_end(hand_in):
    answers = answers_of("gull 7", keys=["4a"])
    answers["items"]["=4z"] = {"answer": 1}
    put(hand_in, answers)
    marks = mark_class(hand_in)
    assert marks.keys[-1] == "=4z" and verdicts(marks, "gull 7")["=4z"] == MISMATCH
    assert table(answers_table(marks))[-1]["item"] == "'=4z"
    assert "=4z" not in mark_class(hand_in, [4]).keys


def test_of_two_files_of_a_learner_the_newer_counts_and_once(hand_in):
    old = put(hand_in / "first", answers_of("gull 7", keys=KEYS, wrong=KEYS), seconds=1_000_000)
    new = put(hand_in / "second", answers_of("gull 7", keys=KEYS), seconds=2_000_000)
    for first, second in ((old, new), (new, old)):
        os.utime(first, (1_000_000,) * 2)
        os.utime(second, (2_000_000,) * 2)
        marks = mark_class(hand_in)
        (remark,) = marks.remarks
        assert remark.file == f"{first.parent.name}/{first.name}"
        assert f"{second.parent.name}/{second.name} counts" in remark.what
        assert len(marks.learners) == 1 and marks.all_usable
        assert set(verdicts(marks, "gull 7").values()) == {RIGHT if second is new else WRONG}


def test_the_same_file_twice_is_counted_once_and_said(hand_in):
    put(hand_in, answers_of("gull 7", keys=KEYS))
    put(hand_in, answers_of("gull 7", keys=KEYS), name=answer_name("", "gull 7").replace(".json", " (2).json"))
    marks = mark_class(hand_in)
    assert len(marks.learners) == 1 and "with the same answers" in marks.remarks[0].what


def test_a_file_renamed_to_look_like_another_learner_s_is_reported(hand_in):
    put(hand_in, answers_of("gull 7", keys=KEYS), seconds=1_000_000)
    put(hand_in, answers_of("gull 7", keys=KEYS), name=answer_name("", "tern 2"), seconds=2_000_000)
    marks = mark_class(hand_in)
    assert [remark.file for remark in marks.refused] == [answer_name("", "tern 2")]
    assert "a copy?" in marks.refused[0].what and [each.name for each in marks.learners] == ["gull 7"]


def test_sentences_alike_word_for_word_are_pointed_out(hand_in):
    said = {"4a": "The bits stayed as they were.", "4b": "The file grew and the bits did not."}
    for name in ("gull 7", "tern 2", "crab 3"):
        answers = answers_of(name, keys=["4a", "4b"])
        for key, words in said.items():
            answers["items"][key]["saw"] = words if name != "crab 3" else f"{words} I think."
        put(hand_in, answers)
    (remark,) = mark_class(hand_in).remarks
    assert "'tern 2' saw the same" in remark.what and "'gull 7'" in remark.what


def test_the_same_code_name_in_two_classes_is_two_learners(hand_in):
    for class_code in ("6b", "6c"):
        put(hand_in, answers_of("gull 7", class_code, KEYS))
    marks = mark_class(hand_in)
    assert [learner.name for learner in marks.learners] == ["6b gull 7", "6c gull 7"]
    assert all(count.right == count.asked for count in questions(marks))
