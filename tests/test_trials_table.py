"""The table that trials make: rows, columns, groups and shares, through files with hostile texts."""


import numpy as np
import pytest
from scipy.stats import binomtest
from trial_cases import FAST

from kit.errors import SettingError
from kit.trials import Table, grid, interval, read, run

pytest_plugins = ["trial_cases"]

HOSTILE = ("=1+1", "@x", "'quoted'", 'a,"b"', "two\nlines\r\n", "\\u000a", "back\\slash", "\x00\x1b[2J", "\ud800",
           "\u2028", "<b>&amp;", "Überspielgerät", "", " ", "\ufeff", "-", "12", "True")


@pytest.mark.parametrize("suffix", [".csv", ".jsonl"])
def test_hostile_names_go_through_a_file_and_keep_their_line(tmp_path, suffix):
    path = tmp_path / f"table{suffix}"
    rows = [{"deck": name, "seed": number, "note": name + "x"} for number, name in enumerate(HOSTILE)]
    Table(rows).write(path)
    assert read(path).rows == rows
    raw = path.read_bytes()
    assert raw.count(b"\n") == len(raw.decode().splitlines()) == len(rows) + 1
    if suffix == ".csv":
        cells = [line.split(",")[0].strip('"') for line in raw.decode().splitlines()[1:]]
        assert not any(cell.startswith(("=", "@", "+", "-")) for cell in cells)


def test_a_trial_with_a_hostile_label_runs_and_is_kept(tmp_path):
    keep = tmp_path / "table.csv"
    trials = grid(decks={name: "home" for name in HOSTILE[:9]}, **FAST)
    table = run(trials, processes=1, keep=keep)
    assert table["deck"].tolist() == list(HOSTILE[:9])
    assert run(trials, processes=1, keep=keep).rows == table.rows == read(keep).rows
    assert len(str(table).splitlines()) == 10


def test_columns_are_arrays_of_their_kind(serial):
    arrays = serial.arrays()
    assert list(arrays) == list(serial.columns) and {len(column) for column in arrays.values()} == {12}
    kinds = {name: arrays[name].dtype.kind for name in ("complete", "seed", "speed", "format", "right_share")}
    assert kinds == {"complete": "b", "seed": "i", "speed": "f", "format": "U", "right_share": "f"}
    assert np.array_equal(arrays["seed"], [0, 1, 2] * 4)
    with pytest.raises(SettingError, match="a column must be one of"):
        serial["compleet"]


def test_rows_are_chosen_by_value_and_by_test(serial):
    chosen = serial.where(lambda row: row["seed"] > 0, format="framed", deck="home")
    assert [(row["format"], row["deck"], row["seed"]) for row in chosen] == [
        ("framed", "home", 1), ("framed", "home", 2)]


def test_shares_are_counted_for_each_group_and_over_all(serial):
    shares = serial.shares("format", "deck")
    by_hand = {}
    for row in serial:
        by_hand.setdefault((row["format"], row["deck"]), []).append(row["complete"])
    assert {(row["format"], row["deck"]): row["count"] for row in shares} == {
        group: sum(held) for group, held in by_hand.items()}
    (all_of_them,) = serial.shares()
    assert all_of_them["trials"] == 12 and all_of_them["share"] == serial["complete"].mean()
    (none_wrong,) = serial.shares(of="wrong")
    assert none_wrong["count"] == 0 and none_wrong["low"] == 0 and 0 < none_wrong["high"] < 0.3


def test_groups_hold_every_row_once(serial):
    groups = dict(serial.groups("format", "seed"))
    assert list(groups) == [(name, seed) for name in ("house", "framed") for seed in range(3)]
    assert all(set(group["format"]) == {name} and len(group) == 2 for (name, _), group in groups.items())


def test_a_notebook_shows_the_table_with_its_texts_escaped():
    shown = Table([{"deck": "<script>alert(1)</script>&", "share": 0.123456}])._repr_html_()
    assert "<script" not in shown and "&lt;script&gt;alert(1)&lt;/script&gt;&amp;" in shown
    assert shown.count("<tr>") == 2 and "0.1235" in shown


def test_numbers_of_numpy_are_written_as_numbers(tmp_path):
    rows = [{"count": np.int64(3), "share": np.float64(0.1), "whole": np.bool_(True)}]
    for name in ("table.csv", "table.jsonl"):
        Table(rows).write(tmp_path / name)
        assert read(tmp_path / name).rows == [{"count": 3, "share": 0.1, "whole": True}]


def test_shares_go_through_a_file(tmp_path, serial):
    serial.shares("format").write(tmp_path / "shares.csv")
    assert read(tmp_path / "shares.csv").rows == serial.shares("format").rows


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.999])
@pytest.mark.parametrize("count, trials", [(0, 1), (1, 1), (0, 30), (30, 30), (3, 10), (7, 10), (285, 300)])
def test_the_interval_is_the_one_scipy_computes(count, trials, confidence):
    wanted = binomtest(count, trials).proportion_ci(confidence, method="wilson")
    assert interval(count, trials, confidence) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


def test_an_interval_of_nothing_is_everything_and_nonsense_is_refused():
    assert interval(0, 0) == (0, 1)
    for count, trials, confidence in ((2, 1, 0.95), (-1, 1, 0.95), (1, 2, 1), (1, 2, 0)):
        with pytest.raises(SettingError):
            interval(count, trials, confidence)
