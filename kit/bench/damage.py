"""Damage: bits of a short text flipped, by pattern or by hand, and which checks notice."""

import functools
import re
from dataclasses import dataclass

import numpy as np

from ..checks import CHECKS
from ..frames import parity_bits
from ..shown import SKY, VERMILLION
from ..trials.table import interval
from .fields import State, choice, number, text
from .flips import BY_HAND, IN_BYTE, PATTERNS, flips_of
from .model import Experiment, Result
from .scene import Pane, Scene, Tiles, Words

__all__ = ["DAMAGE", "Damage", "DamageState", "check_values", "find", "why_missed"]

MOST_BYTES = 16
BYTE_PARITY = "parity, each byte"
NAMES = {BYTE_PARITY: BYTE_PARITY, "parity": "parity, over all", "xor-8": "XOR of all bytes", "sum-8": "sum, 8 bits",
         "fletcher-16": "Fletcher, 16 bits", "crc-8/smbus": "CRC, 8 bits", "crc-16/ibm-3740": "CRC, 16 bits",
         "crc-32/iso-hdlc": "CRC, 32 bits"}
SEED = 11


@dataclass(frozen=True)
class DamageState(State):
    """A text, what is done to it, and how many random damages of that kind are tried."""

    words: str = text("Wind W5 gusts 9", MOST_BYTES, "Text", hint="its first 16 bytes")
    pattern: str = choice(IN_BYTE, PATTERNS, "What is flipped")
    count: int = number(2, 1, 16, 1, "", "How many", hint="bits; of swapped bytes: how far apart; of a coin: nothing")
    place: int = number(41, 0, 8 * MOST_BYTES - 1, 1, "", "First bit", hint="0 is the top bit of the first byte")
    by_hand: str = text("", 60, "Bits flipped by hand", hint="their numbers; or point at a bit")
    trials: int = choice(300, (100, 300, 1000), "Random damages of this kind")


@dataclass(frozen=True, eq=False)
class Damage(Result):
    """What arrived, and which checks noticed.

    Attributes
    ----------
    sent, arrived : bytes
    flips : ndarray of bool, shape (8 bytes,)
        In the order of time, the top bit of each byte first.
    values : dict of str to (bytes, bytes)
        Each check's bytes for what was sent and for what arrived.
    missed : dict of str to int
        How many of the random damages each check missed.
    trials : int
        How many there were; those that changed nothing are not counted.
    """

    sent: bytes
    arrived: bytes
    flips: np.ndarray
    values: dict
    missed: dict
    trials: int


def check_values(data):
    """The bytes of every check shown, by name."""
    values = {name: CHECKS[name].compute(data) for name in NAMES if name != BYTE_PARITY}
    return {BYTE_PARITY: parity_bits(np.frombuffer(data, np.uint8), "even").tobytes(), **values}


def _with_flips(data, flips):
    return (np.frombuffer(data, np.uint8) ^ np.packbits(flips)).tobytes()


@functools.lru_cache(maxsize=256)
def _many(data, pattern, count, trials):
    """How many random damages each check missed, and how many changed anything."""
    rng, sent = np.random.default_rng(SEED), check_values(data)
    missed, real = dict.fromkeys(NAMES, 0), 0
    for _ in range(trials if data and pattern != BY_HAND else 0):
        flips = flips_of(data, pattern, count, int(rng.integers(8 * len(data))), rng)
        if flips.any():
            real += 1
            for name, value in check_values(_with_flips(data, flips)).items():
                missed[name] += value == sent[name]
    return missed, real


def find(state):
    """Damage the text and ask every check; then many times more at random.

    Parameters
    ----------
    state : DamageState

    Returns
    -------
    Damage
    """
    sent = state.words.encode("utf-8")[:MOST_BYTES]
    flips, strange = np.zeros(8 * len(sent), bool), ""
    if sent:
        flips = flips_of(sent, state.pattern, state.count, state.place, np.random.default_rng(state.place))
        painted, strange = _painted(state.by_hand, len(flips))
        flips[list(painted)] ^= True
    arrived = _with_flips(sent, flips)
    values = {name: (before, check_values(arrived)[name]) for name, before in check_values(sent).items()}
    missed, trials = _many(sent, state.pattern, state.count, state.trials)
    seen = sum(before != after for before, after in values.values())
    figures = (
        ("bits flipped", str(int(flips.sum()))),
        ("checks that see it", f"{seen} of {len(values)}" if flips.any() else "nothing to see"),
        ("missed at random by sum, 8 bits", _share(missed["sum-8"], trials)),
        ("by CRC, 16 bits", _share(missed["crc-16/ibm-3740"], trials)),
    )
    words = _in_words(sent, arrived, flips, values) + strange
    return Damage(words, figures, sent, arrived, flips, values, missed, trials)


def _painted(words, bits):
    """Numbers of bits flipped by hand, an even number of times being none, and what is to be said of the rest."""
    tokens = re.findall(r"[^\s,;]+", words)
    numbers = [int(each) for each in tokens if each.isascii() and each.isdigit() and int(each) < bits]
    strange = [each for each in tokens if not (each.isascii() and each.isdigit() and int(each) < bits)]
    said = f" By hand: “{strange[0]}” is no number of a bit from 0 to {bits - 1} and is left out." if strange else ""
    return {each for each in numbers if numbers.count(each) % 2}, said


def _share(count, trials):
    return f"{count} of {trials}" if trials else "none tried"


def why_missed(name, sent, arrived):
    """Why a check that missed a damage did so, in words; the numbers in it are computed."""
    before, after = np.frombuffer(sent, np.uint8).astype(int), np.frombuffer(arrived, np.uint8).astype(int)
    if name == BYTE_PARITY:
        return "in each byte an even number of bits is flipped"
    if name == "parity":
        return f"{sum(map(int.bit_count, (before ^ after).tolist()))} flips are an even number"
    if name == "xor-8":
        return "in each row an even number of bits is flipped"
    if name == "sum-8":
        change = int(after.sum() - before.sum())
        multiple = f"the sum changes by {change:+d}, a multiple of 256"
        return multiple if change else "what some bytes gain others lose"
    if name == "fletcher-16":
        return "both its sums change by multiples of 255"
    return "the difference is a multiple of its polynomial"


def _in_words(sent, arrived, flips, values):
    if not sent:
        return "There is nothing to damage: type a text. Every check of nothing agrees with itself."
    if not flips.any():
        return (f"Nothing is changed: “{_shown(sent)}” arrives as it was sent, and every check agrees. "
                "Flip some bits, or swap bytes that differ.")
    bits, hit = int(flips.sum()), len({k // 8 for k in np.flatnonzero(flips)})
    words = (f"{bits} {'bit is' if bits == 1 else 'bits are'} flipped, in {hit} {'byte' if hit == 1 else 'bytes'}: "
             f"“{_shown(sent)}” arrives as “{_shown(arrived)}”. ")
    missed = [name for name, (before, after) in values.items() if before == after]
    if not missed:
        return words + "Every check here sees it."
    reasons = "; ".join(f"{NAMES[name]} ({why_missed(name, sent, arrived)})" for name in missed)
    if len(missed) == len(NAMES):
        return words + f"Every check misses it: {reasons}."
    return words + f"Missed by {reasons}. The others see it."


def _shown(data):
    return "".join(chr(each) if 32 <= each < 127 else "·" for each in data)


def draw(state, result):
    """The bits as they arrived above, the checks below."""
    return Scene((_bits_pane(result), _checks_pane(result)), _picture_in_words(result), height=600)


def _bits_pane(result):
    """A column for each byte, its top bit above; the letters sent over it, those that arrived below."""
    count = len(result.sent)
    bits = np.unpackbits(np.frombuffer(result.arrived, np.uint8)).reshape(count, 8)
    hit = np.flatnonzero(result.flips)
    kept = np.flatnonzero(~result.flips)
    tiles = [Tiles(which // 8, 7.0 - which % 8, name=name, colour=colour, hatch=hatch)
             for which, name, colour, hatch in ((kept, "as sent", SKY, ""), (hit, "flipped", VERMILLION, "/"))]
    middles = np.arange(count) + 0.5
    rows = [Words(middles, tuple(map(str, bits[:, row])), 7.5 - row, large=False) for row in range(8)]
    labels = [("sent", 8.6), *((f"bit {7 - row}", 7.5 - row) for row in range(8)), ("arrived", -0.6)]
    names = [Words([-0.2], (name,), y, large=False, align="right") for name, y in labels]
    letters = [Words(middles, tuple(_shown(result.sent)), 8.6), Words(middles, tuple(_shown(result.arrived)), -0.6)]
    return Pane((-2, MOST_BYTES), (-1.2, 9.2), "", "", (*tiles, *rows, *names, *letters), bare=True, share=1.1,
                title="The bits as they arrive")


COLUMNS = 0.0, 5.2, 8.6, 12.0, 15.2  # where those of the table begin


def _checks_pane(result):
    """A row for each check."""
    rows = len(NAMES)
    random = f"missed of {result.trials}" if result.trials else "at random"
    items = [Words([x], (title,), rows + 0.5, large=False, align="left")
             for x, title in zip(COLUMNS, ("check", "sent", "arrived", "this one", random), strict=True)]
    changed = result.flips.any()
    verdicts = {"seen": [], "missed": [], "–": []}
    for row, (name, (before, after)) in enumerate(result.values.items()):
        y = rows - row - 0.5
        verdict = "–" if not changed else "seen" if before != after else "missed"
        verdicts[verdict].append(y - 0.5)
        texts = (NAMES[name], _value(name, before), _value(name, after), verdict, _random(result, name, short=True))
        items += [Words([x], (words,), y, large=False, align="left")
                  for x, words in zip(COLUMNS, texts, strict=True)]
    looks = (("seen", SKY, ""), ("missed", VERMILLION, "x"))
    tiles = [Tiles(np.full(len(ys), 11.8), np.array(ys), 3.0, 1, colour=colour, hatch=hatch)
             for name, colour, hatch in looks if (ys := verdicts[name])]
    return Pane((-0.2, 20.4), (0, rows + 1), "", "", (*tiles, *items), bare=True,
                title="What the checks say; at random with 95 % interval")


def _value(name, value):
    if name == BYTE_PARITY:
        return np.packbits(np.frombuffer(value, np.uint8)).tobytes().hex()
    return str(value[0]) if name == "parity" else value.hex()


def _random(result, name, short=False):
    if not result.trials:
        return "none tried"
    low, high = (100 * end for end in interval(result.missed[name], result.trials))
    if short:
        return f"{result.missed[name]}: {low:.1f}–{high:.1f} %"
    return f"{result.missed[name]} of {result.trials}: {low:.1f} to {high:.1f} %"


def _picture_in_words(result):
    said = [f"{NAMES[name]} {'misses' if before == after else 'sees'} it, and missed {_random(result, name)}"
            for name, (before, after) in result.values.items()]
    hit = ", ".join(map(str, np.flatnonzero(result.flips))) or "none"
    return (f"Above, the {len(result.sent)} bytes as columns of bits; flipped are: {hit}. Below, the checks: "
            f"{'; '.join(said)} of the random damages.")


def pick_tile(state, pane, x, y):
    """Pointing at a bit flips it, or flips it back."""
    column, row = int(np.floor(x)), int(np.floor(y))
    count = len(state.words.encode("utf-8")[:MOST_BYTES])
    if pane != 0 or not (0 <= column < count and 0 <= row < 8):
        return {}
    painted, _ = _painted(state.by_hand, 8 * count)
    painted ^= {8 * column + 7 - row}
    return {"by_hand": " ".join(map(str, sorted(painted)))}


DAMAGE = Experiment(
    "damage",
    "Damage a text and ask the checks",
    "Which checks notice which damage, and why do some of them miss it?",
    DamageState, find, draw, pick_tile=pick_tile,
)
