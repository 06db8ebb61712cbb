"""Fixtures of the tests of the command line: a way to run a command, and things to run it on."""

import numpy as np
import pytest
import soundfile
from commandline_words import QUICK, text_of, zip_of
from crafted import RATE, samples_of

from kit.__main__ import main


@pytest.fixture
def call(capfd):
    """Run a command as `main` does; gives exit status, standard output and standard error."""

    def call(*argv):
        try:
            status = main([str(word) for word in argv])
        except SystemExit as leaving:
            status = leaving.code
        captured = capfd.readouterr()
        return status, captured.out, captured.err

    return call


@pytest.fixture
def station(tmp_path):
    """A folder with a picture, a text and a zip, and what is not to be taken: a hidden file and a folder."""
    folder = tmp_path / "station"
    folder.mkdir()
    generator = np.random.default_rng(4)
    (folder / "harbour.pgm").write_bytes(b"P5 24 16 255\n" + generator.bytes(24 * 16))
    (folder / "log.txt").write_bytes(text_of(20))
    (folder / "pages.zip").write_bytes(zip_of("log.txt", text_of(60)))
    (folder / ".hidden").write_bytes(b"not for the tape")
    (folder / "older").mkdir()
    return folder


@pytest.fixture
def tape(tmp_path, call):
    """A quick tape of one file of 3000 random bytes in three blocks."""
    (tmp_path / "tide.bin").write_bytes(np.random.default_rng(7).bytes(3000))
    path = tmp_path / "tape.wav"
    assert call("encode", tmp_path / "tide.bin", "-o", path, *QUICK)[0] == 0
    return path


@pytest.fixture
def put(tmp_path):
    """Write a recording of some blocks; gives its path."""

    def put(bodies, name="tape.wav"):
        soundfile.write(tmp_path / name, samples_of(bodies), RATE, subtype="PCM_16")
        return tmp_path / name

    return put


@pytest.fixture
def hear(tmp_path, call):
    """Decode into a folder deep in the tree; checks what must hold whatever the tape is."""

    def hear(path, *words):
        folder = tmp_path / "deep" / "deeper" / "out"
        before = {p: p.lstat().st_mtime_ns for p in tmp_path.rglob("*") if not p.is_dir()}
        status, out, err = call("decode", path, "-o", folder, *words)
        after = {p: p.lstat().st_mtime_ns for p in tmp_path.rglob("*") if not p.is_dir()}
        assert all(p.parent == folder for p in after.keys() - before.keys())
        assert before.items() <= after.items()
        assert status in (0, 1, 2) and err.count("\n") <= 1
        assert (err.startswith("kit: ") and out == "") if status == 2 else "Traceback" not in err
        assert all(c.isprintable() or c == "\n" for c in out + err)
        return status, out, err

    return hear
