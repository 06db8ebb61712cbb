"""Leader: edges arrive while motor and level settle; when the reader locks, and whether the first block is lost."""

from dataclasses import dataclass, replace

import numpy as np

from ..shown import BLACK, BLUE, ORANGE, VERMILLION
from .fields import State, choice, number, switch, text
from .leadertape import FORMAT, LEVEL_S, RECORDING, REPLAY, TEXT, Tape, speed_there, tape, wave_um
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Tiles, Words

__all__ = ["LEADER", "LeaderBench", "LeaderState", "find"]

LONGEST_MS = 1.0  # drawn: half a cycle of a leader at less than half speed


@dataclass(frozen=True)
class LeaderState(State):
    """How long the leader is, what the recorder does meanwhile, and how far the tape has been heard."""

    heard_percent: int = number(100, 0, 100, 1, "%", "Heard so far")
    leader_s: float = number(0.05, 0.02, 5.0, 24, "s", "Leader before the first block", log=True)
    motor_s: float = number(0.5, 0.0, 1.0, 0.1, "s", "Motor start",
                            hint="time constant; it begins with a tenth of its speed")
    where: str = choice(RECORDING, (RECORDING, REPLAY), "The motor starts with")
    dirt_um: float = number(2.0, 0.0, 4.0, 0.5, "µm", "Dirt on the head",
                            hint="the shorter a wave on the tape, the more of it is lost")
    level_control: bool = switch(True, "Automatic level", hint="begins 20 dB too loud")
    sync_cycles: int = number(3, 2, 8, 1, "cycles", "Sync mark")
    hiss_db: int = number(-46, -60, -16, 2, "dB", "Hiss", hint="full scale is 0 dB")
    words: str = text(TEXT.decode(), 70, "Text")


@dataclass(frozen=True, eq=False)
class LeaderBench(Result):
    """The tape, and how far it has been heard.

    Attributes
    ----------
    tape : Tape
    now_s : float
    """

    tape: Tape
    now_s: float


def _tape_of(state):
    """The tape, which is the same however far it has been heard."""
    return tape(state.leader_s, state.motor_s, state.where, state.dirt_um, state.level_control, state.sync_cycles,
                state.hiss_db, state.words.encode())


def find(state):
    """Record, play and read the tape, and stop the clock.

    Parameters
    ----------
    state : LeaderState

    Returns
    -------
    LeaderBench
    """
    heard = _tape_of(state)
    now_s = state.heard_percent / 100 * heard.sound.seconds
    first = heard.blocks[0]
    figures = (
        ("first block", "read" if first[3] else "lost"),
        ("first block that is read", _first_read(heard)),
        ("speed when the first block begins", f"{100 * speed_there(first[1], state.motor_s, state.where):.0f} %"),
        ("places that may be a start", str(int(np.count_nonzero(heard.starts_s <= now_s)))),
    )
    return LeaderBench(_in_words(state, heard, now_s), figures, heard, now_s)


def _first_read(tape):
    return next((f"{name} at {start:.2f} s" for name, start, _, read in tape.blocks if read), "none")


def _now_in_words(tape, now_s):
    """What the reader knows at a moment."""
    inside = next(((name, read) for name, start, stop, read in tape.blocks if start <= now_s < stop), None)
    if inside is not None:
        return f"within the {inside[0]} block, which will be {'read' if inside[1] else 'lost'}"
    known = tape.steady[: np.searchsorted(tape.edges_s, now_s, "right")]
    if not len(known):
        return "no edge has come yet"
    return "locked to a steady tone" if known[-1] else "edges come, but no steady tone"


def _in_words(state, tape, now_s):
    name, start, _, read = tape.blocks[0]
    words = f"At {now_s:.2f} s: {_now_in_words(tape, now_s)}. The first block, a {name}, is "
    words += f"{'read' if read else 'lost'}: {_speed_in_words(state, start)}. "
    if not read:
        later = next((f"the {name} at {first:.2f} s" for name, first, _, good in tape.blocks if good), None)
        words += f"The first that is read is {later}. " if later else "No block of this short tape is read. "
    return words + _starts_in_words(tape)


def _speed_in_words(state, start_s):
    """How fast the motor runs where the first block begins, and what that means."""
    speed = speed_there(start_s, state.motor_s, state.where)
    words = f"after {state.leader_s:g} s of leader the motor has {100 * speed:.0f} % of its speed"
    if state.where == RECORDING:
        return words + f", and a zero is {wave_um(speed):.1f} µm long on the tape"
    return words + (", so it sounds lower, and rises while it is read" if speed < 0.98 else "")


def _starts_in_words(tape):
    count, real = len(tape.starts_s), sum(block[3] for block in tape.blocks)
    return (f"On the whole tape {count} {'place looks' if count == 1 else 'places look'} like a start, for {real} "
            f"{'block' if real == 1 else 'blocks'} read: the check tells which is true.")


def draw(state, result):
    """How long each half-cycle lasts as the edges come in, the level, and what the reader makes of it."""
    tape, now_s = result.tape, result.now_s
    axis = {"x_span": (0.0, tape.sound.seconds), "x_label": "time in seconds"}
    now = Level(now_s, name="now", upright=True, dash="")
    come = tape.edges_s[tape.edges_s <= now_s]
    halves_ms = np.minimum(1000 * np.diff(come), LONGEST_MS)
    starts = tape.starts_s[tape.starts_s <= now_s]
    unit_ms = 1000 * FORMAT.unit_s()
    lines = [Level(unit_ms * units / 2, name, dash="dot") for name, units in
             (("leader", FORMAT.leader.leader_units), ("sync", FORMAT.leader.sync_units),
              ("one", FORMAT.code.one_units), ("zero", FORMAT.code.zero_units))]
    lengths = Pane(y_span=(0.0, 1.16 * LONGEST_MS), y_label="half-cycle in ms", share=1.5, items=(
        *lines, Marks(come[:-1], halves_ms, "each half-cycle", BLUE, "."),
        Marks(starts, np.full(len(starts), 1.04 * LONGEST_MS), "looks like a start", VERMILLION, "v"), now),
        title="Edges as they arrive", **axis)
    times_s = (np.arange(len(tape.level)) + 0.5) * LEVEL_S
    so_far = times_s <= now_s
    level = Pane(y_span=(0.0, 1.1), y_label="level", share=0.6, title="Level",
                 items=(Line(times_s[so_far], tape.level[so_far], "", BLACK), replace(now, name="")), **axis)
    return Scene((lengths, level, _lock_pane(tape, now_s, axis)), _picture_in_words(state, result), height=600)


def _lock_pane(tape, now_s, axis):
    """Above, where the reader could lock; below, the blocks that were written, read or lost."""
    count = int(np.searchsorted(tape.edges_s, now_s, "right"))
    times_s = np.repeat(tape.edges_s[:count], 2)[1:]
    flags = np.repeat(tape.steady[:count], 2)[:-1]
    looks = ((True, "read", ORANGE, "/"), (False, "lost", VERMILLION, "x"))
    past = [block for block in tape.blocks if block[1] < now_s]
    blocks = []
    for read, name, colour, hatch in looks:
        mine = [block for block in past if block[3] == read]
        blocks += [Tiles([start], [0.1], min(stop, now_s) - start, 0.8, "" if k else name, colour, hatch)
                   for k, (_, start, stop, _) in enumerate(mine)]
    names = Words([(start + min(stop, now_s)) / 2 for _, start, stop, _ in past],
                  tuple(name[0].upper() for name, *_ in past), 0.5, large=False)
    return Pane(y_span=(0.0, 2.1), y_label="locked", bare=True, share=0.6,
                title="Line up: a steady tone. Boxes: H header, D data", items=(
                    *blocks, names, Line(times_s, 1.15 + 0.75 * flags, "", BLUE),
                    Level(now_s, upright=True, dash="")), **axis)


def _picture_in_words(state, result):
    tape = result.tape
    blocks = "; ".join(f"{name} from {start:.2f} to {stop:.2f} s, {'read' if read else 'lost'}"
                       for name, start, stop, read in tape.blocks)
    come = int(np.count_nonzero(tape.edges_s <= result.now_s))
    loud = f"{tape.level[: max(1, len(tape.level) // 20)].max():.2f} at first, {np.median(tape.level):.2f} later"
    return (f"Above, the length of each half-cycle against time, {come} edges up to {result.now_s:.2f} s, with the "
            f"lengths that leader, sync, one and zero should have. Below it the level: {loud}. At the bottom, where "
            f"the tone is steady, and the blocks: {blocks}.")


def sound(state, result):
    """The tape from its start."""
    return result.tape.sound


def pick(state, pane, x):
    """Pointing at a time stops the clock there."""
    percent = 100 * x / _tape_of(state).sound.seconds
    return {"heard_percent": percent} if 0 <= percent <= 100 else {}


LEADER = Experiment(
    "leader",
    "Give the reader time to lock",
    "How long must a leader be, while the motor starts and the level settles, for the first block to be read?",
    LeaderState, find, draw, sound, pick,
)
