"""The simulated recorder: time and memory for ten minutes, how time grows with length, how clean the warp is.

Clocks are also given as ratios, to the sound's own playing time or to one plain pass of a filter over the
same samples, so that machines can be compared. Imports are not counted.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from .rows import Row, at_least, at_most, best_of

TOP = Path(__file__).parents[2]
RATE = 44100
MINUTES = 10
STEP_BY_STEP = {
    "hiss": {"hiss_dbfs": -50}, "coupling": {"record_coupling_hz": 50}, "speed": {"replay_wow_percent": 0.1},
    "heads": {"replay_spacing_um": 1}, "saturation": {"saturation_dbfs": 3},
    "level control": {"record_level_control_dbfs": -6}, "noise reduction": {"replay_noise_reduction_db": 10},
    "reverberation": {"room_reverberation_s": 0.5}, "noise suppression": {"noise_suppression_db": 12},
    "codec": {"codec": "vorbis"},
}


def a_tape(minutes):
    """A square wave of runs of 600 to 2400 Hz, as on a tape."""
    from kit.sound import Sound

    rng = np.random.Generator(np.random.PCG64(0))
    count = round(minutes * 60 * 2400)
    halves = np.repeat(np.resize([0.5, -0.5], count), rng.choice([9, 18, 37], count))
    return Sound(halves[:round(minutes * 60 * RATE)].astype(np.float32), RATE)


def every_stage_of_tape():
    """The worn deck with all that a tape can suffer switched on."""
    from kit.deck import decks

    return decks["worn"].with_settings(
        source_level_db=1, input_clip_dbfs=-3, record_noise_reduction_db=10, replay_noise_reduction_db=10,
        record_drift_percent=0.5, record_motor_start_s=0.3, coating_um=1, print_through_db=-50,
        replay_gain_db=1, replay_level_control_dbfs=-6, replay_level_boost_db=6, replay_equalisation_us=70)


def deck():
    """Ten minutes of mono through every stage of a tape; time over length; cleanness of the warp."""
    done = subprocess.run([sys.executable, "-m", "tests.benchmarks.bench_deck"], cwd=TOP, check=True,
                          capture_output=True, text=True)
    apart = json.loads(done.stdout)
    yield at_most("ten minutes through every stage of a tape", apart["seconds"], "s", 10, clock=True)
    yield Row("the same, played per computed", MINUTES * 60 / apart["seconds"], "times", clock=True)
    yield at_most("most memory while at it", apart["peak_mb"], "MB", 1000)
    yield from _growth()
    yield from _cleanness()


def _growth():
    """Time must grow with length and no faster."""
    machine, short, long = every_stage_of_tape(), a_tape(0.5), a_tape(2)
    short_s, long_s = (best_of(lambda sound=sound: machine.play(sound), runs=3)[0] for sound in (short, long))
    yield at_most("time of four times the length", long_s / short_s, "times", 4.6, clock=True)


def _cleanness():
    """Images and aliases of a 10 kHz tone off speed, and the error of a tone under wow and flutter."""
    from kit.deck.transport import SpeedLaw, speed_in_replay

    frames = 1 << 15
    tone = np.sin(2 * np.pi * 10_000 * np.arange(1 << 18) / RATE).astype(np.float32)
    worst = -np.inf
    for offset in (-0.3, -0.02, 0.005, 0.04, 0.25, 0.6):
        played = speed_in_replay(tone, RATE, SpeedLaw(offset))
        power = np.abs(np.fft.rfft(played[50_000:50_000 + frames] * np.kaiser(frames, 25))) ** 2
        others = np.abs(np.arange(len(power)) - 10_000 * (1 + offset) * frames / RATE) > 200
        worst = max(worst, 10 * np.log10(power[others].max() / power.max()))
    yield at_least("10 kHz over its strongest image or alias", -worst, "dB", 60)


def stages():
    """Each stage by itself, in passes of a plain first-order filter over the same samples."""
    from scipy.signal import lfilter

    from kit.deck import Deck

    sound = a_tape(1)
    samples = sound.samples.astype(np.float64)
    plain, _ = best_of(lambda: lfilter([1.0, -1.0], [1.0, -0.99], samples))
    for name, settings in STEP_BY_STEP.items():
        machine = Deck(**settings)
        machine.play(sound.part(0, 1))  # imports and tables are not the stage's
        seconds, _ = best_of(lambda machine=machine: machine.play(sound), runs=3)
        yield Row(name, seconds / plain, "filters", clock=True)


def meters():
    """Measuring a minute of tone, and what the meter reads of a swing it must read as 0.0997 %."""
    from kit.meters import noise_dbfs, wow_and_flutter
    from kit.sound import Sound

    t = np.arange(60 * RATE) / RATE
    way = t + 0.001 / (8 * np.pi) * (1 - np.cos(8 * np.pi * t))
    tone = Sound(0.5 * np.sin(2 * np.pi * 3150 * way), RATE)
    seconds, reading = best_of(lambda: wow_and_flutter(tone), runs=3)
    yield Row("wow and flutter, played per computed", 60 / seconds, "times", clock=True)
    yield at_most("its error at 4 Hz", abs(reading - 0.099692), "%", 0.0002)
    seconds, _ = best_of(lambda: noise_dbfs(tone), runs=3)
    yield Row("noise, played per computed", 60 / seconds, "times", clock=True)


BENCHMARKS = {"deck": deck, "stages": stages, "meters": meters}

if __name__ == "__main__":
    from .apart import peak_mb

    the_tape, machine = a_tape(MINUTES), every_stage_of_tape()
    machine.play(the_tape.part(0, 2))
    start = time.perf_counter()
    machine.play(the_tape)
    print(json.dumps({"seconds": time.perf_counter() - start, "peak_mb": peak_mb()}))
