"""What to do next about a misconception, for who teaches: said in the key, in one sentence each.

Those of lessons 1 and 4 have moves that need the worksheet and nothing else. Of other lessons the reply that
belongs to the option is read out, and the lesson's own experiment does the rest.
"""

__all__ = ["STRIP", "next_move"]

MOVES = {
    # lesson 1
    "a gap closes up by itself": "have a finger put on half a letter of the strip: do the other letters move?",
    "one fault spoils a whole tape": "have one letter of the strip covered: can the other two still be read?",
    "a machine cannot know that it read wrongly": "let two add the numbers of the three letters; one misreads a "
    "letter on purpose: do the sums agree?",
    "checking takes understanding": "ask whether the sum of three letters' numbers can be checked by someone who "
    "cannot read",
    "checked speaks of the tape, not of the data": "have a scratch drawn before the strip: does it change a letter?",
    "a check only counts": "have one letter of the strip changed for another: still three letters, but is the sum of "
    "their numbers the same?",
    "the speed is written down as data": "ask how one would read a number that tells the speed, not knowing the "
    "speed yet",
    "the check helps to read": "ask when the check is met on the tape: before or after the data it belongs to?",
    "volume carries what time carries": "have height and length of a short and a long cycle measured: which differs?",
    "bits are kept in how loud a wave is": "have the height of a short and of a long cycle measured on the strip",
    "bits are kept in the level": "ask of a long cycle and of a short one: is either only above the middle?",
    "bits are kept in pauses": "have a pause pointed out on the strip: there is none between two cycles",
    "bits are counted one by one": "have a letter's number made of 128, 64, 32 and so on, from its eight bits",
    "zeros in front are left out": "have the bits of the first letter counted on the strip, from its first cycle on",
    "a bit is a letter": "ask how many different letters a single bit could tell apart",
    "a loader understands what it reads": "ask what word the three letters of the strip are: they read all the same",
    "faults are quiet": "have a crackle drawn into the strip, higher than the wave: what does it do to its edges?",
    "a fault shortens the tape": "have a cycle of the strip crossed out: do the others come any nearer?",
    # lesson 4
    "a bit is the height of the wave": "have the height of a short and of a long cycle measured on the strip",
    "a quieter wave carries fewer bits": "have one letter of the strip drawn again at half the height, and read by "
    "a neighbour",
    "volume and time depend on each other": "have one letter drawn again at half the height: which lengths in mm "
    "have changed?",
    "samples are bits of data": "have a dot put on one letter's wave every 3 mm, then every 1 mm: more dots, but "
    "more bits?",
    "samples cost nothing": "have a dot put on one letter's wave every 3 mm, then every 1 mm, and the dots counted",
    "more samples a second play faster": "have a dot put on one letter's wave every 3 mm, then every 1 mm: has the "
    "strip become shorter?",
    "a 1 is more signal than a 0": "have two letters compared: does the one with more ones read better, or is its "
    "strip only longer?",
    "a larger file is a faster tape": "ask whether a strip drawn with a finer pen would take less time to play",
}

# What a strip looks like that went wrong: what is on the paper, the idea behind it, the next move.
STRIP = (
    (
        "two digits for each box, or a letter of only half the strip",
        "takes each half-cycle for a bit",
        "ask how often the line goes up and down again in one cycle, and have the first cycle coloured in",
    ),
    (
        "each bit is the other one; the letters begin 1 0 1",
        "takes a long cycle for a 0",
        "have the rule read aloud and the first cycle measured: is it long or short?",
    ),
    (
        "the bits of each letter are back to front",
        "fills the boxes from the right, or takes the 1 for the first place",
        "ask which cycle comes first on the tape, and which box stands first",
    ),
    (
        "one bit too many or too few, and all after it shifted",
        "loses count: what a loader does when an edge is lost",
        "have a tick put at every second edge; every letter of this kind begins 0 1 0",
    ),
)


def next_move(misconception, reply="", lesson=0):
    """What to do about a misconception.

    Parameters
    ----------
    misconception : str
    reply : str
        Of the option that stands for it: what is so.
    lesson : int
        Where it is shown.

    Returns
    -------
    str
        Begins with a small letter where it is a move of its own.

    Examples
    --------
    >>> next_move("bits are kept in pauses")
    'have a pause pointed out on the strip: there is none between two cycles'
    >>> next_move("a check sees every change", "Two flips leave it as it was.", 7)
    'say what is so (“Two flips leave it as it was.”), and have it shown: lesson 7'
    """
    return MOVES.get(misconception) or f"say what is so (“{reply}”), and have it shown: lesson {lesson}"
