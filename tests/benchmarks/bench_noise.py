"""White noise: how much of it the readers bear, and whether theory says the same."""

from functools import partial

from kit.ears import ears
from kit.formats import FORMATS

from .noise import RATE, needed_db, timer
from .noise_theory import moved_share, theory_needed_db
from .rows import Row, at_most

__all__ = ["BENCHMARKS"]

NEEDED_DB = 4.0
THEORY_DB = 0.5


def noise_timer():
    """The signal to noise at which the timer reads 90 % of blocks of 1 KiB, and what theory says of it."""
    house = FORMATS["house"]
    alone = [ear for ear in ears(house, RATE) if "ordinary" in ear.note]
    whole, one = needed_db(timer), needed_db(partial(timer, chosen=alone))
    theory = theory_needed_db(house, RATE)
    name = f"timer, 90 % of {whole.blocks} blocks, give or take {whole.error_db:.2f}"
    yield at_most(name, whole.db, "dB", NEEDED_DB)
    yield Row(f"its ear for ordinary speed alone, give or take {one.error_db:.2f}", one.db, "dB")
    yield Row("theory: edges moved, half-cycles swallowed and cut", theory, "dB")
    yield Row("theory: edges moved, and nothing else", theory_needed_db(house, RATE, shares=moved_share), "dB")
    yield at_most("theory and measured, that ear alone, differ by", abs(theory - one.db), "dB", THEORY_DB)
    yield Row("theory and measured, whole timer, differ by", abs(theory - whole.db), "dB")


BENCHMARKS = {"noise_timer": noise_timer}
