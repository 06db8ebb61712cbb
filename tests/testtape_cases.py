"""What a simulated recorder was set to, worked out without the measurer: the truth that `measure` must find."""

import dataclasses
from functools import cache

import numpy as np

import kit
from kit.blocks import DATA
from kit.deck import transport
from kit.deck.chance import stream
from kit.meters import two_sigma, weighted
from kit.testtape.plan import LADDER_SPEEDS, programme

TRACE_HZ = 2000
WHOLE = ("checked", "mended")


@cache
def the_tape(rate=44100):
    return kit.test_tape(rate)


def played(machine, on=None, seed=0, rate=44100):
    """The test tape recorded on one machine, and replayed on it or on another."""
    return machine.play(the_tape(rate), seed, on=on)


def joined(machine, on=None):
    """The recording half of one machine and the replay half of another, as one deck."""
    if on is None:
        return machine
    names = [f.name for f in dataclasses.fields(machine)]
    first = names.index("record_coupling_hz")
    theirs = [n for n in names if names.index(n) < first or n.startswith(("record_", "saturation_"))]
    return on.with_settings(**{name: getattr(machine, name) for name in theirs})


def true_speed(machine, on=None):
    """Steady speed of replay against recording, in percent, by the settings alone."""
    both = joined(machine, on)
    return 100 * ((100 + both.replay_speed_percent) / (100 + both.record_speed_percent) - 1)


def true_deviation(machine, on, seed, start_s, stop_s):
    """Speed of replay over speed of recording while some stretch is heard, minus 1."""
    both = joined(machine, on)
    record = transport.speed_law(both, "record", stream(seed, "record transport"))
    replay = transport.speed_law(both, "replay", stream(seed, "replay transport"))
    time_s = np.arange(start_s, stop_s, 1 / TRACE_HZ)
    heard = transport.run(replay, stop_s + 1)
    way_s = np.interp(time_s, heard.time_s, heard.way_s)
    written = transport.run(record, 1.3 * stop_s + 1)
    return replay.speed(time_s) / record.speed(np.interp(way_s, written.way_s, written.time_s)) - 1


def true_flutter(machine, on=None, seed=0):
    """AES6 reading of the two tones, in percent, from the laws of speed alone."""
    pace = 1 + true_speed(machine, on) / 100
    parts = []
    for tone in programme().of("tone"):
        deviation = true_deviation(machine, on, seed, tone.start_s / pace, tone.stop_s / pace)
        parts.append(weighted(100 * ((1 + deviation) / (1 + deviation.mean()) - 1), TRACE_HZ))
    return two_sigma(np.concatenate(parts))


def true_noise(machine, on=None):
    """Noise in dBFS, rms in 20 kHz: the hiss, through the replay gain, and the room."""
    both = joined(machine, on)
    powers = 10 ** (np.array([both.hiss_dbfs + both.replay_gain_db, both.room_noise_dbfs]) / 10)
    return 10 * np.log10(powers.sum()) if powers.sum() else -np.inf


def true_response(machine, hz, on=None):
    """Response against 1000 Hz, in dB."""
    both = joined(machine, on)
    return both.response(hz) - both.response(1000.0)


def echo_response(machine, hz, side, seed=0, rate=44100):
    """What a room adds against 1000 Hz, in dB: from the sound of one click in it."""
    bare = kit.Deck(room_distance_m=machine.room_distance_m, room_reverberation_s=machine.room_reverberation_s,
                    room_reverberation_db=machine.room_reverberation_db)  # fmt: skip
    click = np.zeros((2 * rate, 2), np.float32)
    click[0] = 0.5
    heard = bare.replay(kit.Sound(click, rate), seed).samples[:, side]
    turns = np.outer(np.append(hz, 1000.0), np.arange(len(heard)) / rate)
    level = 20 * np.log10(np.abs(np.exp(-2j * np.pi * turns) @ heard))
    return level[:-1] - level[-1]


def loads_alone(machine, on, seed, speed, blocks=6, level_db=0.0):
    """Whether a tape of a few blocks at a speed, written and read by itself, is read whole."""
    data = np.random.default_rng(1000 + seed).bytes(64 * blocks)
    tape = kit.encode(data, name="wind.bin", speed=speed, block_bytes=64, lead_in_s=2.5)
    heard = machine.with_settings(source_level_db=machine.source_level_db + level_db).play(tape, seed, on=on)
    read = {b.part.number: b.part.data for b in kit.decode(heard, format="house").blocks
            if b.kind == DATA and b.verdict in WHOLE and b.part is not None}  # fmt: skip
    return read == {k: data[64 * k : 64 * (k + 1)] for k in range(blocks)}


def fastest_alone(machine, on=None, seeds=(11, 12, 13), below=99):
    """Number of the fastest rung that most seeds load, each rung a tape of its own; -1 if none.

    Rungs are tried from number `below` down: what a recorder does not carry there, it does not carry above.
    """
    for number in range(min(below, len(LADDER_SPEEDS) - 1), -1, -1):
        loaded = [loads_alone(machine, on, seed, LADDER_SPEEDS[number]) for seed in seeds]
        if sum(loaded) > len(seeds) / 2:
            return number
    return -1


def rung_of(figure):
    """Number of the rung a figure of a report names; -1 for none."""
    return LADDER_SPEEDS.index(figure.value) if figure.known else -1
