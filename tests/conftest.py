"""Tests in a browser run in one process: a server and a browser are dear, and are started once."""

import pytest


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Deal out tests one by one as ever, but for those in a browser, which stay together."""
    if config.getvalue("dist") != "load":
        return None
    from xdist.scheduler import LoadScopeScheduling

    class BrowserTogether(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            return "browser" if "/browser/" in nodeid else nodeid

    return BrowserTogether(config, log)
