"""What a design is worth: useful bits a second over tapes that are the same for everybody."""

from dataclasses import dataclass, fields, replace

from ..bench.designer import tried
from ..bench.ownformat import FILE_BYTES, DesignerState, build, file_bytes, parts_s
from ..errors import SettingError
from ..tape import encode
from ..trials import interval

__all__ = ["DECK", "LONGEST_S", "SETTINGS", "TAPES", "Scored", "design_of", "format_of", "score"]

TAPES = 20
DECK = "worn"  # the station's oldest recorder
LONGEST_S = 10.0  # of one tape: what plays longer is below 103 bits a second, and not worth anybody's time
RATE = 48_000
SETTINGS = tuple(field.name for field in fields(DesignerState) if field.name not in ("deck", "tapes"))


@dataclass(frozen=True)
class Scored:
    """A design, and what came of its tapes.

    Attributes
    ----------
    state : DesignerState
    seconds : float
        How long one tape plays; 0 if the design was refused.
    parts_s : tuple of float
        How much of it each of `kit.bench.ownformat.PARTS` takes.
    right : tuple of bool
        Of each tape, whether every byte came out right.
    vouched : tuple of bool
        Whether the loader could know it: every byte is right, and the check agrees.
    refusal : str
        Why there is no tape, one line; "" if there is one.
    """

    state: DesignerState
    seconds: float = 0.0
    parts_s: tuple = ()
    right: tuple = ()
    vouched: tuple = ()
    refusal: str = ""

    @property
    def loads(self):
        """int: tapes that count, right and known to be right."""
        return sum(self.vouched)

    @property
    def score(self):
        """float: useful bits a second, those of the file over the tape's seconds, times the share that counts."""
        if not self.vouched:
            return 0.0
        return 8 * FILE_BYTES / self.seconds * self.loads / len(self.vouched)

    @property
    def text(self):
        """str: the same in two lines."""
        if self.refusal:
            return f"Refused, so it scores 0: {self.refusal}."
        low, high = interval(self.loads, len(self.vouched))
        lines = [f"{self.score:.0f} useful bits a second: {8 * FILE_BYTES} bits in {self.seconds:.2f} s of tape, "
                 f"and {self.loads} of {len(self.vouched)} tapes load "
                 f"(95 % sure: {100 * low:.0f} to {100 * high:.0f} %)."]
        unknown = sum(self.right) - self.loads
        if unknown:
            lines.append(f"{unknown} more came out right, but nothing vouches for them, so they do not count.")
        return "\n".join(lines)

    def __repr__(self):
        return self.text


def design_of(**settings):
    """A design from settings, as the bench `designer` has them.

    Parameters
    ----------
    **settings
        By the names in `SETTINGS`, and `deck`; what is left out is as the bench begins. A number is taken to the
        nearest step of the bench.

    Returns
    -------
    DesignerState

    Raises
    ------
    SettingError
        A name is unknown, or a value out of range.
    """
    unknown = [name for name in settings if name not in (*SETTINGS, "deck")]
    if unknown:
        raise SettingError(
            f"settings must be among {', '.join(SETTINGS)} and deck, got {str(unknown[0])[:40]!a}: "
            "choose one of these"
        )
    return DesignerState(**{"deck": DECK} | settings)


def format_of(**settings):
    """The format a design stands for, to encode and decode with.

    Parameters
    ----------
    **settings
        As for `design_of`.

    Returns
    -------
    Format

    Raises
    ------
    SettingError
        As `design_of`, or the choices do not go together.
    """
    return build(design_of(**settings))


def score(state=None, /, *, seed=0, tapes=TAPES, **settings):
    """Write tapes, play them through the recorder, read them, and say what that is worth.

    Parameters
    ----------
    state : DesignerState, optional
        Where to begin; what `design_of()` gives if it is left out.
    seed : int
        Of the first tape; those that follow count on. The league takes 0, so that all meet the same tapes.
    tapes : int
    **settings
        As for `design_of`; they replace what `state` says.

    Returns
    -------
    Scored
        The same on every run. A design whose parts do not go together, or whose tape plays longer than 10 s, is
        refused: that is a result, too.

    Raises
    ------
    SettingError
        As `design_of`.
    """
    state = _changed(state, settings)
    try:
        format = build(state)
        seconds = encode(file_bytes(seed), name="own.bin", format=format, rate=RATE).seconds
    except SettingError as refusal:
        return Scored(state, refusal=str(refusal))
    if seconds > LONGEST_S:
        return Scored(state, refusal=f"a tape must play {LONGEST_S:g} s at most, got {seconds:.1f} s: save some")
    outcomes = [tried(format, state.deck, seed + number) for number in range(tapes)]
    return Scored(state, seconds, tuple(map(float, parts_s(format))), tuple(one.right == 1 for one in outcomes),
                  tuple(one.sure for one in outcomes))


def _changed(state, settings):
    kept = {} if state is None else {name: getattr(state, name) for name in (*SETTINGS, "deck")}
    return replace(design_of(**kept | settings), tapes=DesignerState.tapes)
