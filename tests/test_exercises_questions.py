"""The questions of all lessons: options that give nothing away, and three of them to open each lesson."""

import pytest

from kit.errors import SettingError
from kit.exercises import LESSONS
from kit.exercises.items import Choice, Option
from kit.exercises.lessons import BACK, asked_of, keys_of

CHOICES = [choice for lesson in LESSONS.values()
           for choice in (*lesson.recall, *lesson.items.values()) if isinstance(choice, Choice)]
each_choice = pytest.mark.parametrize("choice", CHOICES, ids=lambda choice: choice.question[:30])


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
