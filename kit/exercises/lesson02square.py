"""Lesson 2, build a square wave: the function that adds sines, and the ways to get it wrong."""

from math import cos, pi, sin

from .checking import FunctionTask
from .items import Mistake

__all__ = ["BUILD_SQUARE", "square_of_sines"]


def square_of_sines(f, k, t):
    """Level of a square wave of ±1 at one time, built of its first sines.

    Parameters
    ----------
    f : float
        Hertz.
    k : int
        How many sines are added.
    t : float
        Seconds since the wave rose through zero.

    Returns
    -------
    float

    Examples
    --------
    >>> round(square_of_sines(1000, 1, 0.00025), 4), round(square_of_sines(1000, 200, 0.00025), 2)
    (1.2732, 1.0)
    """
    return 4 / pi * sum(sin(2 * pi * n * f * t) / n for n in _odd(k))


def _odd(count):
    return range(1, 2 * count, 2)


def _summed(numbers, size=lambda n: 1 / n, wave=sin, turn=2 * pi):
    """A wrong function: a sum over other numbers, or with another size, wave or turn."""
    return lambda f, k, t: 4 / pi * sum(size(n) * wave(turn * n * f * t) for n in numbers(k))


def _single(f, n, t):
    return 4 / pi * sin(2 * pi * n * f * t) / n


def _drawn_moment(draws):
    """A frequency, how many sines, and a moment at which the wave is not near zero."""
    f, k = 50 * draws.between(6, 60), draws.between(4, 9)
    half_cycles = draws.between(0, 7)
    in_half = draws.between(20, 80)  # percent of a half-cycle: an edge is far
    return f, k, round(1e4 * (100 * half_cycles + in_half) / (2 * f)) / 1e6


MISTAKES = (
    Mistake(
        "stub",
        lambda f, k, t: 0.0,
        "has not begun",
        "It gives 0 at every time so far.",
        "Begin with one sine: what is its level at time t?",
        "A sine of 50 Hz has the level sin(2 * pi * 50 * t).",
    ),
    Mistake(
        "all harmonics",
        _summed(lambda k: range(1, k + 1)),
        "adds every multiple of the frequency",
        "Your wave is a ramp, not a square: it falls steadily from edge to edge.",
        "Which multiples stood in the picture: every one of them?",
        "For 50 Hz the first three are 50, 150 and 250 Hz; 100 Hz is none of them.",
    ),
    Mistake(
        "even harmonics",
        _summed(lambda k: range(2, 2 * k + 1, 2)),
        "adds the even multiples",
        "Your wave has twice as many cycles as it should have.",
        "Which multiple is the lowest one that you add?",
        "For 50 Hz the sines are 50, 150, 250 Hz, and not 100, 200, 300 Hz.",
    ),
    Mistake(
        "equal sizes",
        _summed(_odd, size=lambda n: 1),
        "gives all sines the same size",
        "Your wave has a spike beside each edge, and little between.",
        "Are the fast sines in the picture as high as the slow one?",
        "The sine at 3 times the frequency is a third as high, the one at 5 a fifth.",
    ),
    Mistake(
        "size by place",
        lambda f, k, t: sum(n * _single(f, n, t) / (place + 1) for place, n in enumerate(_odd(k))),
        "divides by a sine's place in the row, not by its multiple",
        "Your frequencies are right, but all sines after the first are too high.",
        "The second sine is not half as high as the first: how high is it?",
        "The third sine, at 5 times the frequency, is a fifth as high, not a third.",
    ),
    Mistake(
        "power for size",
        _summed(_odd, size=lambda n: 1 / n**2),
        "takes a sine's share of the power for its size",
        "Your wave is too round: its fast sines are too small.",
        "What is the second sine divided by: by 3, or by 9?",
        "The third sine is divided by 5; its power is a 25th, but that is another thing.",
    ),
    Mistake(
        "no 4/pi",
        lambda f, k, t: square_of_sines(f, k, t) * pi / 4,
        "leaves out the common factor 4/π",
        "The shape is right, but it lies at 0.79, not at 1.",
        "By which number are all sizes in the picture multiplied?",
        "With one sine alone, the highest level is 1.27, which is 4/π.",
    ),
    Mistake(
        "cosines",
        _summed(_odd, wave=cos),
        "takes cosines for sines",
        "At t = 0 your wave is at its highest, instead of crossing zero.",
        "Which of the two begins at zero: sine or cosine?",
        "sin(0) is 0 and cos(0) is 1: an edge belongs at t = 0.",
    ),
    Mistake(
        "highest multiple",
        _summed(lambda k: range(1, k + 1, 2)),
        "takes the number of sines for the highest multiple",
        "You add too few sines: your wave is rounder than it should be.",
        "Count them: for k = 3, how many sines do you add?",
        "k = 3 means three sines: multiples 1, 3 and 5. The highest is not 3.",
    ),
    Mistake(
        "one too few",
        lambda f, k, t: square_of_sines(f, k - 1, t),
        "ends the loop one sine early",
        "You add one sine too few.",
        "For k = 1 there is one sine: how often does your loop run then?",
        "range(1, 5, 2) is 1 and 3: a range ends before its second number.",
    ),
    Mistake(
        "one too many",
        lambda f, k, t: square_of_sines(f, k + 1, t),
        "ends the loop one sine late",
        "You add one sine too many.",
        "For k = 1 there is one sine: how often does your loop run then?",
        "range(0, 3) runs three times: for 0, 1 and 2.",
    ),
    Mistake(
        "one frequency",
        lambda f, k, t: sum(_single(f, 1, t) / n for n in _odd(k)),
        "changes the sizes only, and not the frequencies",
        "Your wave is one sine, higher than it should be.",
        "Does each of your sines have a frequency of its own?",
        "For 50 Hz: sin(2 * pi * 50 * t), then sin(2 * pi * 150 * t) / 3.",
    ),
    Mistake(
        "last alone",
        lambda f, k, t: _single(f, 2 * k - 1, t),
        "keeps the last sine instead of the sum",
        "Your wave is one fast, small sine: the last one.",
        "What happens to the sines before it, each time round the loop?",
        "level = x forgets what was there; level = level + x adds to it.",
    ),
    Mistake(
        "first alone",
        lambda f, k, t: _single(f, 1, t),
        "returns from inside the loop",
        "Your wave is one sine: the first one.",
        "When does your function return: inside the loop, or after it?",
        "A return ends a function at once, even in the first round of a loop.",
    ),
    Mistake(
        "no turns",
        _summed(_odd, turn=1),
        "leaves out 2π",
        "Your wave is more than six times too slow.",
        "By how much does the angle grow in one cycle?",
        "After one cycle of 50 Hz, at t = 1/50, the angle must be 2 * pi, not 1.",
    ),
    Mistake(
        "degrees",
        _summed(_odd, turn=360),
        "gives the angle in degrees",
        "Your wave is far too fast: its angles are in degrees.",
        "What does Python's sin take: degrees or radians?",
        "One turn is 2 * pi for Python's sin, not 360.",
    ),
    Mistake(
        "list",
        lambda f, k, t: [_single(f, n, t) for n in _odd(k)],
        "gives the sines one by one, without adding them",
        "You return a list of levels, one for each sine.",
        "One level is wanted: what does the wave do with its sines?",
        "sum([0.5, 0.25]) is 0.75: one number.",
    ),
)


def _number(result):
    return result if type(result) in (int, float) else None


BUILD_SQUARE = FunctionTask(
    name="build_square",
    right=square_of_sines,
    mistakes=MISTAKES,
    what="a number",
    accepts=_number,
    draw=_drawn_moment,
    edge=(1000, 0, 0.0001),
    edge_words="no sines",
    about=lambda f, k, t: f"f = {f}, k = {k}",
    look="Try k = 1, then k = 2: is it the first sine, then the sum of two?",
    worked="For 50 Hz and k = 2: 4/π times sin(2 * pi * 50 * t) + sin(2 * pi * 150 * t) / 3.",
)
