"""A real hub under the settings that teachers get, and learners who sign in to it and run a lesson at the same time.

Learners are simulated: they speak the protocol of the browser's page through the hub's proxy, without a browser.
"""

import contextlib
import json
import os
import shutil
import socket
import ssl
import subprocess
import sys
import time
import uuid
from pathlib import Path

__all__ = ["CLASS_WORD", "SETTINGS", "Hub", "Learner", "hub_running", "missing", "own_certificate"]

TOP = Path(__file__).parents[1]
SETTINGS = TOP / "lessons" / "teaching" / "jupyterhub_config.py"
INSTALL = ".venv/bin/python -m pip install jupyterhub, then npm install --no-save configurable-http-proxy"
CLASS_WORD = "tidewater"
SLOW_S = 300  # what is waited for mostly comes within a tenth of it
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
    command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "30", "-subj", f"/CN={name}",
               "-addext", f"subjectAltName=DNS:{name}", "-keyout", "hub-key.pem", "-out", "hub-certificate.pem"]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)


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
        process.terminate()
        try:
            process.wait(60)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


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


class Learner:
    """A simulated learner with a browser's cookies; each step is refused with the hub's own words if it fails.

    Parameters
    ----------
    hub : Hub
    name : str
        To sign in with.
    """

    def __init__(self, hub, name):
        import requests

        self.hub, self.name = hub, name
        self.web = requests.Session()
        self.web.verify = False
        self.base = f"{hub.address}/user/{name}"
        self.kernel, self.process, self.socket, self.session = "", None, None, uuid.uuid4().hex

    def sign_in(self):
        """Fill in the form; gives the status of the page that comes then: 200 if let in."""
        page = self.web.get(f"{self.hub.address}/hub/login", timeout=SLOW_S)
        form = {"username": self.name, "password": CLASS_WORD, "_xsrf": self.web.cookies.get("_xsrf", path="/hub/")}
        page = self.web.post(page.url, data=form, timeout=SLOW_S)
        return page.status_code

    def wait_for_server(self):
        """Wait, as the hub's page does, for the word that the server is there, and fetch its first page."""
        key = self.web.cookies.get("_xsrf", path="/hub/")
        progress = f"{self.hub.address}/hub/api/users/{self.name}/server/progress"
        with self.web.get(progress, params={"_xsrf": key}, stream=True, timeout=SLOW_S) as told:
            told.raise_for_status()
            lines = (line.partition(b":")[2] for line in told.iter_lines() if line.startswith(b"data:"))
            ready = next((each for each in map(json.loads, lines) if each.get("ready") or each.get("failed")), {})
        if not ready.get("ready"):
            raise RuntimeError(f"{self.name} got no server: {ready} {self.hub.log()}")
        page = self.web.get(f"{self.base}/lab/tree/00-start-here.ipynb", timeout=SLOW_S)
        page.raise_for_status()

    def notebook(self, path):
        """A notebook of the learner's home, as the page gets it."""
        got = self.web.get(f"{self.base}/api/contents/{path}", timeout=SLOW_S)
        got.raise_for_status()
        return got.json()["content"]

    def open_kernel(self, path):
        """Begin a kernel for a notebook and wait for its first word."""
        asked = {"path": path, "name": path, "type": "notebook", "kernel": {"name": "python3"}}
        made = self.web.post(f"{self.base}/api/sessions", json=asked, headers=self._key(), timeout=SLOW_S)
        made.raise_for_status()
        self.kernel = made.json()["kernel"]["id"]
        self.connect()
        mine = self.hub.processes()[self.name]
        self.process = next(each for each in mine if "ipykernel_launcher" in each.cmdline())

    def connect(self):
        """Listen to the kernel."""
        import websocket

        cookies = "; ".join(f"{one.name}={one.value}" for one in self.web.cookies if one.path.startswith("/user/"))
        address = f"{self.base}/api/kernels/{self.kernel}/channels?session_id={self.session}".replace("http", "ws", 1)
        self.socket = websocket.create_connection(
            address, cookie=cookies, timeout=SLOW_S, sslopt={"cert_reqs": ssl.CERT_NONE}, origin=self.hub.address)
        self._asked("kernel_info_request", {})

    def run(self, code):
        """Run a cell; gives what it printed or showed as text, as one string.

        Raises
        ------
        RuntimeError
            The cell ended in an error.
        """
        content = {"code": code, "silent": False, "store_history": True, "user_expressions": {},
                   "allow_stdin": False, "stop_on_error": True}
        said = self._asked("execute_request", content)
        failed = [each for kind, each in said if kind == "error"]
        if failed:
            raise RuntimeError(f"{failed[0]['ename']}: {failed[0]['evalue']}")
        return "".join(_text_of(each) for _, each in said)

    def processor_s(self):
        """Seconds of a processor that the kernel has used."""
        times = self.process.cpu_times()
        return times.user + times.system

    def kill_kernel(self):
        """End the kernel as a lack of memory does, and wait until the server says that it begins another."""
        self.process.kill()
        while self._message()["content"].get("execution_state") != "restarting":
            pass
        self.leave()
        self.connect()

    def leave(self):
        """Close the page; server and kernel stay."""
        if self.socket:
            self.socket.close()

    def _key(self):
        """What a page puts beside its cookies to show that it is the page."""
        return {"X-XSRFToken": self.web.cookies.get("_xsrf", path=f"/user/{self.name}/")}

    def _asked(self, kind, content):
        """Ask the kernel; gives kind and content of each answer, once the reply is there and the kernel is idle."""
        number = uuid.uuid4().hex
        header = {"msg_id": number, "msg_type": kind, "username": self.name, "session": self.session,
                  "version": "5.3", "date": ""}
        self.socket.send(json.dumps({"header": header, "parent_header": {}, "metadata": {}, "content": content,
                                     "channel": "shell", "buffers": []}))
        said, replied, idle = [], False, False
        while not (replied and idle):
            message = self._message()
            if message["parent_header"].get("msg_id") != number:
                continue
            told = message["header"]["msg_type"]
            replied = replied or told.endswith("_reply")
            idle = idle or (told == "status" and message["content"]["execution_state"] == "idle")
            said.append((told, message["content"]))
        return said

    def _message(self):
        from jupyter_server.services.kernels.connection.base import deserialize_binary_message

        received = self.socket.recv()
        return json.loads(received) if isinstance(received, str) else deserialize_binary_message(received)


def _text_of(content):
    return content.get("text", "") or content.get("data", {}).get("text/plain", "")
