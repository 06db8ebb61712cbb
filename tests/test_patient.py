"""The patient reader: it reads in noise that theory allows and the timer cannot, and is honest about the rest.

Noise is white and Gaussian; the signal to noise is 10 log10(A^2 / sigma^2) dB, with the wave's amplitude A.
"""

import warnings

import numpy as np
import pytest
from patient_cases import (
    FORMATS,
    PEAK,
    RATE,
    alone,
    every_format,
    in_noise,
    is_whole,
    needed_db,
    patiently,
    tape,
    warped,
)
from scipy.signal import butter, lfilter

import kit
from kit import Sound
from kit.readers.patient import PatientLane
from kit.reading import Reading


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
