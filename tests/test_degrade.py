"""`degrade` and `decks` on the command line: a recorder for those who write no code."""

import json

import numpy as np
import soundfile

import kit
from kit.deck import Deck, assumptions, decks

pytest_plugins = ["commandline_fixtures"]


def test_a_tape_through_a_good_deck_still_loads(call, tape, tmp_path):
    """What `degrade` writes, `decode` reads; and the same call gives the same bytes."""
    for name in ("a.wav", "b.wav"):
        assert call("degrade", tape, "-o", tmp_path / name, "--deck", "home", "--seed", 3)[0] == 0
    assert (tmp_path / "a.wav").read_bytes() == (tmp_path / "b.wav").read_bytes()
    assert call("decode", tmp_path / "a.wav", "-o", tmp_path / "out")[0] == 0
    assert (tmp_path / "out" / "tide.bin").read_bytes() == (tmp_path / "tide.bin").read_bytes()


def test_another_seed_gives_another_noise(call, tape, tmp_path):
    for seed in (1, 2):
        call("degrade", tape, "-o", tmp_path / f"{seed}.wav", "--deck", "portable", "--seed", seed)
    one, two = (soundfile.read(tmp_path / f"{seed}.wav")[0] for seed in (1, 2))
    size = min(len(one), len(two))
    assert np.abs(one[:size] - two[:size]).max() > 0.001


def test_generations_on_the_command_line_are_those_of_the_library(call, tape, tmp_path):
    path = tmp_path / "dub.wav"
    words = ("--deck", "portable", "--generations", 2, "--seed", 5, "--bits", "float")
    assert call("degrade", tape, "-o", path, *words)[0] == 0
    wanted = decks["portable"].copy(kit.Sound.read(tape), generations=2, seed=5).samples
    assert np.abs(soundfile.read(path, dtype="float32")[0] - np.clip(wanted, -1, 1)).max() < 1e-6


def test_every_setting_is_an_option_and_reaches_the_deck(call, tape, tmp_path):
    """Each is given a value that is not neutral; what is reported is what was asked for."""
    words, wanted = [], {}
    for setting in Deck.fields:
        value = {"choice": setting.choices[-1:] or ("",), "switch": ("yes",), "number": (None,)}[setting.kind][0]
        if value is None:
            value = setting.high if setting.default != setting.high else setting.low
            value = value / 2 if setting.low <= value / 2 <= setting.high else value
        words += ["--" + setting.name.replace("_", "-"), value]
        wanted[setting.name] = True if value == "yes" else value
    path = tmp_path / "all.wav"
    status, out, _err = call("degrade", tape, "-o", path, *words, "--codec", "none", "--json", "--force")
    assert status == 0
    told = json.loads(out)["settings"]
    assert {name: told[name] for name in wanted if name != "codec"} == {
        name: value for name, value in wanted.items() if name != "codec"
    }


def test_a_setting_out_of_range_is_refused_in_one_line_that_names_the_range(call, tape, tmp_path):
    status, out, err = call("degrade", tape, "-o", tmp_path / "w.wav", "--hiss-dbfs", 99)
    assert (status, out) == (2, "") and err.count("\n") == 1 and "-140 to 0" in err
    assert not (tmp_path / "w.wav").exists()


def test_nothing_is_replaced_without_being_asked(call, tape, tmp_path):
    (tmp_path / "w.wav").write_bytes(b"mine")
    assert call("degrade", tape, "-o", tmp_path / "w.wav", "--deck", "home")[0] == 2
    assert (tmp_path / "w.wav").read_bytes() == b"mine"


def test_calls_that_make_no_sense_are_one_line_each(call, tape, tmp_path):
    path = tmp_path / "w.wav"
    for words in (
        ("--deck", "nope"),
        ("--play-on", "nope"),
        ("--generations", 0),
        ("--seed", -1),
        ("--replay-only", "--generations", 2),
        ("--replay-only", "--play-on", "home"),
    ):
        status, _out, err = call("degrade", tape, "-o", path, *words)
        assert status == 2 and err.count("\n") == 1, words
    assert call("degrade", tmp_path / "none.wav", "-o", path)[0] == 2
    assert not path.exists()


def test_another_machine_shows_its_speed_and_the_same_machine_hides_it(call, tape, tmp_path):
    """Portable plays 2 % fast and home recorded 0.5 % fast: the tape then runs 1.02 / 1.005 as fast."""
    words = ("--deck", "home", "--play-on", "portable")
    assert call("degrade", tape, "-o", tmp_path / "other.wav", *words)[0] == 0
    assert call("degrade", tape, "-o", tmp_path / "same.wav", "--deck", "home")[0] == 0
    original, other, same = (
        soundfile.info(path).frames for path in (tape, tmp_path / "other.wav", tmp_path / "same.wav")
    )
    assert abs(original / other - 1.02 / 1.005) < 0.005
    assert abs(original / same - 1) < 0.001


def test_decks_lists_every_figure_with_its_reason(call):
    status, out, _err = call("decks", "--json")
    listed = {deck["name"]: deck for deck in json.loads(out)["decks"]}
    assert status == 0 and set(listed) == set(decks)
    for name, deck in listed.items():
        assert {s["name"]: s["reason"] for s in deck["settings"]} == {
            setting: assumptions[name][setting] for setting in decks[name].changed()
        }
    assert call("decks")[1].count("assumption") > 10


def test_what_goes_beyond_full_scale_is_said_to_be_cut_off(call, tape, tmp_path):
    """A float file could hold it, but no converter could play it: the file's peak and the report agree."""
    path = tmp_path / "loud.wav"
    status, out, _ = call("degrade", tape, "-o", path, "--replay-gain-db", 20, "--bits", "float", "--json")
    said = json.loads(out)
    assert status == 0 and said["cut_off_db"] > 3
    assert said["peak_dbfs"] == 0 and np.abs(soundfile.read(path)[0]).max() == 1
    quiet = json.loads(call("degrade", tape, "-o", tmp_path / "quiet.wav", "--json")[1])
    assert quiet["cut_off_db"] == 0 and quiet["peak_dbfs"] < 0
