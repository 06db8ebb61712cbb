"""Benches: experiments people touch, each a pure function, a model without widgets, and one shared frame.

``kit.bench.names()`` lists them, ``kit.bench.open("cells")`` shows one. DEVELOPERS.md says how to add one.
"""

from .gallery import names, open, open_model
from .model import Experiment, Model, Outcome, Result

__all__ = ["Experiment", "Model", "Outcome", "Result", "names", "open", "open_model"]
