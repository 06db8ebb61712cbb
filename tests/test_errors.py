"""What the kit warns of is told of the line that called it."""

import inspect
import warnings
from pathlib import Path

import pytest

import kit


@pytest.mark.parametrize("warned", [
    lambda: kit.encode(b"Wind", format="kansas", lead_in_s=1),
    lambda: kit.encode_sides(b"Wind", format="kansas", lead_in_s=1, side_minutes=30),
    lambda: kit.encode(b"Wind", name="w" * 40),
    lambda: kit.encode_sides([kit.TapeFile("log.txt", b"Wind")] * 2),
    lambda: list(map(kit.encode, [kit.TapeFile("w" * 40, b"Wind")])),
], ids=["a stream", "sides of a stream", "a long name", "a name twice", "called by a built-in function"])  # fmt: skip
def test_a_warning_names_the_line_outside_the_kit_however_deep_the_call_went(warned):
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        warned()
    places = {(each.filename, each.lineno) for each in caught}
    assert places == {(__file__, inspect.getsourcelines(warned)[1])} and len(caught) in (1, 2)


def test_the_kit_warns_in_no_other_way():
    """A warning of its own would name a file inside the kit."""
    sources = {path.name: path.read_text("utf-8") for path in Path(kit.__file__).parent.rglob("*.py")}
    assert [name for name, source in sources.items() if "warnings.warn(" in source] == ["errors.py"]
