"""The catalogue of what can be wrong with a recording: names of our own, meanings, cures with their cautions."""

from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["CAUSES", "CAUTIONS", "Cause", "Remedy"]

CAUTIONS = MappingProxyType({
    "level": "start with the volume down, headphones off the ears for the first play",
    "lead": "never join a loudspeaker or power amplifier output to an input; make or mend leads under your local "
            "rules and a qualified person's eye",
    "head": "unplug the recorder and take its batteries out before you touch its head, and do not open mains "
            "equipment",
    "mains": "do not open mains equipment, and never cut a protective earth",
    "motor": "do not open mains equipment; leave belts and motors to a qualified person",
    "record": "record on a tape whose contents nobody needs, and copy recordings only with the owner's permission; "
              "start with the volume down",
    "room": "keep the loudspeaker no louder than talk, one loudspeaker in a class, and let everybody see that you "
            "record",
})
"""What to mind, by what a cure touches."""

UP = "turn the playback volume up"
OPPOSED = ((UP, "turn the playback volume or the recording level down"), (UP, "turn the level down"),
           ("treble control up", "set tone controls to the middle"), ("treble control up", "tone controls off"))
"""Words of cures that undo each other."""


@dataclass(frozen=True)
class Remedy:
    """One thing to do.

    Attributes
    ----------
    text : str
    touches : tuple of str
        Which equipment it touches, each one of `CAUTIONS`; empty if only software.
    """

    text: str
    touches: tuple = ()

    def contradicts(self, other):
        """Whether doing one undoes the other: a volume up and down, treble up and tone controls in the middle."""
        return any((a in self.text and b in other.text) or (b in self.text and a in other.text) for a, b in OPPOSED)

    @property
    def cautions(self):
        """tuple of str: what to mind."""
        return tuple(CAUTIONS[each] for each in self.touches)


@dataclass(frozen=True)
class Cause:
    """What can be wrong.

    Attributes
    ----------
    key : str
    name : str
    meaning : str
        One sentence for people who know nothing of signals.
    remedies : tuple of Remedy
        Most likely first.
    mildly : str
        What it means where it is not severe; empty: the same.
    """

    key: str
    name: str
    meaning: str
    remedies: tuple
    mildly: str = ""


def _do(text, *touches):
    return Remedy(text, touches)


_CAUSES = (
    Cause("nothing_there", "nothing there", "No tape data can be heard in this recording.", (
        _do("check that the tape has data here and is on the right side, and that the lead sits in the output of the "
            "recorder and the input of the computer", "lead"),
        _do("play the start of the tape again, with the playback volume at half", "level"))),
    Cause("too_quiet", "too quiet", "The recording is too quiet for a loader.", (
        _do("turn the playback volume up, a step at a time, and take the recording again", "level"),
        _do("use the line input, not the microphone input, and the headphone output rather than a weak one", "lead",
            "level"))),
    Cause("too_loud", "too loud", "The recording is so loud that its tops are cut off.", (
        _do("turn the playback volume or the recording level down by a third and take the recording again", "level"),
        _do("plug a line output into a line input: a microphone input expects a signal hundreds of times weaker",
            "lead"))),
    Cause("lopsided", "lopsided", "One half of the wave is cut or stretched more than the other.", (
        _do("turn the level down; if it stays, try another output of the recorder or new batteries", "level"),)),
    Cause("hiss", "hiss", "Hiss (noise) is so strong that it hides the data.", (
        _do("stop the tape and listen: noise that stays comes from the lead or the input, so turn the playback "
            "volume up and the computer's input gain down; noise that goes is on the tape", "level"),
        _do("if the hiss goes when the tape stops, clean the head, and play the tape it was copied from if there is "
            "one", "head"),
        _do("try decode --patient, and add a second recording of the same tape")),
        "Hiss (noise) lies over the data."),
    Cause("hum", "hum", "A hum from the mains lies under the data.", (
        _do("run the recorder or the laptop from batteries, and move leads away from power supplies", "mains"),
        _do("use one shielded lead, with both ends in the same mains strip", "lead", "mains"))),
    Cause("held_level", "held level (DC)", "The wave does not swing about zero: a steady level is added to it.", (
        _do("try another input or sound card, or a lead with a coupling capacitor", "lead"),)),
    Cause("side_dead", "one side dead", "One of the two stereo sides carries no signal.", (
        _do("take the side that has the signal, or mix it to mono without the dead one"),
        _do("push the plug right in; if it stays dead, try another lead: a stereo plug in a mono socket loses a side",
            "lead"))),
    Cause("sides_opposed", "sides opposed",
          "The two stereo sides are upside down to each other, so they cancel where they are mixed to mono.", (
        _do("take one side alone; do not mix to mono"),
        _do("try another lead: in this one two wires may be swapped", "lead"))),
    Cause("sides_skewed", "sides skewed (azimuth)",
          "The two stereo sides are not in step: the head is tilted against the one that recorded the tape.", (
        _do("take one side alone; do not mix to mono"),
        _do("play the tape on the machine it was recorded on", "level"),
        _do("have the tilt of the head set by someone who knows how", "head"))),
    Cause("highs_lost", "highs lost", "The high tones are weak: short cycles are hardly there.", (
        _do("clean the head and the tape's path with a dry swab made for it", "head"),
        _do("switch noise reduction off and the treble control up", "level"),
        _do("play the tape on the machine it was recorded on, or, if you have the data, write a new tape at a lower "
            "speed", "record")),
        "The high tones are somewhat weak."),
    Cause("highs_raised", "highs raised", "The high tones are stronger than they were written.", (
        _do("switch noise reduction and tone controls off, in recording and in playing", "level"),)),
    Cause("lows_lost", "lows lost", "The low tones are weak: long cycles sag back towards zero.", (
        _do("use a lead from a line or headphone output instead of a loudspeaker or a telephone", "lead", "level"),
        _do("set tone controls to the middle and switch off any voice filter", "level"))),
    Cause("speed_off", "speed off", "The tape runs at another speed than it was made for.", (
        _do("play it with fresh batteries, or on another recorder, for a loader that does not follow the speed; "
            "decode follows it by itself and needs nothing set", "motor"),
        _do("check the sample rate written in the file against the one it was recorded at"))),
    Cause("wow", "wow (slow swings of speed)", "The speed swings slowly up and down.", (
        _do("wind the tape once to the end and back, and use fresh batteries or another recorder", "motor"),)),
    Cause("flutter", "flutter (quick swings of speed)", "The speed trembles quickly.", (
        _do("clean the roller and the capstan with a dry swab, or use another recorder", "head", "motor"),)),
    Cause("older_recording", "something else under the data",
          "Another sound lies under the data: an earlier recording not erased, or the next turn of the tape printed "
          "through.", (
        _do("wind the tape to the end and back a few times before playing: an echo printed through fades"),
        _do("if you have the data, write it anew, on a blank or freshly erased tape", "record"))),
    Cause("dropouts", "dropouts", "The sound fails for moments.", (
        _do("clean the head, play again, and compare: what fails at another place was dirt", "head"),
        _do("record two passes and give decode both; next time use a format with copies or parity blocks",
            "record"))),
    Cause("level_pumping", "level pumping", "An automatic level control moves the level up and down.", (
        _do("switch automatic level off, or use an input that has none", "level"),
        _do("start the recording some seconds before the data, so that the level settles", "record"))),
    Cause("room_echo", "room echo", "The recording went through the air: the echo of the room smears it.", (
        _do("use a lead instead of loudspeaker and microphone", "lead", "level"),
        _do("put the microphone close to the loudspeaker, on something soft, and keep quiet", "room"))),
    Cause("start_cut", "start cut off", "The recording begins after the data has begun.", (
        _do("wind back, start the recording in the computer first and the tape second", "level"),)),
    Cause("end_cut", "end cut off", "The recording ends before the data does.", (
        _do("take the recording again and let it run until the tape is silent", "level"),)),
    Cause("voice_coding", "damage by voice coding",
          "Software made for speech or music has changed the sound.", (
        _do("save as WAV or FLAC; do not send the recording as a voice message or a compressed file"),
        _do("record with a program that has no voice mode"))),
    Cause("noise_suppression", "noise suppression on",
          "Software took the steady tones for noise and turned them down.", (
        _do("switch off noise suppression, echo cancelling and automatic gain in the sound settings"),
        _do("record through a line input with a lead", "lead", "level"))),
    Cause("other_format", "another format than asked", "The tape is in another format than was asked for.", (
        _do("ask for the format named here, or for --format auto"),)),
    Cause("unknown_code", "an unknown but regular pulse code",
          "There is a regular code here that is none of the known formats.", (
        _do("try the format proposed here: kit.decode(tape, format=diagnosis.proposed)"),
        _do("check that the tape is one made with this kit"))),
    Cause("check_fails", "the data's own check fails",
          "The sound is healthy, but the data does not agree with its check: it was written so, or with another "
          "check.", (
        _do("decode it with a format that has the check it was written with"),
        _do("ask for the tape to be written again"))),
    Cause("unexplained", "it does not read, and nothing measured says why",
          "Parts of the tape do not read, and nothing that was measured explains it.", (
        _do("record it once more and compare; then try decode --patient", "level"),)),
)

CAUSES = MappingProxyType({cause.key: cause for cause in _CAUSES})
"""Mapping of str to Cause: all that the doctor can find."""
