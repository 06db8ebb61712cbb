"""One server, one browser and one notebook with every bench in it, for all tests in a browser."""

import jupyterpage
import pytest

import kit


@pytest.fixture(scope="session")
def benches(tmp_path_factory):
    """A page on which every bench of the gallery is shown; skips, and says why, where there is no browser."""
    lacking = jupyterpage.missing()
    if lacking:
        pytest.skip(lacking)
    folder = tmp_path_factory.mktemp("notebooks")
    cells = [f"kit.bench.open({name!r})" for name in kit.bench.names()]
    jupyterpage.write_notebook(folder / "benches.ipynb", "import kit", *cells)
    with jupyterpage.lab_server(folder) as server, jupyterpage.chromium_page() as page:
        jupyterpage.open_and_run(page, server, "benches.ipynb")
        for name in kit.bench.names():
            page.locator(f"section[data-bench={name}]").wait_for()
        yield page
