"""Generations: a dub of a dub of a dub, beside a tape that is read, checked and written anew each time."""

import threading
from dataclasses import dataclass

import numpy as np

from ..blocks import DATA, DataPart
from ..deck import decks, passes
from ..known import SPEEDS, find_format
from ..shown import BLACK, BLUE, VERMILLION
from ..sound import Sound
from ..waves import edges, render
from .bitrows import differing
from .fields import State, choice, number
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene
from .shortreading import read_cells

__all__ = ["GENERATIONS", "Generation", "Generations", "GenerationsState", "find"]

FORMAT = find_format("house")
MOST = 8
DATA_BYTES = 48
LEADER_S = 0.4
SILENCE_S = 0.25  # after the data: what is heard there is noise
MEASURED_S = 0.15  # at its end
RATE = 48_000
LOW_PERCENT = 5  # margins: how far from the threshold all but this part of the bits are
SHOWN_UNITS = 22
SEED = 1
NEW_TAPE = 1000  # from one seed to that of the next tape that is written anew
QUIETEST = 1e-6
MOST_CHAINS = 24

_chains = {}
_one_at_a_time = threading.Lock()  # two benches on one page may want the same chain


@dataclass(frozen=True)
class GenerationsState(State):
    """Which generation is looked at, and how the copies are made."""

    generation: int = number(2, 1, MOST, 1, "", "Generation", hint="1 is the first recording, 2 a copy of it")
    speed: str = choice("ordinary", ("ordinary", "double", "quadruple"), "Speed")
    deck: str = choice("portable", ("studio", "home", "portable"), "Recorder")


@dataclass(frozen=True, eq=False)
class Generation:
    """One tape as it is played.

    Attributes
    ----------
    samples : ndarray of float32, shape (samples,)
    data_s : float
        Where the first bit begins, as it is found; if it is not found, as it was written.
    margin : float
        0 to 1: nineteen of twenty bits are at least so far from being the other; 0 if none was found.
    noise_db : float
        What is heard where nothing was written, relative to the data.
    wrong : int
        Bits that are wrong or missing.
    """

    samples: np.ndarray
    data_s: float
    margin: float
    noise_db: float
    wrong: int

    @property
    def loads(self):
        """bool: whether every bit came out right, so that the check agrees."""
        return self.wrong == 0


@dataclass(frozen=True, eq=False)
class Generations(Result):
    """Both ways of copying.

    Attributes
    ----------
    dubs : list of Generation
        Each a copy of the sound of the one before.
    written : list of Generation
        Each made of the bits of the one before, which were read and checked; fewer if one did not read.
    """

    dubs: list
    written: list


def _tape(speed):
    """Bits of a block, the sound to record, with silence behind it, and where its first bit begins."""
    content = DataPart(0x1D5E, 0, np.random.default_rng(SEED).bytes(DATA_BYTES)).body()
    bits = FORMAT.block_bits(content)
    halves_s = FORMAT.block_half_cycles(content, LEADER_S, speed)
    samples = np.concatenate((render(halves_s, RATE), np.zeros(round(SILENCE_S * RATE), np.float32)))
    after = 2 * (len(bits) + FORMAT.tail_cycles)
    return bits, Sound(samples, RATE), float(halves_s[:-after].sum())


def _heard(sound, bits, data_s):
    """What a reader makes of a tape."""
    samples = sound.samples
    opening = FORMAT.frame.to_bits(bytes([DATA]))
    cells = read_cells(FORMAT, edges(samples, RATE), len(bits), opening=opening)
    noise = np.sqrt(np.mean(samples[-round(MEASURED_S * RATE) :].astype(float) ** 2))
    loud = np.sqrt(np.mean(samples[round(data_s * RATE) :][: round(0.02 * RATE)].astype(float) ** 2))
    noise_db = 20 * np.log10(max(float(noise), QUIETEST) / max(float(loud), QUIETEST))
    if cells is None:
        return Generation(samples, data_s, 0.0, noise_db, len(bits))
    margin = float(np.percentile(cells.margins, LOW_PERCENT))
    wrong = int(differing(bits, cells.bits).sum())
    return Generation(samples, float(cells.times[0]), margin, noise_db, wrong)


def _copies(deck, speed, seed):
    """Generation by generation, a dub and a tape written anew (None once one did not read)."""
    bits, clean, data_s = _tape(speed)
    dub, whole = clean, True
    for generation in range(MOST):
        dub = passes.play(deck, dub, seed, generation=generation)
        written = _heard(passes.play(deck, clean, seed + NEW_TAPE * generation), bits, data_s) if whole else None
        whole = whole and written.loads
        yield _heard(dub, bits, data_s), written


def _kept(state):
    """What is kept of a chain so far, and the work that goes on with it."""
    key = state.deck, state.speed, SEED
    if key not in _chains:
        while len(_chains) >= MOST_CHAINS:
            _chains.pop(next(iter(_chains)))
        _chains[key] = ([], _copies(decks[state.deck], SPEEDS[state.speed], SEED))
    return _chains[key]


def find(state):
    """Copy and read; a generator, as it takes its time. What was copied once is kept.

    Parameters
    ----------
    state : GenerationsState

    Yields
    ------
    float
        Part that is done.

    Returns
    -------
    Generations
    """
    pairs, work = _kept(state)
    while len(pairs) < MOST:
        yield len(pairs) / MOST
        with _one_at_a_time:
            if len(pairs) < MOST:
                pairs.append(next(work))
    dubs = [dub for dub, _ in pairs]
    written = [one for _, one in pairs if one is not None]
    here = dubs[state.generation - 1]
    last = _loading(dubs)
    figures = (
        ("this dub", _verdict(here)),
        ("its margin", f"{here.margin:.2f}"),
        ("its noise", f"{-here.noise_db:.0f} dB below the data"),
        ("dubs that load", f"the first {last} of {MOST}"),
        ("written anew, load", f"{_loading(written)} of {MOST}"),
    )
    return Generations(_in_words(state, dubs, written), figures, dubs, written)


def _loading(chain):
    """How many load before one does not."""
    return next((k for k, one in enumerate(chain) if not one.loads), len(chain))


def _verdict(one):
    return "loads" if one.loads else f"does not load: {one.wrong} bits wrong or missing"


def _in_words(state, dubs, written):
    here, last, anew = dubs[state.generation - 1], _loading(dubs), _loading(written)
    name = "The first recording" if state.generation == 1 else f"Generation {state.generation}, dubbed,"
    words = f"{name} {_verdict(here)}. "
    if last == MOST:
        words += f"At this speed on this recorder all {MOST} generations of dubs load. "
    elif last:
        words += f"Dubs load up to generation {last}: "
        words += "each one adds its own hiss and loses highs once more. "
    change = dubs[-1].noise_db - dubs[0].noise_db
    words += f"From the first to the last dub the noise comes {change:.0f} dB nearer to the data. "
    if anew == MOST:
        return words + "A tape that is read, checked and written anew starts clean each time: all of them load."
    return words + (f"Written anew, {anew} load: one that does not read cannot be written anew, and there the chain "
                    "of checked copies ends.")


def draw(state, result):
    """The wave of a generation; margin and noise of them all."""
    return Scene((_wave_pane(state, result), _margin_pane(state, result), _noise_pane(state, result)),
                 _picture_in_words(state, result), height=560)


def _wave_pane(state, result):
    shown_s = SHOWN_UNITS * FORMAT.unit_s(SPEEDS[state.speed])
    lines = [Line(*_stretch(result.dubs[state.generation - 1], shown_s), "dub", BLUE)]
    if state.generation <= len(result.written):
        lines.append(Line(*_stretch(result.written[state.generation - 1], shown_s), "written anew", BLACK, "dot"))
    top = max(0.1, *(1.15 * float(np.abs(line.y).max()) for line in lines))
    name = "the first recording" if state.generation == 1 else f"generation {state.generation}"
    return Pane((0.0, 1000 * shown_s), (-top, top), "time in ms from the first bit on", "level",
                (Level(0.0, dash="dash"), *lines), title=f"The wave of {name}")


def _stretch(one, shown_s):
    """Times in ms and samples of the first bits."""
    first = int(one.data_s * RATE)
    wave = one.samples[first : first + int(shown_s * RATE) + 2]
    return 1000 * ((first + np.arange(len(wave)) + 0.5) / RATE - one.data_s), wave


def _axis(title, label, span, items):
    return Pane((0.7, MOST + 0.3), span, "generation", label, items, title=title, share=0.8)


def _rows(result, name):
    """Both chains, as lines over the generations."""
    count = [np.arange(1, len(chain) + 1) for chain in (result.dubs, result.written)]
    values = [np.array([getattr(one, name) for one in chain]) for chain in (result.dubs, result.written)]
    return (Line(count[0], values[0], "dubs", BLUE, look="dots"),
            Line(count[1], values[1], "written anew", BLACK, "dot", "dots"))


def _margin_pane(state, result):
    failed = [(k, one.margin) for k, one in enumerate(result.dubs, 1) if not one.loads]
    failed += [(k, one.margin) for k, one in enumerate(result.written, 1) if not one.loads]
    crosses = [Marks([k for k, _ in failed], [margin for _, margin in failed], "does not load", VERMILLION, "x")]
    here = Marks([state.generation], [result.dubs[state.generation - 1].margin], "here", VERMILLION, "o")
    return _axis("How sure the bits are", "margin", (-0.08, 1.08),
                 (*_rows(result, "margin"), *(crosses if failed else []), here))


def _noise_pane(state, result):
    rows = _rows(result, "noise_db")
    values = np.concatenate([row.y for row in rows])
    span = float(values.min()) - 4, float(values.max()) + 4
    here = Marks([state.generation], [result.dubs[state.generation - 1].noise_db], "", VERMILLION, "o")
    return _axis("Noise where nothing was written", "dB re data", span, (*rows, here))


def _picture_in_words(state, result):
    def row(chain):
        return "; ".join(f"{k}: margin {one.margin:.2f}, noise {-one.noise_db:.0f} dB below, "
                         f"{'loads' if one.loads else 'does not load'}" for k, one in enumerate(chain, 1))

    return (f"Above, the wave of generation {state.generation} as a dub and as written anew. Below, margin and noise "
            f"by generation. Dubs: {row(result.dubs)}. Written anew: {row(result.written)}.")


def sound(state, result):
    """The dub."""
    return Sound(np.clip(result.dubs[state.generation - 1].samples, -1, 1), RATE)


def pick(state, pane, x):
    """Pointing at a generation chooses it."""
    return {"generation": int(np.clip(round(x), 1, MOST))} if pane else {}


GENERATIONS = Experiment(
    "generations",
    "A copy of a copy",
    "How often can a tape be dubbed before it loads no more, and what if it is read and written anew instead?",
    GenerationsState, find, draw, sound, pick,
)
