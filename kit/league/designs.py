"""Designs as small files: data and nothing else, doubted when read."""

import json
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from ..bench.ownformat import DesignerState
from ..errors import KitError, SettingError
from ..exercises.answers import answer_name
from .scoring import SETTINGS, design_of

__all__ = ["LONGEST_NAME", "TRADES", "Design", "DesignError", "Trade", "put_in", "read_design"]

WHAT = "a design for the league"
LAYOUT = 1
TRADES = 2  # what a report must justify
MOST_BYTES = 20_000  # ten times what a design takes
MOST_TRADES = 6
LONGEST_NAME, LONGEST_WORDS = 40, 500
TOP = {"what": str, "layout": int, "code_name": str, "settings": dict, "trades": list}


class DesignError(KitError):
    """A design file cannot be read or written; the message is one line."""


@dataclass(frozen=True)
class Trade:
    """One choice of a design, and what it was chosen over.

    Parameters
    ----------
    setting : str
        Its name, one of `kit.league.scoring.SETTINGS`.
    instead : object
        The value that was given up for it.
    because : str
        The learner's reason.
    """

    setting: str
    instead: object
    because: str


@dataclass(frozen=True)
class Design:
    """A format of somebody's own.

    Parameters
    ----------
    code_name : str
        Never a real name.
    state : DesignerState
    trades : tuple of Trade
    """

    code_name: str
    state: DesignerState
    trades: tuple = ()

    def __post_init__(self):
        if not _is_line(self.code_name, LONGEST_NAME):
            raise SettingError(f"code_name must be one line of 1 to {LONGEST_NAME} characters, "
                               f"got {str(self.code_name)[:20]!a}: choose one, never a real name")
        for trade in self.trades:
            _check_trade(trade, self.state)


def _is_line(words, most):
    return (isinstance(words, str) and 0 < len(words) <= most and words == words.strip()
            and not any(unicodedata.category(each)[0] == "C" for each in words))


def _check_trade(trade, state):
    if trade.setting not in SETTINGS:
        raise SettingError(f"a trade must be about one of {', '.join(SETTINGS)}, got {str(trade.setting)[:40]!a}: "
                           "choose one of these")
    other = getattr(rival_of(state, trade), trade.setting)
    if other == getattr(state, trade.setting):
        raise SettingError(f"{trade.setting} must be another value than the design has, got {other!r} twice: "
                           "say what you gave up")
    if not _is_line(trade.because, LONGEST_WORDS):
        raise SettingError(f"a reason must be one line of 1 to {LONGEST_WORDS} characters, "
                           f"got {str(trade.because)[:20]!a}: write a sentence")


def rival_of(state, trade):
    """A design with the one thing changed that a trade is about.

    Parameters
    ----------
    state : DesignerState
    trade : Trade

    Returns
    -------
    DesignerState
    """
    kept = {name: getattr(state, name) for name in (*SETTINGS, "deck")}
    return design_of(**kept | {trade.setting: trade.instead})


def put_in(design, folder="league", class_code=""):
    """Put a design where those of a class are gathered: one small file for each code name.

    Parameters
    ----------
    design : Design
    folder : path-like
    class_code : str
        So that equal code names of two classes do not meet.

    Returns
    -------
    pathlib.Path
        An earlier design of the same code name is replaced: the latest counts.

    Raises
    ------
    DesignError
        The folder cannot be written to.
    """
    path = Path(folder) / answer_name(class_code, design.code_name)
    settings = {name: getattr(design.state, name) for name in ("deck", *SETTINGS)}
    trades = [[trade.setting, trade.instead, trade.because] for trade in design.trades]
    made = {"what": WHAT, "layout": LAYOUT, "code_name": design.code_name, "settings": settings, "trades": trades}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(made, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    except OSError as error:
        raise DesignError(f"{path}: {error.strerror or error}: choose another folder") from None
    return path


def read_design(path):
    """Read a design, whoever wrote it.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    Design

    Raises
    ------
    DesignError
        One line: it is not there, or no design.
    """
    path = Path(path)
    try:
        return _design_in(_json_of(path))
    except KitError as error:
        raise DesignError(f"{path.name}: {error}") from None
    except OSError as error:
        raise DesignError(f"{path.name}: {error.strerror or error}: check the name") from None
    except (ValueError, TypeError, RecursionError):
        raise DesignError(f"{path.name}: a design must be whole JSON, this is broken: ask for it anew") from None


def _json_of(path):
    if not path.is_file():  # a pipe, for one, would be waited for without end
        raise DesignError("a design must be a file, this is something else: look for another")
    with path.open("rb") as file:
        raw = file.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise DesignError(f"a design has at most {MOST_BYTES} bytes, this has more: it is none")
    found = json.loads(raw.decode("utf-8"), parse_constant=_no_number)
    json.dumps(found, ensure_ascii=False).encode("utf-8")  # half a character can be read, but not written
    return found


def _no_number(name):
    raise ValueError(f"{name} is no number")


def _design_in(found):
    if not isinstance(found, dict) or found.get("what") != WHAT:
        raise DesignError("this must be a design, it is something else: look for another")
    if found.get("layout") != LAYOUT:
        raise DesignError(f"layout must be {LAYOUT}, got {str(found.get('layout'))[:20]!a}: it needs another "
                          "version of the kit")
    if set(found) != set(TOP) or not all(type(found[name]) is kind for name, kind in TOP.items()):
        raise DesignError("its fields are not those of a design: ask for it anew")
    trades = found["trades"]
    if len(trades) > MOST_TRADES or not all(isinstance(each, list) and len(each) == 3 for each in trades):
        raise DesignError("its trades are not as the kit writes them: ask for it anew")
    return Design(found["code_name"], design_of(**found["settings"]), tuple(Trade(*each) for each in trades))
