"""Lesson 10, find the right level: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

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

LESSON = Lesson(10, "Find the right level", recall=RECALL)
