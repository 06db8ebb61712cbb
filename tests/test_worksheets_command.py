"""`worksheet` on the command line does what its help says."""

import json
import os
import re
import shlex
from pathlib import Path

import pytest
from commandline_words import one_line, run
from worksheet_cases import pages, words

from kit.commands.targets import write_files
from kit.worksheets import WorksheetSet, worksheets

pytest_plugins = ["commandline_fixtures"]


def test_as_a_teacher_does_from_a_list_of_names_to_two_files(tmp_path):
    """In a process of its own; the sheets are, to the byte, those the library makes in this one."""
    (tmp_path / "names.txt").write_bytes("\ufeffgull 7\r\n\r\ntern 2\r\n".encode())
    done = run("worksheet", "-o", "sheets.pdf", "--names", "names.txt", "--class-code", "6b", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    said = done.stdout.decode()
    assert "sheets.pdf: for 2 learners, 2 pages of A4" in said and "sheets-key.pdf: the key" in said
    assert "full size" in said and "never a real name" in said
    made = worksheets(["gull 7", "tern 2"], "6b")
    assert (tmp_path / "sheets.pdf").read_bytes() == made.pdf()
    key = " ".join(map(words, pages((tmp_path / "sheets-key.pdf").read_bytes())))
    assert all(f"sheet {k + 1}: {name} 2." in key for k, name in enumerate(("gull 7", "tern 2")))


def test_the_readme_shows_a_call_that_is_understood(monkeypatch, tmp_path, call):
    """The line itself, but for the drawing; and each option that is named there is one."""
    text = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    section = text.split("## Print worksheets")[1].split("\n## ")[0]
    (line,) = re.findall(r"^```bash\n(.*)\n```", section, re.MULTILINE)
    python, *argv = shlex.split(line)
    assert python == ".venv/bin/python" and argv[:2] == ["-m", "kit"] and "never real ones" in section
    monkeypatch.chdir(tmp_path)
    for name in ("pdf", "key_pdf"):
        monkeypatch.setattr(WorksheetSet, name, lambda self, progress=None: b"drawn")
    status, out, _ = call(*argv[2:])
    assert status == 0 and "for 3 learners, 3 pages of A4" in out
    assert {path.name for path in tmp_path.iterdir()} == {"sheets.pdf", "sheets-key.pdf"}
    explained = call("worksheet", "--help")[1]
    assert all(option in explained for option in re.findall(r"--[a-z-]+", section))


def test_all_that_can_be_chosen_reaches_the_sheets(tmp_path, call):
    """Names typed, paper, large print, lessons, and where the key goes; what was made is said as JSON."""
    target, key = tmp_path / "s.PDF", tmp_path / "for me.pdf"
    status, out, err = call("worksheet", "seal 11", "-o", target, "--key", key, "--paper", "letter", "--large",
                            "--lesson", "7", "--lesson", "11", "--json")  # fmt: skip
    assert (status, err) == (0, "")
    assert json.loads(out) == {
        "path": str(target), "key": str(key), "sheets": 1, "pages": 3, "paper": "Letter", "large": True,
        "class_code": "", "names": "Code names only, never a real name.",
    }  # fmt: skip
    made = worksheets(["seal 11"], paper="letter", large=True, lessons=[7, 11])
    text = " ".join(map(words, pages(target.read_bytes())))
    assert made.prediction.lesson in (7, 11) and made.prediction.choice.question in text
    assert "6, 6, 12, 12" in text and "seal 11" in text and "seal 11" in words(pages(key.read_bytes())[0])


def test_what_is_there_is_replaced_only_when_forced(tmp_path, call, monkeypatch):
    """Neither the sheets nor the key; where one of them is in the way, the other is not written."""
    for name in ("pdf", "key_pdf"):
        monkeypatch.setattr(WorksheetSet, name, lambda self, progress=None: b"drawn")
    target, key = tmp_path / "s.pdf", tmp_path / "s-key.pdf"
    for there, other, named in ((target, key, "FILE"), (key, target, "KEY")):
        there.write_bytes(b"kept")
        status, out, err = call("worksheet", "--count", "1", "-o", target)
        assert (status, out) == (2, "") and one_line(err) and "--force" in err and f"{named} must be a new" in err
        assert there.read_bytes() == b"kept" and not other.exists()
        there.unlink()
    target.write_bytes(b"to be replaced")
    assert call("worksheet", "--count", "1", "-o", target, "--force")[0] == 0
    assert target.read_bytes() == key.read_bytes() == b"drawn"


def test_a_link_is_not_written_through(tmp_path, call):
    """A symbolic link that leads nowhere is something that is there."""
    (tmp_path / "s-key.pdf").symlink_to(tmp_path / "elsewhere.pdf")
    status, _, err = call("worksheet", "--count", "1", "-o", tmp_path / "s.pdf")
    assert status == 2 and one_line(err) and not (tmp_path / "elsewhere.pdf").exists()


WRONG_CALLS = [
    (("gull 7",), "-o/--output"),
    (("-o", "new.pdf"), "1 to 200 names, got 0"),
    (("-o", "new.pdf", "--names", "none.txt"), "1 to 200 names, got 0"),
    (("-o", "new.pdf", "--names", "many.txt"), "1 to 200 names, got 201"),
    (("-o", "new.pdf", "--names", "missing.txt"), "missing.txt"),
    (("-o", "new.pdf", "--names", "folder"), "LIST must be a text file"),
    (("-o", "new.pdf", "--names", "/dev/zero"), "LIST must be a text file"),
    (("-o", "new.pdf", "--names", "huge.txt"), "at most 100000 bytes"),
    (("-o", "new.pdf", "--names", "old.txt"), "UTF-8"),
    (("-o", "new.pdf", "gull", "GULL"), "must differ"),
    (("-o", "new.pdf", "\x1b\x07"), "something to print"),
    (("-o", "new.pdf", "--count", "0"), "1 to 200 sheets, got 0"),
    (("-o", "new.pdf", "--count", "-3"), "1 to 200 sheets, got -3"),
    (("-o", "new.pdf", "--count", "many"), "a whole number of sheets, got 'many'"),
    (("-o", "new.pdf", "--count", "3", "gull"), "give one"),
    (("-o", "new.pdf", "gull", "--paper", "a3"), "'a3'"),
    (("-o", "new.pdf", "gull", "--lesson", "99"), "a lesson must be one of"),
    (("-o", "new.pdf", "gull", "--lesson", "four"), "'four'"),
    (("-o", "new.txt", "gull"), "must end in one of .pdf"),
    (("-o", "", "gull"), "must end in one of .pdf"),
    (("-o", "nowhere/new.pdf", "gull"), "folder of FILE must exist"),
    (("-o", "new.pdf", "gull", "--key", "nowhere/key.pdf"), "folder of KEY must exist"),
    (("-o", "new.pdf", "gull", "--key", "folder/../new.pdf"), "KEY must be another file"),
    (("-o", "folder.pdf", "gull", "--force"), "folder.pdf"),
]


@pytest.mark.parametrize(("rest", "said"), WRONG_CALLS, ids=[" ".join(one[0])[:60] for one in WRONG_CALLS])
def test_a_wrong_call_is_refused_in_one_line(tmp_path, call, monkeypatch, rest, said):
    """Status 2, one line on standard error with what is wrong, nothing on standard output or on the disk."""
    monkeypatch.chdir(tmp_path)
    for name, data in (("none.txt", b"\n \n"), ("many.txt", b"".join(b"gull %d\n" % k for k in range(201))),
                       ("huge.txt", b"x" * 100_001), ("old.txt", b"M\xf6we 7\n")):  # fmt: skip
        (tmp_path / name).write_bytes(data)
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder.pdf").mkdir()
    before = sorted(tmp_path.rglob("*"))
    status, out, err = call("worksheet", *rest)
    assert (status, out) == (2, "") and one_line(err) and said in err
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="nothing is closed to this user")
def test_a_folder_that_is_not_ones_own_is_refused(tmp_path, call):
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    status, out, err = call("worksheet", "gull", "-o", closed / "s.pdf")
    assert (status, out) == (2, "") and one_line(err) and "yours to write in" in err


def test_where_one_of_two_files_cannot_be_written_neither_is_left(tmp_path):
    """A disk that is full, or a file that came to be there in between, leaves no half of a set."""
    sheets, key = tmp_path / "s.pdf", tmp_path / "s-key.pdf"
    key.write_bytes(b"kept")
    with pytest.raises(FileExistsError):
        write_files({sheets: b"sheets", key: b"key"}, force=False)
    assert not sheets.exists() and key.read_bytes() == b"kept"
    write_files({sheets: b"sheets", key: b"key"}, force=True)
    assert (sheets.read_bytes(), key.read_bytes()) == (b"sheets", b"key")
