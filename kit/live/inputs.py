"""What the browser says of an input, held against what was asked for."""

from dataclasses import dataclass

__all__ = ["ASKED_OFF", "InputReport", "plain"]

# As browsers name them, and as people do.
ASKED_OFF = {"echoCancellation": "echo cancellation", "noiseSuppression": "noise suppression",
             "autoGainControl": "automatic gain"}
HARM = {"echoCancellation": "it cancels what the loudspeaker plays, and that is the tape",
        "noiseSuppression": "it takes the steady tones of a tape for noise",
        "autoGainControl": "it moves the level while a block is read"}
NARROW_HZ = 32000  # an input for speech; fast tapes need more
MOST_LETTERS = 100


@dataclass(frozen=True)
class InputReport:
    """An input, as the browser reports it.

    Attributes
    ----------
    label : str
        Its name; may be empty.
    processing : dict of str to bool or None
        For each of `ASKED_OFF` whether it is on; None where the browser does not say.
    rate_hz : int or None
        Of the device itself.
    """

    label: str = ""
    processing: tuple = ()
    rate_hz: int | None = None

    @classmethod
    def of(cls, label, settings):
        """From what the page sends: anything."""
        settings = settings if isinstance(settings, dict) else {}
        answers = tuple((name, _yes_or_no(settings.get(name))) for name in ASKED_OFF)
        rate = settings.get("sampleRate")
        proper = isinstance(rate, (int, float)) and not isinstance(rate, bool) and 0 < rate < 1e7
        return cls(plain(label), answers, round(rate) if proper else None)

    def warnings(self):
        """Lines on what may spoil a recording; none if all is as asked.

        Returns
        -------
        list of str
        """
        lines = [
            f"{ASKED_OFF[name].capitalize()} is still on, though it was asked to be off: {HARM[name]}. Switch it off "
            "in the sound settings of the system, or take another input, best a line input."
            for name, on in self.processing if on
        ]
        unknown = [ASKED_OFF[name] for name, on in self.processing if on is None]
        if unknown:
            lines.append(f"The browser does not say whether {_listed(unknown)} is off: if a tape does not read, "
                         "compare with a recording made by another program.")
        if self.rate_hz is not None and self.rate_hz < NARROW_HZ:
            lines.append(f"This input takes {self.rate_hz} samples a second, which is meant for speech: "
                         "fast tapes will not read. Take another input.")
        return lines

    def __str__(self):
        state = {True: "on", False: "off", None: "not reported"}
        said = ", ".join(f"{ASKED_OFF[name]} {state[on]}" for name, on in self.processing)
        return f"Input: {self.label or 'without a name'}; {said or 'nothing reported'} (as the browser reports)."


def plain(text, most=MOST_LETTERS):
    """Text from outside, short, on one line, without what is not shown as it stands."""
    text = text if isinstance(text, str) else ""
    return "".join(each if each.isprintable() else "·" for each in text[:most])


def _yes_or_no(value):
    # A browser may name a kind of echo cancellation in place of a yes.
    return value if isinstance(value, bool) or value is None else bool(value)


def _listed(words):
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
