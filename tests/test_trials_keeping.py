"""Runs that are stopped and gone on with, and the file that is kept of them."""

import json
import signal
import threading

import pytest
from trial_cases import FAST, Counting, settled, small_grid

from kit.errors import SettingError
from kit.trials import Trial, read, run

pytest_plugins = ["trial_cases"]

@pytest.mark.parametrize("suffix", [".csv", ".jsonl"])
def test_a_run_is_stopped_and_gone_on_with(tmp_path, serial, suffix):
    keep, stop = tmp_path / f"table{suffix}", threading.Event()
    first = run(small_grid(), processes=1, keep=keep, stop=stop,
                progress=lambda part: stop.set() if part > 0.3 else None)
    assert 0 < len(first) < len(serial)
    assert settled(read(keep)) == settled(first) == settled(serial)[: len(first)]
    before = keep.read_bytes()
    whole = run(small_grid(), processes=1, keep=keep)
    assert settled(whole) == settled(serial)
    assert whole.rows[: len(first)] == first.rows  # not run again: they took just as long
    assert keep.read_bytes().startswith(before)
    assert read(keep).rows == whole.rows


def test_a_run_on_an_executor_is_stopped_and_what_has_not_begun_is_taken_back():
    executor = Counting()
    table = run(small_grid(5), executor=executor, pending=4, stop=lambda: executor.begun >= 6)
    assert len(table) == executor.begun < 20
    assert all(row["complete"] is not None for row in table)


def test_a_run_stopped_before_it_begins_gives_an_empty_table_with_all_columns(serial):
    table = run(small_grid(), stop=lambda: True)
    assert len(table) == 0 and table.columns == serial.columns
    assert table["complete"].shape == (0,) and len(table.shares("deck")) == 0
    assert str(table).split() == list(serial.columns)


def test_an_interrupt_from_the_keyboard_keeps_what_there_is(tmp_path, serial):
    def interrupt(part):
        if part > 0.5:
            signal.raise_signal(signal.SIGINT)

    keep = tmp_path / "table.csv"
    for processes, most in ((1, 7), (2, 9)):
        table = run(small_grid(), processes=processes, keep=keep, progress=interrupt)
        assert 0 < len(table) <= most
    assert settled(run(small_grid(), processes=1, keep=keep)) == settled(serial)


@pytest.mark.parametrize("suffix", [".jsonl"])
def test_a_line_half_written_is_dropped_and_its_trial_run_again(tmp_path, serial, suffix):
    keep = tmp_path / f"table{suffix}"
    serial.write(keep)
    whole = keep.read_bytes()
    last = whole[:-1].rfind(b"\n") + 1
    for cut in (5, last + 1, (last + len(whole)) // 2, len(whole) - 1):
        keep.write_bytes(whole[:cut])
        if cut > whole.index(b"\n"):
            assert len(read(keep)) == whole[:cut].count(b"\n") - 1
        assert settled(run(small_grid(), processes=1, keep=keep)) == settled(serial)
        assert settled(read(keep)) == settled(serial)


def test_a_kept_file_may_hold_rows_of_other_trials(tmp_path, serial):
    keep = tmp_path / "table.csv"
    run(small_grid(1), processes=1, keep=keep)
    more = run(small_grid(2), processes=1, keep=keep)
    assert len(more) == 8 and len(read(keep)) == 8
    assert len(run(small_grid(1), processes=1, keep=keep)) == 4


@pytest.mark.parametrize("name, content", [
    ("table.csv", b"day,wind\n1,5\n"), ("table.csv", b"\x89PNG\r\n\x1a\n"), ("table.csv", b"no line end"),
    ("table.jsonl", b"{}\n"), ("table.jsonl", b"[1, 2]\n"), ("table.jsonl", b'{"columns": ["day"]}\n'),
])
def test_a_file_that_is_something_else_is_refused_in_one_line_and_not_touched(tmp_path, name, content):
    keep = tmp_path / name
    keep.write_bytes(content)
    with pytest.raises(SettingError, match="must hold a table") as refused:
        run(small_grid(1), processes=1, keep=keep)
    assert "\n" not in str(refused.value) and str(tmp_path) not in str(refused.value)
    assert keep.read_bytes() == content


def test_a_table_damaged_in_its_middle_is_refused_with_the_number_of_the_line(tmp_path, serial):
    for suffix in (".csv", ".jsonl"):
        keep = tmp_path / f"table{suffix}"
        serial.write(keep)
        lines = keep.read_bytes().split(b"\n")
        lines[4] = lines[4][:30]
        keep.write_bytes(b"\n".join(lines))
        with pytest.raises(SettingError, match="line 5"):
            run(small_grid(), processes=1, keep=keep)
    with pytest.raises(SettingError, match=r"must end in \.csv or \.jsonl"):
        run(small_grid(1), keep=tmp_path / "table.txt")
    with pytest.raises(SettingError, match="a table must be a file"):
        read(tmp_path / "none.csv")
    with pytest.raises(SettingError, match="keep must be a file"):
        run(small_grid(1), processes=1, keep=tmp_path / "no folder" / "table.csv")


@pytest.mark.parametrize("settings, said", [
    ({"processes": 0}, "processes must be"), ({"processes": 1.5}, "processes must be"), ({"stop": 3}, "stop must"),
    ({"processes": 2, "executor": Counting()}, "processes must be None"), ({"trials": ["house"]}, "trials must be"),
])
def test_a_wrong_way_of_running_is_refused(settings, said):
    with pytest.raises(SettingError, match=said):
        run(**{"trials": small_grid(1)} | settings)


def test_a_kept_line_is_json_of_one_row(tmp_path):
    """So that other programs can follow a run."""
    keep = tmp_path / "table.jsonl"
    (row,) = run([Trial("house", **FAST)], processes=1, keep=keep)
    first, second = map(json.loads, keep.read_text().splitlines())
    assert dict(zip(first["columns"], second, strict=True)) == row
