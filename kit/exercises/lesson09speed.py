"""Lesson 9, follow a tape: the function that puts its speed right by its leader, and the ways to get it wrong."""

from itertools import pairwise

from .checking import FunctionTask
from .items import Mistake

__all__ = ["FIX_SPEED", "steadied"]

PER_S = 10_000_000  # times are drawn in whole tenths of a microsecond: the same on every machine
UNEVEN_PERCENT = 4  # of a leader cycle: how far an edge lies off at most, as on a cheap recorder; an assumption
DATA_BITS = 24


def steadied(edges_s, n_leader, t_nominal):
    """Edges as they would lie if the tape had run at its right speed, going by its leader.

    Parameters
    ----------
    edges_s : list of float
        Seconds, counted from the first edge, which is therefore 0; the leader stands in front.
    n_leader : int
        How many whole cycles of leader there are, at least 1; each has two half-cycles.
    t_nominal : float
        How long a cycle of leader lasts at the right speed, in seconds.

    Returns
    -------
    list of float
        As many times, in seconds.

    Examples
    --------
    >>> steadied([0.0, 2.5, 5.0, 7.5, 10.0, 11.0], 2, 4.0)
    [0.0, 2.0, 4.0, 6.0, 8.0, 8.8]
    """
    return _scaled(edges_s, n_leader * t_nominal / edges_s[2 * n_leader])


def _scaled(edges_s, factor):
    return [factor * edge_s for edge_s in edges_s]


def _drawn_tape(draws):
    """Edges of a leader and 24 bits, at a speed that is off by 3 to 12 percent, not quite even."""
    nominal, count = draws.between(12_000, 20_000), draws.between(6, 14)
    heard = nominal * 1000 // (1000 + draws.one_of((-1, 1)) * draws.between(30, 120))
    most = heard * UNEVEN_PERCENT // 100
    cycles = [heard] * count + [heard // (4, 2)[draws.below(2)] for _ in range(DATA_BITS)]
    at, edges = 0, [0]
    for length in (length for cycle in cycles for length in (cycle // 2, cycle - cycle // 2)):
        at += length
        edges.append(at + draws.between(-most, most))
    return [edge / PER_S for edge in edges], count, nominal / PER_S


def _by(factor):
    """A wrong function that multiplies every time by another factor."""
    return lambda edges_s, n_leader, t_nominal: _scaled(edges_s, factor(edges_s, n_leader, t_nominal))


def _shifted(edges_s, n_leader, t_nominal):
    more_s = t_nominal - edges_s[2 * n_leader] / n_leader
    return [edge_s + more_s for edge_s in edges_s]


def _accepts_times(result):
    fits = isinstance(result, list) and all(type(time_s) in (int, float) for time_s in result)
    return result if fits else None


MISTAKES = (
    Mistake(
        "stub",
        lambda edges_s, n_leader, t_nominal: list(edges_s),
        "has not begun",
        "It gives the times back just as they came.",
        "How long did a cycle of leader last here, and how long should it?",
        "A cycle of 5 ms that should last 4 ms: every time becomes 4/5 of what it was.",
    ),
    Mistake(
        "upside down",
        _by(lambda edges_s, n_leader, t_nominal: edges_s[2 * n_leader] / (n_leader * t_nominal)),
        "divides where it should multiply, and makes the error larger",
        "The speed is now twice as wrong as it was.",
        "Compare a cycle of leader with t_nominal: should your times grow, or shrink?",
        "A cycle of 5 ms that should last 4 ms: times shrink, by 4/5 and not by 5/4.",
    ),
    Mistake(
        "one cycle",
        _by(lambda edges_s, n_leader, t_nominal: t_nominal / edges_s[2]),
        "goes by a single cycle, which is uneven",
        "You go by the first cycle of leader alone.",
        "One cycle may be off by chance: what of the others?",
        "Cycles of 5.1, 4.8 and 5.1 ms: their mean, 5 ms, is nearer to the truth.",
    ),
    Mistake(
        "half cycles",
        _by(lambda edges_s, n_leader, t_nominal: n_leader * t_nominal / edges_s[n_leader]),
        "takes half-cycles for cycles",
        "Your tape now runs about twice too slow.",
        "How many edges does one whole cycle take?",
        "Two cycles have four half-cycles: they end at edges_s[4], not at edges_s[2].",
    ),
    Mistake(
        "edge short",
        _by(lambda edges_s, n_leader, t_nominal: n_leader * t_nominal / edges_s[2 * n_leader - 1]),
        "ends the leader one edge early",
        "Nearly: your leader ends one half-cycle early.",
        "Counting begins at 0: what is the number of the edge behind the last cycle?",
        "Two cycles end at edges_s[4], the fifth edge: edges_s[3] is in the middle of the second.",
    ),
    Mistake(
        "edge long",
        _by(lambda edges_s, n_leader, t_nominal: n_leader * t_nominal / edges_s[2 * n_leader + 1]),
        "takes an edge of the data for one of the leader",
        "Nearly: your leader ends one edge late, among the data.",
        "Counting begins at 0: what is the number of the edge behind the last cycle?",
        "Two cycles end at edges_s[4]: edges_s[5] lies in the data.",
    ),
    Mistake(
        "whole tape",
        _by(lambda edges_s, n_leader, t_nominal: t_nominal * (len(edges_s) - 1) / 2 / edges_s[-1]),
        "takes all cycles for leader, also those of the data",
        "You go by all cycles, and those of the data are shorter.",
        "Which part of the tape has cycles of a length that is known beforehand?",
        "Leader cycles of 5 and 5 ms, data of 2 ms: the mean of the leader is 5, not 4 ms.",
    ),
    Mistake(
        "forgets the count",
        _by(lambda edges_s, n_leader, t_nominal: t_nominal / edges_s[2 * n_leader]),
        "compares the whole leader with one cycle",
        "Your tape is over in a moment: all times are far too small.",
        "You compare the time of the whole leader: with that of how many cycles?",
        "Two cycles of 4 ms should take 8 ms; they took 10 ms: 8/10.",
    ),
    Mistake(
        "shifted",
        _shifted,
        "adds what is missing once instead of stretching",
        "All times moved by the same amount; the cycles last as long as before.",
        "Does every cycle need the same change, or only the first?",
        "Edges at 0, 2.5, 5 ms become 0, 2, 4: the later, the farther they move.",
    ),
    Mistake(
        "factor",
        lambda edges_s, n_leader, t_nominal: n_leader * t_nominal / edges_s[2 * n_leader],
        "stops at the factor",
        "This is the number to multiply by.",
        "Every time has to be multiplied by it: how do you go through a list?",
        "With 0.8: edges at 0, 2.5, 5 ms become 0, 2, 4 ms.",
    ),
    Mistake(
        "lengths",
        lambda *given: [stop - start for start, stop in pairwise(steadied(*given))],
        "gives lengths instead of times",
        "These are the lengths of the half-cycles, and they are right.",
        "Wanted are the times of the edges, as many as there were.",
        "For edges at 0, 2.5, 5 ms and a factor of 0.8: 0, 2, 4, not 2, 2.",
    ),
    Mistake(
        "without leader",
        lambda edges_s, n_leader, t_nominal: steadied(edges_s, n_leader, t_nominal)[2 * n_leader:],
        "leaves the leader out",
        "Your times are right, but those of the leader are missing.",
        "How many edges came in, and how many go out?",
        "Six edges in, six edges out, the first of them still at 0.",
    ),
)

FIX_SPEED = FunctionTask(
    name="fix_speed",
    right=steadied,
    mistakes=MISTAKES,
    what="a list of times",
    accepts=_accepts_times,
    draw=_drawn_tape,
    edge=([0.0, 0.001, 0.0025, 0.0031], 1, 0.002),
    edge_words="a leader of one cycle",
    about=lambda edges_s, n_leader, t_nominal: f"n_leader = {n_leader}",
    look="Take the leader alone: how long did it last, and how long should it have lasted?",
    worked="Two cycles of leader took 10 ms and should take 8: an edge at 5 ms belongs at 4 ms.",
)
