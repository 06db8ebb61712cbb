"""The settings of a deck: neutral by default, checked when made, listed by name; the named decks."""

import math

import pytest

from kit.deck import Deck, assumptions, decks
from kit.errors import SettingError

NUMBERS = [setting for setting in Deck.fields if setting.kind == "number"]


def test_every_setting_is_listed_with_its_range_its_neutral_value_and_its_meaning():
    assert len(Deck.fields) > 50
    for setting in Deck.fields:
        assert setting.name and setting.help
        assert getattr(Deck(), setting.name) == setting.default
        assert setting.kind in ("number", "choice", "switch")
    assert all(setting.unit and setting.low < setting.high for setting in NUMBERS)


@pytest.mark.parametrize("setting", NUMBERS, ids=lambda setting: setting.name)
def test_a_number_is_taken_at_both_ends_of_its_range_and_refused_beyond_them(setting):
    for value in (setting.low, setting.high):
        assert getattr(Deck(**{setting.name: value}), setting.name) == value
    for value in (setting.low - 1e-3, setting.high + 1e-3, math.nan):
        with pytest.raises(SettingError, match=f"{setting.name} must lie in {setting.range}, got"):
            Deck(**{setting.name: value})


@pytest.mark.parametrize("setting", NUMBERS, ids=lambda setting: setting.name)
def test_endless_values_are_taken_only_where_they_mean_off(setting):
    for value in (math.inf, -math.inf):
        if value == setting.off:
            assert getattr(Deck(**{setting.name: value}), setting.name) == value
        else:
            with pytest.raises(SettingError):
                Deck(**{setting.name: value})


@pytest.mark.parametrize("value", ["3", None, True, 1j, [1]])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(SettingError, match="record_wow_percent must lie in 0 to 20 %"):
        Deck(record_wow_percent=value)


def test_words_and_switches_are_checked_too():
    with pytest.raises(SettingError, match=r"source_wiring must be straight, mono, .* got 'crossed'"):
        Deck(source_wiring="crossed")
    with pytest.raises(SettingError, match="source_inverted must be yes, no"):
        Deck(source_inverted="yes")
    assert Deck(source_inverted=1).source_inverted is True


def test_a_message_is_one_line_and_says_what_to_do():
    with pytest.raises(SettingError) as caught:
        Deck(hiss_dbfs=20)
    assert str(caught.value) == ("hiss_dbfs must lie in -140 to 0 dBFS, or -inf for none, got 20 dBFS: "
                                 "choose a value in that range")


def test_settings_can_be_changed_but_not_in_place():
    deck = Deck(hiss_dbfs=-50)
    louder = deck.with_settings(hiss_dbfs=-40, hum_hz=60)
    assert (deck.hiss_dbfs, louder.hiss_dbfs, louder.hum_hz) == (-50, -40, 60)
    assert louder.changed() == {"hiss_dbfs": -40, "hum_hz": 60}
    with pytest.raises(AttributeError):
        deck.hiss_dbfs = -30
    with pytest.raises(SettingError, match="got 'record_wow': did you mean 'record_wow_hz'"):
        deck.with_settings(record_wow=1)


def test_equal_settings_make_equal_decks_that_can_be_looked_up():
    assert Deck(hiss_dbfs=-50) == Deck(hiss_dbfs=-50.0)
    assert len({Deck(), Deck(), Deck(hum_hz=60)}) == 2


def test_what_a_person_types_is_understood_or_refused_with_the_range():
    by_name = {setting.name: setting for setting in Deck.fields}
    assert by_name["record_speed_percent"].parse(" -2.5 ") == -2.5
    assert by_name["hiss_dbfs"].parse("-inf") == -math.inf
    assert by_name["hiss_dbfs"].parse("off") == -math.inf
    assert by_name["source_wiring"].parse("left-dead") == "left-dead"
    assert by_name["source_inverted"].parse("yes") is True
    for name, text in (("record_speed_percent", "fast"), ("record_speed_percent", "500"), ("codec", "off"),
                       ("source_inverted", "perhaps"), ("hiss_dbfs", "")):
        with pytest.raises(SettingError, match=name):
            by_name[name].parse(text)


def test_the_named_decks_have_short_plain_names():
    assert {"studio", "home", "portable", "worn", "laptop"} <= set(decks)
    assert all(name.isalpha() and name.islower() and len(name) <= 8 for name in decks)


@pytest.mark.parametrize("name", decks)
def test_each_figure_of_a_named_deck_has_its_source_or_assumption(name):
    assert set(decks[name].changed()) <= set(assumptions[name]) <= {setting.name for setting in Deck.fields}
    assert all(len(reason) > 10 for reason in assumptions[name].values())


def test_the_named_decks_cannot_be_changed_by_accident():
    with pytest.raises(TypeError):
        decks["home"] = Deck()
    with pytest.raises(TypeError):
        assumptions["home"]["hiss_dbfs"] = "no reason"


def test_the_better_machine_is_better_in_every_way_that_counts():
    order = [decks[name] for name in ("studio", "home", "portable", "worn")]
    for name in ("hiss_dbfs", "replay_wow_percent", "replay_flutter_percent", "replay_spacing_um"):
        values = [getattr(deck, name) for deck in order]
        assert values == sorted(values) and len(set(values)) == 4
