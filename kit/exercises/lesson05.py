"""Lesson 5, find the start: what a leader gives time for, what forges a sync mark, and counting to the first bit."""

from .items import Choice, Entry, Mistake, Option
from .lesson04bits import words_of
from .lesson05start import FIND_START, NEAR_START, start_of
from .lessons import Lesson

__all__ = ["LESSON"]

STARTING = Choice(
    "Motor and tape start at the same moment, with a leader of 0.05 s. Later the tape is played. Which of its "
    "blocks does the loader read?",
    (
        Option(
            "All of them: it finds each sync mark, on a slow tape as well.",
            "The first was lost: what was recorded while the tape crept did not come back.",
            "a sync mark can be found at any speed",
        ),
        Option(
            "None of them: a tape that begins badly cannot be read at all.",
            "Only the first was lost: every block has a leader of its own, and with it a new start.",
            "a missed start loses the whole tape",
        ),
        Option(
            "All but the first one: that was recorded while the tape crept.",
            "So it was: the first block, a header, is lost, and the others are read.",
        ),
        Option(
            "All of them: only a few letters of the first come out wrong.",
            "It was lost as a whole: its check does not agree, and nothing of it is believed.",
            "a bad start costs a few letters only",
        ),
    ),
    "A leader is time: for the motor to come to speed, for the level to settle, for the loader to lock. Here the "
    "header began when the motor had 19 % of its speed. Your words can still be kept, for the header stands once "
    "more at the end of the tape. Which of the three did the harm? That is the next question.",
)

CAUSE = Choice(
    "The leader stays at 0.05 s, and you may change one thing only. Which of these saves the first block?",
    (
        Option(
            "A sync mark of eight cycles instead of three",
            "Still lost, as the bench shows: the mark was not the trouble. Try another answer.",
            "a longer sync mark makes up for a short leader",
        ),
        Option(
            "Switching off the automatic level control",
            "Still lost, as the bench shows, although the level is even. Try another answer.",
            "what is too loud at first is lost",
        ),
        Option(
            "Letting the motor run before it is recorded",
            "So it is: at full speed even this short leader is enough for this loader.",
        ),
        Option(
            "A tape with less hiss, −60 dB and not −46 dB",
            "Still lost, as the bench shows, on the quietest tape as well. Try another answer.",
            "hiss is what loses a block",
        ),
    ),
    "While the motor crept, little tape went by, and the waves were written close together: a zero took 3.8 µm of "
    "tape instead of 19.8. Dirt on the head takes short waves away first, so a clean head helps as well. Where the "
    "motor starts while the tape is played, the waves on it are long enough, and the loader follows the leader.",
)

RIVALS = Choice(
    "With so short a mark, more places on the tape look like a start than there are blocks. What does the loader "
    "make of your tape?",
    (
        Option(
            "Nonsense: it begins to read in the middle of the data somewhere.",
            "It may begin there, but it does not keep what it reads: no check agrees with it.",
            "whatever comes behind a mark is believed",
        ),
        Option(
            "All its blocks, and in between some that were never written.",
            "None was found that was never written: behind a false start no check agrees.",
            "each mark makes a block",
        ),
        Option(
            "Nothing: it cannot know which of the places are the true ones.",
            "It can know, though only afterwards: the check behind the bytes tells.",
            "what is doubtful at first stays so",
        ),
        Option(
            "All its blocks and no others: where a check agrees, one began.",
            "So it was: there are more places than blocks, and every block was read.",
        ),
    ),
    "A mark of two cycles counts even if one of them is spoilt, and a single cycle is soon forged: some rows of bits "
    "within your data look like the end of a leader with a mark behind it. The loader keeps such rivals in mind, and "
    "the check decides; once it agrees, all that lies within the block is data. Of three cycles two must be right, "
    "and with them every place on your tape is a true one.",
)


def _drawn_row(draws):
    """Some ones, a mark of four bits, and bits in which it comes again; and the mark."""
    sync = [int(bit) for bit in draws.one_of(("0100", "0010", "0110", "1001", "1010", "0101", "1100", "0011"))]
    behind = [draws.below(2) for _ in range(14)]
    return [1] * draws.between(5, 9) + sync + behind, sync


def _grouped(bits):
    text = "".join(map(str, bits))
    return " ".join(text[k : k + 5] for k in range(0, len(text), 5))


def _later_start(data):
    bits, sync = data
    first = start_of(bits, sync) - len(sync) + 1
    return first + start_of(bits[first:], sync)


BY_HAND = Entry(
    kind="number",
    question=lambda data: (
        f"These bits come in, in groups of five: {_grouped(data[0])}. The sync mark is "
        f"{''.join(map(str, data[1]))}. The first bit of all has number 0. Which number has the first bit of data?"
    ),
    draw=_drawn_row,
    right=lambda data: start_of(*data),
    mistakes=(
        Mistake(
            "the mark",
            lambda data: start_of(*data) - len(data[1]),
            "takes the beginning of the mark for the beginning of the data",
            "This is where the mark itself begins.",
            "The data comes behind the mark: how many bits further?",
        ),
        Mistake(
            "from one",
            lambda data: start_of(*data) + 1,
            "counts the first bit as number 1",
            "This is one too many.",
            "Which number has the very first bit?",
        ),
        Mistake(
            "last of mark",
            lambda data: start_of(*data) - 1,
            "gives the last bit of the mark",
            "This is the last bit of the mark.",
            "The data begins with the bit after it.",
        ),
        Mistake(
            "later mark",
            _later_start,
            "takes a later place that looks like the mark",
            "This place looks like the mark, too, but it comes later.",
            "Go from the left: where does the mark fit for the first time?",
        ),
    ),
    look="Lay the mark on at number 0, then at 1, and so on: where does it fit first?",
    worked="In 11101 001 the mark 010 stands at number 3: the data begins at 6.",
    reply="Right: here the first bit of data lies.",
)

EXIT = Choice(
    "What is a leader for?",
    (
        Option(
            "It gives motor, level and loader time before anything counts.",
            "So it is. Where the data begins, the sync mark says.",
        ),
        Option(
            "It says at which bit the data begins, with its very last cycle.",
            "Its cycles are all alike, so none of them says so. Try another answer.",
            "the leader marks the first bit",
        ),
        Option(
            "It holds the name and the length of the file that will follow.",
            "All its cycles are alike: it holds no bits. Try another answer.",
            "the leader holds data",
        ),
        Option(
            "It lets a listener know that the tape has not been erased yet.",
            "A listener hears it, but it is there for the loader. Try another answer.",
            "the leader is there for the ear",
        ),
    ),
)
RECALL = (
    Choice(
        "What does a sync mark tell the loader?",
        (
            Option(
                "How fast the tape is running now",
                "The leader tells that: it has many cycles, all of them alike.",
                "the sync mark gives the measure",
            ),
            Option(
                "Where the first bit of data begins",
                "The leader only says that data is coming; the sync mark says: here.",
            ),
            Option(
                "How many bytes are to be expected",
                "That is said in the data itself, and the loader must find its first bit before.",
                "the sync mark holds data",
            ),
            Option(
                "Whether all of the bytes arrived",
                "The check tells that, at the end.",
                "the sync mark is a check",
            ),
        ),
    ),
    Choice(
        "Bits in the middle of the data happen to look like a sync mark. How does the loader know better?",
        (
            Option(
                "A true sync mark is always louder",
                "All parts of a tape are equally loud.",
                "what matters is marked by volume",
            ),
            Option(
                "Data can never look like a mark",
                "It can, and noise can make a mark as well.",
                "a sync mark cannot be forged",
            ),
            Option(
                "A false mark is always the last one",
                "It may come before the true one, or after it.",
                "the first mark is the true one",
            ),
            Option(
                "After a false mark no check agrees",
                "It may try each place: only where a block really begins does the check agree.",
            ),
        ),
    ),
    Choice(
        "A block was recorded while the motor was still starting, and played at full speed. What has become of it?",
        (
            Option(
                "Its waves lie too close on the tape",
                "Little tape went by while it was written, so its waves are short, and a dirty head loses them.",
            ),
            Option(
                "Its waves came out higher than others",
                "The motor moves the tape; it does not make the wave any stronger.",
                "speed makes a recording louder",
            ),
            Option(
                "It was written twice on the same tape",
                "The tape moved on slowly, but it did not stop or go back.",
                "a slow tape is written twice",
            ),
            Option(
                "It takes longer to play than planned",
                "It takes less: a short piece of tape, played at full speed.",
                "what is recorded slowly plays slowly",
            ),
        ),
    ),
)

LESSON = Lesson(
    5,
    "Find the start",
    items={"a": STARTING, "b": CAUSE, "c": RIVALS, "d": BY_HAND, "e": EXIT, "m": FIND_START, "s": NEAR_START},
    words=("m", lambda data: words_of(data[0][start_of(*data):])),
    can=(
        ("say what a leader is for", "e"),
        ("find out which of several causes loses a block", "b"),
        ("find the first bit of data by hand", "d"),
        ("write a function that finds the start of the data", "m"),
        ("find it although a bit of the mark is wrong", "s"),
    ),
    recall=RECALL,
)
