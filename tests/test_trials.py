"""Many trials in one table: the same whoever runs them, stopped and gone on with, kept whole on disk."""

import json
import os
import pickle
import random
import signal
import subprocess
import sys
import threading
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor

import numpy as np
import pytest
from scipy.stats import binomtest

import kit
from kit.cells import CycleLength
from kit.deck import Deck
from kit.errors import KitError, SettingError
from kit.formats import FORMATS, Format
from kit.frames import Frame
from kit.leader import Leader
from kit.tones import TwoTones
from kit.trials import Table, Trial, grid, interval, read, run, vary

FAST = {"size": 20, "lead_in_s": 0.2}
GONE = Deck(dropouts_per_minute=900, dropout_depth_db=120, dropout_length_s=0.3, hiss_dbfs=-110)


def small_grid(seeds=3):
    return grid(formats=["house", "framed"], decks=["home", GONE], seeds=range(seeds), listen="own", **FAST)


def settled(table):
    """The rows without what differs from run to run."""
    return [{name: value for name, value in row.items() if name != "wall_s"} for row in table]


@pytest.fixture(scope="module")
def serial():
    """The small grid, run in this process."""
    return run(small_grid(), processes=1)


class Counting(Executor):
    """An executor of the least kind: it runs a task when the next one comes, or when nothing more does."""

    def __init__(self):
        self.waiting, self.most, self.begun = [], 0, 0
        self.lock = threading.Lock()

    def submit(self, task, *arguments):
        future = Future()
        with self.lock:
            self.waiting.append((future, task, arguments))
            self.most = max(self.most, len(self.waiting))
        threading.Timer(0.01, self._run).start()
        return future

    def _run(self):
        with self.lock:
            future, task, arguments = self.waiting.pop()  # the last one first: order must not matter
            if future.set_running_or_notify_cancel():
                self.begun += 1
                future.set_result(task(*arguments))


# -- trials ---------------------------------------------------------------------------------------------


def test_a_grid_has_every_combination_and_the_last_setting_changes_fastest():
    trials = grid(["house", "twice"], ["home", "worn"], range(2), speeds=[1, 2], size=[10, 20])
    assert len(trials) == len({trial.key for trial in trials}) == 32
    assert [trial.size for trial in trials[:4]] == [10, 20, 10, 20]
    assert [trial.speed for trial in trials[:4]] == [1, 1, 2, 2]
    assert [trial.format.name for trial in trials] == ["house"] * 16 + ["twice"] * 16


def test_a_trial_goes_through_pickle_and_json_and_stays_the_same():
    own = Format("own", frame=Frame(parity="odd"), block_bytes=32, about="for this test")
    deck = Deck(source_wiring="left-dead", hiss_dbfs=-40, source_inverted=True)
    for trial in (Trial("sturdy", "portable", seed=3, speed=2), Trial(own, deck, counter=kit.Counter(30e-6))):
        assert pickle.loads(pickle.dumps(trial)) == trial
        again = Trial.from_json(trial.to_json())
        assert again.key == trial.key
        assert again.deck == trial.deck and again.format.changed(about="") == trial.format.changed(about="")
    assert Trial.from_json(Trial("twice", "worn").to_json()) == Trial("twice", "worn")


def test_the_key_is_the_same_on_any_day_and_differs_with_any_setting():
    """The digits were written down when the table was made; rows kept on disk are found by them."""
    assert Trial("house").key == "12eef9c216cf3671"
    others = [Trial("house", **change) for change in (
        {"deck": Deck(hum_dbfs=-40)}, {"seed": 1}, {"speed": 2}, {"size": 201}, {"message": "text"},
        {"lead_in_s": 2}, {"rate": 48000}, {"channels": 2}, {"generations": 2}, {"listen": "own"},
        {"patient": True}, {"counter": kit.Counter()}, {"label": "mine"})]
    others.append(Trial(FORMATS["house"].changed(block_bytes=64)))
    assert len({trial.key for trial in others} | {Trial("house").key}) == len(others) + 1
    assert Trial("house", speed="ordinary").key == Trial("house", speed=1).key == Trial("house").key


@pytest.mark.parametrize("settings, said", [
    ({"decks": "studoi"}, "deck must be"), ({"formats": "hause"}, "format must be"),
    ({"seeds": -1}, "seed must be"), ({"seeds": 0.5}, "seed must be"), ({"size": 0}, "size must be"),
    ({"message": "song"}, "message must be"), ({"listen": "house"}, "listen must be"),
    ({"channels": 3}, "channels must be"), ({"lead_in_s": float("nan")}, "lead_in_s must lie"),
    ({"patient": "no"}, "patient must be"), ({"counter": 3}, "counter must be"), ({"speeds": 99}, "speed must be"),
    ({"depth": 3}, "a setting must be one of"), ({"deck": "home"}, "a setting must be one of"),
])
def test_a_wrong_setting_is_refused_in_one_line_before_anything_runs(settings, said):
    with pytest.raises(SettingError, match=said) as refused:
        grid(**settings)
    assert "\n" not in str(refused.value) and "got" in str(refused.value)


def test_a_deck_is_varied_and_each_variant_has_a_label():
    variants = vary("home", hiss_dbfs=[-40, -30], hum_dbfs=-50)
    assert list(variants) == ["home, hiss_dbfs -40, hum_dbfs -50", "home, hiss_dbfs -30, hum_dbfs -50"]
    assert [deck.hiss_dbfs for deck in variants.values()] == [-40, -30]
    trials = grid(decks=variants)
    assert [trial.label for trial in trials] == list(variants)
    table = run(trials, processes=1).with_deck("hiss_dbfs", "source_wiring")
    assert table["hiss_dbfs"].tolist() == [-40, -30]
    assert table["source_wiring"].tolist() == ["straight", "straight"]
    with pytest.raises(SettingError, match="settings of a deck"):
        table.with_deck("his")


def test_messages_are_as_long_as_asked_and_follow_from_the_seed():
    for message in ("random", "text", "zeros", "ones"):
        one, same, other = (Trial("house", seed=seed, size=77, message=message).data() for seed in (1, 1, 2))
        assert len(one) == 77 and one == same
        assert (one != other) == (message in ("random", "text"))
    assert Trial("house", seed=5, size=9).data() == random.Random(5).randbytes(9)


# -- running --------------------------------------------------------------------------------------------


def test_a_row_says_what_reading_the_trial_by_hand_says(serial):
    for trial, row in zip(small_grid(), serial, strict=True):
        sound = trial.deck.play(kit.encode(trial.data(), name="trial.bin", format=trial.format, lead_in_s=0.2),
                                trial.seed)
        reading = kit.decode(sound, format=trial.format)
        assert row["complete"] == reading.complete and row["verdict"] == reading.verdict
        assert row["sound_s"] == sound.seconds and row["blocks"] == len(reading.blocks)
        assert row["wrong"] is False and row["error"] == "" and row["key"] == trial.key
        if reading.complete:
            assert row["right_share"] == 1 and reading.files[0].data == trial.data()
    assert {row["complete"] for row in serial} == {True, False}


@pytest.mark.parametrize("make", [lambda: ThreadPoolExecutor(2), lambda: ProcessPoolExecutor(2), Counting])
def test_the_table_is_the_same_on_any_executor(serial, make):
    with make() as executor:
        assert settled(run(small_grid(), executor=executor)) == settled(serial)


def test_the_table_is_the_same_on_processes_of_its_own(serial):
    assert settled(run(small_grid(), processes=2)) == settled(serial)


def test_an_executor_is_never_given_more_than_so_many_trials_beforehand():
    executor = Counting()
    table = run(small_grid(5), executor=executor, pending=3)
    assert len(table) == 20
    assert 1 < executor.most <= 3


def test_progress_rises_to_one_and_counts_what_was_kept(tmp_path):
    keep, parts = tmp_path / "table.csv", []
    run(small_grid(1), processes=1, keep=keep, progress=parts.append)
    assert parts == [0, 0.25, 0.5, 0.75, 1]
    run(small_grid(1), processes=1, keep=keep, progress=parts.append)
    assert parts[5:] == [1]
    assert len(run([], progress=parts.append)) == 0 and parts[6:] == [1]


def test_the_same_trial_twice_gives_one_row():
    assert len(run([*small_grid(1), *small_grid(1)], processes=1)) == 4


def test_a_trial_that_fails_becomes_a_row_and_the_others_go_on(monkeypatch):
    trials = [Trial("house", **FAST), Trial("house", speed=4, rate=8000, **FAST), Trial("house", seed=1, **FAST)]
    table = run(trials, processes=1)
    assert table["complete"].tolist() == [True, False, True]
    assert table.rows[1]["error"].startswith("rate must be at least 28800 Hz") and table.rows[1]["sound_s"] == 0
    assert table.shares("rate").rows[1] | {"high": 0} == {
        "rate": 8000, "count": 0, "trials": 1, "share": 0, "low": 0, "high": 0}
    broken = {"read": lambda self, sound: {}["a\nkey"]}
    monkeypatch.setattr(Trial, "read", broken["read"])
    assert run(trials[:1], processes=1).rows[0]["error"] == r"KeyError: 'a\nkey'"


def test_what_only_the_executor_cannot_do_becomes_a_row_too():
    class Refusing(Executor):
        def submit(self, task, *arguments):
            future = Future()
            future.set_exception(OSError("no wire"))
            return future

    table = run(small_grid(1), executor=Refusing())
    assert table["error"].tolist() == ["OSError: no wire"] * 4
    assert not table["complete"].any()


def test_a_file_called_complete_with_other_bytes_is_called_wrong(monkeypatch):
    """No such reading is known; one is made up."""
    other = Trial("house", seed=9, **FAST).tape()
    monkeypatch.setattr(Trial, "play", lambda self: other)
    row = run([Trial("house", seed=1, **FAST)], processes=1).rows[0]
    assert row["complete"] and row["wrong"] and row["right_share"] < 0.2


# -- stopping and going on ------------------------------------------------------------------------------


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


@pytest.mark.parametrize("suffix", [".csv", ".jsonl"])
def test_a_line_half_written_is_dropped_and_its_trial_run_again(tmp_path, serial, suffix):
    keep = tmp_path / f"table{suffix}"
    serial.write(keep)
    whole = keep.read_bytes()
    last = whole[:-1].rfind(b"\n") + 1
    for cut in (0, 5, whole.index(b"\n") + 1, last + 1, (last + len(whole)) // 2, len(whole) - 1):
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


# -- the table ------------------------------------------------------------------------------------------

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


def test_a_kept_line_is_json_of_one_row(tmp_path):
    """So that other programs can follow a run."""
    keep = tmp_path / "table.jsonl"
    (row,) = run([Trial("house", **FAST)], processes=1, keep=keep)
    first, second = map(json.loads, keep.read_text().splitlines())
    assert dict(zip(first["columns"], second, strict=True)) == row


class Deadly(Trial):
    """A trial that ends the process it comes to."""

    def __reduce__(self):
        return os._exit, (1,)


def test_a_trial_that_ends_its_process_becomes_a_row_and_the_others_go_on(serial):
    trials = small_grid()
    deadly = Deadly("house", seed=77, **FAST)
    table = run([*trials[:1], deadly, *trials[1:]], processes=2)
    assert table.rows[1]["error"] == "the process that ran it ended before its time"
    assert settled(table.where(error="")) == settled(serial)


def test_a_script_that_starts_processes_at_its_top_is_told_so(tmp_path):
    """Each process would run the script again, and start processes again."""
    script = tmp_path / "study.py"
    script.write_text("from kit.trials import grid, run\nrun(grid(seeds=range(4), size=20), processes=2)\n")
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].endswith("rows kept stay") and "__main__" in done.stderr.splitlines()[-1]


KILLED = """
import sys
from kit.trials import grid, run
if __name__ == "__main__":
    run(grid(seeds=range(500), size=20), processes=2, keep=sys.argv[1], progress=lambda part: print(part, flush=True))
"""


def test_a_run_that_is_killed_leaves_its_rows_and_no_process(tmp_path):
    """The pipe is closed when the last of the processes that write to it is gone."""
    script, keep = tmp_path / "study.py", tmp_path / "table.csv"
    script.write_text(KILLED)
    with subprocess.Popen([sys.executable, script, keep], stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as killed:
        told = [killed.stdout.readline() for _ in range(4)]
        killed.kill()
        killed.communicate(timeout=30)
    assert float(told[-1]) == 3 / 500
    rows = read(keep).rows
    assert 3 <= len(rows) < 500
    seeds = [row["seed"] for row in rows[:3]]
    again = run(grid(seeds=[*seeds, 500], size=20), processes=1, keep=keep)
    assert again.rows[:3] == rows[:3] and len(read(keep)) == len(rows) + 1


def test_processes_that_end_before_their_time_are_said_so_in_one_line(tmp_path):
    keep = tmp_path / "table.csv"
    with ProcessPoolExecutor(1) as executor:
        executor.submit(int).result()
        next(iter(executor._processes.values())).kill()
        with pytest.raises(KitError, match="must stay alive"):
            run(small_grid(), executor=executor, keep=keep)
    assert not keep.exists() or len(read(keep)) < 12


@pytest.mark.parametrize("code", [TwoTones(), TwoTones(8, 16, cell_units=8.0), CycleLength(1.0, 3.0)])
def test_a_learners_cell_code_is_the_same_after_a_line_of_json(code):
    """Also one that is as its kind usually is: which kind, the line must say."""
    trial = Trial(kit.Format("mine", code=code, leader=Leader(6.0, 4.5)))
    assert Trial.from_json(trial.to_json()).format.code == code
    assert trial.key != Trial(kit.Format("mine", leader=Leader(6.0, 4.5))).key
