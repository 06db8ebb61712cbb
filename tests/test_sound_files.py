"""Sound in files: every type there and back, piece by piece; what cannot be written is refused."""

import tracemalloc

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.errors import SettingError, SoundError
from kit.sound import Sound

RATE = 48000
EXACT = [(".wav", 8), (".wav", 16), (".wav", 24), (".wav", "float"), (".flac", 8), (".flac", 16),
         (".aiff", 16), (".aif", 24), (".au", 8), (".au", 16), (".au", "float"), (".caf", 8), (".caf", 24),
         (".w64", 8), (".w64", 16), (".flac", 24)]
LOSSY = [".ogg", ".opus", ".mp3"]
STEP = {8: 2.0**-7, 16: 2.0**-15, 24: 2.0**-23, "float": 0}


def wave(frames=20000, channels=2):
    """Tones that lossy coders keep: two a channel, well below full scale."""
    phase = 2 * np.pi * np.arange(frames)[:, None] / RATE
    upper_hz = 1500 + 300 * np.arange(channels)
    return np.float32(0.3 * np.sin(700 * phase) + 0.2 * np.sin(upper_hz * phase))


@pytest.mark.parametrize(("ending", "bits"), EXACT)
@given(data=st.data())
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_samples_come_back_within_half_a_step(tmp_path, ending, bits, data):
    """Every lossless type and width, one to three channels, any rate, any length."""
    shape = (data.draw(st.integers(1, 3000)), data.draw(st.integers(1, 3)))
    rng = np.random.default_rng(data.draw(st.integers(0, 9)))
    samples = rng.uniform(-1.2, 1.2, shape).astype(np.float32)
    rate = data.draw(st.sampled_from([1, 7350, 8000, 11025, 44100, 48000, 96000, 192000]))
    sound = Sound.read(Sound(samples, rate).write(tmp_path / f"log{ending}", bits=bits))
    assert (sound.rate, sound.frames, sound.channels) == (rate, *shape)
    step = STEP[bits]
    expected = np.clip(samples, -1, 1 - step)
    assert np.abs(sound.samples.reshape(shape) - expected).max() <= step / 2 + 2e-8 * (bits == 24)


@pytest.mark.parametrize("bits", [8, 16, 24])
def test_what_was_read_is_written_back_unchanged(tmp_path, bits):
    """Reading and writing agree on full scale, so that copies of copies stay the same."""
    noise = np.random.default_rng(2).uniform(-1.1, 1.1, 5000)
    first = Sound(noise, RATE).write(tmp_path / "first.wav", bits=bits)
    second = Sound.read(first).write(tmp_path / "second.wav", bits=bits)
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize("ending", LOSSY)
@pytest.mark.parametrize("channels", [1, 2])
def test_lossy_types_keep_length_and_tones(tmp_path, ending, channels):
    """Not the samples, but the wave: at least 20 dB above what was lost."""
    sound = Sound.read(Sound(wave(channels=channels), RATE).write(tmp_path / f"log{ending}"))
    assert (sound.frames, sound.channels, sound.rate) == (20000, channels, RATE)
    lost = sound.samples.reshape(20000, channels)[1000:-1000] - wave(channels=channels)[1000:-1000]
    assert np.sqrt(np.mean(lost**2)) < 0.1 * np.sqrt(np.mean(wave(channels=channels) ** 2))


@pytest.mark.parametrize("ending", [".wav", ".flac", *LOSSY])
def test_pieces_of_a_file_put_together_are_its_samples(tmp_path, ending):
    """Whatever their length; compared with soundfile reading the file at once."""
    path = Sound(wave(), RATE).write(tmp_path / f"log{ending}")
    whole, _ = soundfile.read(path, dtype="float32", always_2d=True)
    for longest in (999, 4096, 1 << 18):
        pieces = list(Sound.read(path).pieces(longest))
        assert max(map(len, pieces)) <= longest
        assert np.array_equal(np.concatenate(pieces), whole)
    middle = np.concatenate(list(Sound.read(path).pieces(1000, 5001, 9002)))
    assert np.abs(middle - whole[5001:9002]).max() < 1e-6  # an MP3 decoder may round otherwise there


@pytest.mark.parametrize(("container", "subtype", "frames"), [
    ("WAV", "GSM610", 6400), ("WAV", "IMA_ADPCM", 6060), ("WAV", "ULAW", 6000), ("WAV", "ALAW", 6000),
    ("WAV", "DOUBLE", 6000), ("AIFF", "PCM_16", 6000), ("CAF", "ALAC_16", 6000),
])
def test_other_codings_are_read(tmp_path, container, subtype, frames):
    """Also those that cannot be positioned in: the middle is reached by reading through."""
    path = tmp_path / "other.any"
    soundfile.write(path, wave(6000, 1), 8000, subtype=subtype, format=container)
    sound = Sound.read(path)
    whole = np.concatenate(list(sound.pieces(1000)))
    assert sound.frames == len(whole) == frames
    assert np.corrcoef(whole[:6000, 0], wave(6000, 1)[:, 0])[0, 1] > 0.9
    if subtype != "IMA_ADPCM":  # its coder begins anew at each block, so positions need not agree
        assert np.array_equal(np.concatenate(list(sound.pieces(700, 2500, 4100))), whole[2500:4100])


@pytest.mark.parametrize(("ending", "bits"), [(".wav", 16), (".wav", 8), (".flac", 8), (".flac", 16)])
def test_native_pieces_are_int16_where_16_bits_hold_them(tmp_path, ending, bits):
    """The same values as the floats, 32768 times as large."""
    sound = Sound.read(Sound(wave(), RATE).write(tmp_path / f"log{ending}", bits=bits))
    native = np.concatenate(list(sound.pieces(3000, native=True)))
    assert native.dtype == np.int16
    assert np.array_equal(native / np.float32(32768), sound.samples)
    assert next(sound.pieces(native=True)).dtype == np.int16  # also once the samples are in memory


@pytest.mark.parametrize(("ending", "bits"), [(".wav", 24), (".wav", "float"), (".ogg", 16)])
def test_native_pieces_are_float32_elsewhere(tmp_path, ending, bits):
    """Nothing is cut to 16 bits that had more."""
    sound = Sound.read(Sound(wave(), RATE).write(tmp_path / f"log{ending}", bits=bits))
    assert {piece.dtype.name for piece in sound.pieces(native=True)} == {"float32"}


def test_a_file_is_opened_without_its_samples(tmp_path):
    """Going through a long file piece by piece stays small, and so does asking for its length and level."""
    path = Sound(np.zeros(4_000_000), RATE).write(tmp_path / "long.wav")
    tracemalloc.start()
    sound = Sound.read(path)
    assert sum(len(piece) for piece in sound.pieces(1 << 16)) == sound.frames
    assert sound.frames == 4_000_000
    assert sound.seconds == pytest.approx(83.33, abs=0.01)
    assert sound.part(80, 81).frames == RATE
    assert sound.peak == 0
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 8_000_000  # the samples would be 16 MB


@pytest.mark.parametrize(("name", "bits", "rate", "channels", "part_of_message"), [
    ("log.txt", 16, RATE, 1, r"\.wav \.flac"), ("log", 16, RATE, 1, r"\.wav \.flac"),
    ("log.wav", 12, RATE, 1, "8, 16, 24, 'float'"), ("log.flac", "float", RATE, 1, "8, 16, 24 for"),
    ("log.ogg", 8, RATE, 1, "16 for a .ogg"), ("log.wav", [16], RATE, 1, "bits must be"),
    ("log.opus", 16, 44100, 1, "8000, 12000, 16000, 24000, 48000 Hz"),
    ("log.mp3", 16, 96000, 1, "11025, 12000"),
    ("log.ogg", 16, 200001, 1, "1 to 200000 Hz"), ("log.flac", 16, 96001, 1, "tens of Hz"),
    ("log.flac", 16, 700000, 1, "655350"), ("log.mp3", 16, RATE, 3, "2 channels"),
    ("log.aiff", 8, RATE, 1, "bits must be"),
    ("none/log.wav", 16, RATE, 1, "folder must exist"), ("there.wav", 16, RATE, 1, "got .*none"),
    ("x" * 300 + ".wav", 16, RATE, 1, "too long"),
])
def test_what_a_file_cannot_carry_is_refused(tmp_path, name, bits, rate, channels, part_of_message):
    """One line that says what would do; nothing is written."""
    (tmp_path / "there.wav").mkdir()
    with pytest.raises(SettingError, match=part_of_message) as caught:
        Sound(np.zeros((10, channels)), rate).write(tmp_path / name, bits=bits)
    assert len(str(caught.value).splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["there.wav"]


@pytest.mark.parametrize("ending", [".flac", ".opus", ".mp3"])
def test_types_that_need_a_sample_refuse_none(tmp_path, ending):
    """Their empty files could not be read again; a WAV can be empty."""
    with pytest.raises(SettingError, match="at least one sample"):
        Sound([], RATE).write(tmp_path / f"none{ending}")
    assert Sound.read(Sound([], RATE).write(tmp_path / "none.wav")).frames == 0


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg", ".opus", ".mp3", ".caf"])
@pytest.mark.parametrize("short_by", [0.5, 0.01])
def test_a_failed_write_leaves_the_old_file_and_nothing_else(tmp_path, ending, short_by, capfd):
    """The disk is full half way or just before the end: the name still stands for the old, whole file."""
    sound = Sound(np.random.default_rng(7).normal(size=200000) * 0.2, RATE)
    path = sound.write(tmp_path / f"log{ending}")
    before = path.read_bytes()
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (round(len(before) * (1 - short_by)), hard))
    try:
        with pytest.raises(SoundError, match="failed") as caught:
            sound.write(path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert len(str(caught.value).splitlines()) == 1
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_sound_can_be_written_over_the_file_it_is_read_from(tmp_path):
    """The new file takes the name only when it is whole."""
    path = Sound(wave(), RATE).write(tmp_path / "log.wav")
    sound = Sound.read(path)
    sound.write(path, bits=24)
    assert soundfile.info(path).subtype == "PCM_24"
    assert Sound.read(path).frames == 20000


def test_writing_through_a_link_keeps_the_link(tmp_path):
    """The file behind it is replaced."""
    path = Sound(wave(), RATE).write(tmp_path / "log.wav")
    (tmp_path / "link.wav").symlink_to(path)
    Sound([0.0], RATE).write(tmp_path / "link.wav")
    assert (tmp_path / "link.wav").is_symlink()
    assert Sound.read(path).frames == 1


def test_capital_letters_in_the_ending_are_the_same_type(tmp_path):
    """Some cameras and recorders write them so."""
    assert soundfile.info(Sound([0.0], RATE).write(tmp_path / "LOG.FLAC")).format == "FLAC"


def test_a_long_ogg_is_written_in_pieces(tmp_path):
    """Four million samples at once would overrun the encoder; in pieces they arrive."""
    path = Sound(np.zeros(4_000_000), 8000).write(tmp_path / "long.ogg")
    assert Sound.read(path).frames == 4_000_000


def test_values_beyond_full_scale_are_clipped(tmp_path):
    """Also in a float file: what leaves the kit is within ±1."""
    sound = Sound.read(Sound([3.0, -3.0, 0.5], RATE).write(tmp_path / "loud.wav", bits="float"))
    assert list(sound.samples) == [1, -1, 0.5]


def test_the_path_is_kept_and_shown(tmp_path):
    """A sound from a file says which."""
    path = Sound(wave(4800), RATE).write(str(tmp_path / "log.wav"))
    assert Sound.read(str(path)).path == path
    assert repr(Sound.read(path)) == "Sound(0.100 s, 48000 Hz, stereo, 'log.wav')"
    assert Sound([0.0], RATE).path is None
