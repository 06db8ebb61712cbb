"""Damage: whatever happens to a tape, no file is called complete that is not, and doubt covers what is wrong."""

import numpy as np
import pytest

import kit
from kit import Sound

RATE = 44100
KINDS = {
    "silence": lambda x, a, b, g: np.concatenate((x[:a], np.zeros(b - a, np.float32), x[b:])),
    "noise": lambda x, a, b, g: np.concatenate((x[:a], g.normal(0, 0.3, b - a), x[b:])),
    "cut": lambda x, a, b, g: np.concatenate((x[:a], x[b:])),
    "stutter": lambda x, a, b, g: np.concatenate((x[:b], x[a:])),
    "turned": lambda x, a, b, g: np.concatenate((x[:a], x[a:b][::-1], x[b:])),
}
SPLICES = {"cut", "stutter", "turned"}


def some_data(generator):
    size = int(generator.integers(1, 1200))
    kind = generator.integers(3)
    if kind == 0:
        return generator.integers(0, 256, size, dtype=np.uint8).tobytes()
    return bytes(size) if kind == 1 else (b"wind west 5, gulls 3; " * 60)[:size]


def damaged_tape(seed, kinds):
    """Data, and a tape of it with one to three faults."""
    generator = np.random.default_rng(seed)
    data = some_data(generator)
    block_bytes = int(generator.choice([16, 64, 256, 1024]))
    block_bytes = block_bytes if len(data) / block_bytes < 20 else 256
    speed = float(generator.choice([1, 2, 4]))
    x = kit.encode(data, name="x.bin", speed=speed, block_bytes=block_bytes, lead_in_s=0.6).samples
    for _ in range(int(generator.integers(1, 4))):
        start = int(generator.integers(0, len(x)))
        stop = min(len(x), start + int(10 ** generator.uniform(0.5, 4.3)))
        x = KINDS[str(generator.choice(kinds))](x, start, stop, generator)
    return data, Sound(x, RATE)


def wrong_and_doubted(file, data):
    """Numbers of the bytes that are wrong, and of those in doubt."""
    got, sent = np.frombuffer(file.data, np.uint8), np.frombuffer(data, np.uint8)
    wrong = set(np.flatnonzero(got != sent[: len(got)]).tolist())
    return wrong, {byte for start, stop in file.doubtful for byte in range(start, stop)}


@pytest.mark.parametrize("seed", range(0, 100, 6))
def test_doubt_covers_every_wrong_byte_of_a_scratched_tape(seed):
    data, sound = damaged_tape(seed, ["silence", "noise"])
    for file in kit.decode(sound, format="house").files:
        assert not file.complete or file.data == data
        if file.said_name:
            assert len(file.data) <= len(data)
            wrong, doubted = wrong_and_doubted(file, data)
            assert wrong <= doubted


@pytest.mark.parametrize("seed", range(0, 100, 6))
def test_a_spliced_tape_is_never_called_complete_when_it_is_not(seed):
    """Cut or inserted by just a whole cell, a tape can slip unseen inside a block, but not past its check."""
    data, sound = damaged_tape(1000 + seed, sorted(SPLICES))
    for file in kit.decode(sound, format="house").files:
        assert not file.complete or file.data == data


def test_only_the_bytes_in_a_hole_are_in_doubt():
    """A block of 1 KiB with a hole of 0.1 s: its front is read forwards, its back backwards."""
    data = np.random.default_rng(1).integers(0, 256, 1000, dtype=np.uint8).tobytes()
    sound = kit.encode(data, name="x.bin", lead_in_s=1)
    whole = kit.decode(sound)
    first, last = whole.where(byte=400), whole.where(byte=420)
    x = sound.samples.copy()
    x[int(first.start_s * RATE) : int(last.stop_s * RATE)] = 0
    file = kit.decode(Sound(x, RATE)).files[0]
    wrong, doubted = wrong_and_doubted(file, data)
    assert wrong <= doubted
    assert min(doubted) in range(396, 401) and max(doubted) in range(420, 425)


def test_a_hole_over_the_first_bytes_of_a_block_is_mended_from_its_place():
    """Its neighbours say which block it is; the check then agrees."""
    data = np.random.default_rng(2).integers(0, 256, 600, dtype=np.uint8).tobytes()
    sound = kit.encode(data, name="x.bin", block_bytes=128, lead_in_s=1)
    block = next(b for b in kit.decode(sound).blocks if b.part is not None and b.part.number == 2)
    start = int((block.start_s - 0.1) * RATE)
    stop = int(block.byte_span_s(5)[1] * RATE)
    x = sound.samples.copy()
    x[start:stop] = 0
    file = kit.decode(Sound(x, RATE)).files[0]
    assert file.data == data and file.verdict == "mended" and file.complete


def test_a_flipped_file_of_good_blocks_does_not_pass_its_own_check():
    """Every block agrees, but one belongs to other data under the same tag: the CRC-32 of the whole tells."""
    from kit.blocks import DATA, DataPart, Header
    from kit.waves import Renderer

    data = b"the boat comes on tuesday " * 3
    header = Header.of("x.txt", data, block_bytes=32)
    bodies = [bytes([1]) + header.pack()]
    for number in range(header.blocks):
        part = bytearray(data[32 * number : 32 * number + 32])
        part[0] ^= number == 1
        bodies.append(bytes([DATA]) + DataPart(header.tag, number, bytes(part)).pack())
    format, renderer = kit.FORMATS["house"], Renderer(RATE)
    pieces = [renderer.feed(format.block_half_cycles(body, 0.5)) for body in [*bodies, bodies[0]]]
    file = kit.decode(Sound(np.concatenate([*pieces, renderer.finish()]), RATE)).files[0]
    assert all(block.verdict == "checked" for block in file.blocks)
    assert file.verdict == "damaged" and not file.complete and "CRC-32" in file.note
