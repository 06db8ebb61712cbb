"""Lesson 13, design your own loader: what speed and a second copy are worth, and a score for a design."""

from .items import Choice, Entry, Mistake, Option
from .lesson13rate import USEFUL_RATE
from .lessons import Lesson

__all__ = ["LESSON"]

DOUBLE = Choice(
    "You write the first design with a unit of 4800 Hz in place of 2400, and change nothing else. The recorder "
    "still carries it. What becomes of the useful bits a second?",
    (
        Option(
            "They double: every cycle of the data takes half as long.",
            "The data did take half as long; the leaders took as long as before.",
            "a code that is twice as fast makes a tape that is twice as fast",
        ),
        Option(
            "They halve: with cycles so short, most tapes do not load.",
            "Nearly as many loaded as before: this recorder still carries such cycles.",
            "speed always costs more than it gains",
        ),
        Option(
            "They stay: it is the same file, of as many bits as ever.",
            "The bits stayed, but they came in less time.",
            "bits a second depend on the file alone",
        ),
        Option(
            "They grow by far less than double: leaders stay as long.",
            "So it was: about a third more, for twice the speed.",
        ),
    ),
    "Half of this tape is leader, and a leader is given in seconds: motor and level need their time, whatever comes "
    "after. Twice the speed halves the other half, and saves a quarter of the tape. So look first where the seconds "
    "go: what takes the most of them is the place to begin.",
)

COPY = Choice(
    "Now and then this recorder loses a block, and a tape does not load. You record every block of the first design "
    "twice. What becomes of its score?",
    (
        Option(
            "It falls, as far as to half: each tape takes twice as long.",
            "So it was: a few more tapes loaded, if any, and each took twice as long.",
        ),
        Option(
            "It rises: more of the tapes load, and that is what counts.",
            "No fewer of the tapes loaded; but each took twice as long.",
            "what is safer is better",
        ),
        Option(
            "It stays: twice the tape, and twice as many tapes load.",
            "Where nearly all load already, twice as many cannot.",
            "what costs double brings double",
        ),
        Option(
            "It falls to zero: the loader takes the copies for two files.",
            "Each block says which one it is, so the loader knows a copy when it meets one.",
            "a copy is another file",
        ),
    ),
    "A score is a product: how fast one tape is, times the share of tapes that count. A second copy halves the "
    "first, and can double the second only where no more than half load without it. That does not make it a bad "
    "choice: a station that cannot send its log again may want every tape to load, and pay for it. The score does "
    "not decide this; you do, and say why.",
)


def _gain(data):
    leaders, rest = data
    return (leaders + rest) / (leaders + rest / 2)


FASTER = Entry(
    kind="number",
    question=lambda data: (
        f"A tape plays {sum(data) / 100:.2f} s, and {data[0] / 100:.2f} s of it are leaders. You double the speed of "
        "all the rest. How many times as many useful bits a second does it bring, if as many tapes load?"
    ),
    draw=lambda draws: [draws.between(60, 300), draws.between(60, 300)],
    right=_gain,
    mistakes=(
        Mistake(
            "double",
            lambda data: 2.0,
            "lets the leaders shrink as well",
            "So it would be with no leaders at all.",
            "Which part of the tape stays as long as it was?",
            "Leaders 1 s, rest 2 s: 3 s become 1 + 1 = 2 s.",
        ),
        Mistake(
            "leaders",
            lambda data: sum(data) / (data[0] / 2 + data[1]),
            "shortens the leaders in place of the rest",
            "So it would be if the leaders alone took half as long.",
            "Which part is twice as fast, and which is not?",
            "Leaders 1 s, the rest 2 s: the 2 s become 1.",
        ),
        Mistake(
            "seconds",
            lambda data: (data[0] + data[1] / 2) / 100,
            "stops at seconds",
            "This is how long the new tape plays.",
            "How often does the new time fit into the old one?",
            "3 s become 2 s: 1.5 times as many bits a second.",
        ),
        Mistake(
            "upside down",
            lambda data: 1 / _gain(data),
            "divides the new time by the old one",
            "By this factor the time shrinks.",
            "The same bits in less time: are those more a second, or fewer?",
            "3 s become 2 s: 1.5 times as many bits a second, not two thirds.",
        ),
    ),
    look="How long does the new tape play? Compare that with the old one.",
    worked="Leaders 1 s, the rest 2 s: 3 s become 2 s, 1.5 times as many bits.",
    reply="Right. The larger the part that stays, the less all other speed is worth.",
    tolerance=0.01,
)

BREAK_EVEN = Entry(
    kind="number",
    question=lambda data: (
        f"With its data written once, a tape plays {data[0] / 100:.2f} s; with its data alone written twice it plays "
        f"{data[1] / 100:.2f} s, and all tapes load. How many of 100 of the first kind must load for the same score?"
    ),
    draw=lambda draws: [short := draws.between(100, 400), short * draws.between(130, 190) // 100],
    right=lambda data: 100 * data[0] / data[1],
    mistakes=(
        Mistake(
            "upside down",
            lambda data: 100 * data[1] / data[0],
            "divides the long time by the short one",
            "More than all of 100 tapes cannot load.",
            "Which of the two tapes is the quicker, and so needs fewer loads?",
            "2 s against 2.5 s: 2 / 2.5 = 0.8, so 80 of 100.",
        ),
        Mistake(
            "lost",
            lambda data: 100 * (1 - data[0] / data[1]),
            "gives the tapes that may fail",
            "So many may fail.",
            "What was asked: tapes that load, or tapes that do not?",
            "2 s against 2.5 s: 80 of 100 load, 20 fail.",
        ),
        Mistake(
            "half",
            lambda data: 50.0,
            "takes two copies for twice the time",
            "So it would be if two copies took twice as long.",
            "How long do the two tapes play? Not all of it is written twice.",
            "2 s against 2.5 s: 2 / 2.5 = 0.8, so 80 of 100.",
        ),
        Mistake(
            "longer by",
            lambda data: 100 * (data[1] / data[0] - 1),
            "gives how much longer the second tape is",
            "By so many percent the second tape is longer.",
            "The share that loads, over the time: when is it the same for both?",
            "2 s against 2.5 s: 0.8 / 2 is 1 / 2.5: 80 of 100.",
        ),
    ),
    look="Write both scores as share over time, and set them equal.",
    worked="2 s against 2.5 s: 0.8 / 2 is 1 / 2.5: 80 of 100.",
    reply="Right: where fewer load, the second copy pays, even by the score alone.",
    tolerance=0.01,
)

EXIT = Choice(
    "Design A scores more than design B, but all tapes of B load. What does that tell the station?",
    (
        Option(
            "That A is the better design, whatever the station needs.",
            "A lost log may cost more than a slow one: that is not in the score. Try another answer.",
            "the highest score is best for everybody",
        ),
        Option(
            "That A brings home more bits a second, over many tapes.",
            "So it is, and no more: what a lost tape costs, the station must say.",
        ),
        Option(
            "That B is the better design, since nothing of it is lost.",
            "It loses time on every tape: whether that matters, the station must say. Try another answer.",
            "what is safer is better",
        ),
        Option(
            "That neither can be trusted, as they are but simulated.",
            "Both met the same tapes, so they can be compared; a real recorder may differ. Try another answer.",
            "a simulation says nothing",
        ),
    ),
)

RECALL = (
    Choice(
        "A format is twice as fast, and half of its tapes load. How many useful bits a second come home?",
        (
            Option(
                "Twice as many as they were before",
                "Tapes that do not load bring nothing home, however fast they run.",
                "speed is counted, whether it loads or not",
            ),
            Option(
                "As many as before the format changed",
                "Twice the speed times half of the tapes: the two cancel out.",
            ),
            Option(
                "None at all, since some do not load",
                "The tapes that do load count: half of them, at twice the speed.",
                "a single failure makes a format worthless",
            ),
            Option(
                "Half as many as they were before",
                "The speed counts as well: half of the tapes, but each twice as fast.",
                "only the share that loads is counted",
            ),
        ),
    ),
    Choice(
        "You change the check and the block size at once, and the score rises. What do you know?",
        (
            Option(
                "That the larger blocks were the reason",
                "It may have been the check, or both: one change at a time tells.",
                "the change one thinks of is the reason",
            ),
            Option(
                "That both of the changes were needed",
                "One may have helped and the other done harm, and the sum still rises.",
                "a better result proves every part of it",
            ),
            Option(
                "That the two together did some good",
                "No more than that: which of them did, only a tape with one change tells.",
            ),
            Option(
                "Nothing, since scores are only chance",
                "The same tapes were tried before and after: that much is known.",
                "measured figures say nothing",
            ),
        ),
    ),
)

LESSON = Lesson(
    13,
    "Design your own loader",
    items={"a": DOUBLE, "b": COPY, "c": FASTER, "e": EXIT, "m": USEFUL_RATE, "s": BREAK_EVEN},
    can=(
        ("work out what more speed is worth where a part of the tape stays as it is", "c"),
        ("write a function that scores a design", "m"),
        ("say from which share of loads on a second copy pays", "s"),
        ("say what a score tells, and what it does not", "e"),
    ),
    recall=RECALL,
)
