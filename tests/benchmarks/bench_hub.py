"""A class on one server: learners who sign in to a real hub and run lesson 4 at once, and what thirty would need."""

import contextlib
import csv
import math
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from .rows import Row, at_least, at_most

sys.path.insert(0, str(Path(__file__).parents[1]))
import hubclass
from hublearner import Learner
from hublesson import PASSED, PLACES, answered, class_at_once, collect

__all__ = ["BENCHMARKS"]

SIZES = (1, 2, 4, 8)
CLASS = 30
MOST_WAIT_S = 10  # how long somebody may wait for a cell when all thirty run it
SPARE = 1.3  # memory that must be free before thirty are let in, over what they are thought to need


def hub():
    """Learners on a real hub, 1 to 30: times, memory, processor; none loses an answer."""
    lacking = hubclass.missing() or ("" if sys.platform == "linux" else "memory by process is read on Linux only")
    if lacking:  # all other benchmarks can do without
        yield Row(f"not measured: {lacking}", 0, "")
        return
    yield Row("cores here", os.cpu_count(), "")
    yield Row("busy with other things before", os.getloadavg()[0], "processes")
    alone = None
    for count in SIZES:
        with _new_hub() as running:
            measured = _Class(running, count)
            yield from measured.rows()
            alone = alone or measured
            if count == 1:
                yield _kept_when_killed(measured.visits[0])
            last = measured
    yield from _computed(alone, last)
    yield from _thirty(last)


@contextlib.contextmanager
def _new_hub(https_name=""):
    with tempfile.TemporaryDirectory() as folder, hubclass.hub_running(Path(folder), https_name) as running:
        yield running


class _Class:
    """Some learners, all measured.

    Parameters
    ----------
    hub : Hub
    count : int
    """

    def __init__(self, hub, count):
        self.count = count
        before = _processor_s(hub)
        self.visits = class_at_once(hub, count)
        whose = hub.processes()
        names = [visit.name for visit in self.visits]
        self.memory_mb = {who: sum(map(_share_mb, found)) for who, found in whose.items()}
        self.learner_mb = max(self.memory_mb[name] for name in names)
        spent = _processor_s(hub)
        self.learner_cpu_s = median(spent[name] for name in names)
        self.shared_cpu_s = sum(spent[who] - before[who] for who in ("hub", "proxy"))
        self.heaviest_s = max(max(visit.cells_processor_s) for visit in self.visits)
        self.right_percent = 100 * _right(hub, names) / count
        self.started_s = hub.started_s

    def rows(self):
        """All figures of this class."""
        who = f"{self.count} at once"
        yield at_least(f"{who}: whole lesson right, collected and marked", self.right_percent, "%", 100)
        if self.count == 1:
            yield Row("hub started", self.started_s, "s")
        for name, what in (("server_s", "sign-in to first page"), ("kernel_s", "page to kernel"),
                           ("lesson_s", "lesson 4, all cells")):
            times = [getattr(visit, name) for visit in self.visits]
            yield Row(f"{who}: {what}, median", median(times), "s")
            if self.count > 1:
                yield Row(f"{who}: {what}, worst", max(times), "s")
        yield Row(f"{who}: longest wait for a cell", max(max(visit.cells_s) for visit in self.visits), "s")
        yield Row(f"{who}: processor for the heaviest cell", self.heaviest_s, "s")
        yield Row(f"{who}: memory of a learner, most", self.learner_mb, "MB")
        yield Row(f"{who}: memory of hub and proxy", self.memory_mb["hub"] + self.memory_mb["proxy"], "MB")
        yield Row(f"{who}: memory of all", sum(self.memory_mb.values()) / 1000, "GB")
        yield Row(f"{who}: processor for a learner, start and lesson", self.learner_cpu_s, "s")
        yield Row(f"{who}: processor for hub and proxy", self.shared_cpu_s, "s")


def _share_mb(process):
    """Memory of a process in MB (10**6 bytes), what it shares with others divided among them."""
    return process.memory_full_info().pss / 1e6


def _processor_s(hub):
    """Seconds of a processor that each has used so far, by whose they are."""
    times = {who: [each.cpu_times() for each in found] for who, found in hub.processes().items()}
    return {who: sum(each.user + each.system for each in found) for who, found in times.items()}


def _right(hub, names):
    """How many learners handed in a file in which all of lesson 4 is right, and were told so."""
    folder = collect(hub.folder)
    command = [sys.executable, "-m", "kit", "mark", str(folder), "--lessons", "4", "-o", str(folder / "marks.csv")]
    subprocess.run(command, check=True, capture_output=True, cwd=hub.folder)
    with (folder / "marks.csv").open(newline="", encoding="utf-8-sig") as table:
        rows = list(csv.DictReader(table))
    asked = [row for row in rows if not row["item"].startswith("4r")]  # questions from earlier lessons stay open
    wrong = {row["code name"] for row in asked if row["verdict"] != "right"}
    return len({row["code name"] for row in asked} & set(names) - wrong)


def _kept_when_killed(visit):
    """A kernel that is killed begins anew by itself, and knows the learner's answers."""
    visit.learner.kill_kernel()
    cells = answered(visit.learner.notebook(PLACES[1]), visit.name)
    visit.learner.run(cells[0])
    kept = PASSED in visit.learner.run("print(me.progress())")
    return at_least("1 at once: answers known after the kernel was killed", 100 * kept, "%", 100)


def _computed(alone, last):
    """What thirty need, from what fewer needed: computed, not measured."""
    base_mb = last.memory_mb["hub"] + last.memory_mb["proxy"]
    yield Row(f"{CLASS}, computed: memory", (base_mb + CLASS * last.learner_mb) / 1000, "GB")
    cell_s = CLASS * alone.heaviest_s
    yield Row(f"{CLASS}, computed: wait for the heaviest cell, on the cores here", cell_s / os.cpu_count(), "s")
    cores = math.ceil(cell_s / MOST_WAIT_S)
    yield Row(f"{CLASS}, computed: cores for a wait of {MOST_WAIT_S} s at most", cores, "")
    shared_s = last.shared_cpu_s / last.count
    whole_s = CLASS * (last.learner_cpu_s + shared_s) / os.cpu_count()
    yield Row(f"{CLASS}, computed: start and lesson 4 without a pause, on the cores here", whole_s, "s")


def _thirty(last):
    """Thirty for real, if there is memory for them: one after another and idle, then all at one moment."""
    needed_gb = SPARE * CLASS * last.learner_mb / 1000
    free_gb = _free_gb()
    if free_gb < needed_gb:
        yield Row(f"{CLASS} for real: not tried, they need {needed_gb:.0f} GB and free are", free_gb, "GB")
        return
    with _new_hub() as running:
        yield from _idle(running)
    with _new_hub() as running:
        yield from _Class(running, CLASS).rows()


def _free_gb():
    import psutil

    return psutil.virtual_memory().available / 1e9


def _idle(running):
    """Thirty servers, one after another, each with a kernel that has run nothing."""
    free_gb, waits_s = _free_gb(), []
    for k in range(1, CLASS + 1):
        began = time.monotonic()
        learner = Learner(running, f"gull-{k}")
        learner.sign_in()
        learner.wait_for_server()
        learner.open_kernel(PLACES[1])
        waits_s.append(time.monotonic() - began)
    who = f"{CLASS} idle, begun one after another"
    yield Row(f"{who}: sign-in to kernel, median", median(waits_s), "s")
    yield Row(f"{who}: sign-in to kernel, worst", max(waits_s), "s")
    total_mb = {who: sum(map(_share_mb, found)) for who, found in running.processes().items()}
    yield at_most(f"{who}: learners without a server", CLASS + 2 - len(total_mb), "", 0)
    yield Row(f"{who}: memory of all", sum(total_mb.values()) / 1000, "GB")
    yield Row(f"{who}: memory that is no longer free", free_gb - _free_gb(), "GB")


BENCHMARKS = {"hub": hub}
