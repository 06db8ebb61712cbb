"""A learner at work: predict, look, say what was seen, answer, check, hand in.

`learner("gull 7")` begins or goes on; `resume("gull 7")` goes on, and says so if there is nothing to go on with.
"""

from ..errors import SettingError
from .checks import checked_entry, checked_function
from .handing import handed_in
from .lessons import OPENING
from .marking import abilities
from .owning import FOLDER, Owner, clean
from .shows import Asked, Locked, Told

__all__ = ["Learner", "learner", "resume"]

PREDICT_FIRST = "Predict first."
MOST_VOTES = 9  # kept of one question: the first, and the latest


class Learner(Owner):
    """One learner, by code name: see `learner`."""

    # -- predict, see, say, explain ---------------------------------------------------------------------

    def predict(self, key, letter=None):
        """Predict what will come out, or be asked to.

        Parameters
        ----------
        key : str
            Such as "4a".
        letter : str, optional
            "a" to "d". It may be changed until the result was shown: vote, talk, vote again.

        Returns
        -------
        Asked or Told
        """
        item, _, _ = self._asked(key, "choice")
        if letter is None:
            return self._question(key, "predict", "Save my prediction")
        chosen = item.accepts(letter)
        if chosen is None:
            return _no_letter("A prediction", letter)
        record = self.file.record(key)
        if record.get("seen"):
            return Told(f"You predicted {record['votes'][-1]} before you saw the result; that stays.")
        self._vote(key, record, chosen, seen=False)  # so that it is known for a prediction, of which more is asked
        return self._told(f"Saved: {chosen}) {item.option(chosen).text}\nNow run the next cell and look.")

    def _vote(self, key, record, chosen, **more):
        votes = record.get("votes", [])
        if votes[-1:] != [chosen]:
            self._keep(key, votes=[*votes[:1], *votes[1:][2 - MOST_VOTES :], chosen], **more)

    def reveal(self, key, result):
        """A result, once it was predicted; before, a line that says so.

        Parameters
        ----------
        key : str
        result : object
            What is shown; of a function without arguments, what it gives.

        Returns
        -------
        object
        """
        self._asked(key, "choice")
        record = self.file.record(key)
        if not record.get("votes"):
            return Locked(f"{PREDICT_FIRST} Your prediction {key} opens this; then run this cell again.")
        if not record.get("seen"):
            self._keep(key, seen=True)
        return result() if callable(result) else result

    def saw(self, key, words=None):
        """Say what you saw, or be asked to; before it is explained.

        Parameters
        ----------
        key : str
        words : str, optional

        Returns
        -------
        Asked, Locked or Told
        """
        self._asked(key, "choice")
        record = self.file.record(key)
        if not record.get("seen"):
            return Locked(f"{PREDICT_FIRST} Then look, run this cell again, and say what you saw.")
        if words is None:
            return self._form("What did you see? Write one sentence.", f'me.saw("{key}", "your sentence")',
                              "Save what I saw", lambda text: self.saw(key, text), value=record.get("saw", ""))
        text = clean(words)
        if not text:
            return Told("Write a sentence first.")
        self._keep(key, saw=text)
        return self._told("Saved. Now run the next cell, and compare.")

    def explain(self, key):
        """What was to be seen and why, once the learner has said what they saw.

        Parameters
        ----------
        key : str

        Returns
        -------
        Locked or Told
        """
        item, _, _ = self._asked(key, "choice")
        record = self.file.record(key)
        if not record.get("votes") or not record.get("seen"):
            return Locked(f"{PREDICT_FIRST} Then look, say what you saw, and run this cell again.")
        if not record.get("saw"):
            return Locked("First say what you saw, in the cell above; then run this cell again.")
        option = item.option(record["votes"][-1])
        return Told(f"You predicted: {option.text}\n{option.reply}\n{item.explanation}")

    # -- answer and check -------------------------------------------------------------------------------

    def answer(self, key, answer=None):
        """Answer a question, or be asked it.

        Parameters
        ----------
        key : str
        answer : object, optional
            A letter, bits as a list or as text, a number, or words.

        Returns
        -------
        Asked or Told
        """
        item, data, _ = self._asked(key, "choice", "bits", "number", "words")
        if answer is None:
            return self._question(key, "answer", "Save my answer")
        if item.kind == "choice":
            return self._answer_choice(key, item, answer)
        outcome, fields = checked_entry(item, data, self.file.record(key), answer)
        return self._checked(key, outcome, fields)

    def _answer_choice(self, key, item, answer):
        chosen = item.accepts(answer)
        if chosen is None:
            return _no_letter("An answer", answer)
        right = chosen == item.key
        if right:  # it stays: trying the others out of curiosity is no fault
            self._keep(key, answer=chosen)
        record = self.file.record(key)
        self._vote(key, record, chosen)
        kept = "" if right or record.get("answer") != item.key else f"Your answer {item.key} was right, and counts."
        more = item.explanation if right else kept
        return self._told("\n".join(filter(None, (item.option(chosen).reply, more))))

    def check(self, key, function):
        """Check a function.

        Parameters
        ----------
        key : str
        function : callable

        Returns
        -------
        Outcome
        """
        item, data, seed = self._asked(key, "function")
        outcome, fields = checked_function(item, data, seed, self.file.record(key), function)
        return self._checked(key, outcome, fields)

    def _checked(self, key, outcome, fields):
        if fields:
            self._keep(key, **fields)
        return outcome

    def opening(self, lesson):
        """The three questions about earlier lessons with which a lesson begins.

        Parameters
        ----------
        lesson : int
            From 2.

        Returns
        -------
        Asked
        """
        asked = [self.answer(f"{lesson}r{k + 1}") for k in range(OPENING)]
        return Asked([question for each in asked for question in each.questions])

    # -- how far, and handing in ------------------------------------------------------------------------

    def progress(self):
        """What you can now do, as your answers show, and what is still open.

        Returns
        -------
        Told
        """
        done, still_open = abilities(self.file.answers)
        lines = [f"You can now {each}." for each in done] or ["Nothing is shown yet: answer and check first."]
        lines += [f"Still open: {each}." for each in still_open]
        return Told("\n".join(lines))

    def hand_in(self, folder="hand-in"):
        """Put a copy of your answers where they are gathered: one file for each learner.

        Parameters
        ----------
        folder : str or path-like
            Beside the notebook, or where your teacher says.

        Returns
        -------
        Told
        """
        return handed_in(self.file.answers, folder)


def _no_letter(what, given):
    """What to say where a letter should have been chosen."""
    if isinstance(given, str) and not given.strip():
        return Told("Choose one of the four first: a, b, c or d.")
    return Told(f"{what} is a, b, c or d, got {str(given)[:12]!r}.")


def learner(code_name, class_code="", folder=FOLDER):
    """Begin as a learner, or go on: words, data and answers of one's own.

    Parameters
    ----------
    code_name : str
        A code name, never a real name. Others who take the same one get the same data; two who work as a pair
        share one.
    class_code : str
        Given out by a teacher: another class gets other data for the same code names.
    folder : str or path-like
        Where the answers are kept, a file for each learner; beside the notebook, if nothing else is said.

    Returns
    -------
    Learner
    """
    return Learner(code_name, class_code, folder)


def resume(code_name, class_code="", folder=FOLDER):
    """Go on where one was, after a break or after the kernel stopped.

    Parameters
    ----------
    code_name, class_code, folder
        As for `learner`.

    Returns
    -------
    Learner

    Raises
    ------
    SettingError
        There are no answers under this name.
    """
    found = Learner(code_name, class_code, folder)
    if not found.file.answers["items"]:
        raise SettingError(
            f"there must be answers of {found.code_name!r} in {str(folder)[:60]!r}, got none: check both names, or "
            f"begin with learner(…)"
        )
    return found
