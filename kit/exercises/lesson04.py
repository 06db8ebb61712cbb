"""Lesson 4, put bits into timing: what volume and sample rate change, and reading lengths by hand."""

from .items import Choice, Entry, Mistake, Option
from .lesson04bits import READ_BITS, bits_of_edges, words_of
from .lessons import Lesson

__all__ = ["LESSON"]

VOLUME = Choice(
    "You record the same words once more, at half the volume. What does the loader read?",
    (
        Option(
            "Only zeros: at half the height, a 1 looks like a 0.",
            "The bits stayed as they were: a 1 is not a high wave, it is a long one.",
            "a bit is the height of the wave",
        ),
        Option(
            "About half of the bits: quieter waves count for less.",
            "No bit was lost: each wave still crosses zero, and that is all that is counted.",
            "a quieter wave carries fewer bits",
        ),
        Option(
            "The same bits, every one of them, as it did before.",
            "So it was: half the height, and every edge where it was.",
        ),
        Option(
            "The same bits, but it needs twice as long for them.",
            "The time stayed as it was: volume does not stretch the tape.",
            "volume and time depend on each other",
        ),
    ),
    "The loader looks at when the wave crosses zero. Halving every level leaves zero where it is, so each crossing "
    "stays in its place. In the end there is a limit: when the wave is no higher than the hiss, or no higher than "
    "a step of the file.",
)

RATE = Choice(
    "A file holds so many samples a second. You write the same tape with twice as many. What changes?",
    (
        Option(
            "The same bits a second, in a file of twice the size.",
            "So it was: the wave lasts as long as before, only described more finely.",
        ),
        Option(
            "Twice as many bits a second, in a file of equal size.",
            "The bits a second stayed: cycles decide how fast bits come, not samples.",
            "samples are bits of data",
        ),
        Option(
            "The same bits a second, in a file of the same size.",
            "The file grew: each sample takes its two bytes, needed or not.",
            "samples cost nothing",
        ),
        Option(
            "The sound plays in half the time, an octave higher.",
            "The time stayed: the player knows the new rate, and takes the samples twice as fast.",
            "more samples a second play faster",
        ),
    ),
    "Two speeds must be told apart. The format says how long a cycle lasts, and with it how many bits fit into a "
    "second; the sample rate says how finely the wave is described. More samples do no harm and fill the disk; with "
    "too few, edges fall between them and are lost.",
)


def _drawn_cycles(draws):
    """Six cycle lengths in hundredths of a millisecond, and what short and long ones measure."""
    short = draws.between(30, 60)
    long = 2 * short - draws.between(1, 5)
    bits = [draws.below(2) for _ in range(6)]
    return short, long, [(long if bit else short) + draws.between(-4, 4) for bit in bits]


def _cycle_bits(data):
    short, long, cycles = data
    return [int(2 * cycle > short + long) for cycle in cycles]


BY_HAND = Entry(
    kind="bits",
    question=lambda data: (
        f"Short cycles last about {data[0] / 100:.2f} ms and long ones about {data[1] / 100:.2f} ms. "
        f"Yours last {', '.join(f'{each / 100:.2f}' for each in data[2])} ms. Which six bits are these?"
    ),
    draw=_drawn_cycles,
    right=_cycle_bits,
    mistakes=(
        Mistake(
            "inverted",
            lambda data: [1 - bit for bit in _cycle_bits(data)],
            "takes a long cycle for a 0",
            "Each bit is the other one.",
            "Which bit does a long cycle stand for?",
            "Of 0.21 and 0.40 ms, the second is the long one: 0, 1.",
        ),
        Mistake(
            "backwards",
            lambda data: _cycle_bits(data)[::-1],
            "reads from the end",
            "The bits are back to front.",
            "Which of the cycles comes first on the tape?",
            "0.21, 0.40, 0.39 ms are 0, 1, 1: the first length gives the first bit.",
        ),
        Mistake(
            "twice",
            lambda data: [bit for bit in _cycle_bits(data) for _ in "ab"],
            "takes each half-cycle for a bit",
            "You give every bit twice.",
            "These are whole cycles: one bit each.",
            "0.21, 0.40 ms are two cycles, so two bits: 0, 1.",
        ),
    ),
    look="Go from length to length: is it nearer to the short or to the long one?",
    worked="0.21, 0.40, 0.39 ms with short 0.20 and long 0.40 are 0, 1, 1.",
    reply="Right: these are your six bits.",
)

MIDDLE = Entry(
    kind="number",
    question=lambda data: (
        f"On another tape, short cycles last {data[0] / 100:.2f} ms and long ones {data[1] / 100:.2f} ms, more or "
        "less. Where would you draw the line between them: at how many ms?"
    ),
    draw=lambda draws: [short := draws.between(21, 60), 2 * short + draws.between(2, 6)],
    right=lambda data: (data[0] + data[1]) / 200,
    mistakes=(
        Mistake(
            "sum",
            lambda data: (data[0] + data[1]) / 100,
            "forgets to halve",
            "This is longer than a long cycle.",
            "Halfway between two numbers: what is done with their sum?",
            "Halfway between 2 and 5 lies 3.5, half of 7.",
        ),
        Mistake(
            "half the gap",
            lambda data: (data[1] - data[0]) / 200,
            "takes half of the difference",
            "This is shorter than a short cycle.",
            "Half of the gap, counted from where?",
            "From 2 to 5 the gap is 3; halfway lies 2 + 1.5 = 3.5.",
        ),
        Mistake(
            "short",
            lambda data: data[0] / 100,
            "draws the line at the short cycle",
            "This is a short cycle itself.",
            "A cycle a little longer than that: is it a long one?",
            "Between 2 and 5, the line lies at 3.5: 2.1 is still short.",
        ),
        Mistake(
            "long",
            lambda data: data[1] / 100,
            "draws the line at the long cycle",
            "This is a long cycle itself.",
            "A cycle a little shorter than that: is it a short one?",
            "Between 2 and 5, the line lies at 3.5: 4.9 is still long.",
        ),
    ),
    look="Mark both lengths on a line: where is their middle?",
    worked="Halfway between 2 and 5 lies 3.5, half of 7.",
    reply="Right: below it a cycle counts as short, above it as long.",
    tolerance=0.01,
)

TOO_FAST = Entry(
    kind="number",
    question=lambda data: (
        f"A tape has short cycles of {data[0]} µs and long ones of {data[1]} µs. It is played too fast, and every "
        "cycle shrinks. By how many percent may it run too fast before a long cycle is taken for a short one?"
    ),
    draw=lambda draws: [short := 10 * draws.between(20, 50), short * draws.between(16, 23) // 10],
    right=lambda data: 100 * (2 * data[1] / (data[0] + data[1]) - 1),
    mistakes=(
        Mistake(
            "of the length",
            lambda data: 100 * (1 - (data[0] + data[1]) / (2 * data[1])),
            "takes the part by which a cycle shrinks for the part by which the tape runs faster",
            "By so much does the cycle shrink: it is not yet the speed.",
            "At twice the speed a cycle shrinks by half: 100 % faster, 50 % shorter.",
            "From 4 to 3 ms: shorter by a quarter, at a speed of 4/3, a third more.",
        ),
        Mistake(
            "to short",
            lambda data: 100 * (data[1] / data[0] - 1),
            "lets the long cycle shrink to the short one",
            "By then the long cycle is as short as a short one.",
            "It is taken for short already at the middle.",
            "Short 2 ms, long 4 ms: trouble begins at 3 ms, not at 2.",
        ),
        Mistake(
            "too slow",
            lambda data: 100 * ((data[0] + data[1]) / (2 * data[0]) - 1),
            "asks when a short cycle is taken for a long one",
            "This fits a short cycle that grows.",
            "Too fast: which cycles cross the middle, and from which side?",
            "Short 2 ms, long 4 ms: at 4/3 of the speed the long one lasts 3 ms.",
        ),
    ),
    look="How long may a long cycle be at least, and what part of it is that?",
    worked="Short 2 ms, long 4 ms: 4 ms become 3 ms at 4/3 of the speed, a third too fast.",
    reply="Right. Recorders in order are a few percent off: cycle length forgives a lot.",
    tolerance=0.02,
)

EXIT = Choice(
    "Which of these makes the bits come faster?",
    (
        Option(
            "A higher sample rate, so that more samples pass in a second.",
            "Samples describe the wave; they are not its bits. Try another answer.",
            "samples are bits of data",
        ),
        Option(
            "A greater volume, so that each wave is easier to recognise.",
            "Volume leaves every edge where it is. Try another answer.",
            "volume and time depend on each other",
        ),
        Option(
            "Shorter cycles, so that more of them fit into one second.",
            "So it is: each cycle is a bit. How short they may be is a question for later lessons.",
        ),
        Option(
            "More ones than zeros, as ones are the stronger of the two.",
            "A one is longer, not stronger: more of them make the tape slower. Try another answer.",
            "a 1 is more signal than a 0",
        ),
    ),
)

RECALL = (
    Choice(
        "A tape is played at a quarter of its volume, still well above the hiss. What changes in the bits?",
        (
            Option(
                "Nothing: the edges stay where they are",
                "The edges are where the wave crosses zero, at any volume.",
            ),
            Option(
                "A quarter of them remains, the loudest",
                "No bit is louder than another.",
                "a quieter wave carries fewer bits",
            ),
            Option(
                "All are zeros: a 1 needs full volume",
                "A 1 is a long cycle, not a high one.",
                "a bit is the height of the wave",
            ),
            Option(
                "They come at a quarter of the speed",
                "Volume does not stretch time.",
                "volume and time depend on each other",
            ),
        ),
    ),
    Choice(
        "What decides how many bits a second a tape of long and short cycles carries?",
        (
            Option(
                "The sample rate of its sound file",
                "That says how finely the wave is described.",
                "samples are bits of data",
            ),
            Option(
                "The volume at which it is recorded",
                "Volume leaves time as it is.",
                "volume and time depend on each other",
            ),
            Option(
                "The size of its file, in kilobytes",
                "The file grows with the sample rate, the bits a second do not.",
                "a larger file is a faster tape",
            ),
            Option(
                "The length of its cycles, in time",
                "A cycle is a bit: the shorter, the more of them fit into a second.",
            ),
        ),
    ),
)

LESSON = Lesson(
    4,
    "Put bits into timing",
    items={"a": VOLUME, "b": RATE, "c": BY_HAND, "d": MIDDLE, "e": EXIT, "m": READ_BITS, "s": TOO_FAST},
    words=("m", lambda data: words_of(bits_of_edges(*data))),
    can=(
        ("read bits from the lengths of cycles by hand", "c"),
        ("say where to draw the line between short and long", "d"),
        ("write a function that reads bits from edges", "m"),
        ("say what makes bits come faster, and what does not", "e"),
        ("work out how much too fast a tape may run", "s"),
    ),
    recall=RECALL,
)
