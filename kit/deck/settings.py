"""The settings of a simulated recorder: one frozen dataclass, each figure neutral until it is set.

They stand in the order of the signal path. A tape passes a machine twice, so what can differ between the two
passes has a `record_` and a `replay_` figure. A level "dBFS" is relative to a sample of ±1; `inf` switches
off a limit that is never reached, `-inf` a noise that is not there.
"""

import dataclasses
import math
from dataclasses import dataclass
from typing import ClassVar

from kit.deck.fields import Setting, choice, number, switch

__all__ = ["Deck"]

INF = math.inf
WIRINGS = ("straight", "mono", "left-dead", "right-dead", "opposed")
CODECS = ("none", "vorbis", "opus", "mp3")


@dataclass(frozen=True)
class Deck:
    """A recorder, its tape and what is plugged into it: Sound in, Sound out.

    Every setting is neutral by default: `Deck()` gives back the very sound it was given. `Deck.fields` lists
    them all with unit, range and meaning.

    Raises
    ------
    SettingError
        A setting is out of range; the message names the range.

    Examples
    --------
    >>> deck = Deck(hiss_dbfs=-50, record_spacing_um=1)
    >>> deck.with_settings(hiss_dbfs=-40).hiss_dbfs
    -40.0
    >>> [round(float(db), 3) for db in deck.response([1200, 10000])]
    [-1.375, -11.459]
    """

    fields: ClassVar[tuple[Setting, ...]]

    source_level_db: float = number(0, -80, 60, "dB", "level of the source, added before everything else")
    source_wiring: str = choice("straight", WIRINGS, "how the lead from the source joins the two sides")
    source_inverted: bool = switch("the lead from the source turns the wave upside down")
    source_skew_us: float = number(0, -2000, 2000, "µs", "how much later the right side comes than the left")
    input_clip_dbfs: float = number(INF, -60, 20, "dBFS", "level at which the input stage clips", off=INF)
    input_lopsided_percent: float = number(0, 0, 95, "%", "how much sooner the input clips the negative half")

    record_coupling_hz: float = number(0, 0, 2000, "Hz",
        "corner of the input's coupling capacitor; 0 passes a held level")
    record_level_control_dbfs: float = number(INF, -60, 6, "dBFS",
        "peak level that automatic record level holds", off=INF)
    record_level_boost_db: float = number(0, 0, 60, "dB",
        "most that automatic record level adds to a quiet sound")
    record_attack_s: float = number(0.02, 0.001, 10, "s", "time in which automatic record level turns down")
    record_release_s: float = number(2, 0.01, 60, "s", "time in which automatic record level turns up again")
    record_noise_reduction_db: float = number(0, 0, 24, "dB",
        "treble added to quiet sounds by noise reduction in recording")
    saturation_dbfs: float = number(INF, -40, 30, "dBFS",
        "the most the tape holds, at low frequencies", off=INF)
    saturation_corner_hz: float = number(4000, 200, 40000, "Hz", "above it the tape holds ever less")

    tape_speed_mm_s: float = number(47.625, 5, 2000, "mm/s", "nominal speed of the tape")
    record_speed_percent: float = number(0, -60, 150, "%", "steady speed error in recording")
    record_wow_percent: float = number(0, 0, 20, "%", "peak of the wow in recording")
    record_wow_hz: float = number(0.8, 0.05, 10, "Hz", "rate of the wow in recording")
    record_flutter_percent: float = number(0, 0, 20, "%", "peak of the flutter in recording")
    record_flutter_hz: float = number(12, 1, 300, "Hz", "rate of the flutter in recording")
    record_drift_percent: float = number(0, 0, 20, "%", "peak of the slow drift of speed in recording")
    record_drift_period_s: float = number(120, 10, 7200, "s", "period of the drift in recording")
    record_motor_start_s: float = number(0, 0, 5, "s", "time constant of the motor's start in recording")
    record_spacing_um: float = number(0, 0, 50, "µm",
        "distance of the tape from the record head (dirt, wear, a tired pad)")
    record_azimuth_arcmin: float = number(0, -120, 120, "arcmin", "tilt of the record head")
    record_equalisation_us: float = number(120, 30, 300, "µs", "time constant the recording is made for")

    replay_speed_percent: float = number(0, -60, 150, "%", "steady speed error in replay")
    replay_wow_percent: float = number(0, 0, 20, "%", "peak of the wow in replay")
    replay_wow_hz: float = number(0.8, 0.05, 10, "Hz", "rate of the wow in replay")
    replay_flutter_percent: float = number(0, 0, 20, "%", "peak of the flutter in replay")
    replay_flutter_hz: float = number(12, 1, 300, "Hz", "rate of the flutter in replay")
    replay_drift_percent: float = number(0, 0, 20, "%", "peak of the slow drift of speed in replay")
    replay_drift_period_s: float = number(120, 10, 7200, "s", "period of the drift in replay")
    replay_motor_start_s: float = number(0, 0, 5, "s", "time constant of the motor's start in replay")
    replay_spacing_um: float = number(0, 0, 50, "µm", "distance of the tape from the replay head")
    replay_gap_um: float = number(0, 0, 50, "µm",
        "width of the replay head's gap, as far as it is not made good by equalisation")
    coating_um: float = number(0, 0, 50, "µm",
        "thickness of the tape's coating, as far as it is not made good by equalisation")
    replay_azimuth_arcmin: float = number(0, -120, 120, "arcmin", "tilt of the replay head")
    track_mm: float = number(1.5, 0.05, 10, "mm", "width of a track: 1.5 mono, 0.6 stereo")
    track_pitch_mm: float = number(0.9, 0.05, 10, "mm",
        "distance between the middles of the two tracks of a stereo pair")
    replay_equalisation_us: float = number(120, 30, 300, "µs", "time constant of the replay equalisation")
    replay_noise_reduction_db: float = number(0, 0, 24, "dB",
        "treble taken from quiet sounds by noise reduction in replay")

    dropouts_per_minute: float = number(0, 0, 1200, "per minute", "how many dropouts")
    dropout_depth_db: float = number(20, 0, 120, "dB", "how far the level falls in a dropout")
    dropout_length_s: float = number(0.02, 0.0005, 10, "s", "how long a dropout lasts, fades included")
    dropout_fade_s: float = number(0.003, 0, 2, "s", "how long the level takes to fall, and to rise again")
    old_recording_dbfs: float = number(-INF, -120, 0, "dBFS",
        "level (rms) of an older recording not quite erased", off=-INF)
    print_through_db: float = number(-INF, -120, 0, "dB",
        "level of the echo printed from one turn of tape to the next", off=-INF)
    print_through_s: float = number(1.8, 0.1, 10, "s", "time of one turn of the reel")
    hiss_dbfs: float = number(-INF, -140, 0, "dBFS", "level (rms, 20 kHz wide) of the hiss", off=-INF)
    hum_dbfs: float = number(-INF, -140, 0, "dBFS", "level (rms) of the hum", off=-INF)
    hum_hz: float = number(50, 10, 1000, "Hz", "frequency of the hum")

    replay_coupling_hz: float = number(0, 0, 2000, "Hz",
        "corner of the replay amplifier's coupling capacitor; 0 passes a held level")
    replay_gain_db: float = number(0, -80, 60, "dB", "gain of the replay amplifier")
    replay_level_control_dbfs: float = number(INF, -60, 6, "dBFS",
        "peak level that automatic replay level holds", off=INF)
    replay_level_boost_db: float = number(0, 0, 60, "dB",
        "most that automatic replay level adds to a quiet sound")
    replay_attack_s: float = number(0.02, 0.001, 10, "s", "time in which automatic replay level turns down")
    replay_release_s: float = number(2, 0.01, 60, "s", "time in which automatic replay level turns up again")
    output_clip_dbfs: float = number(INF, -60, 20, "dBFS", "level at which the output stage clips", off=INF)
    output_lopsided_percent: float = number(0, 0, 95, "%",
        "how much sooner the output clips the negative half")
    output_wiring: str = choice("straight", WIRINGS, "how the lead from the recorder joins the two sides")
    output_inverted: bool = switch("the lead from the recorder turns the wave upside down")

    room_distance_m: float = number(0, 0, 100, "m", "from loudspeaker to microphone")
    room_reverberation_s: float = number(0, 0, 10, "s", "reverberation time of the room (to −60 dB)")
    room_reverberation_db: float = number(-6, -60, 20, "dB",
        "level of the reverberation relative to the direct sound")
    room_noise_dbfs: float = number(-INF, -120, 0, "dBFS", "level (rms) of the noise in the room", off=-INF)
    noise_suppression_db: float = number(0, 0, 60, "dB",
        "how far a microphone's noise suppression turns steady sounds down")
    codec: str = choice("none", CODECS, "a lossy coding to go through and back")
    codec_rate_hz: float = number(0, 0, 48000, "Hz",
        "sample rate to code at; 0: the sound's own, or the nearest that is allowed")

    def __post_init__(self):
        for setting in self.fields:
            object.__setattr__(self, setting.name, setting.checked(getattr(self, setting.name)))

    def with_settings(self, **changes):
        """The same deck with some settings changed.

        Raises
        ------
        SettingError
            A name is unknown, or a value out of range.
        """
        from kit.deck.fields import check_names

        check_names(self.fields, changes)
        return dataclasses.replace(self, **changes)

    def changed(self):
        """What is not as in `Deck()`.

        Returns
        -------
        dict of str to float, str or bool
        """
        values = {setting.name: getattr(self, setting.name) for setting in self.fields}
        return {s.name: values[s.name] for s in self.fields if values[s.name] != s.default}

    def record(self, sound, seed=0):
        """The record pass alone: what lies on the tape. See `kit.deck.passes.record`."""
        from kit.deck import passes

        return passes.record(self, sound, seed)

    def replay(self, sound, seed=0, **tape):
        """The replay pass alone: a tape made elsewhere, played here. See `kit.deck.passes.replay`."""
        from kit.deck import passes

        return passes.replay(self, sound, seed, **tape)

    def play(self, sound, seed=0, *, on=None, under=None, generation=0):
        """Record a sound and play it back. See `kit.deck.passes.play`."""
        from kit.deck import passes

        return passes.play(self, sound, seed, on=on, under=under, generation=generation)

    def copy(self, sound, generations=1, seed=0):
        """A dub of a dub of …; see `kit.deck.passes.copy`."""
        from kit.deck import passes

        return passes.copy(self, sound, generations, seed)

    def response(self, frequencies_hz):
        """The frequency response of record and replay together, in dB. See `kit.deck.channel.response`."""
        from kit.deck import channel

        return channel.response(self, frequencies_hz)


Deck.fields = tuple(field.metadata["setting"].named(field.name) for field in dataclasses.fields(Deck))
