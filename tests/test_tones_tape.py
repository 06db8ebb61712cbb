"""Two tones on tape: any such format is written and read, and doubt covers what is damaged."""

import numpy as np
import pytest

import kit
from kit.frames import Frame
from kit.leader import Leader
from kit.tones import TwoTones

RATE = 44100
SERIAL = Frame(order="lsb", start_bits="0", stop_bits="11")
DATA = np.random.default_rng(15).integers(0, 256, 300, dtype=np.uint8).tobytes() + bytes(40) + b"\xff" * 40
FORMATS = {
    "steady": kit.FORMATS["steady"],
    "with start and stop bits": kit.Format("a", code=TwoTones(), frame=SERIAL),
    "four and eight cycles": kit.Format("b", code=TwoTones(8, 16, 8.0), frame=SERIAL),
    "one half-cycle and two": kit.Format("c", code=TwoTones(1, 2), leader=Leader(8.0, 6.0)),
    "ones are lower": kit.Format("d", code=TwoTones(6, 4, 4.0), leader=Leader(5.0, 4.0), check="crc-16/arc"),
}


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("speed", [0.5, 2.0])
def test_any_such_format_is_written_and_read(name, speed):
    """Forwards, the other way up, and backwards; each cell of a block lasts as long as the next."""
    format = FORMATS[name]
    sound = kit.encode(DATA, name="x.bin", format=format, speed=speed, lead_in_s=0.4)
    for samples in (sound.samples, -sound.samples, sound.samples[::-1].copy()):
        reading = kit.decode(kit.Sound(samples, RATE), format=format)
        assert reading.complete and reading.files[0].data == DATA
        for block in reading.blocks:
            lengths_s = np.abs(np.diff(block.cell_s))
            assert lengths_s == pytest.approx(format.code.cell_units * format.unit_s(speed), rel=0.02)


def test_a_steady_tape_is_read_among_others():
    """Listened for with all named formats, it is neither taken for another nor hides one."""
    names = ["steady", "house", "framed"]
    tapes = [kit.encode(DATA, name=f"{name}.bin", format=name, speed=2, lead_in_s=0.4).samples for name in names]
    reading = kit.decode(kit.Sound(np.concatenate(tapes), RATE), format="auto")
    assert reading.complete and [file.name for file in reading.files] == [f"{name}.bin" for name in names]
    assert all(file.data == DATA for file in reading.files)
    assert {(file.name, block.format.name) for file in reading.files for block in file.blocks} == {
        (f"{name}.bin", name) for name in names
    }


@pytest.mark.parametrize("backwards", [False, True])
def test_only_the_bytes_in_a_hole_are_in_doubt(backwards):
    """The front is read forwards, the back backwards from the tail."""
    data = np.random.default_rng(16).integers(0, 256, 1000, dtype=np.uint8).tobytes()
    sound = kit.encode(data, name="x.bin", format="steady", speed=2, lead_in_s=1)
    whole = kit.decode(sound, format="steady")
    samples = sound.samples.copy()
    samples[int(whole.where(byte=400).start_s * RATE) : int(whole.where(byte=420).stop_s * RATE)] = 0
    samples = samples[::-1].copy() if backwards else samples
    file = kit.decode(kit.Sound(samples, RATE), format="steady").files[0]
    doubted = {byte for start, stop in file.doubtful for byte in range(start, stop)}
    wrong = {k for k, (got, sent) in enumerate(zip(file.data, data, strict=True)) if got != sent}
    assert wrong <= doubted
    assert min(doubted) in range(396, 401) and max(doubted) in range(420, 425)


@pytest.mark.parametrize("seed", range(24))
def test_doubt_covers_every_wrong_byte_of_a_scratched_steady_tape(seed):
    """One to three scratches of 1 to 300 ms, silent or noisy; nothing is called complete that is not."""
    generator = np.random.default_rng(seed)
    sound = kit.encode(DATA, name="x.bin", format="steady", speed=2, block_bytes=128, lead_in_s=0.4)
    samples = sound.samples.copy()
    for _ in range(generator.integers(1, 4)):
        start = int(generator.integers(0, len(samples)))
        hole = samples[start : start + int(RATE * 10 ** generator.uniform(-3, -0.5))]
        hole[:] = generator.normal(0, 0.3, len(hole)) * generator.integers(0, 2)
    for file in kit.decode(kit.Sound(samples, RATE), format="steady").files:
        assert not file.complete or file.data == DATA
        if file.said_name:
            doubted = {byte for start, stop in file.doubtful for byte in range(start, stop)}
            assert {k for k, (got, sent) in enumerate(zip(file.data, DATA, strict=False)) if got != sent} <= doubted


def test_a_byte_is_found_where_it_lies_and_back():
    """Cells of equal length: byte k begins k * 8 cells after the first."""
    sound = kit.encode(DATA, name="x.bin", format="steady", lead_in_s=0.4)
    reading = kit.decode(sound, format="steady")
    first_s = reading.where(byte=0).start_s
    for byte in (1, 57, 299, 379):
        start_s, stop_s = reading.where(byte=byte)
        assert start_s - first_s == pytest.approx(byte * 8 / 1200, abs=1e-4)
        assert reading.at((start_s + stop_s) / 2).byte == byte
