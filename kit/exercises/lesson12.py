"""Lesson 12, copy a copy, then use a real recorder: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "A tape of data is dubbed from recorder to recorder, a copy of a copy of a copy. What becomes of the data?",
        (
            Option(
                "It reads whole for some copies, and then it fails",
                "Noise gathers unseen while every bit is still sure; then bits go wrong.",
            ),
            Option(
                "Nothing: bits stay bits, however often one copies",
                "A dub copies the wave, with its noise; the bits are not looked at.",
                "copying sound is copying data",
            ),
            Option(
                "From each copy to the next it loses some more bytes",
                "At first no byte is lost: a bit is right until the noise reaches its limit.",
                "data wears off evenly",
            ),
            Option(
                "It only gets quieter: a louder replay mends that",
                "Turning up the replay turns up the noise as well.",
                "a copy is only quieter",
            ),
        ),
    ),
    Choice(
        "A tape is read, its check agrees, and its bytes are recorded anew. Why does the new tape start clean?",
        (
            Option(
                "The check takes the hiss out of the wave",
                "A check only says whether the bits are right.",
                "a check mends the sound",
            ),
            Option(
                "The new tape is louder than the old one",
                "Loudness would lift the old hiss as well, if it were there.",
                "louder is cleaner",
            ),
            Option(
                "Every second recording cancels the noise",
                "Noises of two recordings add; they do not cancel.",
                "noise cancels noise",
            ),
            Option(
                "Only bits went on: the hiss stayed behind",
                "A bit is one of two; what is not bit is not written again.",
            ),
        ),
    ),
    Choice(
        "Two hisses, equally strong and independent, lie on one tape. How much stronger than one of them are they?",
        (
            Option(
                "6 dB: their levels add up",
                "They rarely peak together: it is their powers that add.",
                "levels of noise add",
            ),
            Option(
                "3 dB: their powers add up",
                "Twice the power is 3.01 dB.",
            ),
            Option(
                "0 dB: they average out",
                "Each brings its power, and power is never negative.",
                "noise cancels noise",
            ),
            Option(
                "100 dB: the dB double up",
                "Decibels are a ratio: they do not double with the power.",
                "decibels add like lengths",
            ),
        ),
    ),
)

LESSON = Lesson(12, "Copy a copy, then use a real recorder", recall=RECALL)
