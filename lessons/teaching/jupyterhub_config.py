"""Settings of a hub for a class; hub.md, beside this file, says how to start it.

They hold in the folder in which it is started: there it looks for programs and lessons, and keeps the homes.
"""

import os
import shutil
from pathlib import Path

c = get_config()  # noqa: F821
here = Path.cwd()
homes = here / "homes"
most_memory_kb = 3_000_000  # for each process of a learner; a cell that asks for more fails, and nobody else notices
no_news = '{"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": true}}'  # or everybody is asked
class_word = os.environ.get("CLASS_WORD", "")
if len(class_word) < 8:
    raise SystemExit(f"CLASS_WORD must be a word of 8 letters or more, got {len(class_word)}: set it as hub.md says")

# Who may come in: everybody with the word of the class, under a code name that is safe as the name of a folder.
c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = class_word
c.Authenticator.allow_all = True
c.Authenticator.username_pattern = r"[a-z0-9][a-z0-9-]{0,29}\Z"


def give_lessons(spawner):
    """Copy the lessons into a learner's home, once: what is there already is the learner's own."""
    lessons = homes / spawner.user.name / "lessons"
    if lessons.parent.parent != homes or ".." in lessons.parts:
        raise ValueError(f"a code name must be the name of a folder, got {spawner.user.name!r}")
    if not lessons.exists():
        page = lessons.parent / ".jupyter" / "labconfig" / "page_config.json"
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text(no_news)
        shutil.copytree(here / "for-learners", lessons.with_name("begun"), dirs_exist_ok=True)
        lessons.with_name("begun").rename(lessons)


# What each gets: a home, the lessons in it, and a server that begins with the first page.
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = str(homes / "{username}")
c.Spawner.pre_spawn_hook = give_lessons
c.Spawner.notebook_dir = str(homes / "{username}" / "lessons")
c.Spawner.default_url = "/lab/tree/00-start-here.ipynb"

# How it runs: kernels of closed pages end after half an hour, and thirty who come at once may wait.
limited = f'ulimit -v {most_memory_kb}; exec "$0" "$@"'
c.Spawner.cmd = ["sh", "-c", limited, str(here / ".venv/bin/jupyterhub-singleuser")]
c.Spawner.args = ["--MappingKernelManager.cull_idle_timeout=1800", "--MappingKernelManager.cull_interval=120"]
c.Spawner.environment = {"OPENBLAS_NUM_THREADS": "1"}
c.Spawner.start_timeout = c.Spawner.http_timeout = 300
c.ConfigurableHTTPProxy.command = [str(here / "node_modules/.bin/configurable-http-proxy")]

# With a certificate and its key in these two files, pages come by https.
certificate, key = here / "hub-certificate.pem", here / "hub-key.pem"
if certificate.exists():
    c.JupyterHub.ssl_cert, c.JupyterHub.ssl_key = str(certificate), str(key)
