"""The whole kit is packed, and installed from the pack with no network: how long that takes, and how large it is."""

import sys
import tempfile
import time
from pathlib import Path

from .rows import Row, at_least, at_most

__all__ = ["BENCHMARKS"]


def pack():
    """All that the kit needs, packed (this takes the network), installed with none, and used."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from pack_cases import WORDS, run_apart, use, without_network

    from kit.packing import needs
    from kit.packing import pack as packed

    with tempfile.TemporaryDirectory() as place:
        home, stick = Path(place, "home"), Path(place, "a stick")
        home.mkdir()
        start = time.perf_counter()
        about = packed(stick)
        yield Row("to pack", time.perf_counter() - start, "s", clock=True)
        yield Row("wheels", len(about.wheels), "")
        yield Row("their size", about.wheels_mb, "MB")
        whole = sum(path.stat().st_size for path in stick.rglob("*") if path.is_file())
        yield Row("size of the whole", whole / 1e6, "MB")
        start = time.perf_counter()
        done = run_apart("sh", stick / "install.sh", cwd=place, home=home)
        yield Row("to install", time.perf_counter() - start, "s", clock=True)
        yield at_most("exit status of installing", done.returncode, "", 0)
        yield Row("network cut off by the system", bool(without_network()), "")
        python = home / "cassette-kit" / "kit-env" / "bin" / "python"
        words, where = use(python, place, home)
        back = words == WORDS and home in where.parents
        yield at_least("words came back, and the kit is the installed one", back, "", 1)
        works = [run_apart(python, "-c", f"import {name}", cwd=place, home=home).returncode == 0
                 for name in map(module_of, needs())]  # fmt: skip
        yield at_least(f"of {len(works)} packages that are imported", sum(works), "", len(works))
        lab = run_apart(python, "-m", "jupyterlab", "--version", cwd=place, home=home)
        yield at_most("exit status of the one that opens lessons", lab.returncode, "", 0)


def module_of(requirement):
    """The module a requirement brings: of all that the kit needs it has the same name."""
    return "".join(letter for letter in requirement.split(">")[0] if letter.isalnum() or letter == "_")


BENCHMARKS = {"pack": pack}
