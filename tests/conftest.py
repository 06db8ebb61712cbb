"""How tests are dealt out to processes: what shares something dear stays together, and the longest begin first."""

from pathlib import Path

import pytest

# Files whose tests share what takes long to make: each goes to one process, first of all.
TOGETHER = ("test_testtape_figures", "test_doctor_set", "test_testtape_report", "test_testtape_commands",
            "test_testtape", "test_patient_honest", "test_faults", "test_trials_running", "test_trials_keeping",
            "test_media", "test_demo", "test_demo_notebook", "test_teaching_loads", "test_worksheets",
            "test_trials_dask")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items):
    """Tests in a browser and those of the files above before all others: what begins last must be short."""
    items.sort(key=lambda item: _scope(item.nodeid) == item.nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Deal out tests one by one as ever, but for those that stay together."""
    if config.getvalue("dist") != "load":
        return None
    from xdist.scheduler import LoadScopeScheduling

    class Together(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            return _scope(nodeid)

    return Together(config, log)


def _scope(nodeid):
    """What a test is dealt out with: a server and a browser are dear as well, and are started once."""
    path = nodeid.split("::")[0]
    if "/browser/" in path:
        return "browser"
    return path if Path(path).stem in TOGETHER else nodeid
