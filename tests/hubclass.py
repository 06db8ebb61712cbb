"""A real hub, under the settings that teachers get."""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path

__all__ = ["CLASS_WORD", "SETTINGS", "SLOW_S", "Hub", "certificate_command", "hub_running", "missing",
           "own_certificate"]

TOP = Path(__file__).parents[1]
SETTINGS = TOP / "lessons" / "teaching" / "jupyterhub_config.py"
INSTALL = ".venv/bin/python -m pip install jupyterhub, then npm install --no-save configurable-http-proxy"
CLASS_WORD = "tidewater"
SLOW_S = 300  # what is waited for mostly comes within a tenth of it
SLOW_END_S = 30  # then what still runs is ended without asking
AGAIN_S = 0.1  # between two questions whether the hub is there


def missing():
    """str: what a run with a real hub lacks here, and how to install it; "" if nothing."""
    try:
        import jupyterhub  # noqa: F401
    except ImportError:
        return f"jupyterhub is not installed: {INSTALL}"
    return "" if _proxy() else f"configurable-http-proxy is not installed: {INSTALL}"


def _proxy():
    """Path of the proxy: where the page puts it, or wherever else it may be started from."""
    beside = TOP / "node_modules" / ".bin" / "configurable-http-proxy"
    return str(beside) if beside.exists() else shutil.which("configurable-http-proxy")


def own_certificate(folder, name):
    """Make a certificate that nobody vouches for, and its key, in the two files that the settings look for."""
    subprocess.run(certificate_command(name), cwd=folder, check=True, capture_output=True)


def certificate_command(name):
    """The command that does so, as a list."""
    return ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "30", "-subj", f"/CN={name}",
            "-addext", f"subjectAltName=DNS:{name}", "-keyout", "hub-key.pem", "-out", "hub-certificate.pem"]


class Hub:
    """A hub that runs.

    Attributes
    ----------
    folder : pathlib.Path
        Where it was started: `homes` lies there.
    address : str
        Without a slash at its end.
    process : subprocess.Popen
    started_s : float
        From its start to its first page.
    """

    def __init__(self, folder, address, process):
        self.folder, self.address, self.process, self.started_s = folder, address, process, 0.0

    def home(self, name):
        """A learner's folder of lessons."""
        return self.folder / "homes" / name / "lessons"

    def log(self):
        """The end of what it said."""
        return (self.folder / "hub.log").read_text(errors="replace")[-3000:]

    def processes(self):
        """Processes by whose they are: "hub", "proxy", and each learner's name; each a list of `psutil.Process`."""
        import psutil

        hub = psutil.Process(self.process.pid)
        whose = {"hub": [hub], "proxy": []}
        for child in hub.children():
            with contextlib.suppress(psutil.NoSuchProcess):  # one that has just ended
                owner = child.environ().get("JUPYTERHUB_USER", "proxy")
                whose.setdefault(owner, []).extend([child, *child.children(recursive=True)])
        return whose


@contextlib.contextmanager
def hub_running(folder, https_name=""):
    """Start a hub in a folder under the settings of lessons/teaching; ends it, and all it started.

    Parameters
    ----------
    folder : pathlib.Path
        An empty one; the lessons are copied into it as learners get them.
    https_name : str
        Its pages then come by https, under a certificate of its own for this name.

    Yields
    ------
    Hub
    """
    _furnish(folder)
    if https_name:
        own_certificate(folder, https_name)
    ports = _free_ports(3)
    places = {name: str(folder / "settings" / name.lower()) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR")}
    environment = {**os.environ, **places, "CLASS_WORD": CLASS_WORD, "PYTHONPATH": str(TOP)}
    address = f"{'https' if https_name else 'http'}://127.0.0.1:{ports[0]}"
    command = [sys.executable, "-m", "jupyterhub", "-f", str(SETTINGS), f"--JupyterHub.bind_url={address}",
               f"--JupyterHub.hub_bind_url=http://127.0.0.1:{ports[1]}",
               f"--ConfigurableHTTPProxy.api_url=http://127.0.0.1:{ports[2]}"]
    started = time.monotonic()
    with (folder / "hub.log").open("wb") as log:
        process = subprocess.Popen(command, cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=log,
                                   stderr=log)
    hub = Hub(folder, address, process)
    try:
        _wait_for(hub)
        hub.started_s = time.monotonic() - started
        yield hub
    finally:
        _end(hub)


def _end(hub):
    """End the hub as whoever runs it does; what is left of all that it started is ended after it."""
    import psutil

    started = psutil.Process(hub.process.pid).children(recursive=True) if hub.process.poll() is None else []
    hub.process.terminate()
    _, left = psutil.wait_procs(started, timeout=SLOW_END_S)
    for each in left:
        with contextlib.suppress(psutil.NoSuchProcess):
            each.kill()
    try:
        hub.process.wait(SLOW_END_S)
    except subprocess.TimeoutExpired:
        hub.process.kill()
        hub.process.wait()


def _furnish(folder):
    """What a teacher's folder has: programs, the proxy, and learners' copies of the lessons."""
    from kit.exercises.builds import write_learner_copies

    write_learner_copies(TOP / "lessons", folder / "for-learners")
    programs, beside = folder / ".venv" / "bin", folder / "node_modules" / ".bin"
    programs.mkdir(parents=True)
    beside.mkdir(parents=True)
    (beside / "configurable-http-proxy").symlink_to(Path(_proxy()).resolve())
    # Servers of learners refuse to be root's, as they should; where tests run as root, they are told to.
    wanted = " --allow-root" if os.geteuid() == 0 else ""
    server = programs / "jupyterhub-singleuser"
    server.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m jupyterhub.singleuser{wanted} "$@"\n')
    server.chmod(0o755)


def _free_ports(count):
    with contextlib.ExitStack() as stack:
        found = [stack.enter_context(socket.socket()) for _ in range(count)]
        for each in found:
            each.bind(("127.0.0.1", 0))
        return [each.getsockname()[1] for each in found]


def _wait_for(hub):
    import requests

    deadline = time.monotonic() + SLOW_S
    while time.monotonic() < deadline and hub.process.poll() is None:
        with contextlib.suppress(requests.ConnectionError):
            if requests.get(f"{hub.address}/hub/login", verify=False, timeout=10).ok:
                return
        time.sleep(AGAIN_S)
    raise RuntimeError(f"the hub did not start: {hub.log()}")
