"""Learners: a code name brings own data, a prediction opens its result, and a changed attempt the next hint."""

import copy

import pytest
from class_cases import verdict_of

import kit
from kit.errors import SettingError
from kit.exercises import LESSONS, learner, resume
from kit.exercises.answers import answer_name
from kit.exercises.lesson04bits import bits_of_edges
from kit.exercises.lessons import asked_of
from kit.exercises.marking import RIGHT, UNANSWERED, WRONG, marked

pytest_plugins = ["class_fixtures"]


# -- code names -----------------------------------------------------------------------------------------


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


# -- predict, look, say, read ---------------------------------------------------------------------------


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


# -- hints ----------------------------------------------------------------------------------------------


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
