"""Recordings with known faults for the doctor, and how it is told whether a fault is to be seen in them.

Each recording is a short tape from a good recorder with one to three faults, each of a strength at which it is
visible: alone, with the same chance, it breaks the read, or takes 3 dB or more of the noise that may be added before
the read breaks. The read is that of two loaders of one input (they hear both sides mixed): the kit's own, without
extra effort, and the counting loop of old, where the good recording reads with that.
"""

import json
import random
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

import kit

BASES = {"studio": kit.decks["studio"], "home": kit.decks["home"], "laptop": kit.decks["laptop"]}
FORMATS = ("house", "house", "house", "steady", "framed", "sturdy", "twice")
RATES = (44100, 44100, 48000, 22050)


def _between(mild, severe):
    """A strength from mild (0) to severe (1), each ratio as far."""
    return lambda u: float(mild * (severe / mild) ** u)


@dataclass(frozen=True)
class Fault:
    """A fault that can be injected.

    Parameters
    ----------
    keys : set of str
        Findings that name it.
    settings : callable
        Given strength and a generator: settings of the deck.
    change : callable or None
        Given the recording's samples, its rate, strength and a generator: other samples (and rate).
    make : callable or None
        Given strength and a generator: settings of `encode`, or the format listened for.
    group : str
        Faults of one group exclude each other.
    stereo : bool
    """

    keys: frozenset
    settings: object = None
    change: object = None
    make: object = None
    group: str = ""
    stereo: bool = False


def _fault(keys, group, settings=None, **more):
    return Fault(frozenset(keys.split()), settings, group=group, **more)


def _one(name, mild, severe, **more):
    return lambda u, rng: {name: _between(mild, severe)(u), **more}


def _level(name, mild, severe, **more):
    """A level in dB, in even steps."""
    return lambda u, rng: {name: mild + (severe - mild) * u, **more}


def _sign(rng):
    return rng.choice((-1, 1))


def _overdriven(u, rng):
    """More than the tape holds, from the source's end."""
    return {"source_level_db": 8 + 28 * u, "saturation_dbfs": 3.0, "saturation_corner_hz": rng.uniform(800, 3000)}


def _hum(u, rng):
    return {"hum_dbfs": -26 + 24 * u, "hum_hz": rng.choice((50.0, 60.0))}


def _azimuth(u, rng):
    return {"replay_azimuth_arcmin": _sign(rng) * _between(12, 100)(u), "track_mm": 0.6}


def _head_tilt(u, rng):
    return {"replay_azimuth_arcmin": _sign(rng) * _between(8, 60)(u), "track_mm": 1.5}


def _speed(u, rng):
    return {"replay_speed_percent": 8 + 30 * u if rng.random() < 0.5 else -(7 + 21 * u)}


def _wow(u, rng):
    percent, hz = _between(2, 20)(u), rng.choice((0.6, 1.0, 2.0, 3.5))
    return {"record_wow_percent": percent, "replay_wow_percent": percent, "record_wow_hz": hz, "replay_wow_hz": hz}


def _flutter(u, rng):
    percent, hz = _between(2, 20)(u), rng.choice((9.0, 15.0, 30.0, 55.0))
    return {"record_flutter_percent": percent, "replay_flutter_percent": percent, "record_flutter_hz": hz,
            "replay_flutter_hz": hz}


def _dropouts(u, rng):
    return {"dropouts_per_minute": _between(20, 120)(u), "dropout_depth_db": rng.uniform(14, 40),
            "dropout_length_s": _between(0.008, 0.12)(rng.random()), "dropout_fade_s": 0.002}


def _reverberation(u, rng):
    return {"room_distance_m": rng.uniform(0.2, 3), "room_reverberation_s": rng.uniform(0.25, 1.0),
            "room_reverberation_db": -20 + 22 * u}


def _print_through(u, rng):
    return {"print_through_db": -22 + 20 * u, "print_through_s": rng.uniform(0.6, 1.8)}


def _held(samples, rate, u, rng):
    rms = np.sqrt(np.mean(samples.astype(float) ** 2))
    return samples + np.float32(_sign(rng) * _between(0.1, 2.0)(u) * rms), rate


def _cut_start(samples, rate, u, rng):
    first = round((2.0 + 1.2 * rng.random()) * rate)
    return samples[first:], rate


def _cut_end(samples, rate, u, rng):
    return samples[: round(len(samples) * rng.uniform(0.45, 0.7))], rate


def _label(samples, rate, u, rng):
    pairs = {44100: (48000, 32000), 48000: (44100, 32000), 22050: (16000, 24000)}
    return samples, rng.choice(pairs[rate])


def _other_format(u, rng):
    return {"asked": True}


def _unknown_code(u, rng):
    unit = rng.choice((0.9, 1.0, 1.2))
    zero, one, sync, leader = rng.choice((
        (0.45e-3, 0.75e-3, 1.1e-3, 0.3e-3), (0.3e-3, 0.75e-3, 0.5e-3, 0.2e-3), (0.6e-3, 0.35e-3, 0.9e-3, 0.25e-3)))
    return {"format": kit.Format.of_half_cycles("strange", zero_s=unit * zero, one_s=unit * one, sync_s=unit * sync,
                                                leader_s=unit * leader, block_bytes=128)}


def _other_check(u, rng):
    check = rng.choice(("crc-16/arc", "crc-16/modbus", "crc-16/xmodem"))
    return {"format": kit.FORMATS["house"].changed(name="changed", check=check, block_bytes=128)}


FAULTS = {
    "too quiet on tape": _fault("too_quiet", "level", _level("source_level_db", -14, -56)),
    "played too quietly": _fault("too_quiet", "level", _level("replay_gain_db", -16, -60)),
    "input overdriven": _fault("highs_lost too_loud", "highs", _overdriven),
    "tape overdriven": _fault("highs_lost too_loud", "highs", lambda u, rng: {
        "saturation_dbfs": -2 - 28 * u, "saturation_corner_hz": rng.uniform(800, 3000)}),
    "hiss": _fault("hiss", "hiss", _level("hiss_dbfs", -32, -8)),
    "noise of a room": _fault("hiss", "hiss", _level("room_noise_dbfs", -32, -8)),
    "hum": _fault("hum", "hum", _hum),
    "held level": _fault("held_level", "held", change=_held),
    "left side dead": _fault("side_dead", "sides", lambda u, rng: {"output_wiring": "left-dead"}, stereo=True),
    "right side dead": _fault("side_dead", "sides", lambda u, rng: {"output_wiring": "right-dead"}, stereo=True),
    "sides opposed": _fault("sides_opposed", "sides", lambda u, rng: {"output_wiring": "opposed"}, stereo=True),
    "sides skewed": _fault("sides_skewed", "sides", _azimuth, stereo=True),
    "dirty head": _fault("highs_lost", "highs", _one("replay_spacing_um", 1.5, 16)),
    "wide gap": _fault("highs_lost", "highs", _one("replay_gap_um", 3, 14)),
    "tilted head": _fault("highs_lost", "highs", _head_tilt),
    "noise reduction in playing": _fault("highs_lost", "highs", _one("replay_noise_reduction_db", 8, 24)),
    "noise reduction in recording": _fault("highs_raised", "highs", _one("record_noise_reduction_db", 8, 24)),
    "lows lost": _fault("lows_lost", "lows", _one("replay_coupling_hz", 250, 1600)),
    "speed": _fault("speed_off", "speed", _speed),
    "wrong rate label": _fault("speed_off", "speed", change=_label),
    "wow": _fault("wow", "wow", _wow),
    "flutter": _fault("flutter", "flutter", _flutter),
    "older recording": _fault("older_recording", "under", _level("old_recording_dbfs", -32, -6)),
    "print-through": _fault("older_recording", "under", _print_through),
    "dropouts": _fault("dropouts", "dropouts", _dropouts),
    "room echo": _fault("room_echo", "air", _reverberation),
    "start cut": _fault("start_cut", "cut", change=_cut_start),
    "end cut": _fault("end_cut", "cut", change=_cut_end),
    "voice codec": _fault("voice_coding", "codec", lambda u, rng: {
        "codec": rng.choice(("opus", "mp3")), "codec_rate_hz": 8000.0}, make=lambda u, rng: {"speed": 2.0}),
    "noise suppression": _fault("noise_suppression", "codec", _level("noise_suppression_db", 4, 34)),
    "another format": _fault("other_format", "format", make=_other_format),
    "unknown code": _fault("unknown_code", "format", make=_unknown_code),
    "other check": _fault("check_fails", "format", make=_other_check),
}
"""Faults by name.

Not among them, as they were never visible at any strength: a clipped output (edges stay where they are), an automatic
level that moves quickly, and, on most tapes, a speed that is off by less than a third.
"""
SET = Path(__file__).with_name("doctor_set.jsonl")


@dataclass(frozen=True)
class Recording:
    """A recording as drawn: what is on it, the recorder, and the faults with their strengths."""

    seed: int
    base: str
    format: object
    rate: int
    lead_in_s: float
    silence_s: tuple
    faults: dict = field(default_factory=dict)

    @property
    def asked(self):
        """What is listened for: another format, if that is the fault."""
        if "another format" not in self.faults:
            return "auto"
        return {"steady": "house"}.get(getattr(self.format, "name", self.format), "steady")

    @property
    def keys(self):
        """Findings that name one of its faults."""
        return frozenset().union(*(FAULTS[name].keys for name in self.faults))

    @property
    def data(self):
        return random.Random(self.seed).randbytes(200)

    def without(self, *names):
        """The same recording without some faults."""
        left = {name: u for name, u in self.faults.items() if name not in names}
        return Recording(self.seed, self.base, self.format, self.rate, self.lead_in_s, self.silence_s, left)

    def alone(self, **faults):
        """The same recording with just these faults."""
        return Recording(self.seed, self.base, self.format, self.rate, self.lead_in_s, self.silence_s,
                         {name.replace("_", " "): u for name, u in faults.items()})

    def rng(self, name):
        return random.Random(f"{self.seed} {name}")

    def made(self, what):
        """A setting that a fault changes in how the tape is written, or None."""
        for name, u in self.faults.items():
            make = FAULTS[name].make
            changed = make(u, self.rng(name)) if make else {}
            if what in changed:
                return changed[what]
        return None

    def sound(self):
        """The recording itself."""
        tape = kit.encode(self.data, name="log.bin", format=self.made("format") or self.format, rate=self.rate,
                          lead_in_s=self.lead_in_s, speed=self.made("speed") or 1.0, block_bytes=128)
        before, after = (np.zeros(round(s * self.rate), np.float32) for s in self.silence_s)
        samples = np.concatenate([before, tape.samples, after])
        if any(FAULTS[name].stereo for name in self.faults):
            samples = np.stack([samples, samples], axis=1)
        settings = {}
        for name, u in self.faults.items():
            if FAULTS[name].settings:
                settings |= FAULTS[name].settings(u, self.rng(name))
        deck = BASES[self.base].with_settings(**settings)
        played = deck.play(kit.Sound(samples, self.rate), seed=self.seed)
        samples, rate = played.samples, self.rate
        for name, u in self.faults.items():
            if FAULTS[name].change:
                samples, rate = FAULTS[name].change(samples, rate, u, self.rng(name))
        return kit.Sound(np.clip(samples, -1, 1), rate)


def stored_set():
    """The recordings drawn by ``python -m tests.doctor_visible``: even seeds to tune the doctor with, odd ones not.

    Returns
    -------
    list of Recording
    """
    lines = SET.read_text("utf-8").splitlines()
    rows = [json.loads(line) for line in lines]
    return [Recording(**{**row, "silence_s": tuple(row["silence_s"])}) for row in rows]
