"""Lesson 11, choose a loader speed: what is worked out by hand."""

from math import log10

from .items import Entry, Mistake

__all__ = ["BY_HAND", "CEILING", "WAVELENGTH"]

TAPE_UM_S = 47_600  # 4.76 cm of tape a second, in micrometres


def _share(data):
    return data[1] / data[2]


BY_HAND = Entry(
    kind="number",
    question=lambda data: (
        f"One load takes {data[0]} s, and of {data[2]} loads {data[1]} came out whole. How many seconds does it take "
        "on average until one has come out whole?"
    ),
    draw=lambda draws: [5 * draws.between(6, 40), draws.between(2, 8), 10],
    right=lambda data: data[0] / _share(data),
    mistakes=(
        Mistake(
            "times",
            lambda data: data[0] * _share(data),
            "multiplies by the share of good loads",
            "This is shorter than one load.",
            "Can a good load come sooner than one load lasts?",
            "20 s, and 1 of 4 whole: four tries on average, 80 s.",
        ),
        Mistake(
            "one try",
            lambda data: data[0],
            "forgets that failed loads are tried again",
            "This is one load, whole or not.",
            "What does one do after a load that failed?",
            "20 s, and 1 of 4 whole: three tries fail for one that works, 80 s.",
        ),
        Mistake(
            "second surely",
            lambda data: data[0] * (2 - _share(data)),
            "takes it that a second try always works",
            "This gives each failed load one more try, and no third.",
            "May the second try fail as well?",
            "20 s, and 1 of 4 whole: 80 s; with one more try only, 35 s.",
        ),
        Mistake(
            "failures",
            lambda data: data[0] / (1 - _share(data)),
            "divides by the share of failures",
            "So long one waits for a load that fails.",
            "Which loads do you wait for?",
            "20 s, and 1 of 4 whole: one in four is good, so four tries, 80 s.",
        ),
    ),
    look="How many tries are there, on average, for one that works?",
    worked="20 s, and 1 of 4 whole: four tries on average, 80 s.",
    reply="Right: the time of one load, divided by the share of loads that come out whole.",
)

WAVELENGTH = Entry(
    kind="number",
    question=lambda data: (
        f"The tape moves 4.76 cm in a second, and {data} cycles are written on it in that time. How long is one of "
        "them on the tape, in micrometres (thousandths of a millimetre)?"
    ),
    draw=lambda draws: 100 * draws.between(15, 120),
    right=lambda data: TAPE_UM_S / data,
    mistakes=(
        Mistake(
            "centimetres",
            lambda data: TAPE_UM_S / data / 10,
            "takes a centimetre for a thousand micrometres",
            "This is ten times too short.",
            "How many micrometres are there in a centimetre?",
            "1000 cycles in 4.76 cm, or 47600 µm: 47.6 µm each.",
        ),
        Mistake(
            "millimetres",
            lambda data: TAPE_UM_S / data / 1000,
            "gives millimetres",
            "This would be right in millimetres.",
            "How many micrometres are there in a millimetre?",
            "1000 cycles in 47.6 mm: 0.0476 mm, or 47.6 µm, each.",
        ),
        Mistake(
            "half",
            lambda data: TAPE_UM_S / data / 2,
            "takes half a cycle for a whole one",
            "This is half of it.",
            "A cycle has two halves: which did you take?",
            "1000 cycles in 47600 µm: 47.6 µm each, both halves together.",
        ),
    ),
    look="How much tape goes by in a second, in micrometres, and how many cycles share it?",
    worked="1000 cycles in 4.76 cm, or 47600 µm: 47.6 µm each.",
    reply="Right. A hair is thicker than that.",  # common practice: some 70 µm
)


def _drawn_channel(draws):
    """A bandwidth in Hz, and how many times as powerful as the noise the signal is: one less than a power of two."""
    return [500 * draws.between(4, 24), 2 ** draws.between(5, 12) - 1]


def _bits_of_ratio(data):
    return (data[1] + 1).bit_length() - 1


CEILING = Entry(
    kind="number",
    question=lambda data: (
        f"A recorder carries a bandwidth of {data[0]} Hz, in which the signal is {data[1]} times as powerful as the "
        "noise. Shannon's ceiling is the bandwidth times the logarithm to base 2 of (1 + that ratio). How many bits "
        "a second?"
    ),
    draw=_drawn_channel,
    right=lambda data: data[0] * _bits_of_ratio(data),
    mistakes=(
        Mistake(
            "ratio",
            lambda data: data[0] * (1 + data[1]),
            "leaves out the logarithm",
            "You multiply by the ratio itself.",
            "How often must 2 be doubled to get there? That is the logarithm.",
            "1000 Hz, ratio 7: 1 + 7 = 8 = 2 × 2 × 2, so 3 bits for each hertz: 3000.",
        ),
        Mistake(
            "base ten",
            lambda data: data[0] * log10(1 + data[1]),
            "takes the logarithm to base 10",
            "This is a third of it, roughly.",
            "Which base does your logarithm have?",
            "1000 Hz, ratio 7: base 2 gives 3, base 10 only 0.9.",
        ),
        Mistake(
            "doubled",
            lambda data: 2 * data[0] * _bits_of_ratio(data),
            "takes two bits for each cycle of the bandwidth first",
            "This is twice as much.",
            "What is there to be doubled? The formula has the bandwidth once.",
            "1000 Hz, ratio 7: 1000 times 3, not 2000 times 3.",
        ),
        Mistake(
            "bandwidth",
            lambda data: data[0],
            "takes one bit a second for each hertz",
            "This is the bandwidth alone.",
            "What does the ratio do in the formula?",
            "1000 Hz, ratio 7: not 1000 but 3 times 1000.",
        ),
    ),
    look="Write 1 + the ratio as 2 × 2 × …: how many twos are there?",
    worked="1000 Hz, ratio 7: 1 + 7 = 8 = 2 × 2 × 2, so 3 bits for each hertz: 3000.",
    reply="Right. Twice the signal's power adds one bit for each hertz, roughly; twice the bandwidth doubles it all.",
)
