"""Running trials: the same table whoever runs them, whatever one of them does."""

import os
import subprocess
import sys
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor

import pytest
from trial_cases import FAST, Counting, settled, small_grid

import kit
from kit.errors import KitError
from kit.trials import Trial, grid, read, run

pytest_plugins = ["trial_cases"]

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
