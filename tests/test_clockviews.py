"""A clock that is set once: how far it is off, against arithmetic, and what it is said to read."""

import numpy as np
import pytest

import kit
from kit.clockviews import clock_run, clock_view
from kit.errors import SettingError

STEADY = kit.FORMATS["steady"]
WORDS = b"Wind west 5, $3 of rain. Terns: 40."


@pytest.fixture(scope="module")
def tape():
    return kit.encode(WORDS, name="log.txt", format="steady", lead_in_s=1.0)


def at_speed(tape, percent):
    return kit.Deck(replay_speed_percent=percent).play(tape)


def test_a_steady_tape_is_read_as_it_was_written(tape):
    run = clock_run(tape, tape, STEADY)
    assert run.written == run.read == WORDS.decode()
    assert not any(run.wrong)
    assert np.abs(run.late_bits).max() < 0.01


@pytest.mark.parametrize("percent", [-2, -0.05, 0.05, 1])
def test_a_clock_is_off_by_the_error_of_every_bit_summed_up(tape, percent):
    """After k bits of a tape that runs e too fast they came k·e/(1+e) bits sooner, in bits as the clock has them."""
    late = clock_run(tape, at_speed(tape, percent), STEADY).late_bits
    error = percent / 100
    assert late == pytest.approx(np.arange(len(late)) * error / (1 + error), abs=0.02)


@pytest.mark.parametrize("shift_s", [0.0, 0.01])
def test_a_letter_is_where_its_bits_are_and_silence_in_front_moves_nothing(tape, shift_s):
    silence = np.zeros(round(shift_s * tape.rate), np.float32)
    run = clock_run(tape, kit.Sound(np.concatenate((silence, tape.samples)), tape.rate), STEADY)
    assert len(run.letters_s) == len(WORDS) + 1
    assert np.diff(run.letters_s) == pytest.approx(8 / 1200, rel=1e-3)
    assert run.letters_s[0] == pytest.approx(56 / 1200, rel=1e-3)


def test_picture_and_text_say_the_same(tape):
    shown = clock_view(tape, at_speed(tape, 1), STEADY)
    run = clock_run(tape, at_speed(tape, 1), STEADY)
    letters = [text.get_text() for text in shown.figure.axes[1].texts]
    count = len(WORDS)
    assert "".join(letters[:count]).replace(r"\$", "$") == run.written
    assert letters[2 * count:].count("×") == sum(run.wrong) > 10
    assert f"{sum(run.wrong)} of {count} letters are wrong." in shown.text
    assert f"Written: {run.written}\nRead: {run.read}\n" in shown.text
    assert "more than half a bit off: from bit 5" in shown.text
    assert shown.png().startswith(b"\x89PNG")


@pytest.mark.parametrize(("change", "words"), [
    (lambda tape: (tape, tape, kit.FORMATS["house"]), "cells of equal length"),
    (lambda tape: (tape, tape.part(0, 1.2), STEADY), "the same edges"),
    (lambda tape: (tape.part(0, 0.9), tape, STEADY), "a block of data"),
    (lambda tape: (tape, tape.scaled(0.0), STEADY), "the same edges"),
])
def test_what_does_not_fit_is_refused_in_one_line(tape, change, words):
    with pytest.raises(SettingError, match=words) as refused:
        clock_run(*change(tape))
    assert "\n" not in str(refused.value)
