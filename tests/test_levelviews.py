"""Pictures of levels: what is counted at each, against the bench and by hand."""

import numpy as np
import pytest

from kit.bench.levels import LevelsState, find
from kit.errors import SettingError
from kit.levelviews import (
    RECORDED_DB,
    LevelSweep,
    playing_sweep,
    playing_view,
    recording_sweep,
    recording_view,
)

WORDS = "Thursday 0600. Wind west 5, fog before noon. Terns: 40."


def test_a_tape_recorded_as_usual_is_that_of_the_bench():
    """But for saturation, which the bench has none of and a usual recording is far from."""
    sweep, bench = playing_sweep(WORDS, -14), find(LevelsState(words=WORDS, hiss_db=-14))
    assert sweep.gains == bench.levels_db.tolist()
    assert np.mean(np.abs(sweep.wrong - bench.wrong_at) <= 0.15 * sweep.bits) > 0.9
    assert abs(sum(sweep.passed) - np.count_nonzero(bench.wrong_at == 0)) <= 1


def test_to_record_louder_is_to_lower_the_hiss():
    """12 dB louder on a tape of −8 dB is a tape of −20 dB."""
    louder, softer = playing_sweep(WORDS, -8, 12), playing_sweep(WORDS, -20)
    assert louder.passed == softer.passed


def test_the_longest_row_is_that_of_the_levels_that_passed():
    sweep = LevelSweep("by hand", np.arange(-10, 0, 2), np.array([0, 3, 0, 0, 1]), 8)
    assert sweep.passed == [True, False, True, True, False]
    assert sweep.gains == [-10, -8, -6, -4, -2]
    assert sweep.good_db.tolist() == [-6, -4]


def test_a_recording_is_tried_at_every_level_and_fast_ones_have_an_end_above():
    ordinary, double = recording_sweep(WORDS), recording_sweep(WORDS, "double")
    assert ordinary.gains == double.gains == RECORDED_DB.tolist()
    assert ordinary.good_db[1] == RECORDED_DB[-1] > double.good_db[1]


def test_pictures_and_their_text_say_the_same():
    shown = playing_view(WORDS, -8, (0, 12))
    louder = playing_sweep(WORDS, -8, 12)
    lines = shown.figure.axes[0].lines
    assert [line.get_label() for line in lines] == ["recorded as usual", "recorded 12 dB louder"]
    assert lines[1].get_ydata() == pytest.approx(100 * louder.wrong / louder.bits)
    low, high = louder.good_db
    assert f"Recorded 12 dB louder: without fault from {low} to {high} dB.".replace("-", "−") in shown.text
    double = recording_view(WORDS).text.splitlines()[1]
    assert double.startswith("Double speed: without fault from ")


def test_a_tape_that_reads_nowhere_is_said_to_be_one():
    assert "without fault at no playing level; at best" in playing_view(WORDS, -4).text


@pytest.mark.parametrize("record_db", [(), (0, 1, 2, 3)])
def test_a_picture_has_one_to_three_lines(record_db):
    with pytest.raises(SettingError, match="1 to 3 lines"):
        playing_view(WORDS, -8, record_db)
