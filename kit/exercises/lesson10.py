"""Lesson 10, find the right level: what turning up does to wave and hiss, decibels, and a level with room."""

from dataclasses import replace
from math import log10

from .items import Choice, Entry, Mistake, Option
from .lesson10level import BEST_LEVEL, drawn_levels, middle_of_longest
from .lessons import Lesson

__all__ = ["LESSON"]

LOUDER = Choice(
    "Your words lie on a hissy tape. You play it 8 dB louder, at −6 instead of −14 dB. How many bits will be wrong?",
    (
        Option(
            "Fewer: a louder wave stands out better from its hiss.",
            "The wave did grow, and the hiss with it by just as much: the knob turns both.",
            "turning up lifts the wave out of the hiss",
        ),
        Option(
            "More: the hiss comes up, too, and passes the threshold.",
            "So it was: with everything louder by as much, the hiss gave edges of its own.",
        ),
        Option(
            "As many: volume moves no edges, as lesson 4 has shown.",
            "No edge of the wave was moved; but hiss put edges of its own between them.",
            "volume never matters, hiss or not",
        ),
        Option(
            "More: a wave that is so loud is cut off at full scale.",
            "At −6 dB next to nothing is cut off. And even cut off, a clean tape reads: try it on the bench.",
            "a wave that is cut off is lost",
        ),
    ),
    "This reader says that the wave has turned when it has gone beyond the threshold on the other side of zero. At "
    "−14 dB the hiss alone hardly gets so far. At −6 dB all is 2.5 times as high, the hiss too, and the threshold "
    "stands where it stood: wherever the wave passes zero, hiss goes beyond it, up and down, and adds edges. So a "
    "tape that is loud enough for the threshold gains nothing by being turned up: it reads the same, or worse.",
)

RECORDED = Choice(
    "This tape hisses so much that hardly any playing level will do. You record it anew, 12 dB louder. What then?",
    (
        Option(
            "Nothing: it is the same to turn up before or afterwards.",
            "It is not: before the tape there is no hiss yet that could be turned up.",
            "it is the same to turn up before the hiss or after it",
        ),
        Option(
            "It is worse: a louder recording makes more of the hiss.",
            "The hiss stayed as it was: it comes from the tape, whatever is on it.",
            "hiss is made of the recording",
        ),
        Option(
            "It reads at just one level, which is 12 dB lower by now.",
            "The levels that read did not move down: there are more of them, and they reach far up.",
            "a louder recording only shifts the level",
        ),
        Option(
            "It reads at most levels: the wave rose, the hiss did not.",
            "So it was: the wave now lies farther above the hiss, and no knob after the tape can do that.",
        ),
    ),
    "Hiss comes from the tape itself: its grains lie there as they lie, whatever is recorded on them. Turned up "
    "before the tape, the wave rises alone; turned up behind it, both rise. But a tape holds only so much; what is "
    "recorded louder than that it bends over, and short cycles suffer first.",
)


def _db(times):
    return 20 * log10(times)


DECIBELS = Entry(
    kind="number",
    question=lambda data: (
        f"Twice as high is 6.02 dB, ten times as high is 20 dB, and decibels add up where factors multiply. "
        f"A wave becomes {2 ** data[0] * 10 ** data[1]} times as high: how many dB is that?"
    ),
    draw=lambda draws: [draws.between(1, 4), draws.between(1, 2)],
    right=lambda data: _db(2 ** data[0] * 10 ** data[1]),
    mistakes=(
        Mistake(
            "power",
            lambda data: _db(2 ** data[0] * 10 ** data[1]) / 2,
            "takes the rule for power",
            "This is half of it: the rule for power, not for height.",
            "How many dB is ten times as high?",
            "1000 is 10 × 10 × 10, so 20 + 20 + 20 = 60 dB.",
        ),
        Mistake(
            "factor",
            lambda data: 2 ** data[0] * 10 ** data[1],
            "takes decibels for the factor",
            "This is the factor itself.",
            "Write the factor with 2 and 10 only: how many of each?",
            "1000 is 10 × 10 × 10, so 20 + 20 + 20 = 60 dB.",
        ),
        Mistake(
            "multiplied",
            lambda data: 6.02 ** data[0] * 20 ** data[1],
            "multiplies decibels",
            "You multiplied decibels.",
            "Factors multiply, and their decibels?",
            "1000 is 10 × 10 × 10, so 20 + 20 + 20, not 20 × 20 × 20.",
        ),
    ),
    look="Take it apart into factors of 2 and of 10, and add what each of them counts.",
    worked="1000 is 10 × 10 × 10, so 20 + 20 + 20 = 60 dB.",
    reply="Right: and turned down by as much it is the same number, with a minus.",
    tolerance=0.01,
)


def _tried(data):
    """Levels and what came of them, in words."""
    words = (f"{gain} {'yes' if right else 'no'}" for gain, right in zip(*data, strict=True))
    return ", ".join(words).replace("-", "−")


BY_HAND = Entry(
    kind="number",
    question=lambda data: (
        f"A tape was played at these levels, in dB; yes means that all was read: {_tried(data)}. "
        "At which level, in dB, is there most room on both sides?"
    ),
    draw=drawn_levels,
    right=lambda data: middle_of_longest(*data),
    mistakes=tuple(
        replace(each, function=lambda data, each=each: each.function(*data))
        for each in BEST_LEVEL.mistakes
        if each.name in ("loudest", "quietest", "across gaps", "first row")
    ),
    look="Mark what was read: where do most of the marks stand beside each other?",
    worked="If −20, −8, −6 and −4 are read, three of them are neighbours: −6 is in their middle.",
    reply="Right: a little louder or a little quieter, and it still reads.",
)

ABOVE_HISS = Entry(
    kind="number",
    question=lambda data: (
        f"On a tape the wave lies {data[0]} dB above the hiss. It is recorded anew, {data[1]} dB louder, and played "
        f"{data[2]} dB louder. How many times as high as the hiss is the wave then?"
    ),
    draw=lambda draws: [draws.between(3, 12), draws.between(4, 14), draws.between(3, 20)],
    right=lambda data: 10 ** ((data[0] + data[1]) / 20),
    mistakes=(
        Mistake(
            "played too",
            lambda data: 10 ** (sum(data) / 20),
            "counts what was turned up in playing",
            "You counted the playing level as well.",
            "Which of the two knobs turns the hiss, too?",
            "20 dB above, recorded 20 dB louder, played 6 dB louder: 40 dB, or 100 times.",
        ),
        Mistake(
            "as before",
            lambda data: 10 ** (data[0] / 20),
            "takes recording louder for playing louder",
            "This is how it was before.",
            "Does the hiss rise when the wave is recorded louder?",
            "20 dB above, recorded 20 dB louder: 40 dB, or 100 times.",
        ),
        Mistake(
            "power",
            lambda data: 10 ** ((data[0] + data[1]) / 10),
            "takes the rule for power",
            "This is how many times the power is.",
            "Ten times as high: how many dB was that?",
            "40 dB are 20 + 20: ten times and ten times again, 100 times.",
        ),
        Mistake(
            "decibels",
            lambda data: data[0] + data[1],
            "stops at decibels",
            "This is in dB.",
            "How many times as high is it, if 20 dB are ten times?",
            "40 dB are 20 + 20: ten times and ten times again, 100 times.",
        ),
    ),
    look="How many dB above the hiss is it in the end, and how many times is that?",
    worked="20 dB above, recorded 20 dB louder: 40 dB, which is 10 times 10, or 100 times.",
    reply="Right: what is turned up behind the tape does not count.",
    tolerance=0.02,
)

EXIT = Choice(
    "A tape hisses, and a reader with a fixed threshold fails on it at every playing level. What is worth a try?",
    (
        Option(
            "Play it louder still, until the wave is cut off.",
            "The hiss would come up with it. Try another answer.",
            "turning up lifts the wave out of the hiss",
        ),
        Option(
            "Play it so softly that no hiss is to be heard.",
            "Then the wave is no higher above the hiss than before. Try another answer.",
            "quiet hiss does no harm",
        ),
        Option(
            "Record it louder, so that it tops the hiss more.",
            "So it is, as long as the tape is not full. Where it cannot be recorded anew, take a better reader.",
        ),
        Option(
            "Read it with twice as many samples in a second.",
            "More samples describe the hiss as finely as the wave. Try another answer.",
            "more samples take noise away",
        ),
    ),
)

RECALL = (
    Choice(
        "A tape is loud enough for its reader, but hisses so much that bits go wrong. You turn it up. What happens?",
        (
            Option(
                "Fewer bits go wrong, as the wave gets stronger",
                "The hiss gets stronger by just as much: the knob turns both.",
                "turning up lifts the wave out of the hiss",
            ),
            Option(
                "Nothing is read any more, as the wave is cut off",
                "A wave cut off at the top still crosses zero where it did: its edges stay.",
                "a wave that is cut off is lost",
            ),
            Option(
                "As many bits go wrong as before, or even more",
                "Wave and hiss grow together, and more of the hiss goes beyond the threshold.",
            ),
            Option(
                "Only the hiss grows, as it is the weaker of them",
                "A knob does not know wave from hiss: it multiplies both.",
                "a volume knob turns hiss and wave apart",
            ),
        ),
    ),
    Choice(
        "A tape reads at some playing levels, too quiet below them and spoilt by hiss above. Where do you set it?",
        (
            Option(
                "In the middle of those that read",
                "There is room on both sides, should the next tape be a little louder or quieter.",
            ),
            Option(
                "At the loudest of those that read",
                "One step louder it fails: there is no room.",
                "louder is always safer",
            ),
            Option(
                "At the quietest of those that read",
                "One step quieter it fails: there is no room.",
                "the first level that works is the best",
            ),
            Option(
                "At any of them, as all read alike",
                "They read alike today; the next tape may be a little louder or quieter.",
                "what works once has room to spare",
            ),
        ),
    ),
    Choice(
        "A wave is turned down to half of its height. By how many decibels is that?",
        (
            Option(
                "By 50 dB, half of 100",
                "Decibels are no percent.",
                "decibels are percent",
            ),
            Option(
                "By 3 dB, or nearly so",
                "3 dB halve the power; the height falls to 0.7 only.",
                "half the height is half the power",
            ),
            Option(
                "By 2 dB, being halved",
                "Decibels count factors: 20 times the logarithm of 2.",
                "decibels are the factor itself",
            ),
            Option(
                "By 6 dB, or nearly so",
                "20 times the logarithm of 0.5, which is −6.02.",
            ),
        ),
    ),
)


LESSON = Lesson(
    10,
    "Find the right level",
    items={"a": LOUDER, "b": RECORDED, "c": DECIBELS, "d": BY_HAND, "e": EXIT, "m": BEST_LEVEL, "s": ABOVE_HISS},
    can=(
        ("reckon in decibels", "c"),
        ("choose a level with room on both sides", "d"),
        ("write a function that chooses the best level", "m"),
        ("say what helps against hiss, and what does not", "e"),
        ("work out how far a wave lies above the hiss", "s"),
    ),
    recall=RECALL,
)
