"""What to do about what was found, each with its caution where hands meet hardware."""

from dataclasses import dataclass

from kit.meters import LINE_VOLTS, MICROPHONE_BELOW_LINE_DB
from kit.testtape.plan import LADDER_SPEEDS

__all__ = ["HANDS_CAUTION", "HEADS_CAUTION", "LEADS_CAUTION", "LOUD_CAUTION", "Advice", "advice_on"]

HANDS_CAUTION = "volume down and headphones off first; never join a loudspeaker or power amplifier output to an input"
LEADS_CAUTION = HANDS_CAUTION + "; make or solder leads under your local rules and a qualified person's eye"
HEADS_CAUTION = (
    "volume down and headphones off first; recorder off, mains plug or batteries out; leave its case closed: "
    "what lies inside is for a qualified person"
)
LOUD_CAUTION = "volume down and headphones off before you play it again: the test tape is loud"

QUIET_DBFS = -35.0
POOR_SIGNAL_TO_NOISE_DB = 30.0
MUCH_FLUTTER_PERCENT = 0.4  # assumption, from memory: the worst of cheap portables
OFF_SPEED_PERCENT = 1.5  # DIN 45500, as quoted
SAME_MACHINE_PERCENT = 0.3  # assumption: one machine changes its speed by less within minutes
DULL_HZ = 5000.0
ASKEW_ARCMIN = 6.0


@dataclass(frozen=True)
class Advice:
    """One finding, and what to do.

    Attributes
    ----------
    finding, action : str
    caution : str
        What to mind first; empty where no hardware is touched.
    """

    finding: str
    action: str
    caution: str = ""

    def __str__(self):
        return f"{self.finding}: {self.action}" + (f" ({self.caution})" if self.caution else "")


def advice_on(report):
    """All that is to be said on a report.

    Parameters
    ----------
    report : RecorderReport

    Returns
    -------
    tuple of Advice
        Most urgent first.
    """
    found = []
    for look in (_missing, _wiring, _levels, _noise, _speed, _head, _flutter, _loader):
        found += look(report)
    return tuple(found)


def _missing(report):
    gone = [f"{name} {state}" for name, state in report.parts.items() if state != "whole"]
    if gone:
        yield Advice(f"not all of the tape is there ({', '.join(gone)})",
                     "record all of it, and let the recording run from before its beginning to after its end",
                     LOUD_CAUTION)  # fmt: skip


def _wiring(report):
    name = report.wiring.name
    for side, other in (("left", "right"), ("right", "left")):
        if name.startswith(f"{side}-dead"):
            yield Advice(f"the {side} side does not arrive",
                         f"push the plugs home, then try another lead; a stereo plug in a mono socket may short or "
                         f"lose a side; the {other} side alone carries data, too", LEADS_CAUTION)  # fmt: skip
    if "cancelling" in name:
        yield Advice("the two sides are joined and one is upside down, so what both carry is gone",
                     "use one side only, or another lead", LEADS_CAUTION)  # fmt: skip
    elif "opposed" in name:
        yield Advice("one side arrives upside down", "each side loads by itself, but never join the two: "
                     "they would cancel; another lead may put it right", LEADS_CAUTION)  # fmt: skip
    if "swapped" in name:
        yield Advice("left and right are swapped", "it does no harm to data")
    if not report.wiring.known:
        yield Advice("how the sides are joined could not be told", "see that the wiring tones are recorded, and "
                     "that both plugs are home", HANDS_CAUTION)  # fmt: skip


def _levels(report):
    levels = report.levels
    if levels.clipped:
        low, high = MICROPHONE_BELOW_LINE_DB
        yield Advice("the recording reaches full scale and is cut off there",
                     f"turn the recording level down; a line output ({LINE_VOLTS:.2f} V at -10 dBV) overloads a "
                     f"microphone input, which wants {low} to {high} dB less: use a line input, or a lead that takes "
                     "off as much", LEADS_CAUTION)  # fmt: skip
    elif levels.data_dbfs.known and levels.data_dbfs.value < QUIET_DBFS:
        yield Advice(f"data arrives at {levels.data_dbfs.value:.0f} dBFS, which is quiet",
                     "turn up the playback volume or the recording level by a step, and measure again",
                     HANDS_CAUTION)  # fmt: skip
    if levels.control:
        yield Advice("a level control is at work", "if it has a switch, set the level by hand with the tone of "
                     "testtape --level-only; if not, leave leaders long: the control needs a moment", HANDS_CAUTION)


def _noise(report):
    known = [figure.value for figure in report.signal_to_noise if figure.known]
    if known and max(known) < POOR_SIGNAL_TO_NOISE_DB:
        yield Advice(f"data is only {max(known):.0f} dB above the noise",
                     "record louder by a step; use a lead in place of a microphone, and a fresh cassette",
                     HANDS_CAUTION)  # fmt: skip


def _speed(report):
    speed = report.speeds.difference
    if not speed.known:
        return
    if report.recorded_elsewhere and abs(speed.value) > OFF_SPEED_PERCENT:
        yield Advice(f"it runs {speed.value:+.1f} % off speed", "tapes load all the same, as the reader follows; "
                     "for tapes to be read elsewhere, let a qualified person set its speed", HEADS_CAUTION)
    elif not report.recorded_elsewhere and abs(speed.value) > SAME_MACHINE_PERCENT:
        yield Advice(f"recording and replay differ by {speed.value:+.2f} %", "on one machine they should not: if the "
                     "tape was recorded elsewhere, say --recorded-elsewhere; if not, its speed changed between "
                     "(batteries, warming up): try fresh batteries", HANDS_CAUTION)  # fmt: skip


def _head(report):
    if report.azimuth.known and abs(report.azimuth.value) > ASKEW_ARCMIN:
        yield Advice(f"the head stands {report.azimuth.value:+.0f} minutes of arc askew to the tape",
                     "read each side by itself; setting a head is for a qualified person", HEADS_CAUTION)  # fmt: skip
    reach = [response.passes_to() for response in report.response.values()]
    known = [figure.value for figure in reach if figure.known and not figure.note.startswith("or more")]
    if known and len(known) == len(reach) and max(known) < DULL_HZ:
        yield Advice(f"treble is lost from {max(known):.0f} Hz up", "clean the heads with a cotton bud and cleaning "
                     "fluid made for it, and let them dry", HEADS_CAUTION)  # fmt: skip


def _flutter(report):
    flutter = report.speeds.wow_and_flutter
    if flutter.known and flutter.value > MUCH_FLUTTER_PERCENT:
        yield Advice(f"wow and flutter are high (±{flutter.value:.2f} %)",
                     "wind the cassette through once and back, or try another one", HANDS_CAUTION)  # fmt: skip


def _loader(report):
    if report.advised.known:
        speed = report.advised.value
        yield Advice(f"a loader at {speed:g} times ordinary speed has a margin", f"encode --speed {speed:g}")
    elif report.fastest.known:
        yield Advice(f"{report.fastest.value:g} times ordinary speed loads without any margin",
                     "write two copies (encode --copies 2), and go slower")  # fmt: skip
    elif any(rung.read is not None for rung in report.ladder):
        yield Advice(f"not even {LADDER_SPEEDS[0]:g} times ordinary speed loads whole",
                     "mend what stands above, and measure again")  # fmt: skip
