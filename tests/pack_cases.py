"""Install from a packed folder with no way to the network, and use what was installed, as on a learner's computer."""

import os
import shutil
import subprocess
from pathlib import Path

NOWHERE = "http://127.0.0.1:9"  # nothing listens at the port for discarding
WORDS = "Wind west 5, gulls 3."


def without_network():
    """A command to put before another so that it has no network; empty where the system does not let us."""
    command = ["unshare", "-r", "-n"]
    allowed = shutil.which("unshare") and subprocess.run([*command, "true"], capture_output=True, check=False)
    return command if allowed and allowed.returncode == 0 else []


def run_apart(*command, cwd, home):
    """Run a command with no network, a home of its own, and nothing in its surroundings that leads to packages."""
    unwanted = ("PIP_", "PYTHON", "VIRTUAL_ENV", "HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY", "NO_PROXY")
    kept = {name: value for name, value in os.environ.items() if not name.upper().startswith(unwanted)}
    lost = dict.fromkeys(("http_proxy", "https_proxy", "all_proxy", "HTTPS_PROXY", "ALL_PROXY"), NOWHERE)
    surroundings = {**kept, **lost, "HOME": str(home), "PIP_INDEX_URL": NOWHERE, "PIP_RETRIES": "0"}
    return subprocess.run([*without_network(), *map(str, command)], cwd=cwd, env=surroundings, text=True, check=False,
                          stdin=subprocess.DEVNULL, capture_output=True)  # fmt: skip


def use(python, cwd, home):
    """Encode and decode with an installed kit, by the command line; gives what came back, and where the kit lies."""
    Path(cwd, "log.txt").write_text(WORDS, encoding="utf-8")
    for words in (("encode", "log.txt", "-o", "tape.wav"), ("decode", "tape.wav", "-o", "back")):
        done = run_apart(python, "-m", "kit", *words, cwd=cwd, home=home)
        assert done.returncode == 0, done.stderr
    where = run_apart(python, "-c", "import kit; print(kit.__file__)", cwd=cwd, home=home)
    return Path(cwd, "back", "log.txt").read_text(encoding="utf-8"), Path(where.stdout.strip())
