"""Tests of one group run in one process: what is dear to start, a server and a browser, is started once."""

import pytest


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """With several processes and no other wish, keep the groups of `xdist_group` together."""
    if getattr(config.option, "numprocesses", None) and getattr(config.option, "dist", None) == "no":
        config.option.dist = "loadgroup"
