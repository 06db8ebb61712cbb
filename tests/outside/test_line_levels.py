"""Line and microphone levels as the trade quotes them (seen in a secondary copy)."""

import pytest

from kit.meters import (
    LINE_VOLTS,
    MICROPHONE_BELOW_LINE_DB,
    STUDIO_VOLTS,
    db_apart,
    dbu_to_volts,
    dbv_to_volts,
)


def test_line_level_at_home_is_minus_ten_dbv_and_a_third_of_a_volt():
    """Consumer line level −10 dBV = 0.316 V."""
    assert pytest.approx(0.316, abs=0.0005) == LINE_VOLTS
    assert dbv_to_volts(0) == 1


def test_line_level_in_a_studio_is_plus_four_dbu():
    """+4 dBu = 1.23 V; 0 dBu is 0.7746 V, 1 mW in 600 Ω."""
    assert pytest.approx(1.23, abs=0.005) == STUDIO_VOLTS
    assert dbu_to_volts(0) == pytest.approx(0.7746, abs=0.0001)


def test_the_two_lie_not_quite_twelve_decibels_apart():
    """11.78 dB apart."""
    assert db_apart(STUDIO_VOLTS, LINE_VOLTS) == pytest.approx(11.78, abs=0.01)


def test_a_line_output_overloads_a_microphone_input():
    """Microphone level lies 50 to 60 dB below line: about a third to one millivolt."""
    low, high = (LINE_VOLTS * 10 ** (-db / 20) for db in sorted(MICROPHONE_BELOW_LINE_DB, reverse=True))
    assert (1000 * low, 1000 * high) == pytest.approx((0.316, 1.0), abs=0.005)
