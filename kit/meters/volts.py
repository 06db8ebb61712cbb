"""What inputs and outputs carry, in volts: line level at home and in a studio, and how far below a microphone's is.

0 dBV is 1 V; 0 dBu is the voltage that gives 1 mW in 600 Ω. The levels are common practice, as quoted in trade
references: −10 dBV for equipment at home, +4 dBu for a studio's, a microphone 50 to 60 dB below line.
"""

import math

__all__ = ["LINE_VOLTS", "MICROPHONE_BELOW_LINE_DB", "STUDIO_VOLTS", "db_apart", "dbu_to_volts", "dbv_to_volts"]


def dbv_to_volts(dbv):
    """Volts (rms) of a level in dBV.

    Examples
    --------
    >>> round(dbv_to_volts(-10), 3)
    0.316
    """
    return 10 ** (dbv / 20)


def dbu_to_volts(dbu):
    """Volts (rms) of a level in dBu.

    Examples
    --------
    >>> round(dbu_to_volts(4), 2)
    1.23
    """
    return math.sqrt(0.001 * 600) * 10 ** (dbu / 20)


def db_apart(volts, other_volts):
    """How many dB one voltage lies above another.

    Examples
    --------
    >>> round(db_apart(STUDIO_VOLTS, LINE_VOLTS), 1)
    11.8
    """
    return 20 * math.log10(volts / other_volts)


LINE_VOLTS = dbv_to_volts(-10)
STUDIO_VOLTS = dbu_to_volts(4)
MICROPHONE_BELOW_LINE_DB = (50, 60)
