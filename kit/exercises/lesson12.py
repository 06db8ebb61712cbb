"""Lesson 12, copy a copy, then use a real recorder: what gathers from copy to copy, and what stays behind."""

from .items import Choice, Option
from .lesson12compare import COMPARE, sent_of
from .lesson12numbers import BY_HAND, GATHERED, LAST_COPY
from .lessons import Lesson

__all__ = ["LESSON"]

DUBS = Choice(
    "A tape at twice the ordinary speed is dubbed, the copy is dubbed, and so on, eight recordings in all. What "
    "becomes of the words?",
    (
        Option(
            "Nothing: these are bits, so all eight tapes load whole.",
            "Only the first ones did: what is dubbed is a wave, not bits.",
            "copying sound is copying data",
        ),
        Option(
            "A few more letters are wrong in each copy than before.",
            "At first there was none, and then, within a copy or two, there were no words left.",
            "data wears off evenly",
        ),
        Option(
            "The first ones load whole; from some copy on, none does.",
            "So it was: not one letter wrong, and then no whole file any more.",
        ),
        Option(
            "They get quieter; turned up again, all eight load whole.",
            "Turning up changes no edge and lifts the hiss as well: what did not load does not load then.",
            "a copy is only quieter",
        ),
    ),
    "Each copy adds its own hiss, and loses some of the highs once more. As long as every bit is nearer to what it "
    "was than to the other one, nothing is wrong and nothing shows; then the short cycles are lost, all about at "
    "once. From the words of the last good copy you could not have told how near the end it was.",
)

ANEW = Choice(
    "Now each tape is read and checked, and its words are encoded and recorded anew. What is the eighth tape like?",
    (
        Option(
            "As worn as the eighth dub: it went through as many recordings.",
            "Its sound went through one recording: the seven before it handed on words only.",
            "wear belongs to the data",
        ),
        Option(
            "Like the first one: it has the hiss of one recording, no more.",
            "So it was: the eighth is as clean as the first.",
        ),
        Option(
            "Free of all hiss: the check takes out what is not in the data.",
            "It has the hiss of its own recording: a check changes no sound.",
            "a check mends the sound",
        ),
        Option(
            "A little better than the dub: about half of the wear is saved.",
            "Nothing of the wear was handed on, not even half.",
            "reading anew only slows the wear",
        ),
    ),
    "Reading decides for each bit which of two it is; where it is right, hiss and lost highs are gone, for they "
    "are not written again. The new tape has its own hiss only. Two conditions: each tape must still load, and "
    "the check must say that it did, for a wrong bit would be written as cleanly as a right one.",
)

EXIT = Choice(
    "The third dub of an old log still loads whole. The station wants to keep that log for years, and on more "
    "tapes. What should it do?",
    (
        Option(
            "Dub it on as it is: it loads whole, so nothing is lost yet.",
            "What is lost does not show in the words until it is too late. Try another answer.",
            "what loads has no wear",
        ),
        Option(
            "Dub it at a higher volume, so that the hiss stays behind.",
            "The hiss is in the sound, and becomes louder with it. Try another answer.",
            "volume parts sound from hiss",
        ),
        Option(
            "Keep it till it fails, and then read it and record it anew.",
            "What no longer reads can no longer be written anew. Try another answer.",
            "a tape can be saved after it has failed",
        ),
        Option(
            "Read it now, see that it checks, and record its bytes anew.",
            "So it is: while it loads, all that was on it can start clean.",
        ),
    ),
)

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

LESSON = Lesson(
    12,
    "Copy a copy, then use a real recorder",
    items={"a": DUBS, "b": ANEW, "c": BY_HAND, "d": GATHERED, "e": EXIT, "m": COMPARE, "s": LAST_COPY},
    words=("m", sent_of),
    can=(
        ("mark by hand which letters did not arrive", "c"),
        ("work out how hiss gathers from copy to copy", "d"),
        ("write a function that compares what was sent with what arrived", "m"),
        ("say how a log is kept for years", "e"),
        ("work out how many copies hiss alone would leave", "s"),
    ),
    recall=RECALL,
)
