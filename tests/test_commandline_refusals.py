"""The command line never overwrites, and says in one line what is wrong, with a status that tells."""

import json
import os
import signal
import sys

import pytest
from commandline_words import QUICK, one_line, run

from kit import __main__ as front
from kit.commands import COMMANDS, decoding
from kit.commands.talking import duration, printable

pytest_plugins = ["commandline_fixtures"]


# -- nothing is overwritten ----------------------------------------------------------------------------


def test_an_existing_tape_is_not_overwritten_unless_forced(tape, tmp_path, call):
    """Refused in one line with the way out; with --force it is replaced."""
    before = tape.read_bytes()
    words = ("encode", tmp_path / "tide.bin", "-o", tape, "--speed", "2", "--lead-in", "0.5")
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err) and "--force" in err and tape.read_bytes() == before
    assert call(*words, "--force")[0] == 0 and tape.read_bytes() != before


def test_decode_numbers_files_that_are_there_already(tape, tmp_path, call):
    """A second decode into a folder adds " (2)", a third " (3)"; what was there stays."""
    (tmp_path / "back").mkdir()
    (tmp_path / "back" / "TIDE.BIN").write_bytes(b"kept")  # the same name to some disks
    for _ in range(2):
        assert call("decode", tape, "-o", tmp_path / "back")[0] == 0
    assert (tmp_path / "back" / "TIDE.BIN").read_bytes() == b"kept"
    names = sorted(p.name for p in (tmp_path / "back").iterdir())
    assert names == ["TIDE.BIN", "tide (2).bin", "tide (3).bin"]


@pytest.mark.parametrize("there", [True, False])
def test_a_link_in_the_folder_is_not_followed_out_of_it(tape, tmp_path, call, there):
    """A symbolic link with the file's name leads away: nothing is written through it, target or no target."""
    outside = tmp_path / "outside.bin"
    if there:
        outside.write_bytes(b"kept")
    (tmp_path / "back").mkdir()
    (tmp_path / "back" / "tide.bin").symlink_to(outside)
    assert call("decode", tape, "-o", tmp_path / "back")[0] == 0
    assert (outside.read_bytes() if there else outside.exists()) == (b"kept" if there else False)
    assert (tmp_path / "back" / "tide (2).bin").stat().st_size == 3000


# -- what is wrong is said in one line -----------------------------------------------------------------

WRONG_CALLS = [
    ((), "one of encode, decode, degrade, diagnose, testtape, measure, formats, decks, lessons, worksheet, mark, "
         "pack"),
    (("rewind",), "rewind"),
    (("encode", "log.txt"), "-o/--output"),
    (("encode", "-o", "new.wav"), "FILE"),
    (("encode", "missing.txt", "-o", "new.wav"), "missing.txt"),
    (("encode", "empty", "-o", "new.wav"), "a folder must hold files"),
    (("encode", "", "-o", "new.wav"), "empty name"),
    (("encode", "/dev/null", "-o", "new.wav"), "neither"),
    (("encode", "log.txt", "-o", "new.xyz"), "must end in one of"),
    (("encode", "log.txt", "-o", "folder.wav", "--force"), "folder.wav"),
    (("encode", "log.txt", "-o", "nowhere/new.wav"), "folder of TAPE must exist"),
    (("encode", "log.txt", "-o", "new.wav", "--format", "no-such"), "format must be one of house"),
    (("encode", "log.txt", "-o", "new.wav", "--speed", "warp"), "speed must be one of"),
    (("encode", "log.txt", "-o", "new.wav", "--speed", "nan"), "speed must be one of"),
    (("encode", "log.txt", "-o", "new.wav", "--rate", "8000", "--speed", "4"), "28800 Hz"),
    (("encode", "log.txt", "-o", "new.wav", "--rate", "fast"), "a whole number of Hz, got 'fast'"),
    (("encode", "log.txt", "-o", "new.wav", "--rate", "1000000000"), "rate must be"),
    (("encode", "log.txt", "-o", "new.wav", "--rate", "-1"), "rate must be"),
    (("encode", "log.txt", "-o", "new.opus"), "rate must be"),
    (("encode", "log.txt", "-o", "new.wav", "--bits", "12"), "'12' (choose from"),
    (("encode", "log.txt", "-o", "new.wav", "--copies", "0"), "copies"),
    (("encode", "log.txt", "-o", "new.wav", "--block-bytes", "1"), "block_bytes"),
    (("encode", "log.txt", "-o", "new.wav", "--lead-in", "nan"), "lead_in_s"),
    (("encode", "log.txt", "-o", "new.wav", "--lead-in", "1e9"), "lead_in_s"),
    (("encode", "log.txt", "-o", "new.wav", "--side-minutes", "0"), "side_minutes"),
    (("encode", "log.txt", "-o", "new.wav", "--side-minutes", "0.001"), "a side must hold a block"),
    (("encode", "log.txt", "-o", "new.wav", "--address", "0xgg"), "an address"),
    (("encode", "log.txt", "-o", "new.wav", "--address", "4294967296"), "start address"),
    (("encode", "log.txt", "-o", "new.wav", "--content", "film"), "'film'"),
    (("encode", "log.txt", "log.txt", "-o", "new.wav", "--name", "x"), "a single file"),
    (("decode", "tape.wav"), "-o FOLDER"),
    (("decode", "tape.wav", "-o", ""), "-o FOLDER"),
    (("decode", "log.txt", "-o", "back"), "must be audio"),
    (("decode", "missing.wav", "-o", "back"), "missing.wav"),
    (("decode", "", "-o", "back"), "name"),
    (("decode", "empty", "-o", "back"), "is a folder"),
    (("decode", "tape.wav", "-o", "log.txt"), "FOLDER must be a folder"),
    (("decode", "tape.wav", "-o", "log.txt/in"), "FOLDER must be a folder"),
    (("decode", "tape.wav", "-o", "back", "--format", "no-such"), "format must be one of house"),
    (("decode", "tape.wav", "log.txt", "-o", "back"), "must be audio"),
    (("formats", "--loud"), "unrecognized arguments: --loud; see python -m kit formats --help"),
    (("degrade", "tape.wav", "-o", "new.wav", "--hiss", "3"), "--hiss 3: is --hiss-dbfs meant?; see python -m kit "
                                                              "degrade --help"),
    (("--loud",), "see python -m kit --help"),
    (("decode", "missing.wav"), "missing.wav"),
    (("mark", "empty"), "must hold answer files (.json), got nothing in 'empty'"),
    (("lessons", "--learners", "log.txt"), "FOLDER must be a folder, got the file 'log.txt'"),
]


@pytest.mark.parametrize(("words", "said"), WRONG_CALLS, ids=[" ".join(one[0])[:60] for one in WRONG_CALLS])
def test_a_wrong_call_is_refused_in_one_line(tape, tmp_path, call, monkeypatch, words, said):
    """Status 2, one line on standard error with what is wrong, nothing on standard output or on the disk."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "log.txt").write_bytes(b"wind west 5\n")
    (tmp_path / "empty").mkdir()
    (tmp_path / "folder.wav").mkdir()
    before = sorted(tmp_path.rglob("*"))
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err) and said in err
    assert sorted(tmp_path.rglob("*")) == before


def test_a_tape_too_long_for_memory_is_refused_before_it_is_made(tmp_path, call):
    """A large file (sparse here) is refused by its size, unread, with the playing time it would have."""
    with open(tmp_path / "film.bin", "wb") as film:
        film.truncate(40_000_000)
    status, out, err = call("encode", tmp_path / "film.bin", "-o", tmp_path / "tape.wav")
    assert (status, out) == (2, "") and one_line(err) and "40000000 bytes, about 55 h" in err


def test_a_folder_takes_no_tape_of_its_own(station, call):
    """Where the tape lies in the folder itself, making it again does not put the old tape on the new one."""
    assert call("encode", station, "-o", station / "tape.wav", *QUICK)[0] == 0
    status, out, _ = call("encode", station, "-o", station / "tape.wav", *QUICK, "--force", "--json")
    assert status == 0
    assert [file["name"] for file in json.loads(out)["files"]] == ["harbour.pgm", "log.txt", "pages.zip"]


@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="needs a folder no one may write in")
def test_a_folder_that_cannot_be_made_is_one_line(tape, call):
    """The system's refusal is passed on in one line, whoever asks."""
    status, out, err = call("decode", tape, "-o", "/proc/self/back")
    assert (status, out) == (2, "") and one_line(err) and "/proc/self" in err


def limit_files_to(size):
    resource = pytest.importorskip("resource")
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


def test_a_full_disk_is_one_line_and_leaves_no_half_file(tape, tmp_path):
    """Where the system takes no more bytes, both commands say so, exit 2, and leave nothing half written."""
    read = run("decode", tape, "-o", tmp_path / "back", preexec_fn=limit_files_to(1000))
    assert (read.returncode, read.stdout) == (2, b"") and one_line(read.stderr.decode())
    assert list((tmp_path / "back").iterdir()) == []
    made = run("encode", tmp_path / "tide.bin", "-o", tmp_path / "new.wav", preexec_fn=limit_files_to(1000))
    assert (made.returncode, made.stdout) == (2, b"") and one_line(made.stderr.decode())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["back", "tape.wav", "tide.bin"]


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")
def test_a_report_that_cannot_be_written_is_one_line():
    """Standard output on a full disk: status 2 and one line, no traceback at exit."""
    with open("/dev/full", "wb") as full:
        listed = run("formats", stdout=full)
    assert listed.returncode == 2 and one_line(listed.stderr.decode())


@pytest.mark.parametrize("words", [("formats",), ("decode", "--help")])
def test_a_closed_pipe_is_quiet(words):
    """A reader that leaves early is no error."""
    reading, writing = os.pipe()
    os.close(reading)
    listed = run(*words, stdout=writing)
    os.close(writing)
    assert (listed.returncode, listed.stderr) == (0, b"")


def test_an_interruption_is_one_line_and_130(tape, call, monkeypatch):
    """Ctrl-C in the middle of the work: one line, the status that shells expect."""
    monkeypatch.setattr(decoding, "decode", lambda *_, **__: signal.raise_signal(signal.SIGINT))
    status, out, err = call("decode", tape, "--list")
    assert (status, out) == (130, "") and one_line(err) and "interrupted" in err


def test_a_fault_of_the_kit_is_one_line_with_what_to_do(tape, capfd, monkeypatch):
    """What should never happen is no traceback either, but says that it is the kit's fault."""

    def fails(*_, **__):
        raise IndexError("seventh bit\nof six")

    monkeypatch.setattr(decoding, "decode", fails)
    monkeypatch.setattr(sys, "argv", ["kit", "decode", str(tape), "--list"])
    assert front.guarded_main() == 2
    err = capfd.readouterr().err
    assert one_line(err) and "fault in the kit (IndexError: seventh bit of six)" in err


# -- progress, help, printing --------------------------------------------------------------------------


def test_progress_is_shown_on_a_terminal_and_nowhere_else(tape, tmp_path):
    """With standard error on a terminal a bar runs to the end; in a pipe there is not one byte of it."""
    pty, termios = pytest.importorskip("pty"), pytest.importorskip("termios")
    main_end, terminal = pty.openpty()
    termios.tcsetwinsize(terminal, (25, 80))
    shown = run("decode", tape, "--list", "--json", stderr=terminal)
    os.close(terminal)
    bar = os.read(main_end, 1 << 16).decode()
    os.close(main_end)
    assert shown.returncode == 0 and json.loads(shown.stdout)["complete"]
    assert "reading" in bar and "%" in bar
    assert run("decode", tape, "--list").stderr == b""


@pytest.mark.parametrize(
    "command",
    ["encode", "decode", "degrade", "diagnose", "testtape", "measure", "formats", "decks", "lessons", "worksheet",
     "mark", "pack"],
)
def test_each_command_has_help_with_an_example_and_exit_statuses(call, command):
    """--help names each option with what it does, shows how to call it and says what the status means."""
    status, out, err = call(command, "--help")
    assert (status, err) == (0, "")
    assert f"\n  python -m kit {command}" in out and "exit status: 0" in out
    assert len(COMMANDS) == 12  # a new command is to be listed here


def test_help_states_units_and_defaults(call):
    """Rates, lengths and times come with their unit, and what holds when nothing is said."""
    out = " ".join(call("encode", "--help")[1].split())
    wanted = ("in Hz (44100)", "16 to 4080", "0 to 600 seconds", "MIN minutes at most", "per sample (16)")
    assert [words for words in wanted if words not in out] == []


def test_names_are_never_obeyed_by_a_terminal(tmp_path, call):
    """Escape sequences and marks of direction in a name are spelt out in every report."""
    name = "log\x1b[31m\u202etxt.pgm"
    (tmp_path / "log.txt").write_bytes(b"calm")
    words = ("encode", tmp_path / "log.txt", "-o", tmp_path / "tape.wav", "--name", name, *QUICK)
    said = [call(*words)[1]]
    said += [call("decode", tmp_path / "tape.wav", "--list", more)[1] for more in ("--events", "--json")]
    for out in said:
        assert "\x1b" not in out and "\u202e" not in out
    assert "log\\x1b[31m\\u202etxt.pgm" in said[0] and "\\x1b[31m" in said[1]
    assert json.loads(said[2])["files"][0]["said_name"] == name


def test_a_plain_terminal_gets_spelt_out_letters(tmp_path):
    """Where standard output knows only ASCII, other letters are spelt out; nothing fails."""
    (tmp_path / "brücke.txt").write_bytes(b"calm")
    plain = os.environ | {"PYTHONIOENCODING": "ascii"}
    made = run("encode", tmp_path / "brücke.txt", "-o", tmp_path / "tape.wav", *QUICK, env=plain)
    assert made.returncode == 0 and b"br\\xfccke.txt: 4 bytes" in made.stdout


def test_printable_and_duration_are_as_documented():
    """Letters of any script stay; what a terminal obeys does not. Times are told in usual units."""
    assert printable("Brücke 橋 \t\r\n\x9b\u2066") == "Brücke 橋 \\t\\r\\n\\x9b\\u2066"
    assert [duration(s) for s in (0.04, 59.99, 60, 3599.6)] == ["0.0 s", "60.0 s", "1 min 0 s", "1 h 0 min"]
