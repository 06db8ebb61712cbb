"""A report as JSON can carry it: numbers with their units and intervals, None with a reason where there is none."""

import math

from kit.testtape.plan import LADDER_SPEEDS
from kit.testtape.words import passes_in_words

__all__ = ["as_json"]

DIGITS = 5


def as_json(report):
    """The whole report.

    Parameters
    ----------
    report : RecorderReport

    Returns
    -------
    dict
        Of dict, list, str, bool, float, int and None only; no number in it is infinite.
    """
    speeds, levels = report.speeds, report.levels
    return {
        "recording": report.recording,
        "seconds": _number(report.seconds),
        "start_s": _number(report.start_s),
        "complete": report.complete,
        "parts": dict(report.parts),
        "recorded_elsewhere": report.recorded_elsewhere,
        "passes": passes_in_words(report),
        "speed_difference": _figure(speeds.difference),
        "absolute_speed": _figure(report.absolute_speed),
        "drift": _figure(speeds.drift),
        "wow_and_flutter": _figure(speeds.wow_and_flutter),
        "unweighted_flutter": _figure(speeds.unweighted),
        "azimuth": _figure(report.azimuth),
        "wiring": _wiring(report.wiring),
        "noise": [_figure(figure) for figure in report.noise.level],
        "hum": [_figure(figure) for figure in report.noise.hum],
        "signal_to_noise": [_figure(figure) for figure in report.signal_to_noise],
        "response": [_response(side, response) for side, response in report.response.items()],
        "level_of_data": _figure(levels.data_dbfs),
        "level_control": levels.control,
        "shortfall": _figure(levels.shortfall),
        "clipped": levels.clipped,
        "loads_from": _figure(levels.loads_from),
        "loads_to": _figure(levels.loads_to),
        "stairs": [
            {"level_db": level, "out_dbfs": _figure(out), **_loads(stair)}
            for level, out, stair in zip(levels.into_db, levels.out_dbfs, report.stairs, strict=True)
        ],
        "ladder": [{"speed": LADDER_SPEEDS[rung.number], **_loads(rung)} for rung in report.ladder],
        "fastest": _figure(report.fastest),
        "fastest_with_6_db_more_noise": _figure(report.fastest_noisy),
        "advised": _figure(report.advised),
        "fastest_by_side": {("left", "right")[side]: well for side, well in report.by_side.items()},
        "advice": [{"finding": a.finding, "action": a.action, "caution": a.caution} for a in report.advice],
    }


def _number(value):
    return round(float(value), DIGITS) if value is not None and math.isfinite(value) else None


def _figure(figure):
    return {
        "value": _number(figure.value),
        "unit": figure.unit,
        "low": _number(figure.low),
        "high": _number(figure.high),
        "unknown": figure.unknown,
        "note": figure.note,
    }


def _loads(loads):
    return {"blocks": loads.blocks, "read": loads.read, "tried": loads.tried}


def _response(side, response):
    steps = [{"hz": hz, "level": _figure(figure)} for hz, figure in zip(response.hz, response.level_db, strict=True)]
    return {"side": side, "steps": steps, "passes_to": _figure(response.passes_to())}


def _wiring(wiring):
    return {
        "name": wiring.name,
        "gains_db": [[_number(gain) for gain in row] for row in wiring.gains_db],
        "signs": wiring.signs.tolist(),
        "inverted": wiring.inverted,
        "separation_db": _number(wiring.separation_db),
        "skew_us": _number(wiring.skew_us),
    }
