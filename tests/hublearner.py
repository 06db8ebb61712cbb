"""Simulated learners on a hub: they speak the protocol of the browser's page through the proxy, without a browser."""

import json
import ssl
import uuid

from hubclass import CLASS_WORD, SLOW_S

__all__ = ["Learner"]


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
