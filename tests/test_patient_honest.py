"""The patient reader in more noise than it can bear: what is wrong is in doubt; and faults it once had."""


import numpy as np
import pytest
from patient_cases import DATA, RATE, alone, in_noise, is_whole, needed_db, patiently, tape

import kit
from kit import Sound


def drowned(format, snrs, seeds, block_bytes=96):
    """Readings of tapes in so much noise that blocks fail, and the blocks as they were written."""
    clean = tape(format, block_bytes=block_bytes)
    written = kit.decode(Sound(clean, RATE), format=format).blocks
    for snr_db in snrs:
        for seed in seeds:
            yield patiently(in_noise(clean, snr_db, seed=[int(-snr_db), seed]), format), written


def in_place(block, written):
    """The block that was written where one was found, or None."""
    return next((other for other in written if abs(other.start_s - block.start_s) < 0.002), None)


def wrong_bytes(content, wanted):
    """Which bytes are not what was written there; those beyond its end are all wrong."""
    wanted = wanted[: len(content)].ljust(len(content), b"\0")
    wrong = np.frombuffer(content, np.uint8) != np.frombuffer(wanted, np.uint8)
    return wrong


@pytest.fixture(scope="module", params=["house", "steady"])
def drowned_tapes(request):
    """6 tapes at -3.5 and -4.5 dB: one cell in 480, and one in 190, is wrong."""
    return list(drowned(request.param, (-3.5, -4.5), range(3)))


def test_no_wrong_block_or_file_is_called_whole(drowned_tapes):
    damaged = 0
    for reading, written in drowned_tapes:
        damaged += sum(not block.whole for block in reading.blocks)
        for block in reading.blocks:
            assert not block.whole or block.content == in_place(block, written).content
        for file in reading.files:
            assert not file.complete or (file.name, file.data) == ("x.bin", DATA)
    assert damaged >= 3


def test_every_wrong_byte_of_a_block_is_in_doubt(drowned_tapes):
    wrong = 0
    for reading, written in drowned_tapes:
        for block in reading.blocks:
            if in_place(block, written) is not None:
                off = wrong_bytes(block.content, in_place(block, written).content)
                assert not (off & ~block.doubtful).any()
                wrong += off.sum()
    assert wrong >= 15


def test_every_wrong_byte_of_a_file_is_in_doubt(drowned_tapes):
    for reading, _ in drowned_tapes:
        for file in reading.files:
            doubtful = {byte for start, stop in file.doubtful for byte in range(start, stop)}
            wrong = {byte for byte in range(len(file.data)) if file.data[byte : byte + 1] != DATA[byte : byte + 1]}
            assert wrong <= doubtful


@pytest.mark.parametrize("drowned_tapes", ["steady"], indirect=True)
def test_soft_values_have_the_right_sign_for_nearly_all_bits_and_are_small_where_it_is_wrong(drowned_tapes):
    """Two tones, where a bit that is wrong moves no other: fewer than one in 100 are."""
    right, wrong = [], []
    for reading, written in drowned_tapes:
        for block in reading.blocks:
            other = in_place(block, written)
            if other is not None and block.soft is not None and len(block.bits) == len(other.bits):
                assert np.array_equal(block.soft > 0, block.bits == 1)
                off = block.bits != other.bits
                right += np.abs(block.soft[~off]).tolist()
                wrong += np.abs(block.soft[off]).tolist()
    assert 8 <= len(wrong) < len(right) / 100
    assert np.median(wrong) < 0.2 * np.median(right) and max(wrong) < np.median(right)




def test_no_block_is_made_of_a_leader_at_double_speed():
    """4 tapes at 48 kHz, 2 dB above what theory asks for: four blocks each, where they were written."""
    clean = kit.encode(DATA, name="x.bin", speed=2, rate=48000, lead_in_s=0.6, block_bytes=64).samples
    snr_db = needed_db("house", 48000, 2.0) + 1
    for seed in (0, 1, 4, 11):
        reading = patiently(in_noise(clean.astype(float), snr_db, seed), "house", 48000)
        assert is_whole(reading) and len(reading.blocks) == 4


def test_a_short_last_block_after_a_longer_one_is_not_lost():
    """64 bytes, then 32: in two tones at 22.05 kHz, 1 dB above what theory asks for."""
    how = {"speed": 1, "rate": 22050, "lead_in_s": 0.6, "block_bytes": 64}
    clean = kit.encode(DATA, name="x.bin", format="steady", **how).samples.astype(float)
    for seed in (6, 10, 11):
        reading = patiently(in_noise(clean, needed_db("steady", 22050), seed), "steady", 22050)
        assert len(reading.blocks) == 4


@pytest.mark.parametrize("format", ["house", "steady"])
def test_a_hole_right_after_a_block_does_not_take_it(format):
    """10 ms of silence where its tail begins, in noise of +3 dB: none of its bits are in the hole."""
    clean = tape(format)
    for block in kit.decode(Sound(clean, RATE), format=format).blocks[1:3]:
        wave = clean.copy()
        wave[int(block.stop_s * RATE) :][: RATE // 100] = 0
        assert is_whole(patiently(in_noise(wave, 3.0, seed=14), format))


@pytest.mark.parametrize(("format", "seed"), [("house", 1), ("twice", 4)])
def test_backwards_in_noise_a_block_seen_forwards_does_not_keep_it_from_being_read(format, seed):
    assert is_whole(alone(in_noise(tape(format)[::-1], 6.0, seed), format))


@pytest.mark.parametrize("speed", [1, 4])
def test_a_tape_that_is_nearly_all_leader_is_read(speed):
    """A short message behind the usual five seconds of leader, at +5 dB and 96 kHz."""
    sound = kit.encode(b"wind west 5, gulls 3", name="log.txt", speed=speed, rate=96000)
    reading = patiently(in_noise(sound.samples.astype(float), 5.0, seed=1), "house", 96000)
    assert [(file.data, file.complete) for file in reading.files] == [(b"wind west 5, gulls 3", True)]
