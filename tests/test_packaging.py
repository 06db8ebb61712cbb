"""The kit as it is handed out: imports only downward, files short enough to read, a whole wheel."""

import ast
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest

TOP = Path(__file__).parents[1]
KIT = TOP / "kit"
MODULES = {path: path.relative_to(KIT).with_suffix("").parts for path in sorted(KIT.rglob("*.py"))
           if not {"build", "__pycache__"} & set(path.relative_to(KIT).parts)}
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text("utf-8")

MOST_LINES = 300
# Longer ones, and why they may be.
LONGER = {}


def run(*command, cwd, **more):
    quiet = {"capture_output": True, "stdin": subprocess.DEVNULL, "text": True, "check": False}
    return subprocess.run(command, cwd=cwd, **quiet, **more)


def clean_environment(**more):
    """The environment without what could lead Python to the checkout."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONPATH"} | more


# -- floors ---------------------------------------------------------------------------------------------


def rows(title):
    """Cells of the table in DEVELOPERS.md whose head begins with a title."""
    table = re.search(rf"^\| {title} \|.*\n\|[-|]+\n((?:\|.*\n)+)", DEVELOPERS, re.MULTILINE).group(1)
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()]


def named(cell):
    return re.findall(r"`(\w+)`", cell)


STAIR = [name for row in rows("floor") for name in named(row[1])]  # top to bottom, left to right
BESIDE = {named(row[0])[0]: set(named(row[1])) for row in rows("module") if row[1] != "anything"}
FREE = {named(row[0])[0] for row in rows("module") if row[1] == "anything"}


def imported(source, inside):
    """Names of the kit's modules that a source imports, anywhere in it; `inside` is its package, as parts."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[1] for alias in node.names if alias.name.startswith("kit."))
        elif isinstance(node, ast.ImportFrom):
            base = inside[: len(inside) - node.level + 1] if node.level else ()
            parts = [*base, *(node.module or "").split(".")]
            parts = [part for part in parts if part]
            if parts and parts[0] == "kit":
                yield from [parts[1]] if len(parts) > 1 else [alias.name for alias in node.names]


def may_import(module, other):
    if module == other or module in FREE:
        return True
    if module in STAIR:
        return other in STAIR and STAIR.index(other) > STAIR.index(module)
    return other in BESIDE[module]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: "/".join(MODULES[path]))
def test_a_module_has_its_place_and_imports_only_what_stands_below_it(path):
    parts = MODULES[path]
    module = parts[0]
    assert module in {*STAIR, *BESIDE, *FREE}, f"give {module} a place in the tables of DEVELOPERS.md"
    wrong = {other for other in imported(path.read_text("utf-8"), ("kit", *parts[:-1]))
             if not may_import(module, other)}
    assert not wrong, f"{module} must not import {wrong}"


def test_the_tables_of_floors_name_only_modules_that_are_there():
    assert {*STAIR, *BESIDE, *FREE} == {parts[0] for parts in MODULES.values()}
    assert len(STAIR) == len({*STAIR} - {*BESIDE} - FREE)


def test_an_import_that_goes_up_would_be_noticed():
    """The check above, on imports written for it."""
    assert list(imported("from .tape import encode", ("kit",))) == ["tape"]
    assert list(imported("from kit.deck import heads", ("kit", "deck"))) == ["deck"]
    assert list(imported("from ..tape import encode", ("kit", "deck"))) == ["tape"]
    assert list(imported("from . import waves", ("kit",))) == ["waves"]
    assert list(imported("def late():\n    import kit.tape", ("kit",))) == ["tape"]
    assert not may_import("sound", "tape") and may_import("tape", "sound")
    assert not may_import("deck", "tape") and not may_import("waves", "player")
    assert STAIR[0] == "tape" and STAIR[-1] == "errors"


def outside(source, top_level_only):
    """Packages from outside Python and the kit that a source imports."""
    tree = ast.parse(source)
    nodes = tree.body if top_level_only else ast.walk(tree)
    for node in nodes:
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level else []
        yield from {name.split(".")[0] for name in names} - sys.stdlib_module_names - {"", "kit"}


@pytest.mark.parametrize("module", STAIR)
def test_a_floor_needs_numpy_at_most_and_never_draws(module):
    files = [KIT / f"{module}.py"] if (KIT / f"{module}.py").is_file() else sorted((KIT / module).glob("*.py"))
    assert files
    for source in (file.read_text("utf-8") for file in files):
        assert set(outside(source, top_level_only=True)) <= {"numpy"}
        assert set(outside(source, top_level_only=False)) <= {"numpy", "soundfile"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: "/".join(MODULES[path]))
def test_a_file_is_short_enough_to_be_read_in_one_go(path):
    lines = len(path.read_text("utf-8").splitlines())
    name = "/".join(MODULES[path]) + ".py"
    assert lines <= MOST_LINES or name in LONGER, f"{lines} lines: split it, or say why not in LONGER"


def test_no_file_is_excused_for_its_length_that_is_not_long():
    lengths = {name: len((KIT / name).read_text("utf-8").splitlines()) for name in LONGER}
    assert all(length > MOST_LINES for length in lengths.values()), lengths


# -- import and wheel -----------------------------------------------------------------------------------


def test_the_kit_is_imported_from_any_folder(tmp_path):
    folder = tmp_path / "another folder"
    folder.mkdir()
    done = run(sys.executable, "-c", "import kit; print(kit.__file__)", cwd=folder, env=clean_environment())
    assert Path(done.stdout.strip()) == KIT / "__init__.py", done.stderr


def test_importing_the_kit_brings_in_nothing_heavy(tmp_path):
    """How long it takes is a benchmark, `imports`: a clock on a busy machine says little."""
    code = ("import sys, kit\n"
            "heavy = {'matplotlib', 'scipy', 'soundfile', 'ipywidgets', 'IPython', 'tqdm'}\n"
            "sys.exit(', '.join(heavy & set(sys.modules)) or 0)")
    done = run(sys.executable, "-c", code, cwd=tmp_path)
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, built from a copy so that nothing is left behind in the checkout."""
    folder = tmp_path_factory.mktemp("a wheel")
    leave_out = shutil.ignore_patterns("*.egg-info", "build", "__pycache__")
    shutil.copytree(KIT, folder / "kit", ignore=leave_out)
    done = run(sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--no-index",
               "--disable-pip-version-check", "--wheel-dir", "wheels", "./kit", cwd=folder)
    assert done.returncode == 0, done.stderr[-2000:]
    (path,) = (folder / "wheels").glob("kit-*.whl")
    return path


def test_the_wheel_holds_every_file_of_the_kit(wheel):
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    wanted = {f"kit/{name}" for name in kept("kit", below=True)} - {"kit/pyproject.toml"}
    assert held == wanted


def test_the_wheel_works_without_the_checkout(wheel, tmp_path):
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "installed here")
    code = ("import kit; print(kit.__file__)\n"
            "tape = kit.encode(b'Wind west 5.', lead_in_s=0.5)\n"
            "print(kit.decode(tape).files[0].data.decode())")
    # Isolated from the editable install (-S leaves its finder out), with numpy's own folder added.
    path = os.pathsep.join((str(tmp_path / "installed here"), str(Path(np.__file__).parents[1])))
    done = run(sys.executable, "-S", "-c", code, cwd=tmp_path, env=clean_environment(PYTHONPATH=path))
    where, words = done.stdout.splitlines()
    assert Path(where) == tmp_path / "installed here" / "kit" / "__init__.py"
    assert words == "Wind west 5."


# -- what lies in the folder ----------------------------------------------------------------------------


def kept(*paths, below=False):
    """Files that are kept or about to be: those git knows, and new ones it is not told to ignore."""
    if shutil.which("git") is None or not (TOP / ".git").exists():
        pytest.skip("this is not a git checkout: what is kept cannot be told from what is not")
    done = run("git", "ls-files", "-z", "--cached", "--others", "--exclude-standard", *paths, cwd=TOP)
    names = [name for name in done.stdout.split("\0") if name and (TOP / name).exists()]
    return [name.split("/", 1)[1] for name in names] if below else names


def test_the_top_folder_shows_what_a_visitor_needs_and_nothing_else():
    top = {name.split("/")[0] for name in kept()}
    assert {name for name in top if not name.startswith(".")} == {
        "README.md", "DEVELOPERS.md", "requirements.txt", "lessons", "kit", "tests", "media"}


# Written so that this file does not hold what it looks for.
PLACES = (r"/(?:work|home|root|Users|tmp)" + "/", r"[A-Z]:\\" + "Users")
REGISTRIES = ("py" + r"pi\.", "python" + "hosted", "npm" + r"js\.", "ana" + r"conda\.org")
UNWANTED = re.compile("|".join(PLACES + REGISTRIES))


def test_no_kept_file_names_a_place_on_one_machine_or_a_registry():
    for name in kept():
        text = (TOP / name).read_bytes().decode("utf-8", errors="ignore")
        if Path(name).suffix not in (".png", ".flac", ".wav"):
            assert not UNWANTED.search(text), name
