"""Laws that hold for every format: the registered ones, and some that a learner might build."""

import numpy as np
import pytest

import kit
from kit import Sound, TapeFile
from kit.cells import CycleLength
from kit.frames import Frame
from kit.leader import Leader

LEARNERS = [
    kit.Format("learner-parity", frame=Frame(order="lsb", parity="odd"), check="crc-32/iso-hdlc", block_bytes=64),
    kit.Format("learner-short-ones", code=CycleLength(2.5, 1.0), leader=Leader(5.0, 3.75), check="sum-8"),
    kit.Format.of_half_cycles(
        "learner-seconds", zero_s=2e-4, one_s=4.5e-4, sync_s=7e-4, leader_s=1e-3, check="crc-16/arc"
    ),
]
NAMED = [format for format in kit.FORMATS.values() if not format.stream]  # streams hold no names, and no check
FORMATS = [*NAMED, *LEARNERS]
every_format = pytest.mark.parametrize("format", FORMATS, ids=[f.name for f in FORMATS])
RATE = 44100
SEED = 20


def files():
    """A few small files, one of random bytes and one of the runs that cells and leaders could confuse."""
    noise = np.random.default_rng(SEED).integers(0, 256, 150, dtype=np.uint8).tobytes()
    return [
        TapeFile("log.txt", "Wind west 5, gulls 3, sea calm: \u00bd m".encode()),
        TapeFile("\u6f6e\u6c50 \u043f\u0440\u0438\u043b\u0438\u0432.bin", noise),
        TapeFile("runs", bytes(40) + b"\xff" * 40 + b"\x55" * 20),
        TapeFile("empty", b""),
    ]


def tape(format, speed=1.0, rate=RATE, lead_in_s=0.6):
    return kit.encode(files(), format=format, speed=speed, rate=rate, lead_in_s=lead_in_s)


def is_whole(reading):
    wanted = {file.name: file.data for file in files()}
    return reading.complete and {file.name: file.data for file in reading.files} == wanted


def warped(sound, speed_at):
    """The sound on a machine whose speed at each second is `speed_at(seconds)`; by cubic interpolation in time."""
    from scipy.interpolate import CubicSpline

    seconds = np.arange(int(sound.frames * 1.8)) / sound.rate
    position = np.cumsum(speed_at(seconds))
    position = position[position < sound.frames - 1]
    return Sound(CubicSpline(np.arange(sound.frames), sound.samples)(position).astype(np.float32), sound.rate)


@every_format
def test_what_is_written_is_read(format):
    """Names in any script, no bytes at all, runs of one bit: all come back."""
    assert is_whole(kit.decode(tape(format), format=format))


@pytest.mark.parametrize("format", [format.name for format in NAMED])
def test_a_registered_format_is_recognised(format):
    assert is_whole(kit.decode(tape(format)))


@every_format
@pytest.mark.parametrize(
    "level",
    [
        pytest.param(lambda x: -x, id="upside down"),
        pytest.param(lambda x: np.round(x * 2 * 10**-3 * 32768) / 32768, id="-60 dBFS in 16 bits"),
        pytest.param(lambda x: np.round(x * 2 * 10**-1.5 * 128) / 128, id="-30 dBFS in 8 bits"),
        pytest.param(lambda x: np.clip(40 * x, -1, 1), id="clipped"),
        pytest.param(lambda x: 0.8 * x + 0.2, id="a held level"),
        pytest.param(lambda x: 0.3 * x + 0.5, id="a held level larger than the wave"),
    ],
)
def test_level_polarity_and_held_levels_do_not_matter(format, level):
    sound = tape(format)
    assert is_whole(kit.decode(Sound(level(sound.samples.astype(float)), RATE), format=format))


@every_format
@pytest.mark.parametrize("speed", [0.6, 0.83, 1.21, 1.4])
def test_the_speed_of_the_tape_does_not_matter(format, speed):
    assert is_whole(kit.decode(warped(tape(format), lambda t: np.full(len(t), speed)), format=format))


@every_format
def test_wow_and_flutter_are_followed(format):
    """10 % at 1 Hz and 2 % at 10 Hz together."""

    def speed(t):
        return 1 + 0.1 * np.sin(2 * np.pi * t) + 0.02 * np.sin(2 * np.pi * 10 * t)

    assert is_whole(kit.decode(warped(tape(format), speed), format=format))


@every_format
@pytest.mark.parametrize("rate", [8000, 16000, 48000, 192000])
def test_the_sample_rate_does_not_matter_as_long_as_it_carries_the_format(format, rate):
    speed = 1.0 if rate >= format.needed_rate() else 0.5
    assert is_whole(kit.decode(tape(format, speed, rate), format=format))


@pytest.mark.parametrize("hz", [50, 60])
@pytest.mark.parametrize(("speed", "run"), [(0.25, 0.6), (0.25, 1.0), (0.5, 1.0), (1, 1.0), (2, 1.0), (4, 1.0)])
def test_hum_at_half_the_level_is_taken_out_and_a_slow_leader_is_not(speed, run, hz):
    """At a quarter of the speed, on a machine 40 % slow, the leader is a tone of 90 Hz."""
    sound = warped(tape("house", speed), lambda t: np.full(len(t), run)) if run != 1 else tape("house", speed)
    seconds = np.arange(sound.frames) / RATE
    hum = 0.25 * np.sin(2 * np.pi * hz * seconds + 0.7)
    assert is_whole(kit.decode(Sound(0.5 * sound.samples + 0.5 * hum, RATE), format="house"))


@every_format
@pytest.mark.parametrize("amount", [0.1, 0.3])
def test_hiss_is_borne(format, amount):
    """A tenth and three tenths of the wave's amplitude (rms, over the whole band)."""
    sound = tape(format)
    hiss = np.random.default_rng(SEED).normal(0, amount * 0.5, sound.frames)
    assert is_whole(kit.decode(Sound(sound.samples + hiss, RATE), format=format))


@every_format
@pytest.mark.parametrize("part", [0.05, 0.3, 0.55, 0.8, 0.97])
def test_a_tape_cut_short_gives_what_is_there_and_claims_no_more(format, part):
    """Both halves of the cut: no file is called complete that is not."""
    sound = tape(format)
    cut = int(part * sound.frames)
    wanted = {file.name: file.data for file in files()}
    for half in (sound.samples[:cut], sound.samples[cut:]):
        for file in kit.decode(Sound(half, RATE), format=format).files:
            assert not file.complete or wanted[file.name] == file.data


@every_format
def test_two_tapes_joined_are_both_read(format):
    """The second at twice the speed and after a splice without any pause."""
    other = kit.encode(b"the boat comes on tuesday", name="boat.txt", format=format, speed=1.5, rate=RATE)
    joined = np.concatenate((tape(format).samples, other.samples))
    reading = kit.decode(Sound(joined, RATE), format=format)
    assert reading.complete
    assert [file.name for file in reading.files] == [*[file.name for file in files()], "boat.txt"]


@every_format
def test_a_recording_played_backwards_is_read(format):
    reading = kit.decode(Sound(tape(format).samples[::-1].copy(), RATE), format=format)
    assert is_whole(reading)
    assert all(block.backwards for block in reading.blocks)


def test_a_rate_that_cannot_carry_a_speed_is_refused_with_the_rate_needed():
    with pytest.raises(kit.SettingError, match="28800 Hz"):
        kit.encode(b"x", speed=4, rate=22050)
