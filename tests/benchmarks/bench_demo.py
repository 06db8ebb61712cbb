"""How long each scene of the demonstration takes, alone in a fresh process, and how long it takes to begin anew."""

import json
import subprocess
import sys

from .rows import at_most

__all__ = ["BENCHMARKS"]

GOAL_S = 2.0
# Processor time: what else the machine does is not the scene's.
ALONE = """
import json, sys, time
start = time.process_time()
from kit import demo
demo.reset()._repr_html_()
begun = time.process_time()
if len(sys.argv) > 1:
    getattr(demo, sys.argv[1])()._repr_html_()
print(json.dumps([begun - start, time.process_time() - begun]))
"""


def _alone(*names):
    """Seconds to begin, and to show a scene then."""
    done = subprocess.run([sys.executable, "-c", ALONE, *names], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def demo():
    """Each scene of the demonstration as the first one in a fresh process, and the reset with its imports."""
    from kit.demo import SCENES

    yield at_most("reset, imports included", min(_alone()[0] for _ in range(3)), "s", GOAL_S, clock=True)
    for name in SCENES:
        yield at_most(f"scene {name}", min(_alone(name)[1] for _ in range(2)), "s", GOAL_S, clock=True)


BENCHMARKS = {"demo": demo}
