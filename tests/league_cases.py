"""Designs for the league that the tests of it share."""

from kit.league import Design, design_of

QUICK = {"unit_hz": 4800, "leader_s": 0.1, "block_bytes": 128}
SLOW = {"leader_s": 0.5}


def design(name="gull 7", trades=(), **settings):
    return Design(name, design_of(**settings), tuple(trades))
