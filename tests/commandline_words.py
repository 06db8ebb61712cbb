"""What the tests of the command line share besides their fixtures."""

import io
import subprocess
import sys
import zipfile

QUICK = ("--speed", "4", "--lead-in", "0.5")


def run(*argv, **settings):
    """Run a command as its own process."""
    settings = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "timeout": 120} | settings
    return subprocess.run([sys.executable, "-m", "kit", *map(str, argv)], check=False, **settings)


def text_of(count):
    return "".join(f"{hour:02d}:00 wind west {hour % 7}, sea calm\n" for hour in range(count)).encode()


def zip_of(name, data):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr(name, data)
    return target.getvalue()


def one_line(err):
    return err.startswith("kit: ") and err.count("\n") == 1 and err.endswith("\n")
