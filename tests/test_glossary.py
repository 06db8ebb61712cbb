"""The glossary: every term of the trade is in it, once, in order, in few words, and met where it says."""

import re

import pytest
from lessonpages import LESSONS, prose, stored

GLOSSARY = (LESSONS / "glossary.md").read_text("utf-8")
KIT = LESSONS.parent / "kit"
ENTRIES = re.findall(r"^\*\*([^*]+)\*\* \((.+)\)  \n((?:[^\n]+\n)+)", GLOSSARY, re.MULTILINE)
# The trade's words that the kit keeps to wherever it speaks of these things.
TRADE = ["leader", "sync mark", "bit cell", "half-cycle", "edge", "header", "block", "checksum", "parity", "CRC",
         "wow", "flutter", "dropout", "azimuth", "hiss", "hum", "saturation", "level", "line level", "baud",
         "bit rate"]
# Where a term is met that is in no lesson.
ELSEWHERE = {"what `kit.diagnose` may find": KIT / "doctor" / "catalogue.py"}
# Words whose stem is what a lesson says of the same thing.
STEMS = {"saturation": "saturat", "copy": "cop(?:y|ies)", "decibel": "decibel|dB", "parity": "parity",
         "threshold": "threshold|limit", "frequency": "frequenc(?:y|ies)"}


def used(term, text):
    """Whether a text uses a term, as one word, also in the plural and at the beginning of a sentence."""
    stem = STEMS.get(term, re.escape(term))
    return re.search(rf"(?<![\w-])(?:{stem})", text, re.IGNORECASE) is not None


def place_of(where):
    """Where a term is said to be met: the target of the link, or a file of the kit."""
    link = re.fullmatch(r"\[(?:lesson (\d+)|first page)\]\(([^)]+)\)", where)
    if link is None:
        return ELSEWHERE[where]
    assert int(link[1] or 0) == int(link[2][:2]), where
    return LESSONS / link[2]


def test_the_whole_page_is_entries_in_the_order_of_the_alphabet_none_of_them_twice():
    terms = [term for term, *_ in ENTRIES]
    assert len(terms) == GLOSSARY.count("\n**") and len(terms) > 50
    assert terms == sorted(terms, key=str.lower) and len(set(terms)) == len(terms)


def test_each_term_is_told_in_one_or_two_plain_sentences_and_not_by_itself():
    for term, _, words in ENTRIES:
        lines = words.splitlines()
        assert 1 <= len(lines) <= 3 and all(line.endswith(".") for line in lines), term
        assert len(words.split()) <= 45, term
        assert not lines[0].lower().startswith((f"a {term}", f"an {term}", f"the {term}", f"{term} ")), term


def test_the_terms_of_the_trade_are_all_in_it():
    terms = {term for term, *_ in ENTRIES}
    assert [term for term in TRADE if term not in terms] == []


@pytest.mark.parametrize(("term", "where"), [entry[:2] for entry in ENTRIES], ids=[entry[0] for entry in ENTRIES])
def test_a_term_is_met_where_the_glossary_says(term, where):
    path = place_of(where)
    assert path.is_file(), f"{path.name} is not in this checkout"
    text = prose(stored(path)) if path.suffix == ".ipynb" else path.read_text("utf-8")
    assert used(term, text), f"{path.name} does not use it"


def test_what_a_lesson_says_in_italics_at_first_use_is_in_the_glossary_or_is_a_word_of_that_page():
    """Of the trade's words: whoever meets one in a lesson finds it here."""
    terms = [term.lower() for term, *_ in ENTRIES]
    for path in LESSONS.glob("[0-9]*.ipynb"):
        italics = re.findall(r"(?<![*\w])\*([A-Za-z][\w -]{2,30})\*(?!\*)", prose(stored(path)))
        marked = {each.lower() for each in italics}
        trade = {each for each in marked if any(used(term, each) and len(each) <= len(term) + 1 for term in TRADE)}
        assert all(any(used(term, each) for term in terms) for each in trade), path.name


def test_its_one_number_holds():
    """Twenty decibels are ten times the height of a wave: 20 lg 10."""
    assert set(re.findall(r"\d+", re.sub(r"\([^)]*\)|\[[^]]*\]", "", GLOSSARY))) == {"0", "1", "9", "20", "255"}
    assert 10 ** (20 / 20) == 10 and int("11111111", 2) == 255 and int("F", 16) == 15


def test_a_term_that_is_used_nowhere_would_be_noticed():
    """The check above, on words written for it."""
    assert used("hum", "A hum is low.") and not used("hum", "thumb") and used("saturation", "It is saturated.")
    assert not used("azimuth", "\n".join(prose(stored(path)) for path in [LESSONS / "01-save-words-as-sound.ipynb"]))
