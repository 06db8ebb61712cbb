"""Lesson 8, record it twice and mend it: chances, a repair and an error-correcting code worked out by hand."""

from .items import Entry, Mistake
from .words import short_line

__all__ = ["BOTH_LOST", "BY_HAND", "HAMMING", "corrected", "hamming_word"]

BOTH_LOST = Entry(
    kind="number",
    question=lambda data: (
        f"Of the blocks of a tape, one in {data[0]} is lost. A second copy lies far away, and is lost just as often, "
        "by bad luck of its own. One block in how many loses both copies?"
    ),
    draw=lambda draws: [draws.between(5, 60)],
    right=lambda data: data[0] ** 2,
    mistakes=(
        Mistake(
            "twice",
            lambda data: 2 * data[0],
            "takes two copies for twice as safe",
            "That would be half as often as before.",
            "Of the blocks lost in the first copy, how many are lost in the second?",
            "One in 4 is lost, and of these again one in 4: one in 16.",
        ),
        Mistake(
            "the same",
            lambda data: data[0],
            "takes a copy to be lost whenever the first one is",
            "So often is one of them lost.",
            "And then the second copy must have bad luck, too.",
            "One in 4 is lost, and of these again one in 4: one in 16.",
        ),
        Mistake(
            "half",
            lambda data: data[0] / 2,
            "adds the chances of both copies",
            "So often is the one or the other lost, about.",
            "Both have to be lost: is that rarer or more frequent than one?",
            "Of 16 blocks 4 lose their first copy, and of these 4 one its second.",
        ),
        Mistake(
            "chance",
            lambda data: 1 / data[0] ** 2,
            "gives the chance in place of the number of blocks",
            "This is the chance itself, a part of one.",
            "One in how many is that?",
            "A chance of 0.25 is one in 4.",
        ),
    ),
    look="Take only the blocks whose first copy is lost: how many of them lose the second?",
    worked="One in 4 is lost, and of these again one in 4: one in 16.",
    reply="Right: the chances of independent things are multiplied, so a small loss becomes a tiny one.",
)

LETTERS, DIGITS, OTHERS = range(5), (6, 7), (9, 10, 11)  # places in a line of twelve characters


def _drawn_copies(draws):
    """Two copies of a line with "?" for what is in doubt, and the line itself."""
    line = short_line(draws)
    differs = draws.one_of(DIGITS)
    both = draws.one_of(LETTERS)
    free = [place for place in (*LETTERS, *DIGITS, *OTHERS) if place not in (differs, both)]
    places = draws.some_of(free, 4)
    digit = draws.one_of([each for each in "0123456789" if each != line[differs]])
    return [_with(line, {both: "?", places[0]: "?", places[1]: "?"}),
            _with(line, {both: "?", places[2]: "?", places[3]: "?", differs: digit}), line]


def _with(line, changes):
    return "".join(changes.get(place, letter) for place, letter in enumerate(line))


def _merged(data, where_they_differ):
    pairs = zip(data[0], data[1], strict=True)
    return "".join(_letter(one, other, where_they_differ) for one, other in pairs)


def _letter(one, other, where_they_differ):
    if "?" in (one, other):
        return other if one == "?" else one
    return one if one == other else where_they_differ(one, other)


def _known(data):
    return _merged(data, lambda one, other: "?")


def _guessed(data):
    """What meaning fills in: a letter that is missing from a word."""
    return "".join(data[2][k] if "?" == data[0][k] == data[1][k] else each for k, each in enumerate(_known(data)))


BY_HAND = Entry(
    kind="words",
    question=lambda data: (
        f"Two copies of one line, ? where the loader was in doubt. First copy: “{data[0]}” Second copy: “{data[1]}” "
        "Write the line: what the loader can know, and ? where it cannot."
    ),
    draw=_drawn_copies,
    right=_known,
    mistakes=(
        Mistake(
            "first believed",
            lambda data: _merged(data, lambda one, other: one),
            "believes the first copy where two differ",
            "You took the first copy's word where the two differ.",
            "What speaks for the first one there?",
            "“rain 3” and “rain 4” give “rain ?”.",
        ),
        Mistake(
            "second believed",
            lambda data: _merged(data, lambda one, other: other),
            "believes the second copy where two differ",
            "You took the second copy's word where the two differ.",
            "What speaks for the second one there?",
            "“rain 3” and “rain 4” give “rain ?”.",
        ),
        Mistake(
            "both needed",
            lambda data: "".join(a if a == b else "?" for a, b in zip(data[0], data[1], strict=True)),
            "believes only what stands in both copies",
            "You gave up letters that one of the copies has.",
            "If one copy is in doubt about a letter, what does the other say?",
            "“r?in” and “ra?n” give “rain”.",
        ),
        Mistake(
            "left out",
            lambda data: _known(data).replace("?", ""),
            "leaves out what is not known",
            "Your line is shorter than the copies.",
            "Put a ? wherever a letter is not known.",
            "“r?in 3” and “r?in 4” give “r?in ?”.",
        ),
        Mistake(
            "guessed",
            _guessed,
            "fills in from meaning what the copies do not say",
            "You filled in a letter that neither copy has.",
            "You know words; a loader knows numbers only.",
            "“r?in” and “r?in” give “r?in”: to a loader, any letter may stand there.",
        ),
    ),
    look="Go from letter to letter, and ask of each: who has it, and do they agree?",
    worked="“r?in 3” and “ra?n 4” give “rain ?”.",
    reply="Right: two copies, and only what is known of them.",
)


def hamming_word(data):
    """Seven bits of four: three parity bits at places 1, 2 and 4.

    Parameters
    ----------
    data : list of int
        Four, 0 or 1.

    Returns
    -------
    list of int

    Source
    ------
    R. W. Hamming, "Error Detecting and Error Correcting Codes", Bell System Technical Journal 29 (1950).

    Examples
    --------
    >>> hamming_word([1, 0, 1, 1])
    [0, 1, 1, 0, 0, 1, 1]
    """
    one, two, three, four = data
    return [one ^ two ^ four, one ^ three ^ four, one, two ^ three ^ four, two, three, four]


def corrected(word):
    """The nearest word of the code, at most one bit away.

    Parameters
    ----------
    word : list of int
        Seven, 0 or 1.

    Returns
    -------
    list of int
    """
    odd_places = [place for place, bit in enumerate(word, 1) if bit]
    wrong = 0
    for place in odd_places:
        wrong ^= place
    return [bit ^ (place == wrong) for place, bit in enumerate(word, 1)]


def _data_bits(word):
    return [word[2], *word[4:]]


def _drawn_word(draws):
    """A word of the code with one of its data bits turned over."""
    word = hamming_word([draws.below(2) for _ in range(4)])
    word[draws.one_of((2, 4, 5, 6))] ^= 1
    return word


HAMMING = Entry(
    kind="bits",
    question=lambda data: (
        f"These seven bits arrived, and one of them is wrong: {''.join(map(str, data))}. "
        "Which four bits of data were sent?"
    ),
    draw=_drawn_word,
    right=lambda data: _data_bits(corrected(data)),
    mistakes=(
        Mistake(
            "as arrived",
            _data_bits,
            "takes the data bits as they arrived",
            "These are the data bits as they arrived, the wrong one among them.",
            "Which of the three groups have an odd number of ones?",
            "0110111: groups 1 and 4 are odd, so place 5 is wrong: 0110011, data 1011.",
        ),
        Mistake(
            "first four",
            lambda data: corrected(data)[:4],
            "takes the first four places for the data",
            "These are the first four places of the word put right.",
            "Which places hold data, and which hold parity bits?",
            "0110011 has its data at places 3, 5, 6 and 7: 1011.",
        ),
        Mistake(
            "last four",
            lambda data: corrected(data)[3:],
            "takes the last four places for the data",
            "These are the last four places of the word put right.",
            "Place 4 is a parity bit; where is the first data bit?",
            "0110011 has its data at places 3, 5, 6 and 7: 1011.",
        ),
        Mistake(
            "whole word",
            corrected,
            "gives the whole word for its data",
            "This is the whole word, put right.",
            "Three of these bits are parity: leave them out.",
            "0110011 has its data at places 3, 5, 6 and 7: 1011.",
        ),
    ),
    look="Count the ones in each group; add the first places of the odd ones.",
    worked="0110111: groups 1 and 4 are odd, so place 5 is wrong: 0110011, data 1011.",
    reply="Right: three bits more than the data, and they mend it, without any second copy.",
)
