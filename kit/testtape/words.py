"""A report in words: lines of plain text, and a table for a notebook, in which any name is only text."""

import html

from kit.testtape.advice import LOUD_CAUTION
from kit.testtape.plan import LADDER_SPEEDS

__all__ = ["heading", "in_html", "in_words", "passes_in_words", "rows"]

SIDES = ("left", "right")
READ_AT_HZ = (125.0, 6360.0, 9840.0)


def passes_in_words(report):
    """What passes of which machine the recording holds, in one sentence."""
    if report.recorded_elsewhere:
        return (
            "recorded elsewhere, replayed here: speed and azimuth are those of this machine against the other's; "
            "wow, flutter, noise and response hold the other's recording, too"
        )
    return (
        "one recording and one replay, taken to be on one machine: wow and flutter of both add up, and a steady "
        "error of speed or azimuth cancels"
    )


def rows(report):
    """The figures as rows of (what, figure, note), all plain text.

    Parameters
    ----------
    report : RecorderReport

    Returns
    -------
    list of tuple of str
    """
    speeds, levels = report.speeds, report.levels
    found = [
        ("passes", passes_in_words(report), ""),
        ("speed, replay against recording", speeds.difference.words(3, sign=True), speeds.difference.note),
        ("speed by itself", report.absolute_speed.words(3, sign=True), report.absolute_speed.note),
        ("drift", _plus_minus(speeds.drift), speeds.drift.note),
        ("wow and flutter", _plus_minus(speeds.wow_and_flutter, 3), _flutter_note(report)),
        ("azimuth by itself", report.azimuth.words(1, sign=True), report.azimuth.note),
        *_wiring_rows(report.wiring),
    ]
    for side in range(len(report.noise.level)):
        name = _side(side, report)
        level, hum, ratio = report.noise.level[side], report.noise.hum[side], report.signal_to_noise[side]
        found += [(f"noise{name}", level.words(1), level.note), (f"hum{name}", hum.words(1), hum.note),
                  (f"data above noise{name}", ratio.words(1), "")]  # fmt: skip
    for side, response in report.response.items():
        reach = response.passes_to()
        found += [(f"frequencies{_side(side, report)}", _up_to(reach), _levels_at(response))]
    return [*found, *_level_rows(levels), *_ladder_rows(report)]


def _plus_minus(figure, digits=2):
    return ("±" if figure.known else "") + figure.words(digits)


def _flutter_note(report):
    """Two passes are in it; what one adds is not known, but if they are alike and unrelated, squares add."""
    flutter = report.speeds.wow_and_flutter
    if not flutter.known or not flutter.low:
        return flutter.note
    return f"{flutter.note}; both passes: one alone about ±{flutter.value / 2**0.5:.3f} % if they are alike"


def _up_to(figure):
    return f"up to {figure.words(0)}, {figure.note}" if figure.known else figure.words()


def _side(side, report):
    return "" if len(report.noise.level) == 1 else f", {SIDES[side]}"


def _levels_at(response):
    known = dict(zip(response.hz, response.level_db, strict=True))
    parts = [f"{known[hz].value:+z.1f} dB at {hz:g} Hz" for hz in READ_AT_HZ if known[hz].known]
    return ", ".join(parts) + (" (against 1000 Hz)" if parts else "")


def _wiring_rows(wiring):
    notes = []
    if wiring.separation_db is not None:
        notes.append(f"sides {wiring.separation_db:.0f} dB apart")
    if wiring.skew_us is not None:
        notes.append(f"right comes {wiring.skew_us:+z.0f} µs after left")
    if wiring.inverted is not None:
        notes.append("upside down" if wiring.inverted else "upright")
    return [("wiring", wiring.name, ", ".join(notes))]


def _level_rows(levels):
    shortfall = levels.shortfall
    control = {None: "not known", True: "at work", False: "none seen"}[levels.control]
    loads = levels.loads_from.words(0)
    if levels.loads_from.known:
        loads = f"from {loads}{_more(levels.loads_from)} to {levels.loads_to.words(0)}{_more(levels.loads_to)}"
    return [
        ("level of data", levels.data_dbfs.words(1), "reaches full scale" if levels.clipped else ""),
        ("level control", control, f"loudest stair falls short by {shortfall.words(1)}" if shortfall.known else ""),
        ("loads at levels", loads, "0 dB: as loud as data on every tape of the kit"),
    ]


def _more(figure):
    return f" {figure.note.split(':')[0]}" if figure.note else ""


def _ladder_rows(report):
    ladder = ", ".join(f"{LADDER_SPEEDS[rung.number]:g}x {_count(rung)}" for rung in report.ladder)
    alone = ", ".join(f"{SIDES[side]} alone: {'loads' if well else 'does not'}"
                      for side, well in report.by_side.items())  # fmt: skip
    return [
        ("speed ladder", ladder, "blocks read of those written, at each speed"),
        ("fastest that loads", _times(report.fastest), ", ".join(filter(None, [report.fastest.note, alone]))),
        ("with 6 dB more noise", _times(report.fastest_noisy), ""),
        ("loader speed with a margin", _times(report.advised), report.advised.note),
    ]


def _count(rung):
    if rung.read is None:
        return "missing"
    return f"{rung.read}/{rung.blocks}" if rung.tried else "not tried"


def _times(figure):
    return f"{figure.value:g} times ordinary speed" if figure.known else figure.words()


def heading(report):
    """Which recording, how long, and where in it the tape lies: one line."""
    state = "" if report.complete else "; not all of the tape is in it"
    return (
        f"{report.recording}: {report.seconds:.1f} s, the test tape from {report.start_s:.1f} s{state}"
    )


def in_words(report):
    """The whole report in lines of plain text."""
    table = rows(report)
    width = max(len(what) for what, _, _ in table)
    lines = [heading(report)]
    lines += [f"  {what:{width}}  {figure}{f'; {note}' if note else ''}" for what, figure, note in table]
    lines += [f"- {advice}" for advice in report.advice]
    return "\n".join([*lines, f"caution: {LOUD_CAUTION}"])


def in_html(report):
    """The whole report as a table and a list for a notebook; whatever is in it appears as text."""
    def cell(text):
        return html.escape(text, quote=True)

    body = "".join(
        f'<tr><th scope="row" style="text-align:left">{cell(what)}</th>'
        f'<td style="text-align:left">{cell(figure)}</td><td style="text-align:left">{cell(note)}</td></tr>'
        for what, figure, note in rows(report)
    )
    advice = "".join(f"<li>{cell(str(item))}</li>" for item in report.advice)
    return (
        f'<table><caption style="text-align:left">{cell(heading(report))}</caption>'
        '<thead><tr><th scope="col">what</th><th scope="col">figure</th><th scope="col">note</th></tr></thead>'
        f"<tbody>{body}</tbody></table><ul>{advice}</ul><p>{cell('caution: ' + LOUD_CAUTION)}</p>"
    )
