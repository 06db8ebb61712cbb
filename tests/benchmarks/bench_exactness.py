"""Exactness over the full sets: edges, and round trips at every rate, speed and format."""

from tests.test_exactness import (
    EDGE_CASES,
    carried,
    edge_errors,
    random_half_cycles_s,
    refusal,
    round_trip,
)

from .rows import at_least, at_most

__all__ = ["BENCHMARKS"]

MANY = 200_000  # half-cycles for each rate and speed
ONE_CALL = 1_000_000  # half-cycles given to `render` in one call
RENDERED_GOAL, FOUND_GOAL = 1e-6, 0.1  # samples


def exactness():
    """Edges as rendered and as found, and round trips, over all rates, speeds and formats."""
    rendered, found = 0.0, 0.0
    for rate, speed in EDGE_CASES:
        errors = edge_errors(random_half_cycles_s(MANY, rate, speed, seed=rate + int(4 * speed)), rate)
        rendered, found = max(rendered, errors[0]), max(found, errors[1])
    drawn = f"{MANY} half-cycles at each of {len(EDGE_CASES)} rates and speeds"
    yield at_most(f"render, farthest edge, {drawn}", rendered, "samples", RENDERED_GOAL)
    yield at_most(f"edges of render, farthest, {drawn}", found, "samples", FOUND_GOAL)
    long = random_half_cycles_s(ONE_CALL, 44100, 1.0, seed=6)
    yield at_most(f"render, farthest edge, {ONE_CALL} half-cycles in one call",
                  edge_errors(long, 44100)[0], "samples", RENDERED_GOAL)
    yield at_most(f"the same in {ONE_CALL // 4000} pieces",
                  edge_errors(long, 44100, pieces=ONE_CALL // 4000)[0], "samples", RENDERED_GOAL)
    yield from _round_trips()


def _round_trips():
    fits, others = carried()
    failed = [case for case in fits if not round_trip(*case)]
    name = f"round trips of {len(fits)} formats, rates and speeds{_named(failed)}"
    yield at_least(name, 100 * (1 - len(failed) / len(fits)), "%", 100)
    accepted = [case for case in others if refusal(*case) is None]
    name = f"refused of {len(others)} that no rate carries{_named(accepted)}"
    yield at_least(name, 100 * (1 - len(accepted) / len(others)), "%", 100)


def _named(cases):
    return "" if not cases else f" (not so: {cases[:3]}{' ...' if len(cases) > 3 else ''})"


BENCHMARKS = {"exactness": exactness}
