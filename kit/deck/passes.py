"""The two passes of a tape through a machine, put together from the stages."""

import operator

import numpy as np

from kit.deck import air, codec, heads, levelling, source, tape, transport
from kit.deck.chance import stream
from kit.deck.leftovers import checked_under, old_recording
from kit.deck.noise_reduction import noise_reduction_in_recording, noise_reduction_in_replay
from kit.errors import SettingError
from kit.sound import Sound

__all__ = ["copy", "play", "record", "record_losses", "replay", "replay_losses"]

LEAST_RATE_HZ = 1000  # below it a recorder's figures mean nothing


def play(deck, sound, seed=0, *, on=None, under=None, generation=0):
    """Record a sound and play it back: a record pass and a replay pass.

    On one machine the steady errors of speed and azimuth cancel, and two passes of wow and flutter add; `on`
    another machine they show.

    Parameters
    ----------
    deck : Deck
        The machine that records.
    sound : Sound
    seed : int
        Same seed, same chance: hiss, dropouts, the phases of wow and flutter.
    on : Deck or None
        The machine that replays; None: the same one.
    under : Sound or None
        What was on the tape before, for `old_recording_dbfs`.
    generation : int
        Which copy of a copy this is: each has a chance of its own.

    Returns
    -------
    Sound
        The very same object if nothing is set. Its length follows the tape's speed; a room adds the way of
        the sound. Samples may lie beyond ±1 unless `output_clip_dbfs` is set.

    Raises
    ------
    SettingError
        The seed is none, or a stage cannot take this sound, or its rate is below 1000 Hz.
    """
    on_tape = record(deck, sound, seed, generation=generation)
    return replay(on or deck, on_tape, seed, written_azimuth_arcmin=deck.record_azimuth_arcmin, under=under,
                  written_equalisation_us=deck.record_equalisation_us, generation=generation)


def copy(deck, sound, generations=1, seed=0):
    """Dub from tape to tape: each generation records what the one before played.

    Parameters
    ----------
    deck : Deck
    sound : Sound
    generations : int
        0 gives back the sound itself; 1 is the same as `play`.
    seed : int

    Returns
    -------
    Sound

    Raises
    ------
    SettingError
        The number of generations is none.
    """
    try:
        wanted = operator.index(generations)
    except TypeError:
        wanted = -1
    if wanted < 0:
        raise SettingError(f"generations must be a whole number of 0 or more, got {generations!r}: "
                           "1 is a first copy")
    for generation in range(wanted):
        sound = play(deck, sound, seed, generation=generation)
    return sound


def record(deck, sound, seed=0, *, generation=0):
    """The record pass: source, input stage, saturation, the recorder's speed and its head's distance from the
    tape.

    Parameters
    ----------
    deck : Deck
    sound : Sound
    seed, generation : int

    Returns
    -------
    Sound
        What lies on the tape, as an ideal machine would play it. (The tilt of the record head and the
        equalisation it was made for are not in it: tell them to `replay`.)
    """
    rate, y = _checked_rate(sound), sound.samples
    y = source.gain(y, deck.source_level_db)
    y = source.wiring(y, deck.source_wiring)
    y = source.inversion(y, deck.source_inverted)
    y = source.skew(y, rate, deck.source_skew_us)
    y = source.clipping(y, deck.input_clip_dbfs, deck.input_lopsided_percent)
    y = source.coupling(y, rate, deck.record_coupling_hz)
    y = levelling.level_control(y, rate, deck.record_level_control_dbfs, deck.record_level_boost_db,
                                deck.record_attack_s, deck.record_release_s)
    y = noise_reduction_in_recording(y, rate, deck.record_noise_reduction_db)
    y = tape.saturation(y, rate, deck.saturation_dbfs, deck.saturation_corner_hz)
    y = heads.linear_filter(y, rate, record_losses(deck))
    law = transport.speed_law(deck, "record", stream(seed, "record transport", generation))
    y = transport.speed_in_recording(y, rate, law)
    return sound if y is sound.samples else Sound(y, rate)


def replay(deck, sound, seed=0, *, written_azimuth_arcmin=0.0, written_equalisation_us=120.0, under=None,
           generation=0):
    """The replay pass: a tape made elsewhere is played on this machine, whose speed and azimuth errors now
    show.

    Parameters
    ----------
    deck : Deck
    sound : Sound
        What lies on the tape.
    seed, generation : int
    written_azimuth_arcmin, written_equalisation_us : float
        Tilt of the head that recorded the tape, and the time constant it was made for.
    under : Sound or None
        What was on the tape before.

    Returns
    -------
    Sound
        The very same object if nothing is set.
    """
    rate, y = _checked_rate(sound), sound.samples
    draw = {name: stream(seed, name, generation) for name in
            ("replay transport", "dropouts", "old recording", "hiss", "hum")}
    tilt = deck.replay_azimuth_arcmin - written_azimuth_arcmin
    y = transport.speed_in_replay(y, rate, transport.speed_law(deck, "replay", draw["replay transport"]))
    y = source.skew(y, rate, heads.azimuth_skew_us(tilt, deck.track_pitch_mm, _speed_mm_s(deck, "replay")))
    y = heads.linear_filter(y, rate, replay_losses(deck, tilt), written_equalisation_us,
                            deck.replay_equalisation_us)
    y = noise_reduction_in_replay(y, rate, deck.replay_noise_reduction_db)
    y = tape.dropouts(y, rate, deck.dropouts_per_minute, deck.dropout_depth_db, deck.dropout_length_s,
                      deck.dropout_fade_s, draw["dropouts"])
    y = old_recording(y, rate, deck.old_recording_dbfs, draw["old recording"], checked_under(under, rate))
    y = tape.print_through(y, rate, deck.print_through_db, deck.print_through_s)
    y = tape.hiss(y, rate, deck.hiss_dbfs, draw["hiss"])
    y = tape.hum(y, rate, deck.hum_dbfs, deck.hum_hz, draw["hum"])
    y = _output(deck, y, rate)
    y = _through_the_air(deck, y, rate, seed, generation)
    return sound if y is sound.samples else Sound(y, rate)


def _checked_rate(sound):
    if sound.rate < LEAST_RATE_HZ:
        raise SettingError(f"the rate of a sound for a recorder must be {LEAST_RATE_HZ} Hz or more, got "
                           f"{sound.rate} Hz: 44100 is usual")
    return sound.rate


def _output(deck, y, rate):
    """The replay amplifier and the lead behind it."""
    y = source.coupling(y, rate, deck.replay_coupling_hz)
    y = source.gain(y, deck.replay_gain_db)
    y = levelling.level_control(y, rate, deck.replay_level_control_dbfs, deck.replay_level_boost_db,
                                deck.replay_attack_s, deck.replay_release_s)
    y = source.clipping(y, deck.output_clip_dbfs, deck.output_lopsided_percent)
    y = source.wiring(y, deck.output_wiring)
    return source.inversion(y, deck.output_inverted)


def _through_the_air(deck, y, rate, seed, generation):
    """A loudspeaker, a room, a microphone and its software."""
    y = air.room(y, rate, deck.room_distance_m, deck.room_reverberation_s, deck.room_reverberation_db,
                 deck.room_noise_dbfs, stream(seed, "reverberation", generation),
                 stream(seed, "room noise", generation))
    y = air.noise_suppression(y, rate, deck.noise_suppression_db)
    return codec.codec_round_trip(y, rate, deck.codec, deck.codec_rate_hz)


def _speed_mm_s(deck, which):
    return deck.tape_speed_mm_s * (1 + getattr(deck, f"{which}_speed_percent") / 100)


def record_losses(deck):
    """The losses of recording as a function of the frequency at the head, or None."""
    if deck.record_spacing_um == 0:
        return None
    speed = _speed_mm_s(deck, "record")
    return lambda hz: heads.spacing_loss_db(deck.record_spacing_um, heads.wavelength_um(hz, speed))


def replay_losses(deck, tilt_arcmin):
    """The losses of replay as a function of the frequency at the head, or None."""
    if not any((deck.replay_spacing_um, deck.replay_gap_um, deck.coating_um, tilt_arcmin)):
        return None

    def loss_db(hz):
        length = heads.wavelength_um(hz, _speed_mm_s(deck, "replay"))
        return np.sum([heads.spacing_loss_db(deck.replay_spacing_um, length),
                       heads.gap_loss_db(deck.replay_gap_um, length),
                       heads.thickness_loss_db(deck.coating_um, length),
                       heads.azimuth_loss_db(tilt_arcmin, deck.track_mm, length)], axis=0)

    return loss_db
