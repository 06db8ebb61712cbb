"""Meters for any recording, which know nothing of the simulated recorder: speed, level, noise, response."""

from kit.meters.levels import (
    band_level_dbfs,
    correlation,
    hum_dbfs,
    level_dbfs,
    noise_dbfs,
    power_density,
    skew_us,
)
from kit.meters.pilot import tone_against_pilot
from kit.meters.response import (
    response_from_original,
    response_from_steps,
    step_levels_dbfs,
    sweep,
    tone_level_dbfs,
)
from kit.meters.speed import SpeedTrace, drift, mean_speed, speed_trace, wow_and_flutter
from kit.meters.volts import (
    LINE_VOLTS,
    MICROPHONE_BELOW_LINE_DB,
    STUDIO_VOLTS,
    db_apart,
    dbu_to_volts,
    dbv_to_volts,
)
from kit.meters.weighting import AES6_POINTS, two_sigma, weighted, weighting_db

__all__ = ["AES6_POINTS", "LINE_VOLTS", "MICROPHONE_BELOW_LINE_DB", "STUDIO_VOLTS", "SpeedTrace",
           "band_level_dbfs", "correlation", "db_apart", "dbu_to_volts", "dbv_to_volts", "drift", "hum_dbfs",
           "level_dbfs", "mean_speed", "noise_dbfs", "power_density", "response_from_original",
           "response_from_steps", "skew_us", "speed_trace", "step_levels_dbfs", "sweep", "tone_against_pilot",
           "tone_level_dbfs", "two_sigma", "weighted", "weighting_db", "wow_and_flutter"]
