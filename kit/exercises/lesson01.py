"""Lesson 1, save words as sound: what a scratch does, and letters to bits."""

from .checking import FunctionTask
from .items import Choice, Mistake, Option
from .lessons import Lesson
from .words import log_line

__all__ = ["LESSON", "accepts_bits", "right_bits"]


def right_bits(text):
    """Eight bits for each byte of the text in UTF-8, most significant first.

    Parameters
    ----------
    text : str

    Returns
    -------
    list of int
        0 and 1.

    Examples
    --------
    >>> right_bits("A")
    [0, 1, 0, 0, 0, 0, 0, 1]
    """
    return [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:08b}"]


def _strings(text):
    return [f"{byte:08b}" for byte in text.encode("utf-8")]


MISTAKES = (
    Mistake(
        "stub",
        lambda text: [],
        "has not begun",
        "It returns an empty list so far.",
        "Begin inside the loop: what do you get for one byte?",
        "The byte 5 as eight digits is 00000101: eight numbers to add.",
    ),
    Mistake(
        "reversed",
        lambda text: [int(bit) for each in _strings(text) for bit in each[::-1]],
        "takes the least significant bit first",
        "Each letter's bits are back to front.",
        "Which place comes first, the one for 128 or the one for 1?",
        "The byte 5 is 0,0,0,0,0,1,0,1: the 128s stand first, the 1s last.",
    ),
    Mistake(
        "all reversed",
        lambda text: right_bits(text)[::-1],
        "puts the last letter first",
        "The whole message is back to front.",
        "At which end of your list do you add: whose bits come first?",
        "For the bytes 5 and 6, the bits of 5 come first, then those of 6.",
    ),
    Mistake(
        "seven",
        lambda text: [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:07b}"],
        "takes a letter for seven bits",
        "You have 7 bits for each letter.",
        "A byte has 8 places, also where the first is a zero.",
        "The byte 5 is 00000101, not 0000101: eight places.",
    ),
    Mistake(
        "uneven",
        lambda text: [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:b}"],
        "leaves out zeros in front",
        "Small numbers come out shorter than large ones.",
        "How would a reader know where the next letter begins?",
        "The byte 5 is 00000101, not 101: eight places, zeros in front.",
    ),
    Mistake(
        "text bits",
        lambda text: list("".join(_strings(text))),
        "takes digits for numbers",
        "Your bits are text, '0' and '1' in quotes.",
        "What makes a number of a digit in quotes?",
        "int('7') is 7, a number; '7' is text.",
    ),
    Mistake(
        "text",
        lambda text: "".join(_strings(text)),
        "takes a text of digits for a list of bits",
        "You return one piece of text.",
        "A list is wanted, with one number for each bit.",
        "For the byte 5: [0, 0, 0, 0, 0, 1, 0, 1], not '00000101'.",
    ),
    Mistake(
        "text per letter",
        _strings,
        "takes a byte's digits for one item",
        "You return a text for each letter.",
        "Go through each of these texts, too: digit by digit.",
        "For the byte 5: [0, 0, 0, 0, 0, 1, 0, 1], not ['00000101'].",
    ),
    Mistake(
        "nested",
        lambda text: [[int(bit) for bit in each] for each in _strings(text)],
        "keeps each letter's bits in a list of its own",
        "You have a list for each letter.",
        "All bits go into one list: append puts in one thing, also a list.",
        "Adding [0, 1] to [1]: append gives [1, [0, 1]], += gives [1, 0, 1].",
    ),
    Mistake(
        "numbers",
        lambda text: list(text.encode("utf-8")),
        "stops at bytes",
        "These are the letters' numbers.",
        "Each number is still to be written with the digits 0 and 1.",
        "The byte 5 is 00000101: eight numbers, not one.",
    ),
)


def accepts_bits(result):
    """A plain result if it is a list of 0 and 1, else None."""
    fits = isinstance(result, list) and all(type(bit) in (int, float) and bit in (0, 1) for bit in result)
    return result if fits else None


TO_BITS = FunctionTask(
    name="to_bits",
    right=right_bits,
    mistakes=MISTAKES,
    what="a list of 0 and 1",
    accepts=accepts_bits,
    draw=lambda draws: (log_line(draws),),
    edge=("",),
    edge_words="an empty text",
    about=lambda text: f"“{text.split()[0]} …”",
    look="Take one letter, and compare what you get with its bits in the picture above.",
    worked="The byte 5 is 0,0,0,0,0,1,0,1; the bytes 5 and 6 are sixteen numbers in one list.",
)

SCRATCH = Choice(
    "The sound is gone for a tenth of a second in the middle of your words. What will the loader hand over?",
    (
        Option(
            "The words without the missing ones: it skips the gap and reads on.",
            "The words kept their length: a gap on the tape takes its time, and does not close up.",
            "a gap closes up by itself",
        ),
        Option(
            "The words with some bytes wrong, and a note that says which ones.",
            "So it was: what could be read is there, and the rest is marked.",
        ),
        Option(
            "Nothing at all of the words: a tape is read as a whole or not.",
            "Most of the words came: each byte is read by itself, and only those in the scratch suffer.",
            "one fault spoils a whole tape",
        ),
        Option(
            "The words with some bytes wrong, and no sign that it is amiss.",
            "There was a sign: a check had been recorded with the words.",
            "a machine cannot know that it read wrongly",
        ),
    ),
    "After your words the tape carries a check, a number worked out from all the bytes before it. "
    "The loader works it out again, and the two disagree.",
)

EXIT = Choice(
    "The loader calls a file `checked`. What does it mean?",
    (
        Option(
            "The check recorded with the file agrees with what was read.",
            "So it is: the number was worked out anew from what was read, and is the same.",
        ),
        Option(
            "A person has looked at the words, and found them in order.",
            "Nobody has looked: it is worked out. Try another answer.",
            "checking takes understanding",
        ),
        Option(
            "The tape has no scratch, from its first to its last second.",
            "A scratch in the leader does no harm, and the file is still checked. Try another answer.",
            "checked speaks of the tape, not of the data",
        ),
        Option(
            "The file is of the right length; its bytes may be anything.",
            "It is worked out from all the bytes, not from their number. Try another answer.",
            "a check only counts",
        ),
    ),
)

RECALL = (
    Choice(
        "Which part of a tape tells the loader how fast the tape runs?",
        (
            Option(
                "The leader, the steady tone in front",
                "The leader: its cycles are all alike, so they give the measure.",
            ),
            Option(
                "The header, which names the file",
                "The header names the file; to read it, the loader must know the speed already.",
                "the speed is written down as data",
            ),
            Option(
                "The check, behind all the words",
                "The check tells whether the words arrived; by then all is read.",
                "the check helps to read",
            ),
            Option(
                "The volume of the data itself",
                "Volume says nothing of speed: time does.",
                "volume carries what time carries",
            ),
        ),
    ),
    Choice(
        "On the tape of the first lesson, what made a bit a 1?",
        (
            Option(
                "A wave that was twice as loud",
                "All waves were equally loud.",
                "bits are kept in how loud a wave is",
            ),
            Option(
                "A level that lay above zero",
                "Each cycle goes above and below zero, for a 0 and for a 1.",
                "bits are kept in the level",
            ),
            Option("A cycle that was twice as long", "A long cycle is a 1, a short one is a 0."),
            Option(
                "A pause before the next cycle",
                "There were no pauses: the wave went on all the time.",
                "bits are kept in pauses",
            ),
        ),
    ),
    Choice(
        "How many bits does the letter A, number 65, take on that tape?",
        (
            Option(
                "Sixty-five, one for each step",
                "Eight places with 0 or 1 are enough for any number up to 255.",
                "bits are counted one by one",
            ),
            Option(
                "Seven, without a zero in front",
                "65 needs seven digits, but every byte gets eight: 01000001.",
                "zeros in front are left out",
            ),
            Option(
                "One, since it is one letter only",
                "One bit tells two things apart; there are more letters.",
                "a bit is a letter",
            ),
            Option("Eight, with a zero in the front", "Every byte gets eight bits: 01000001."),
        ),
    ),
    Choice(
        "After a scratch, how does the loader know that something is wrong?",
        (
            Option(
                "It looks the words up in a list",
                "A loader knows no words: bytes are numbers to it.",
                "a loader understands what it reads",
            ),
            Option(
                "The check does not agree any more",
                "The check is worked out anew, and compared with the recorded one.",
            ),
            Option(
                "The volume falls below a limit",
                "A crackle may be louder than the words.",
                "faults are quiet",
            ),
            Option(
                "The leader comes back too early",
                "The leader is where it was: a scratch does not move it.",
                "a fault shortens the tape",
            ),
        ),
    ),
)

LESSON = Lesson(
    1,
    "Save words as sound and get them back",
    items={"a": SCRATCH, "e": EXIT, "m": TO_BITS},
    words=("m", lambda data: data[0]),
    can=(("say what it means that a file is checked", "e"), ("turn any text into bits", "m")),
    recall=RECALL,
)
