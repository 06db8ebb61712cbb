"""The documents: each command, example, number and link in them holds; and the automatic check can fail."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import kit

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text("utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text("utf-8")


def run(*command, cwd, **more):
    quiet = {"capture_output": True, "stdin": subprocess.DEVNULL, "text": True, "check": False}
    return subprocess.run(command, cwd=cwd, **quiet, **more)


def blocks_of(text, language):
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def test_the_automatic_check_runs_just_the_test_command_of_the_readme():
    section = README.split("## Run all tests")[1].split("\n## ")[0]
    (command,) = blocks_of(section, "bash")
    assert command.count("\n") == 1
    script = (TOP / ".ci/run").read_text("utf-8")
    assert script.splitlines()[-1] == command.strip()
    assert "||" not in script
    assert os.access(TOP / ".ci/run", os.X_OK)
    assert "ruff check" in command and command.strip().endswith("pytest -n 3")


@pytest.mark.skipif(os.name == "nt", reason="the check is a script for bash")
@pytest.mark.parametrize(("python", "status"), [("exit 0", 0), ("exit 3", 3)])
def test_the_automatic_check_fails_when_a_step_fails(python, status, tmp_path):
    """Run on a stand-in for the project whose Python does nothing but succeed or fail."""
    shutil.copytree(TOP / ".ci", tmp_path / "a project" / ".ci")
    # Nothing is installed: what would be is there, or succeeds at once.
    for place in ("a project/.venv/bin/python", "bin/python3", "bin/chromium", "bin/apt-get", "bin/npm"):
        path = tmp_path / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"#!/bin/sh\n{'exit 0' if place.startswith('bin') else python}\n")
        path.chmod(0o755)
    path = f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}"
    done = run("bash", str(tmp_path / "a project/.ci/run"), cwd=tmp_path,
               env={**os.environ, "PATH": path})
    assert done.returncode == status


def test_the_readme_tells_the_job_first_and_gives_one_command_for_each_need():
    title, first = README.split("\n\n")[:2]
    assert title.startswith("# ")
    assert "cassette" in first and "sound" in first and "teach" in title + first
    lessons = README.split("## Open the lessons")[1].split("\n## ")[0]
    opens = {"bash": ".venv/bin/python -m jupyterlab lessons", "bat": r"\python -m jupyterlab lessons"}
    for language, needed in opens.items():
        (command,) = blocks_of(lessons, language)
        assert command.count("\n") == 1 and needed in command
    assert "(not tried here)" in lessons
    assert "not yet been tried on hardware here" in README


def test_the_taste_of_python_in_the_readme_does_what_it_says(tmp_path):
    taste = blocks_of(README, "python")[0]
    assert taste.count("\n") == 5
    done = run(sys.executable, "-c", taste, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    whole, worn = done.stdout.split("\n", 1)
    assert whole == "log.txt: 21 bytes, checked"
    assert worn.startswith("log.txt: 21 bytes, damaged")
    times = re.search(r"in doubt, at ([\d.]+) to ([\d.]+) s", worn).groups()
    assert 5.55 < float(times[0]) <= 5.61 and 5.64 <= float(times[1]) < 5.70  # the scratch: 5.6 to 5.65 s


def test_the_bench_in_the_readme_opens(tmp_path):
    (code,) = [block for block in blocks_of(README, "python") if "kit.bench" in block]
    done = run(sys.executable, "-c", code, cwd=tmp_path)
    assert done.returncode == 0 and "harmonics" in done.stdout, done.stderr


def test_the_trials_in_the_readme_make_a_table_and_go_on_where_they_were(tmp_path):
    trials = blocks_of(README, "python")[-1]
    (tmp_path / "study.py").write_text(trials, encoding="utf-8")
    first, again = (run(sys.executable, "study.py", cwd=tmp_path) for _ in range(2))
    assert first.returncode == 0, first.stderr
    assert first.stdout == again.stdout and first.stdout.count("\n") >= 4 and "twice" in first.stdout
    assert (tmp_path / "trials.csv").read_text(encoding="utf-8").count("\n") == 1 + 8


def test_the_noise_that_readers_bear_in_the_readme_is_what_was_measured():
    """The signal to noise from which on nine blocks of ten are read, on a line between the two points beside it."""
    table = (TOP / "media/noise.md").read_text("utf-8")
    rows = re.findall(r"^\| ([a-z, ]+) \| (-?[\d.]+) \| (\d+) \| (\d+) \|", table, re.MULTILINE)
    needed = {}
    for reader in {row[0] for row in rows}:
        db, read = np.array([[float(row[1]), int(row[3]) / int(row[2])] for row in rows if row[0] == reader]).T
        last = np.flatnonzero(read < 0.9)[-1]
        needed[reader] = np.interp(0.9, read[last : last + 2], db[last : last + 2])
    assert round(needed["counter"]) == 11 and round(needed["timer"]) == 2
    assert needed["patient, two copies"] < needed["patient"] - 1 and needed["patient"] < -1
    assert "the counter needs 11 dB, the timer 2 dB, the patient reader less than -1 dB" in README


def test_the_guide_for_teachers_names_every_format():
    words = {5: "five", 6: "six", 7: "seven"}
    (line,) = [line for line in DEVELOPERS.splitlines() if "at five speeds" in line]
    assert f"in {words[len(kit.FORMATS)]} formats" in line and len(kit.SPEEDS) == 5
    assert all(f"`{name}`" in line for name in kit.FORMATS)


def test_the_command_lines_in_the_readme_do_what_they_say(tmp_path):
    after = README.split("## The command line")[1]
    lines = "".join(blocks_of(after.split("\n## Experiments to touch")[0], "bash"))
    assert "diagnose worn.wav" in lines
    (tmp_path / ".venv/bin").mkdir(parents=True)
    (tmp_path / ".venv/bin/python").write_text(f'#!/bin/sh\nexec "{sys.executable}" "$@"\n')
    (tmp_path / ".venv/bin/python").chmod(0o755)
    for line in lines.splitlines():  # as they are copied, one after the other, with nothing there before
        done = run("sh", "-c", line, cwd=tmp_path)
        # what diagnose says by its status is whether it found the tape fine
        assert done.returncode in ((0, 1) if " diagnose " in line else (0,)), (line, done.stderr)
    assert (tmp_path / "quiet-tape.wav").exists()
    assert (tmp_path / "recovered" / "log.txt").read_text(encoding="utf-8") == "Wind west 5, gulls 3.\n"
    assert (tmp_path / "trouble.png").exists()


def test_a_recorder_is_measured_as_the_readme_says(tmp_path):
    """A simulated recorder stands in for the one that is recorded on and played back between the commands."""
    section = README.split("## Find out what your recorder can carry")[1].split("\n## ")[0]
    (lines,) = blocks_of(section, "bash")
    assert "never join a loudspeaker" in section.lower() and "headphones off" in section
    commands = [line.split()[1:] for line in lines.splitlines()]
    stand_in = ["-m", "kit", "degrade", "testtape.wav", "-o", "recording.wav", "--deck", "studio"]
    for arguments in (*commands[:2], stand_in, commands[2]):
        done = run(sys.executable, *arguments, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    assert "fastest that loads" in done.stdout and "with a margin" in done.stdout
    assert (tmp_path / "quiet-testtape.wav").exists() and (tmp_path / "recorder.pdf").exists()


def test_the_format_in_the_guide_for_developers_can_be_made_and_read():
    code = next(block for block in blocks_of(DEVELOPERS, "python") if '"careful"' in block) + (
        "\ntape = kit.encode(b'Wind west 5.', format='careful', lead_in_s=0.5)\n"
        "print(kit.decode(tape, format='careful').verdict)")
    done = run(sys.executable, "-c", code, cwd=TOP / "tests")
    assert done.stdout.strip() == "checked", done.stderr


def test_documents_link_only_to_what_is_there_and_every_picture_has_its_words():
    for name in ("README.md", "DEVELOPERS.md", "media/README.md"):
        path = TOP / name
        for mark, words, target in re.findall(r"(!?)\[([^\]]*)\]\(([^)]+)\)", path.read_text("utf-8")):
            assert (path.parent / target).exists(), target
            assert not mark or len(words) > 40


def test_each_sentence_of_the_documents_has_a_line_of_its_own():
    for text in (README, DEVELOPERS):
        prose = re.sub(r"^```.*?^```|^\|.*$|^\d+\. |`[^`]*`", "", text, flags=re.MULTILINE | re.DOTALL)
        crowded = [line for line in prose.splitlines() if re.search(r"[a-z][.!?] [A-Z]", line)]
        assert not crowded


def test_what_the_readme_says_of_the_recorders_is_so():
    """Studio and home nearly flat up to 10 kHz, the portable 14 dB down there, the worn more than 30 dB."""
    import kit

    lost = {name: -float(kit.decks[name].response([10_000])[0]) for name in ("studio", "home", "portable", "worn")}
    assert max(lost["studio"], lost["home"]) < 4
    assert abs(lost["portable"] - 14) < 0.5
    assert lost["worn"] > 30
