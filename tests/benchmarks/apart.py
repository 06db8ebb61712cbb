"""One task in a process of its own, so that its memory and time are its alone; `rows.run_apart` starts it.

The report, one line of JSON on standard output, has the seconds the task took, by the clock and of the processor,
the most memory the process held, and what the task says. Tasks::

    python apart.py decode RECORDING FORMAT       kit.decode of a path
    python apart.py command ARGUMENT...           the kit's command line
    python apart.py tape BYTES SPEED RECORDING    encode random bytes, write them, decode the file
"""

import contextlib
import io
import json
import random
import resource
import runpy
import sys
import time
from itertools import pairwise
from pathlib import Path


def peak_mb():
    """Most memory this process held, in megabytes (10**6 bytes).

    Linux counts what the parent held into `ru_maxrss`; the high-water mark in `/proc` starts anew.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) * 1024 / 1e6
    scale = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * scale / 1e6


def decode(path, format):
    """Decode a recording by its path."""
    import kit

    reading = kit.decode(path, format=format)
    return {"files": len(reading.files), "complete": reading.complete, "bytes": _total(reading)}


def _total(reading):
    return sum(len(file.data) for file in reading.files if file.complete)


def command(*arguments):
    """Run the kit's command line."""
    sys.argv = ["kit", *arguments]
    said, status = io.StringIO(), 0
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            runpy.run_module("kit", run_name="__main__", alter_sys=True)
        except SystemExit as end:
            status = end.code or 0
    return {"status": status, "said": said.getvalue()[-300:]}


def tape(size, speed, path):
    """Put random bytes on a tape, write it, read it back."""
    import kit

    data = random.Random(7).randbytes(int(size))
    times = [time.perf_counter()]
    sound = kit.encode(data, name="station.bin", format="house", speed=float(speed))
    times.append(time.perf_counter())
    sound.write(path)
    played_s = sound.seconds
    del sound
    times.append(time.perf_counter())
    reading = kit.decode(path, format="house")
    times.append(time.perf_counter())
    exact = reading.complete and [file.data for file in reading.files] == [data]
    steps = zip(("encode_s", "write_s", "decode_s"), pairwise(times), strict=True)
    took = {name: late - early for name, (early, late) in steps}
    return {"exact": exact, "played_s": played_s, **took}


TASKS = {"decode": decode, "command": command, "tape": tape}

if __name__ == "__main__":
    start = time.perf_counter()
    report = TASKS[sys.argv[1]](*sys.argv[2:])
    seconds = time.perf_counter() - start
    spent = {"seconds": seconds, "processor_s": time.process_time(), "peak_mb": peak_mb()}
    print(json.dumps({**report, **spent}))
