"""The patient reader: it reads in noise that theory allows and the timer cannot, and is honest about the rest.

Noise is white and Gaussian; the signal to noise is 10 log10(A^2 / sigma^2) dB, with the wave's amplitude A.
"""

import warnings

import numpy as np
import pytest
from scipy.signal import butter, lfilter
from scipy.stats import norm

import kit
from kit import Sound
from kit.readers.patient import PatientLane
from kit.reading import Reading

RATE = 44100
PEAK = 0.5
DATA = np.random.default_rng(3).integers(0, 256, 96, dtype=np.uint8).tobytes()
FORMATS = list(kit.FORMATS)
every_format = pytest.mark.parametrize("format", FORMATS)


def tape(format, rate=RATE, speed=1.0, block_bytes=48):
    how = {"block_bytes": block_bytes, "lead_in_s": 0.5, "rate": rate, "speed": speed}
    return kit.encode(DATA, name="x.bin", format=format, **how).samples.astype(float)


def in_noise(wave, snr_db, seed):
    return wave + np.random.default_rng(seed).normal(0, PEAK * 10 ** (-snr_db / 20), wave.shape)


def patiently(wave, format, rate=RATE):
    return kit.decode(Sound(np.asarray(wave, np.float32), rate), format=format, patient=True)


def alone(wave, format, rate=RATE):
    """What the patient reader gives with no other reader before it."""
    lane = PatientLane([kit.FORMATS[format]], rate)
    return Reading.of(lane.feed(np.asarray(wave, np.float32)) + lane.finish())


def is_whole(reading):
    return [(file.name, file.data, file.complete) for file in reading.files] == [("x.bin", DATA, True)]


def needed_db(format, rate, speed=1.0, failing=1e-3):
    """Signal to noise at which theory has so small a part of all tapes fail, and 1 dB that timing may cost.

    A cell is wrong with P = Q(sqrt(U) A / sigma), U samples being in a unit. Every cell of the tape must be right:
    about 8 bits in each byte of two headers of 51 bytes and of the data with 9 bytes more a block, 3 in 2 with
    start, stop and parity bits; a copy or a parity block only helps.
    """
    cells = 12 * (2 * 51 + len(DATA) + 2 * 9)
    unit = rate / (kit.FORMATS[format].unit_hz * speed)
    return 20 * np.log10(norm.isf(failing / cells) / np.sqrt(unit)) + 1


def warped(wave, speed_at, rate=RATE):
    """The wave on a machine whose speed at each second is `speed_at(seconds)`; drawn straight between samples."""
    position = np.cumsum(speed_at(np.arange(int(1.8 * len(wave))) / rate))
    return np.interp(position[position < len(wave) - 1], np.arange(len(wave)), wave)


# -- it reads what theory allows -------------------------------------------------------------------------


@pytest.mark.parametrize(("format", "rate", "speed"), [
    *((format, 22050, 1) for format in FORMATS),
    *((format, *how) for format in ("house", "steady") for how in ((44100, 1), (96000, 2), (22050, 0.5), (16000, 1))),
])
def test_what_is_written_comes_back_in_noise_that_theory_allows(format, rate, speed):
    """At 2.2 dB and 44.1 kHz, 6.6 dB at 16 kHz: see `needed_db`."""
    snr_db = needed_db(format, rate, speed)
    reading = patiently(in_noise(tape(format, rate, speed), snr_db, seed=1), format, rate)
    assert is_whole(reading)


@pytest.mark.parametrize("format", ["house", "framed", "steady"])
def test_two_db_below_zero_it_still_reads_most_blocks(format):
    """sqrt(U) A / sigma is 3.4 at -2 dB: one cell in 3000 is wrong, and the check may choose among rivals."""
    wave = in_noise(tape(format), -2.0, seed=2)
    whole = [block for block in patiently(wave, format).blocks if block.whole]
    assert len(whole) >= 0.6 * len(kit.decode(Sound(tape(format), RATE), format=format).blocks)
    assert all("read patiently" in block.note for block in whole)


@pytest.mark.parametrize("way", [
    pytest.param(lambda x: -x, id="upside down"),
    pytest.param(lambda x: 1e-3 * x, id="-66 dBFS"),
    pytest.param(lambda x: 20 * x, id="20 times too loud"),
    pytest.param(lambda x: 0.4 * x + 0.5, id="a held level"),
    pytest.param(lambda x: np.where(x > 0, x, 0.6 * x), id="halves of unequal level"),
    pytest.param(lambda x: x * np.linspace(1, 0.4, len(x)), id="fading"),
    pytest.param(lambda x: np.clip(2 * x, -PEAK, PEAK), id="clipped"),
    pytest.param(lambda x: lfilter(*butter(1, 100, "high", fs=RATE), x), id="AC coupling at 100 Hz"),
    pytest.param(lambda x: lfilter(*butter(1, 300, "high", fs=RATE), x), id="AC coupling at 300 Hz"),
])
@pytest.mark.parametrize("format", ["house", "steady"])
def test_level_polarity_and_coupling_do_not_matter(format, way):
    """In noise of +5 dB against the wave before it, with no other reader."""
    assert is_whole(alone(way(in_noise(tape(format), 5.0, seed=3)), format))


@pytest.mark.parametrize("format", ["house", "framed", "steady"])
def test_a_recording_played_backwards_is_read(format):
    reading = patiently(in_noise(tape(format)[::-1], 6.0, seed=5), format)
    assert is_whole(reading) and all(block.backwards for block in reading.blocks)


@pytest.mark.parametrize("speed", [0.6, 0.8, 1.2, 1.4])
@pytest.mark.parametrize("format", ["house", "steady"])
def test_the_speed_of_the_tape_does_not_matter(format, speed):
    """40 % slow or fast, in noise that theory allows for units so short."""
    wave = warped(tape(format), lambda t: np.full(len(t), speed))
    wave = in_noise(wave, needed_db(format, RATE, speed) + 0.5, seed=5)
    reading = alone(wave, format)
    assert is_whole(reading) and reading.speed == pytest.approx(speed, rel=0.01)


@pytest.mark.parametrize(("depth", "hz"), [(0.1, 1.0), (0.02, 10.0)])
@every_format
def test_wow_and_flutter_on_a_clean_tape_do_not_harm_when_asked_to_be_patient(format, depth, hz):
    """10 % at 1 Hz, 2 % at 10 Hz: the timer follows these."""
    wave = warped(tape(format), lambda t: 1 + depth * np.sin(2 * np.pi * hz * t))
    assert is_whole(patiently(wave, format))


@pytest.mark.parametrize(("depth", "hz"), [(0.01, 1.0), (0.005, 4.0), (0.005, 10.0)])
@pytest.mark.parametrize("format", ["house", "framed"])
def test_alone_it_bears_what_a_working_machine_does_in_noise(format, depth, hz):
    """1 % at 1 Hz, 0.5 % at 4 and 10 Hz, at +2 dB, where the timer reads nothing."""
    wave = warped(tape(format), lambda t: 1 + depth * np.sin(2 * np.pi * hz * t))
    assert is_whole(alone(in_noise(wave, 2.0, seed=6), format))


# -- what holds nothing, and what is odd -----------------------------------------------------------------


@pytest.mark.parametrize("wave", [
    pytest.param(np.zeros(0), id="empty"),
    pytest.param(np.zeros(1), id="one sample"),
    pytest.param(np.ones(1), id="one loud sample"),
    pytest.param(np.zeros(3 * RATE), id="silence"),
    pytest.param(np.full(3 * RATE, 0.7), id="a held level"),
    pytest.param(np.random.default_rng(7).normal(0, 0.2, 20 * RATE), id="hiss"),
    pytest.param(0.5 * np.sin(2 * np.pi * 600 / RATE * np.arange(3 * RATE)), id="a tone of 600 Hz"),
])
def test_where_nothing_is_nothing_is_found(wave):
    """Nor any warning given, for each format, at once and one by one."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for format in ("auto", "house", "steady"):
            reading = patiently(wave, format)
            assert (reading.files, reading.blocks, reading.complete) == ([], [], False)


def test_hiss_is_listened_to_for_few_starts():
    """A minute of hiss: block readers are asked for less than one place in a second, so it is not slow."""
    lane, asked = PatientLane([kit.FORMATS["house"]], 16000), []
    for reader in lane._readers:
        reader.read = lambda *place: asked.append(place) or iter(())
    lane.feed(np.random.default_rng(8).normal(0, 0.2, 60 * 16000).astype(np.float32))
    assert lane.finish() == [] and len(asked) < 60


def test_whole_numbers_are_read_like_fractions_of_full_scale():
    wave = in_noise(0.3 * tape("house"), 2.0 - 20 * np.log10(0.3), seed=9) * 32767
    lane = PatientLane([kit.FORMATS["house"]], RATE)
    assert is_whole(Reading.of(lane.feed(np.clip(wave, -32768, 32767).astype(np.int16)) + lane.finish()))


@pytest.mark.parametrize("large", [1e9, 3e38])
def test_a_huge_number_among_the_samples_is_damage_like_any_other(large):
    """One in a leader: without a warning, and all is read."""
    wave = in_noise(tape("house"), 4.0, seed=10)
    wave[int(0.2 * RATE)] = large
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert is_whole(patiently(wave, "house"))


@pytest.mark.parametrize("patient", [False, True])
def test_nothing_but_huge_numbers_is_nothing(patient):
    wave = np.where(np.arange(RATE // 2) % 7, 3e38, -3e38).astype(np.float32)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert kit.decode(Sound(wave, RATE), format="house", patient=patient).files == []


@pytest.mark.parametrize("pieces", [1000, 44100])
def test_pieces_of_any_size_give_the_same(pieces):
    wave = in_noise(tape("house"), 2.0, seed=11).astype(np.float32)
    listener = kit.Listener("house", rate=RATE, patient=True)
    for start in range(0, len(wave), pieces):
        listener.feed(wave[start : start + pieces])
    listener.finish()
    whole = patiently(wave, "house").blocks
    assert [block.content for block in listener.blocks] == [block.content for block in whole]


# -- when it is called -----------------------------------------------------------------------------------


def test_without_being_asked_it_is_called_for_what_does_not_read_otherwise():
    """At 0 dB the timer reads hardly a block; events say what was read patiently."""
    sound = Sound(in_noise(tape("house"), 0.0, seed=12).astype(np.float32), RATE)
    reading = kit.decode(sound, format="house")
    assert is_whole(reading)
    assert any("read patiently" in block.note for block in reading.blocks)
    assert any(event.what == "check" and "read patiently" in event.text for event in reading.events)


@every_format
def test_what_reads_without_it_is_not_touched(format):
    """A clean tape, patient or not: the same blocks, none of them read patiently."""
    sound = Sound(tape(format).astype(np.float32), RATE)
    readings = [kit.decode(sound, format=format, patient=patient) for patient in (False, True)]
    assert all(is_whole(reading) for reading in readings)
    ways = [[(b.content, b.start_s, b.verdict, b.note) for b in reading.blocks] for reading in readings]
    assert ways[0] == ways[1] and not any("patiently" in note for *_, note in ways[0])


def test_only_the_block_in_noise_is_read_patiently():
    """Noise of +1 dB over the second block of four: the others stay as they were."""
    clean = tape("house")
    blocks = kit.decode(Sound(clean, RATE), format="house").blocks
    start, stop = (int(second * RATE) for second in (blocks[1].leader_s + 0.1, blocks[1].stop_s + 0.05))
    wave = clean.copy()
    wave[start:stop] = in_noise(clean, 1.0, seed=13)[start:stop]
    reading = kit.decode(Sound(wave, RATE), format="house")
    assert is_whole(reading)
    assert ["read patiently" in block.note for block in reading.blocks] == [False, True, False, False]


def test_a_counter_cannot_be_patient():
    with pytest.raises(kit.SettingError) as error:
        kit.decode(Sound(tape("house"), RATE), patient=True, counter=kit.Counter())
    assert "patient must be False with a counter" in str(error.value) and "\n" not in str(error.value)


# -- honest about doubt ----------------------------------------------------------------------------------


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
    """10 tapes at -3.5 and -4.5 dB: one cell in 480, and one in 190, is wrong."""
    return list(drowned(request.param, (-3.5, -4.5), range(5)))


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


# -- what went wrong once --------------------------------------------------------------------------------


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
