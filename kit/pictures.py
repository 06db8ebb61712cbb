"""Pictures of recorders: what passes, how evenly the tape runs, a wave before and after.

Pure functions of decks, measurements and sounds; each gives a `Shown`, a figure with its text equal.
"""

import numpy as np

from kit.shown import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILLION, Shown, blank_figure

__all__ = ["before_after_view", "response_view", "speed_view"]

STYLES = (
    (BLUE, "-"),
    (VERMILLION, "--"),
    (GREEN, "-."),
    (PURPLE, ":"),
    (ORANGE, (0, (5, 1, 1, 1, 1, 1))),
    (BLACK, (0, (8, 3))),
    (SKY, (0, (1, 3))),
)
MOST_POINTS = 4000  # a line of more points looks no different and draws slowly
READ_AT_HZ = (1200.0, 9600.0)


def response_view(decks, low_hz=40.0, high_hz=16_000.0):
    """Frequency response curves.

    Parameters
    ----------
    decks : mapping of str to Deck
        The curves and their names; at most seven are drawn.
    low_hz, high_hz : float

    Returns
    -------
    Shown
    """
    hz = np.geomspace(low_hz, high_hz, 300)
    figure, (axes,) = blank_figure(height_in=4.0)
    for (name, deck), (colour, dashes) in zip(decks.items(), STYLES, strict=False):
        axes.semilogx(hz, deck.response(hz), color=colour, linestyle=dashes, linewidth=1.8, label=name)
    axes.grid(True, color="0.85", linewidth=0.6)
    axes.set(xlabel="frequency in Hz", ylabel="level in dB", xlim=(low_hz, high_hz), ylim=(-40, 6))
    axes.set_title("What passes, after record and replay", loc="left")
    axes.legend(loc="lower center")
    return Shown(figure, _response_in_words(decks))


def _response_in_words(decks):
    curves = []
    for name, deck in decks.items():
        points = zip(READ_AT_HZ, deck.response(READ_AT_HZ), strict=True)
        curves.append(f"{name} " + ", ".join(f"{db:+.1f} dB at {hz:g} Hz" for hz, db in points))
    return "After record and replay: " + "; ".join(curves) + "."


def speed_view(trace, smooth_s=0.02):
    """Speed over time, as read from a steady tone.

    Parameters
    ----------
    trace : kit.meters.SpeedTrace
    smooth_s : float
        Averaged over this long, so that hiss does not hide the speed.

    Returns
    -------
    Shown
    """
    width = max(1, min(round(smooth_s * trace.rate_hz), len(trace.deviation)))
    shown = 100 * np.convolve(trace.deviation, np.full(width, 1 / width), mode="valid")
    time_s = trace.time_s[(width - 1) // 2 :][: len(shown)]
    every = max(1, len(shown) // MOST_POINTS)
    figure, (axes,) = blank_figure()
    axes.plot(time_s[::every], shown[::every], color=BLUE, linewidth=1.2, label="speed error")
    axes.axhline(trace.mean_percent, color=VERMILLION, linestyle="--", label="mean")
    axes.set(xlabel="time in seconds", ylabel="speed error in %")
    axes.set_title("How evenly the tape ran", loc="left")
    axes.legend(loc="upper right")
    return Shown(figure, _speed_in_words(trace))


def _speed_in_words(trace):
    seconds = len(trace.deviation) / trace.rate_hz
    return (
        f"Over {seconds:.1f} s the tape ran {trace.mean_percent:+.2f} % off speed and drifted by "
        f"±{trace.drift_percent:.2f} %; its weighted wow and flutter is "
        f"±{trace.wow_and_flutter_percent:.3f} %."
    )


def before_after_view(before, after, start_s, stop_s):
    """A short stretch of a wave before and after, one below the other at one scale.

    Parameters
    ----------
    before, after : Sound
        The first side of each is shown.
    start_s, stop_s : float

    Returns
    -------
    Shown
    """
    parts = [sound.part(start_s, stop_s) for sound in (before, after)]
    figure, rows = blank_figure(rows=2, height_in=4.6, sharex=True, sharey=True)
    for axes, part, name, (colour, dashes) in zip(rows, parts, ("before", "after"), STYLES, strict=False):
        wave = part.samples if part.channels == 1 else part.samples[:, 0]
        every = max(1, len(wave) // MOST_POINTS)
        times_ms = 1000 * (start_s + (np.arange(len(wave)) + 0.5) / part.rate)
        axes.plot(times_ms[::every], wave[::every], color=colour, linestyle=dashes, linewidth=1.6, label=name)
        axes.axhline(0, color=BLACK, linewidth=0.6)
        axes.set_ylabel("level\n(full scale is 1)")
        axes.legend(loc="upper right")
    rows[-1].set_xlabel("time in milliseconds")
    return Shown(figure, _change_in_words(*parts, start_s, stop_s))


def _change_in_words(before, after, start_s, stop_s):
    return (
        f"From {start_s:.4f} to {stop_s:.4f} s the wave peaks at {before.peak:.3f} of full scale before "
        f"and at {after.peak:.3f} after; its rms is {before.rms:.3f} before and {after.rms:.3f} after."
    )
