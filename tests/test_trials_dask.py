"""Trials and the league on a cluster: the table of one machine, whatever becomes of the machines."""

import os
import socket
import subprocess
import sys
import threading
import time
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from trial_cases import FAST, GONE, settled

from kit.errors import KitError, SettingError
from kit.league import Design, design_of, league, put_in, score, tables
from kit.trials import Trial, cluster, executors, grid, read, run

distributed = pytest.importorskip("distributed", reason="a cluster needs distributed: pip install distributed")
dask = pytest.importorskip("dask")

TOP = Path(__file__).parents[1]


def quick_grid():
    return grid(formats=["house", "framed"], decks="home", seeds=range(6), listen="own", **FAST)


@pytest.fixture(scope="module")
def serial():
    """The quick grid, run in this process."""
    return run(quick_grid(), processes=1)


class Deadly(Trial):
    """A trial that ends the process that runs it."""

    def data(self):
        os._exit(1)


@pytest.fixture(scope="module")
def machines():
    """Two workers, each in a process of its own."""
    settings = {"distributed.worker.daemon": True, "distributed.scheduler.allowed-failures": 0}
    with dask.config.set(settings), distributed.LocalCluster(
            processes=True, n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as found:
        yield found


@pytest.fixture
def client(machines):
    with distributed.Client(machines, set_as_default=False) as client:
        yield client


@pytest.fixture
def executor(client):
    return client.get_executor()


@contextmanager
def started(kind, folder, *arguments, kit=True):
    """A scheduler or a worker in a process of its own, as a command starts it; with the kit, or without."""
    paths = [TOP] if kit else [Path(distributed.__file__).parents[1]]
    command = [sys.executable, *([] if kit else ["-S"]), "-m", f"distributed.cli.dask_{kind}", "--no-dashboard",
               "--host", "127.0.0.1", *(["--port", "0"] if kind == "scheduler" else ["--no-nanny"]), *arguments]
    places = {"PYTHONPATH": os.pathsep.join(map(str, paths)), "DASK_TEMPORARY_DIRECTORY": str(folder)}
    with subprocess.Popen(command, cwd=folder, env=os.environ | places, text=True, stdout=subprocess.DEVNULL,
                          stderr=subprocess.PIPE if kind == "scheduler" else subprocess.DEVNULL) as process:
        if kind == "scheduler":
            process.address = next(line for line in process.stderr if "Scheduler at" in line).split()[-1]
        try:
            yield process
        finally:
            process.kill()


# -- the same table -----------------------------------------------------------------------------------------


def test_the_table_of_a_cluster_is_that_of_this_process(serial, machines):
    """By the address alone, as a study on many machines has it."""
    odd = [Trial("house", GONE, listen="own", **FAST), Trial("house", speed=4, rate=8000, **FAST)]
    parts = []
    with cluster(machines.scheduler_address) as executor:
        table = run([*quick_grid(), *odd], executor=executor, progress=parts.append)
    assert settled(table) == settled([*serial, *run(odd, processes=1)])
    assert table["complete"].tolist() == [True] * 12 + [False] * 2
    assert table.rows[-1]["error"].startswith("rate must be at least 28800 Hz")
    assert parts == sorted(parts) and parts[-1] == 1


def test_a_league_on_a_cluster_is_that_of_this_process(tmp_path, executor, monkeypatch):
    """On three tapes each, as twenty take long."""
    monkeypatch.setattr(tables, "score", partial(score, tapes=3))
    for name, settings in {"gull 7": {"unit_hz": 4800}, "tern 1": {"leader_units": 2.0}}.items():
        put_in(Design(name, design_of(**settings), ()), tmp_path)
    (tmp_path / "odd.json").write_text("{}")
    here, there = league(tmp_path), league(tmp_path, executor=executor)
    assert there == here and len(here.rows) == 3 and len(here.complaints) == 1


# -- stopped, and gone on with ------------------------------------------------------------------------------


def test_a_run_that_is_stopped_keeps_its_rows_and_goes_on_with_the_others(tmp_path, serial, client):
    keep, parts = tmp_path / "study.csv", []
    first = run(quick_grid(), executor=client.get_executor(), pending=2, keep=keep, progress=parts.append,
                stop=lambda: len(parts) > 3)
    assert 3 <= len(first) < 12 and len(read(keep)) == len(first)
    parts.clear()
    assert settled(run(quick_grid(), executor=client.get_executor(), keep=keep, progress=parts.append)) == settled(
        serial)
    assert parts[0] == len(first) / 12 and len(read(keep)) == 12


def test_an_interrupt_from_the_keyboard_gives_back_the_rows_there_are(executor, client):
    def interrupt(part):
        if part > 0.2:
            raise KeyboardInterrupt

    table = run(quick_grid(), executor=executor, progress=interrupt)
    assert len(table) == 3
    assert client.submit(int).result(timeout=10) == 0


# -- how many are handed over -------------------------------------------------------------------------------


def test_a_cluster_is_handed_four_trials_for_each_of_its_threads_and_more_once_it_grows():
    places = executors.Places(Pretended({"a": 1, "b": 3}))
    assert places.most() == 16
    places.client.threads = {"a": 1, "b": 3, "c": 8}
    assert places.most(now_s=time.monotonic() + 60) == 48


def test_a_cluster_whose_workers_stay_away_is_given_up_in_one_line():
    places, start_s = executors.Places(Pretended({})), time.monotonic()
    assert places.most(now_s=start_s) >= 1
    with pytest.raises(KitError, match=r"^a cluster must have workers, got none for 3\d s: .*rows kept stay$"):
        places.most(now_s=start_s + 31)


class Pretended(Executor):
    """The part of a cluster's executor that tells how large it is."""

    def __init__(self, threads):
        self.threads, self._client = threads, self

    def nthreads(self):
        return self.threads

    def run(self, task, **_):
        return {}


# -- what may go wrong --------------------------------------------------------------------------------------


def test_a_trial_that_ends_its_worker_becomes_a_row_and_no_other_is_blamed(serial, executor):
    """The scheduler also blames trials that waited on the same worker."""
    trials = quick_grid()
    table = run([*trials[:2], Deadly("house", seed=77, **FAST), *trials[2:]], executor=executor)
    assert table.rows[2]["error"] == "the process that ran it ended before its time"
    assert settled(table.where(error="")) == settled(serial)


def test_a_closed_client_is_said_so_in_one_line(machines):
    with distributed.Client(machines, set_as_default=False) as client:
        executor = client.get_executor()
    with pytest.raises(KitError, match=r"must take trials, got .*rows kept stay") as refusal:
        run(quick_grid(), executor=executor)
    assert "\n" not in str(refusal.value)


def test_a_client_that_is_closed_meanwhile_ends_the_run_in_one_line_and_rows_stay(tmp_path, machines):
    client, keep = distributed.Client(machines, set_as_default=False), tmp_path / "study.csv"
    with pytest.raises(KitError, match=r"rows kept stay$"):
        run(quick_grid(), executor=client.get_executor(), keep=keep, progress=lambda part: part and client.close())
    assert len(read(keep)) == 1


class Ours:
    """In the place of the function that knows the kit; what is sent to machines is still that function's name."""

    __module__ = executors.__name__

    def __call__(self):
        return "ours"

    def __reduce__(self):
        return "fingerprint"


def test_a_machine_with_another_kit_is_said_so_in_one_line(monkeypatch, executor):
    monkeypatch.setattr(executors, "fingerprint", Ours())
    with pytest.raises(KitError, match=r"must have the kit that is here, got another at tcp://.*: install the same"):
        run(quick_grid(), executor=executor)


def test_a_trial_is_not_run_by_another_kit_whatever_the_executor(monkeypatch, tmp_path):
    """As on a machine that came later."""
    class Elsewhere(Executor):
        def submit(self, task, *arguments):
            future = Future()
            monkeypatch.setattr(executors, "fingerprint", lambda: "another")
            try:
                future.set_result(task(*arguments))
            except KitError as error:
                future.set_exception(error)
            return future

    with pytest.raises(KitError, match=r"must have the kit that is here, got another"):
        run(quick_grid(), executor=Elsewhere(), keep=tmp_path / "study.csv")
    assert not (tmp_path / "study.csv").exists()


@pytest.mark.parametrize("kind", ["scheduler", "worker"])
def test_machines_without_the_kit_are_said_so_in_one_line(kind, tmp_path):
    with started("scheduler", tmp_path, kit=kind != "scheduler") as scheduler, \
            started("worker", tmp_path, scheduler.address, kit=kind != "worker"), \
            pytest.raises(KitError, match="must have the kit that is here, got none") as refusal, \
            cluster(scheduler.address, wait_s=90) as executor:
        run(quick_grid(), executor=executor, keep=tmp_path / "study.csv")
    assert "\n" not in str(refusal.value) and not (tmp_path / "study.csv").exists()


def test_a_scheduler_that_is_lost_ends_the_run_in_one_line_and_rows_stay(tmp_path):
    keep = tmp_path / "study.csv"
    with started("scheduler", tmp_path) as scheduler, started("worker", tmp_path, scheduler.address), \
            pytest.raises(KitError, match=r"rows kept stay$") as refusal, \
            cluster(scheduler.address, wait_s=90) as executor:
        run(quick_grid(), executor=executor, keep=keep, progress=lambda part: part and scheduler.kill())
    assert "\n" not in str(refusal.value) and len(read(keep)) >= 1


# -- an address ---------------------------------------------------------------------------------------------


def test_an_address_that_is_none_or_does_not_answer_is_refused_in_one_line():
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
        for address in (f"tcp://127.0.0.1:{port}", "pigeon://island", "", None, 7):
            with pytest.raises(SettingError, match="address must be that of a dask scheduler") as refusal, \
                    cluster(address, wait_s=0.5):
                pass
            assert "got" in str(refusal.value) and "\n" not in str(refusal.value)


def test_what_answers_in_another_way_is_refused_in_one_line():
    """A page's server, say: dask takes its first bytes for the length of what follows, and asks for that memory."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        def answer():
            link, _ = other.accept()
            with link:
                link.sendall(b"HTTP/1.1 400 Bad Request\r\n" * 20)
                link.recv(1 << 16)

        thread = threading.Thread(target=answer, daemon=True)
        thread.start()
        with pytest.raises(SettingError, match="address must be that of a dask scheduler") as refusal, \
                cluster(f"tcp://127.0.0.1:{other.getsockname()[1]}", wait_s=5):
            pass
        thread.join(5)
    assert "\n" not in str(refusal.value)


def test_a_cluster_without_workers_is_said_so_in_one_line(tmp_path):
    with started("scheduler", tmp_path) as scheduler, \
            pytest.raises(KitError, match=r"a cluster must have workers, got none within 0\.5 s"), \
            cluster(scheduler.address, wait_s=0.5):
        pass


def test_where_the_package_is_missing_the_line_says_how_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(KitError, match=r"pip install distributed$"), cluster("tcp://127.0.0.1:1"):
        pass
