"""Names off a tape: whatever they were, what comes out can be a file's name on every common system."""

import unicodedata
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kit.names import free_name, safe_name

# Names that Windows keeps for devices (Microsoft Learn, "Naming Files, Paths, and Namespaces").
DEVICES = ("con", "prn", "aux", "nul", *(f"{port}{k}" for port in ("com", "lpt") for k in "0123456789¹²³"))

nasty = st.sampled_from([
    *'/\\:*?"<>|.. \0\n\r\t\x1b\x7f\x85', "..", "../", "..\\", "C:", "~", "\u202e", "\u2066", "\u200d", "\ufeff",
    "\u2028", "\ud800", "\ue000", "\U000e0041", "con", "NUL", "com1", ".txt", "e\u0301", "\u0301", "ﬁ", "島",
    "🌧", "$", "a", "x" * 70,
])
STEERING = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")  # classes of UAX #9
readable = st.text(st.characters(categories=("L", "N", "S", "P"), exclude_characters='/\\:*?"<>|.'), min_size=1)
parts = st.sampled_from(["a", ".", " ", "..", "/", "\0", "\u202e", "con", "島", "é"])
names = st.one_of(st.text(max_size=300), st.lists(nasty, max_size=12).map("".join),
                  st.binary(max_size=40).map(lambda raw: raw.decode("utf-8", errors="replace")))


@given(names)
@settings(derandomize=True, max_examples=500, deadline=None)
@example("../../etc/passwd")
@example("..\\..\\x")
@example("/absolute")
@example("C:\\x:stream")
@example(".")
@example("..")
@example("")
def test_a_safe_name_stays_in_its_folder(name):
    """It is one part of a path, on either kind of system, and no way up."""
    safe = safe_name(name)
    assert safe and not set(safe) & set('/\\:*?"<>|')
    assert PurePosixPath("folder", safe).parent == PurePosixPath("folder")
    assert PureWindowsPath("folder", safe).parent == PureWindowsPath("folder")
    assert PureWindowsPath(safe).parts == (safe,)
    assert safe not in (".", "..")


@given(names)
@settings(derandomize=True, max_examples=500, deadline=None)
def test_a_safe_name_shows_as_it_is(name):
    """Nothing in it steers a terminal, turns the direction of writing, or cannot be seen at all."""
    for character in safe_name(name):
        assert unicodedata.category(character)[0] != "C"
        assert unicodedata.bidirectional(character) not in STEERING
        assert character not in "\u2028\u2029\u200e\u200f\u061c\ufeff"


@given(names)
@settings(derandomize=True, max_examples=500, deadline=None)
def test_a_safe_name_neither_hides_nor_ends_in_what_some_systems_drop(name):
    """No dot or space in front, none at the end."""
    safe = safe_name(name)
    assert not safe.startswith((".", " ")) and not safe.endswith((".", " "))


@given(names)
@settings(derandomize=True, max_examples=300, deadline=None)
def test_a_safe_name_has_room_for_a_number_in_any_file_system(name):
    """255 bytes of UTF-8 are usual; " (99999)" and a stop must still fit."""
    safe = safe_name(name)
    assert len(safe.encode("utf-8")) <= 210


@pytest.mark.parametrize("ending", ["", ".", ".txt", ".tar.gz", " .txt", " ", ". .", ":stream", "\u202e", "\0.txt"])
@pytest.mark.parametrize("device", DEVICES)
def test_no_name_of_a_device_gets_through(device, ending):
    """In any case of letters, with or without what is added to them."""
    for written in (device, device.upper(), device.title()):
        stem = safe_name(written + ending).split(".")[0].strip()
        assert stem.lower() not in DEVICES


@given(names)
@settings(derandomize=True, max_examples=500, deadline=None)
def test_no_device_is_made_by_leaving_characters_out(name):
    """What remains is looked at, not what was there."""
    assert safe_name(name).split(".")[0].strip().lower() not in DEVICES


@given(readable)
@settings(derandomize=True, max_examples=300, deadline=None)
def test_a_harmless_name_is_left_alone(name):
    """In any script, but for the one way of composing accents that is kept, and devices."""
    composed = unicodedata.normalize("NFC", name)
    if composed.lower() not in DEVICES and not set(composed) & set('/\\:*?"<>|.') and len(composed.encode()) <= 200:
        assert safe_name(name) == composed


@given(st.lists(parts, max_size=9).map("".join))
@settings(derandomize=True, max_examples=500, deadline=None)
def test_a_safe_name_is_safe_already(name):
    """Making it safe again changes nothing."""
    once = safe_name(name)
    assert safe_name(once) == once


@pytest.mark.parametrize("name", ["e\u200d\u0301", "con." + "x" * 300])
def test_a_safe_name_is_safe_already_also_if_much_was_left_out(name):
    """An accent that came to stand beside its letter; a device's name at the longest there may be."""
    once = safe_name(name)
    assert safe_name(once) == once


@pytest.mark.parametrize("name", ["", ".", "..", "   ", "\0", "\u202e\u2066", ". . .", "\x1b\x07"])
def test_of_a_name_of_which_nothing_is_left_the_fallback_is_taken(name):
    """A file needs some name."""
    assert safe_name(name) == "unnamed"
    assert safe_name(name, fallback="block") == "block"


def test_names_are_numbered_until_one_is_free():
    """Letter case does not tell files apart on every system; the extension stays last."""
    taken = set()
    given_out = []
    for name in ("Log.txt", "log.txt", "LOG.TXT", "log (2).txt", "log", "log"):
        free = free_name(name, taken)
        assert free.casefold() not in taken
        taken.add(free.casefold())
        given_out.append(free)
    assert free_name("straße", {"strasse", "strasse (2)"}) == "straße (3)"
    assert given_out == ["Log.txt", "log (2).txt", "LOG (3).TXT", "log (2) (2).txt", "log", "log (2)"]
