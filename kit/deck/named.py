"""Named decks: from a studio's duplicator to a worn portable, each figure with its source or the assumption
behind it.

Levels: a house tape peaks at 0.5 of full scale. That is taken for a recorder's normal recording level, so 0
dB on its meter is −7 dBFS (the rms of the fundamental of such a square wave).
"""

from types import MappingProxyType

from kit.deck.settings import Deck

__all__ = ["assumptions", "decks"]

DIN = "DIN 45500, as quoted: ±0.2 % weighted, mean speed within 1.5 %"
GOOD = "specifications of good decks of the 1970s: 0.085 to 0.1 % peak weighted, speed within 0.5 %"
PORTABLE = "assumption, from memory: cheap portables have 0.2 to 0.4 % and are 2 to 3 % off speed"
SATURATION = "common practice: ordinary tape at 315 Hz holds about 4 dB above normal before it bends by 3 %"
CORNER = "common practice: at 10 kHz tape holds about 9 dB less than at low frequencies"
MONO = "common practice: a mono track is 1.5 mm wide"
STEREO = "common practice: a track of a stereo pair is 0.6 mm wide"
DROPOUTS = "assumption: no figure seen in print"

_TAPE = {
    "record_wow_hz": (0.8, "assumption: one turn of a flywheel"),
    "replay_wow_hz": (0.8, "assumption: one turn of a flywheel"),
    "record_flutter_hz": (12, "assumption: one turn of a capstan"),
    "replay_flutter_hz": (12, "assumption: one turn of a capstan"),
    "dropout_fade_s": (0.003, "assumption: 0.15 mm of tape, lifted by a speck of dust"),
    "hum_hz": (50, "the mains of the island"),
}
_FIGURES = {
    "studio": _TAPE | {
        "record_coupling_hz": (10, "assumption: professional equipment passes 20 Hz with little loss"),
        "replay_coupling_hz": (10, "assumption: professional equipment passes 20 Hz with little loss"),
        "saturation_dbfs": (5, SATURATION + "; 2 dB more for the best tape (assumption)"),
        "saturation_corner_hz": (6000, CORNER + "; better tape holds more highs (assumption)"),
        "record_speed_percent": (0.1, "assumption: a fifth of what a good home deck is allowed"),
        "replay_speed_percent": (0.1, "assumption: a fifth of what a good home deck is allowed"),
        "record_wow_percent": (0.03, "assumption: a third of a good home deck's"),
        "replay_wow_percent": (0.03, "assumption: a third of a good home deck's"),
        "record_flutter_percent": (0.03, "assumption: a third of a good home deck's"),
        "replay_flutter_percent": (0.03, "assumption: a third of a good home deck's"),
        "record_spacing_um": (0.05, "assumption: clean heads, even pressure"),
        "replay_spacing_um": (0.05, "assumption: clean heads, even pressure"),
        "replay_gap_um": (0.8, "assumption: a gap of about 1 µm, mostly made good by the equalisation"),
        "track_mm": (0.6, STEREO),
        "hiss_dbfs": (-61, "assumption: 54 dB below normal level for the best tape without noise reduction"),
        "hum_dbfs": (-80, "assumption: far below the hiss"),
    },
    "home": _TAPE | {
        "record_coupling_hz": (20, "assumption: the lowest frequency that data sheets name"),
        "replay_coupling_hz": (20, "assumption: the lowest frequency that data sheets name"),
        "saturation_dbfs": (3, SATURATION),
        "saturation_corner_hz": (4000, CORNER),
        "record_speed_percent": (0.5, GOOD),
        "replay_speed_percent": (0.5, GOOD),
        "record_wow_percent": (0.07, GOOD + "; shared out over two passes, wow and flutter"),
        "replay_wow_percent": (0.07, GOOD + "; shared out over two passes, wow and flutter"),
        "record_flutter_percent": (0.06, GOOD + "; shared out over two passes, wow and flutter"),
        "replay_flutter_percent": (0.06, GOOD + "; shared out over two passes, wow and flutter"),
        "record_drift_percent": (0.1, "assumption: the changing pull of the reels"),
        "record_drift_period_s": (120, "assumption: slow"),
        "replay_drift_period_s": (120, "assumption: slow"),
        "replay_drift_percent": (0.1, "assumption: the changing pull of the reels"),
        "record_azimuth_arcmin": (3, "assumption: set by ear"),
        "replay_azimuth_arcmin": (3, "assumption: the same head, so only other machines notice"),
        "record_spacing_um": (0.1, "assumption: 0.2 µm in all, which takes 2.3 dB off 10 kHz"),
        "replay_spacing_um": (0.1, "assumption: 0.2 µm in all, which takes 2.3 dB off 10 kHz"),
        "replay_gap_um": (1.2, "assumption: a gap of about 1.5 µm, mostly made good by the equalisation"),
        "track_mm": (0.6, STEREO),
        "dropouts_per_minute": (1, DROPOUTS),
        "dropout_depth_db": (6, DROPOUTS),
        "dropout_length_s": (0.01, DROPOUTS),
        "hiss_dbfs": (-57, "common practice: about 50 dB below normal level without noise reduction"),
        "hum_dbfs": (-70, "assumption: below the hiss"),
    },
    "portable": _TAPE | {
        "source_wiring": ("mono", "common practice: small portables are mono"),
        "record_coupling_hz": (80, "assumption: its small loudspeaker gives no lower frequencies"),
        "replay_coupling_hz": (80, "assumption: its small loudspeaker gives no lower frequencies"),
        "record_level_control_dbfs": (-6, "common practice: portables set their own level"),
        "record_level_boost_db": (20, "assumption: so that they record a voice across a table"),
        "record_attack_s": (0.02, "assumption: quick enough to be unheard"),
        "record_release_s": (3, "assumption: slow enough not to pump between words"),
        "saturation_dbfs": (3, SATURATION),
        "saturation_corner_hz": (4000, CORNER),
        "record_speed_percent": (2, PORTABLE),
        "replay_speed_percent": (2, PORTABLE),
        "record_wow_percent": (0.2, PORTABLE),
        "replay_wow_percent": (0.2, PORTABLE),
        "record_wow_hz": (1.3, "assumption: one turn of a belt"),
        "replay_wow_hz": (1.3, "assumption: one turn of a belt"),
        "record_flutter_percent": (0.15, PORTABLE),
        "replay_flutter_percent": (0.15, PORTABLE),
        "record_drift_percent": (0.3, "assumption: batteries and the reel's changing pull"),
        "replay_drift_percent": (0.3, "assumption: batteries and the reel's changing pull"),
        "record_azimuth_arcmin": (10, "assumption: never set since it left the factory"),
        "replay_azimuth_arcmin": (10, "assumption: the same head, so only other machines notice"),
        "record_spacing_um": (0.4, "assumption: with replay's it takes about 9 dB off 8 kHz"),
        "replay_spacing_um": (0.6, "assumption: with recording's it takes about 9 dB off 8 kHz"),
        "replay_gap_um": (1.8, "assumption: a gap of about 2 µm, not made good"),
        "dropouts_per_minute": (1, DROPOUTS),
        "dropout_depth_db": (8, DROPOUTS),
        "dropout_length_s": (0.01, DROPOUTS),
        "hiss_dbfs": (-51, "assumption: 6 dB worse than a good home deck"),
        "hum_dbfs": (-65, "assumption: run from the mains"),
        "output_clip_dbfs": (0, "assumption: a battery amplifier turned up to about twice normal level"),
    },
    "worn": _TAPE | {
        "source_wiring": ("mono", "common practice: small portables are mono"),
        "record_coupling_hz": (100, "assumption: capacitors that have dried out"),
        "replay_coupling_hz": (100, "assumption: capacitors that have dried out"),
        "record_level_control_dbfs": (-6, "common practice: portables set their own level"),
        "record_level_boost_db": (20, "assumption: so that they record a voice across a table"),
        "record_attack_s": (0.02, "assumption: quick enough to be unheard"),
        "record_release_s": (3, "assumption: slow enough not to pump between words"),
        "saturation_dbfs": (2, SATURATION + "; 1 dB less for old tape (assumption)"),
        "saturation_corner_hz": (4000, CORNER),
        "record_speed_percent": (2, PORTABLE + "; recorded when the machine was new"),
        "replay_speed_percent": (-3, PORTABLE + "; a stretched belt slips"),
        "record_wow_percent": (0.2, PORTABLE + "; recorded when the machine was new"),
        "replay_wow_percent": (0.8, "assumption: a belt with a dent, twice the worst of a sound portable"),
        "record_wow_hz": (1.3, "assumption: one turn of a belt"),
        "replay_wow_hz": (1.3, "assumption: one turn of a belt"),
        "record_flutter_percent": (0.15, PORTABLE + "; recorded when the machine was new"),
        "replay_flutter_percent": (0.5, "assumption: a dry bearing"),
        "replay_drift_percent": (1, "assumption: batteries running down"),
        "replay_motor_start_s": (0.3, "assumption: a motor that comes up slowly"),
        "record_spacing_um": (0.4, "assumption: as a portable"),
        "replay_spacing_um": (1.2, "assumption: oxide on the head, a tired pressure pad"),
        "replay_gap_um": (2.5, "assumption: a head worn down to where its gap is wider"),
        "replay_azimuth_arcmin": (8, "assumption: the head has worn askew since the recording"),
        "dropouts_per_minute": (6, DROPOUTS),
        "dropout_depth_db": (20, DROPOUTS),
        "dropout_length_s": (0.015, DROPOUTS),
        "hiss_dbfs": (-47, "assumption: 4 dB worse than a sound portable"),
        "hum_dbfs": (-55, "assumption: a tired smoothing capacitor"),
        "old_recording_dbfs": (-60, "assumption: a magnet for an erase head; 53 dB below normal"),
        "output_clip_dbfs": (-1, "assumption: tired batteries"),
        "output_lopsided_percent": (20, "assumption: an output stage off its middle"),
    },
    "laptop": {
        "source_level_db": (-12, "common practice: a headphone output is often too quiet for a line input"),
        "record_coupling_hz": (20, "assumption: an output made for headphones"),
        "replay_coupling_hz": (5, "assumption: a line input"),
        "hiss_dbfs": (-75, "assumption: no tape in the way, only the laptop's own noise"),
        "hum_dbfs": (-65, "assumption: laptop and recorder both on the mains, joined by the lead"),
        "output_clip_dbfs": (0, "an input converts no more than full scale"),
    },
    "room": {
        "source_level_db": (-14, "assumption: a level at which nobody's voice overloads it"),
        "record_coupling_hz": (250, "assumption: the loudspeaker of a laptop or telephone"),
        "room_distance_m": (0.3, "assumption: side by side on a desk"),
        "room_reverberation_s": (0.5, "common practice: a furnished classroom has about half a second"),
        "room_reverberation_db": (-15, "assumption: so near, the direct sound prevails"),
        "room_noise_dbfs": (-50, "assumption: a quiet class"),
        "replay_coupling_hz": (50, "assumption: a microphone input"),
        "output_clip_dbfs": (0, "assumption: the loudspeaker's amplifier gives no more"),
    },
}

decks = MappingProxyType({
    name: Deck(**{setting: value for setting, (value, _) in figures.items()})
    for name, figures in _FIGURES.items()})
"""Mapping of str to Deck: the named decks."""

assumptions = MappingProxyType({
    name: MappingProxyType({setting: reason for setting, (_, reason) in figures.items()})
    for name, figures in _FIGURES.items()})
"""Mapping of deck to mapping of setting to str: where each figure comes from."""
