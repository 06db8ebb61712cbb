"""Speed, memory and start of the stair from files to sound and back."""

import importlib.util
import tempfile
from pathlib import Path

import numpy as np
import soundfile

import kit

from .noise import patiently_alone
from .recordings import PROGRAM_BYTES, fluttering, hissing, long_hiss, long_tape, program, written
from .rows import Row, at_least, at_most, best_of, import_seconds, run_apart

__all__ = ["BENCHMARKS"]

LONG_MINUTES = 90
MEMORY_MB = 400


def decode():
    """A clean tape of 48 KiB, mono, 16 bits, 44100 Hz: how quickly it is read."""
    with tempfile.TemporaryDirectory() as folder:
        data = program()
        sound = kit.encode(data, name="station.bin", format="house")
        path = written(Path(folder) / "tape.wav", sound.samples, sound.rate)
        took, reading = best_of(lambda: kit.decode(path, format="house"), 9)
        yield at_least("decode, format given", sound.seconds / took, "x real time", 1000, clock=True)
        for dtype in ("float64", "int16"):
            alone, _ = best_of(lambda kind=dtype: soundfile.read(path, dtype=kind), 9)
            # The goal is set for soundfile's own default; int16 is but a copy from the disk's cache.
            ratio = (f"time / soundfile.read, {dtype}", took / alone, "x")
            yield at_most(*ratio, 10, clock=True) if dtype == "float64" else Row(*ratio)
        yield _whole("decode, format given", reading, data)


def conditions():
    """The same 48 KiB, in other ways of storing and with faults: how quickly it is read."""
    data = program()
    sound = kit.encode(data, name="station.bin", format="house")
    with tempfile.TemporaryDirectory() as folder:
        for name, path, format in _conditions(sound, Path(folder)):
            took, reading = best_of(lambda p=path, f=format: kit.decode(p, format=f), 3)
            yield Row(f"decode, {name}", sound.seconds / took, "x real time", clock=True)
            if name.startswith("hiss 0.5"):
                yield from _honest(name, reading, data)
            else:
                yield _whole(f"decode, {name}", reading, data)
            path.unlink()


def _conditions(sound, folder):
    """Name, recording and format to ask for."""
    clean, rate = sound.samples, sound.rate
    yield "format auto", written(folder / "auto.wav", clean, rate), "auto"
    for part in (0.1, 0.2, 0.5):
        path = written(folder / "hiss.wav", hissing(clean, part), rate)
        yield f"hiss {part:g} of the amplitude", path, "house"
    yield "flutter 0.3 % at 6 Hz", written(folder / "flutter.wav", fluttering(clean, rate), rate), "house"
    both = np.stack((clean, clean), axis=1)
    yield "stereo, both sides", written(folder / "stereo.wav", both, rate), "house"
    both[:, 1] = 0
    yield "stereo, left only", written(folder / "left.wav", both, rate), "house"
    both[:, 1] = clean
    yield "stereo, both sides, auto", written(folder / "two.wav", both, rate), "auto"
    yield "8 bits", written(folder / "eight.wav", clean, rate, "PCM_U8"), "house"
    yield "24 bits", written(folder / "three.wav", clean, rate, "PCM_24"), "house"
    yield "FLAC", written(folder / "tape.flac", clean, rate), "house"


def _whole(name, reading, data):
    exact = reading.complete and [file.data for file in reading.files] == [data]
    return at_least(f"{name}: every byte exact", 100.0 * exact, "%", 100)


def _honest(name, reading, data):
    """Of a tape that need not read whole: how many blocks did, and that nothing wrong is called complete."""
    good = sum(block.whole for block in reading.blocks)
    blocks = PROGRAM_BYTES // 1024 + 2
    yield Row(f"decode, {name}: blocks read", 100 * good / blocks, "%")
    wrong = sum(file.complete and file.data != data for file in reading.files)
    yield at_most(f"decode, {name}: wrong files called complete", wrong, "files", 0)


def swings():
    """24 KiB on clean tapes whose speed is far off or swings, by the patient reader alone: how quickly it is read."""
    data = program(PROGRAM_BYTES // 2)
    sound = kit.encode(data, name="station.bin", format="house")
    for name, wave in _swings(sound.samples, sound.rate):
        played = kit.Sound(wave.astype(np.float32), sound.rate)
        took, reading = best_of(lambda s=played: patiently_alone(s), 2)
        yield Row(f"patient reader alone, {name}", played.seconds / took, "x real time", clock=True)
        yield _whole(f"patient reader alone, {name}", reading, data)


def _swings(clean, rate):
    """Name of what is amiss with the speed, and the samples."""
    for speed in (0.6, 1.4):
        places = np.arange(0, len(clean) - 1, speed)
        yield f"steady {speed:g} times the speed", np.interp(places, np.arange(len(clean)), clean)
    for name, depth, hz in (("wow 5 %", 0.05, 1.0), ("wow 10 %", 0.1, 1.0), ("flutter 2 %", 0.02, 10.0)):
        yield f"{name} at {hz:g} Hz", fluttering(clean, rate, depth, hz)


def blocks():
    """Small blocks: twice the data must take about twice the time, however many blocks there are."""
    took = {}
    for size in (PROGRAM_BYTES // 2, PROGRAM_BYTES):
        data = program(size)
        sound = kit.encode(data, name="station.bin", format="house", block_bytes=16, lead_in_s=1)
        took[size], reading = best_of(lambda s=sound: kit.decode(s, format="house"), 2)
        yield Row(f"decode, {size} bytes in blocks of 16", sound.seconds / took[size], "x real time", clock=True)
        yield _whole(f"decode, {size} bytes in blocks of 16", reading, data)
    growth = took[PROGRAM_BYTES] / took[PROGRAM_BYTES // 2]
    yield at_most("time for twice the blocks", growth, "x", 2.5, clock=True)


def encode():
    """48 KiB to a tape: how quickly it is drawn, and written."""
    data = program()
    took, sound = best_of(lambda: kit.encode(data, name="station.bin", format="house"), 5)
    yield at_least("encode", sound.seconds / took, "x real time", 300, clock=True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tape.wav"
        writing, _ = best_of(lambda: sound.write(path), 5)
    yield at_least("encode and write", sound.seconds / (took + writing), "x real time", 300, clock=True)


def imports():
    """How long a fresh process takes to import the kit."""
    for module, goal in (("kit", 0.3), ("numpy", None)):
        took = min(import_seconds(module) for _ in range(9))
        name = f"import {module}"
        yield at_most(name, took, "s", goal, clock=True) if goal else Row(f"{name} alone", took, "s")


def memory():
    """90 minutes by path: the most memory held, and the time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.wav"
        for name, fill, how in _long_recordings():
            size = fill(path, LONG_MINUTES, **how)
            reports = [("decode", run_apart("decode", path, "house"))]
            if importlib.util.find_spec("kit.__main__"):
                out = Path(folder) / "files"
                reports.append(("command", run_apart("command", "decode", path, "-o", out)))
                told = reports[1][1]["status"] == (0 if size else 1)
                yield at_least(f"command, {name}: exit status as it should be", 100.0 * told, "%", 100)
            for way, report in reports:
                yield at_most(f"{way}, {name}: peak", report["peak_mb"], "MB", MEMORY_MB)
                yield Row(f"{way}, {name}", LONG_MINUTES * 60 / report["seconds"], "x real time", clock=True)
            found = reports[0][1]
            if size:
                yield at_least(f"decode, {name}: bytes read whole", found["bytes"], "bytes", size)
            yield at_most(f"decode, {name}: files found", found["files"], "files", size // PROGRAM_BYTES)
            path.unlink()


def _long_recordings():
    """Name, how to make it, and its settings."""
    yield "90 min of tape", long_tape, {}
    yield "90 min of stereo tape under hiss 0.2", long_tape, {"hiss": 0.2, "channels": 2}
    yield "90 min of hiss", long_hiss, {}
    yield "90 min of stereo hiss", long_hiss, {"channels": 2}


def mebibyte():
    """1 MiB at four times the ordinary speed: there and back."""
    with tempfile.TemporaryDirectory() as folder:
        report = run_apart("tape", 1 << 20, 4, Path(folder) / "tape.wav")
    yield at_least("1 MiB at 4x: every byte exact", 100.0 * report["exact"], "%", 100)
    for step in ("encode", "write", "decode"):
        yield Row(f"1 MiB at 4x: {step}", report[f"{step}_s"], "s", clock=True)
    yield Row("1 MiB at 4x: plays for", report["played_s"], "s")
    yield Row("1 MiB at 4x: peak memory, sound in memory", report["peak_mb"], "MB")


BENCHMARKS = {task.__name__: task for task in (decode, conditions, swings, blocks, encode, imports, mebibyte, memory)}
