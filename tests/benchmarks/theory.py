"""Which recordings theory allows to be read, whatever the reader: a bound from the deck's own noise.

Someone who knows everything but the bits would tell two tapes apart by the energy of their difference. The
nearest two tapes differ in one place: where one has a one, the other has two zeros, which last as long. So each
such place of a tape is changed, the other tape is played through the same deck without its noise, and the
difference is measured: its energy, weighted by the noise at each frequency, is ``(d / sigma)^2``, and the chance to
take one tape for the other is ``Q(d / 2 sigma)``. The sum over the places is the number of errors to be expected.
Where the noise that was there leaves what is heard nearer to the other tape, an error is made. A recording is
allowed if, over one header and every data block, the best of its copies each, fewer than 0.1 errors are to be
expected in all, and none is made.

The noise is all that the deck's hiss, the noise of a room, its reverberation and a codec change in what is heard.
(Reverberation follows from the tape, but from a second of it through thousands of echoes, which no one knows who has
only the tape.) Where it is an approximation:

- one header and one copy of each block must be free of errors; parity, and copies that mend each other, are left
  out, and so is what is known of a block's length and check. Real limits lie a little lower, so a recording may be
  read that is not allowed;
- speed, level, hum and what becomes of the wave's shape are taken for known at each moment. A reader must estimate
  them, so real limits lie higher where these change fast or the shape is lost;
- noise is taken for Gaussian and alike all along the tape. Behind a limiter or a codec, or where a level control
  pumps, it is neither, and reverberation is like the wave itself;
- of leader and sync only the time they take is used: they are not required to be heard;
- a stretch where the signal is gone has a distance of 0: each place in it counts half an error. Nothing is said of
  stretches gone in the leader.
"""

from dataclasses import dataclass

import numpy as np
from scipy import fft
from scipy.signal import welch
from scipy.special import erfc

import kit
from kit.blocks import PARITY, upright
from kit.deck.air import SOUND_SPEED_M_S
from kit.sides import name_files, tape_blocks
from kit.trials.trial import NAME
from kit.waves import render

__all__ = ["ALLOWED_ERRORS", "Expected", "expected_errors", "written"]

ALLOWED_ERRORS = 0.1
APART_UNITS = 8  # two changes of one tape lie so far apart at least, so that their differences hardly overlap
QUANTISATION = (2**-15) ** 2 / 12  # variance of rounding to 16 bits: no recording has less noise
QUIET = {"hiss_dbfs": -np.inf, "room_noise_dbfs": -np.inf, "room_reverberation_s": 0, "codec": "none"}
BANDS = 2048  # samples of a piece whose spectrum is taken
MOTION = ("speed_percent", "wow_percent", "wow_hz", "flutter_percent", "flutter_hz", "drift_percent",
          "drift_period_s", "motor_start_s")


@dataclass(frozen=True)
class Expected:
    """What theory says of a recording.

    Parameters
    ----------
    errors : float
        Errors to be expected in what must be read.
    weakest : float
        Smallest ``d / sigma`` of any place in what must be read.
    made : int
        Places in it where the noise that was there makes an error.
    """

    errors: float
    weakest: float
    made: int

    @property
    def allowed(self):
        """Whether theory allows it to be read."""
        return self.errors < ALLOWED_ERRORS and not self.made


@dataclass(frozen=True)
class Block:
    """A block as written: its bytes without check and upright, its bits, and all its half-cycles in seconds."""

    body: bytes
    bits: np.ndarray
    half_cycles_s: np.ndarray


def written(trial):
    """The blocks of a trial's tape, in order."""
    format = trial.format.changed(lead_in_s=trial.lead_in_s)
    for leader_s, body in tape_blocks(name_files([trial.data()], NAME, None, 0), format):
        half_cycles_s = format.block_half_cycles(body, leader_s, trial.speed)
        yield Block(upright(body)[0], format.block_bits(body), half_cycles_s)


def expected_errors(trial):
    """What theory says of a trial.

    Parameters
    ----------
    trial : kit.trials.Trial
        Of a format whose one lasts as long as two zeros, and of one generation.

    Returns
    -------
    Expected
    """
    blocks = list(written(trial))
    places = _places(trial, blocks)
    deck = trial.deck.with_settings(**QUIET)
    clean = _played(trial, deck, [block.half_cycles_s for block in blocks])
    noise = _sides(trial.play().samples) - clean
    spectrum, when_s = _spectrum(noise), _source_times(trial, len(clean))
    noise = _weighted(noise, spectrum)
    energy, push = np.zeros(len(places)), np.zeros(len(places))
    for group in np.unique(places["group"]):
        chosen = np.flatnonzero(places["group"] == group)
        other = _weighted(_played(trial, deck, _changed(trial, blocks, places[chosen])) - clean, spectrum)
        middles = (places["start_s"][chosen[1:]] + places["start_s"][chosen[:-1]]) / 2 + _unit_s(trial)
        nearest = np.searchsorted(middles, when_s)
        energy[chosen] = np.bincount(nearest, (other**2).sum(axis=1), len(chosen))
        push[chosen] = np.bincount(nearest, (other * noise).sum(axis=1), len(chosen))
    return _judged(blocks, places, np.sqrt(energy), 2 * push > energy)


def _unit_s(trial):
    return trial.format.unit_s(trial.speed)


def _places(trial, blocks):
    """Where one bit could be taken for two, or two for one: block, bit, time of its start, group to change in."""
    places, start_s = [], 0.0
    for number, block in enumerate(blocks):
        first = len(block.half_cycles_s) - 2 * trial.format.tail_cycles - 2 * len(block.bits)
        times = start_s + np.concatenate(([0], np.cumsum(block.half_cycles_s)))
        one, zero = block.bits == 1, block.bits == 0
        bits = np.flatnonzero(one | (zero & np.append(zero[1:], False)))
        places += [(number, bit, times[first + 2 * bit], 0) for bit in bits]
        start_s = times[-1]
    places = np.array(places, [("block", int), ("bit", int), ("start_s", float), ("group", int)])
    places["group"] = _dealt(places["start_s"], APART_UNITS * _unit_s(trial))
    return places


def _dealt(starts_s, apart_s):
    """A group for each place, none with two places nearer than so; as few groups as that takes."""
    last, groups = [], []
    for start in starts_s.tolist():
        group = next((k for k, before in enumerate(last) if start - before >= apart_s), len(last))
        last[group : group + 1] = [start]
        groups.append(group)
    return groups


def _changed(trial, blocks, places):
    """Half-cycles of the other tape: at each of these places two zeros for a one, or a one for two zeros."""
    for number, block in enumerate(blocks):
        bits, count = block.bits.copy(), np.ones(len(block.bits), int)
        at = places["bit"][places["block"] == number]
        ones = at[block.bits[at] == 1]
        pairs = at[block.bits[at] == 0]
        bits[ones], count[ones] = 0, 2
        bits[pairs], count[pairs + 1] = 1, 0
        tail = 2 * trial.format.tail_cycles
        head = block.half_cycles_s[: len(block.half_cycles_s) - tail - 2 * len(block.bits)]
        cells = trial.format.code.encode(np.repeat(bits, count)) * _unit_s(trial)
        yield np.concatenate((head, cells, block.half_cycles_s[len(block.half_cycles_s) - tail :]))


def _played(trial, deck, half_cycles_s):
    """What is heard of a tape of these half-cycles; shape (frames, sides)."""
    samples = render(np.concatenate(list(half_cycles_s)), trial.rate)
    if trial.channels == 2:
        samples = np.stack([samples, samples], axis=1)
    return _sides(deck.play(kit.Sound(samples, trial.rate), trial.seed).samples)


def _sides(samples):
    return samples.reshape(len(samples), -1).astype(float)


def _spectrum(noise):
    """Variance of the noise at each frequency from 0 to half the rate, of each side; shape (bands, sides)."""
    _, density = welch(noise, nperseg=min(BANDS, len(noise)), detrend=False, axis=0)
    return density / 2 + QUANTISATION


def _weighted(samples, spectrum):
    """Samples filtered so that noise of this spectrum has a variance of 1 at each frequency."""
    size = fft.next_fast_len(len(samples), real=True)
    bands = np.linspace(0, 0.5, len(spectrum))
    shades = [np.sqrt(np.interp(fft.rfftfreq(size), bands, noise)) for noise in spectrum.T]
    return fft.irfft(fft.rfft(samples, size, axis=0) / np.transpose(shades), size, axis=0)[: len(samples)]


def _source_times(trial, frames):
    """For each sample heard, which second of the tape's source it is of."""
    motion = {f"{which}_{name}": getattr(trial.deck, f"{which}_{name}") for name in MOTION
              for which in ("record", "replay")}
    size = len(trial.tape().samples)
    slope = kit.Sound(np.linspace(0, 1, size, dtype=np.float32), trial.rate)
    way = np.maximum.accumulate(kit.Deck(**motion).play(slope, trial.seed).samples.astype(float))
    late = round(trial.deck.room_distance_m / SOUND_SPEED_M_S * trial.rate)
    return np.pad(way, (late, max(0, frames - late - len(way))), mode="edge")[:frames] * size / trial.rate


def _judged(blocks, places, distances, errors):
    """What is to be expected of the best copy of each block that is needed, together."""
    chances = erfc(distances / 2 / np.sqrt(2)) / 2
    best = {}
    for number, block in enumerate(blocks):
        mine = places["block"] == number
        said = Expected(float(chances[mine].sum()), float(distances[mine].min()), int(errors[mine].sum()))
        best[block.body] = min(best.get(block.body, said), said, key=lambda one: (one.made, one.errors))
    needed = [said for body, said in best.items() if body[0] != PARITY]
    return Expected(sum(one.errors for one in needed), min(one.weakest for one in needed),
                    sum(one.made for one in needed))
