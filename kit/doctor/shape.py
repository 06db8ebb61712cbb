"""What the recorder did to the wave: highs and lows lost, from the harmonics of leaders and from the data."""

from dataclasses import dataclass

import numpy as np

__all__ = ["Response", "fit_response"]

CORNERS_HZ = np.concatenate(([0.0], np.geomspace(20, 3000, 80)))
LEAST_OVER_NOISE_DB = 6.0
MILD_DB, DEEPEST_DB = -10.0, -30.0
FEWEST = 4  # harmonics, where so many are not drowned, for mild losses bend as corner and slope do
NEXT = 0.13  # how far apart harmonics are, as a logarithm: the same one of several leaders lies closer
NEGLIGIBLE_DB = 0.01  # what a higher corner must explain to be preferred


@dataclass(frozen=True)
class Response:
    """How levels depend on frequency.

    Attributes
    ----------
    hz, db : numpy.ndarray
        float64, (n,): what was measured, relative to the leader.
    lows_corner_hz : float
        Below it the lows are lost; 0 for none.
    slope_db_per_khz, bend_db_per_khz2 : float
        How much more is lost with each kHz, and with its square; negative where highs are raised.
    misfit_db : float
        How far the measured levels lie from corner and slope together (rms).
    corner_gain_db : float
        How much worse they would fit with slope and bend alone.
    """

    hz: np.ndarray
    db: np.ndarray
    lows_corner_hz: float
    slope_db_per_khz: float
    bend_db_per_khz2: float
    misfit_db: float
    corner_gain_db: float = 0.0

    def loss_db(self, hz, reference_hz):
        """Loss of the highs at a frequency, relative to another one."""
        high, low = hz / 1000, reference_hz / 1000
        return self.slope_db_per_khz * (high - low) + self.bend_db_per_khz2 * (high**2 - low**2)

    def read_loss_db(self, hz):
        """Loss relative to the leader at a frequency, from the two nearest that were measured; beyond, the last."""
        order = np.argsort(self.hz)
        ends = np.flatnonzero(np.diff(np.log(self.hz[order])) > NEXT) + 1
        measured = [(np.median(self.hz[each]), np.median(self.db[each])) for each in np.split(order, ends)]
        known_hz, known_db = np.array(measured).T
        return -float(np.interp(hz, known_hz, known_db))

    def lows_loss_db(self, hz, reference_hz):
        """Loss of the lows at a frequency, relative to another one."""
        corner = self.lows_corner_hz
        return 10 * np.log10((1 + (corner / hz) ** 2) / (1 + (corner / reference_hz) ** 2))


def fit_response(tones, noise_density):
    """Corner and slope from the odd harmonics of leaders.

    Parameters
    ----------
    tones : list of ToneMeasured
    noise_density : float
        Mean square of the noise per Hz, to leave out what drowns in it.

    Returns
    -------
    Response or None
    """
    hz, db, weight, most = [], [], [], 0
    for tone in tones:
        each_hz, each_db = tone.response_db()
        amplitude = np.abs(tone.harmonics[::2]) * np.median(tone.level)
        noise = noise_density / max(tone.seconds, 1e-3)
        over_db = 10 * np.log10(np.maximum(amplitude**2 / 2, 1e-20) / max(noise, 1e-20))
        # Only up to where the tone is all but gone: behind a gap's or a tilt's zero it comes back, and misleads.
        enough = (each_db > MILD_DB) | ((np.arange(len(each_db)) < FEWEST) & (each_db > DEEPEST_DB))
        clear = np.logical_and.accumulate(enough) & (over_db > LEAST_OVER_NOISE_DB)
        most = max(most, np.count_nonzero(clear))
        hz.append(each_hz[clear])
        db.append(each_db[clear])
        weight.append(np.full(np.count_nonzero(clear), np.sqrt(tone.seconds)))
    hz, db, weight = map(np.concatenate, (hz, db, weight))
    return _fitted(hz, db, weight, most) if most >= 2 else None


def _fitted(hz, db, weight, harmonics):
    """Corner and slope; no more of them than so many harmonics can tell."""
    near = hz <= 14_000
    hz, db, weight = hz[near], db[near], weight[near] / (1 + hz[near] / 4000)
    best, plain = None, 0.0
    for corner in CORNERS_HZ if harmonics > 2 else (0.0,):
        bend = -10 * np.log10(1 + (corner / hz) ** 2)
        powers = [np.ones_like(hz), -hz / 1000, -((hz / 1000) ** 2)]
        # As many as so few harmonics can tell: a gap's or a tilt's loss bends, and is no corner.
        count = 3 if harmonics > 4 or (corner == 0 and harmonics > 2) else 2
        system = np.stack(powers[:count], axis=1) * weight[:, None]
        solved, *_ = np.linalg.lstsq(system, (db - bend) * weight, rcond=None)
        left = (system @ solved - (db - bend) * weight) / weight
        misfit = float(np.sqrt(np.average(left**2, weights=weight**2)))
        plain = misfit if corner == 0 else plain
        if best is None or misfit < best[0] - NEGLIGIBLE_DB:  # the least corner that explains it
            best = misfit, corner, [*map(float, solved[1:]), 0.0]
    return Response(hz, db, best[1], best[2][0], best[2][1], best[0], plain - best[0])
