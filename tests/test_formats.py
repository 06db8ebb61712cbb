"""Formats: what ties the floors together, the rates they need, and formats of a learner's own."""

import binascii
import dataclasses
import itertools

import numpy as np
import pytest

import kit
from kit.cells import CycleLength
from kit.checks import CHECKS
from kit.errors import SettingError
from kit.formats import Format
from kit.frames import Frame
from kit.known import FORMATS, SPEEDS, find_format, find_speed, register
from kit.leader import Leader
from kit.tones import TwoTones

HOUSE = FORMATS["house"]
LOG = "wind west 5, sea 4 \N{EM DASH} rain since noon\n".encode() + bytes(range(256))
LEARNERS = {
    "ones are shorter": Format("a", code=CycleLength(2.0, 1.0)),
    "leader is shorter than sync": Format("b", code=CycleLength(2.0, 3.0), leader=Leader(1.0, 1.4)),
    "leader lies between the bits": Format("c", code=CycleLength(1.0, 4.0), leader=Leader(2.0, 2.8)),
    "sync is the longest": Format("d", leader=Leader(3.0, 6.0, sync_cycles=5)),
    "sync is the shortest": Format("e", code=CycleLength(2.0, 3.0), leader=Leader(4.0, 1.0, sync_cycles=2)),
    "lengths are no round numbers": Format("f", code=CycleLength(1.17, 1.93), leader=Leader(3.71, 2.83)),
    "bits are as near as may be": Format("g", code=CycleLength(3.0, 4.0), leader=Leader(8.0, 6.0)),
    "even parity": Format("h", frame=Frame(parity="even")),
    "odd parity and stop bits": Format("i", frame=Frame("lsb", start_bits="0", stop_bits="11", parity="odd")),
    "long frames": Format("j", frame=Frame(start_bits="0101", stop_bits="1" * 8, parity="mark")),
    "smallest blocks": Format("k", block_bytes=16),
    "three copies": Format("l", copies=3, block_bytes=100),
    "an odd unit": Format("m", unit_hz=1837.5),
    "no gaps": Format("n", gap_s=0.0, leader_s=0.0, block_bytes=64),
    "half-cycles in seconds": Format.of_half_cycles(
        "o", zero_s=0.00013, one_s=0.00024, sync_s=0.00034, leader_s=0.00046
    ),
    "half-cycles in seconds, ones shorter": Format.of_half_cycles(
        "p", zero_s=0.0004, one_s=0.00025, sync_s=0.00055, leader_s=0.0008, check="sum-8"
    ),
}


def by_hand(body, leader_cycles, tail_cycles):
    """Half-cycles of a block of the house format in seconds, written down bit by bit."""
    bits = "".join(f"{byte:08b}" for byte in body + binascii.crc_hqx(body, 0xFFFF).to_bytes(2, "big"))
    halves = [1 / 1200] * (2 * leader_cycles) + [1 / 1600] * 6
    for bit in bits:
        halves += [1 / 2400 if bit == "1" else 1 / 4800] * 2
    return halves + [1 / 1200] * (2 * tail_cycles)


# -- rates ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("speed", "rate"), [(0.25, 1800), (0.5, 3600), (1, 7200), (2, 14_400), (4, 28_800)])
def test_house_needs_one_and_a_half_samples_for_its_shortest_half_cycle(speed, rate):
    """Half a cycle of 2400 Hz lasts 1/4800 s: 1.5 samples in it make 7200 a second."""
    assert HOUSE.needed_rate(speed) == rate


@pytest.mark.parametrize(("name", "shortest_half_s"), [
    ("leader is shorter than sync", 0.5 / 2400), ("lengths are no round numbers", 1.17 / 2 / 2400),
    ("bits are as near as may be", 1.5 / 2400), ("an odd unit", 0.5 / 1837.5), ("ones are shorter", 0.5 / 2400),
    ("half-cycles in seconds, ones shorter", 0.00025), ("half-cycles in seconds", 0.00013),
])
def test_the_rate_needed_goes_by_the_shortest_half_cycle_of_all(name, shortest_half_s):
    """Be it a bit, the sync mark or the leader."""
    assert LEARNERS[name].needed_rate() == pytest.approx(1.5 / shortest_half_s)
    assert LEARNERS[name].needed_rate(3) == pytest.approx(4.5 / shortest_half_s)


@pytest.mark.parametrize(("rate", "speed"), [(44100, 4), (22050, 2), (11025, 1), (44100, 1)])
def test_at_just_the_rate_needed_a_tape_is_read(rate, speed):
    """And at one sample a second less it is refused with the rate named."""
    format = Format("limit", unit_hz=rate / 3 / speed)
    assert format.needed_rate(speed) == pytest.approx(rate)
    format = format.changed(unit_hz=np.nextafter(format.unit_hz, 0).item())
    sound = kit.encode(LOG, format=format, speed=speed, rate=rate, lead_in_s=0.3)
    assert kit.decode(sound, format=format).files[0].data == LOG
    with pytest.raises(SettingError, match=f"at least {rate} Hz .* speed {speed}, got {rate - 1} Hz"):
        kit.encode(LOG, format=format, speed=speed, rate=rate - 1)


# -- blocks on tape ------------------------------------------------------------------------------------


@pytest.mark.parametrize("speed", [0.5, 1.0, 4.0])
def test_a_block_of_house_is_the_half_cycles_that_were_written_down(speed):
    """Leader of 600 Hz, three cycles of 800 Hz, 1200 Hz for a one, 2400 Hz for a zero, a tail; times the speed."""
    body = bytes([2, 0x12, 0x34, 0, 0, 0, 3]) + b"log"
    halves = HOUSE.block_half_cycles(body, leader_s=0.25, speed=speed)
    wanted = by_hand(body, leader_cycles=round(0.25 * 600 * speed), tail_cycles=8)
    assert halves == pytest.approx(np.array(wanted) / speed)


@pytest.mark.parametrize("speed", [0.5, 1.0, 4.0])
def test_a_block_of_steady_is_the_half_cycles_that_were_written_down(speed):
    """The blocks of house, but one cycle of 1200 Hz for a zero and two of 2400 Hz for a one: 1200 bits a second."""
    body = bytes([2, 0x12, 0x34, 0, 0, 0, 3]) + b"log"
    bits = "".join(f"{byte:08b}" for byte in body + binascii.crc_hqx(body, 0xFFFF).to_bytes(2, "big"))
    wanted = [1 / 1200] * (2 * round(0.25 * 600 * speed)) + [1 / 1600] * 6
    for bit in bits:
        wanted += [1 / 4800] * 4 if bit == "1" else [1 / 2400] * 2
    wanted += [1 / 1200] * 16
    steady = FORMATS["steady"]
    assert steady.block_half_cycles(body, leader_s=0.25, speed=speed) == pytest.approx(np.array(wanted) / speed)
    assert steady.bits_per_second == pytest.approx(1200)
    assert steady.needed_rate(speed) == HOUSE.needed_rate(speed)


def test_formats_whose_cycles_are_the_same_can_be_listened_for_together():
    """House and steady have the same leader and cycles of 1 and 2 units; what they make of them differs."""
    steady = FORMATS["steady"]
    assert steady.cycles == HOUSE.cycles == FORMATS["framed"].cycles
    assert not steady.reads_like(HOUSE) and HOUSE.reads_like(HOUSE.changed(copies=2))
    others = [HOUSE.changed(unit_hz=2401.0), HOUSE.changed(code=CycleLength(1.0, 2.1)),
              HOUSE.changed(leader=Leader(4.5, 3.0)), HOUSE.changed(code=TwoTones(8, 16, 9.0))]
    assert not any(other.cycles == HOUSE.cycles for other in others)


def test_a_leader_is_never_too_short_to_lock_to():
    """Five cycles at least, whatever is asked for."""
    assert len(HOUSE.block_half_cycles(b"\1", leader_s=0.0)) == 2 * (5 + 3 + 24 + 8)


@pytest.mark.parametrize("name", ["house", "framed"])
def test_an_inverted_copy_has_every_bit_of_its_bytes_inverted_and_its_frames_as_ever(name):
    """Also those of the check, which is computed over the bytes as they were."""
    format = FORMATS[name]
    body = bytes([2, 0, 9, 0, 0, 0, 3]) + b"log"
    copy = bytes(255 - byte for byte in body)
    plain, doubt = format.frame.to_bytes(format.block_bits(body))
    turned, doubt_2 = format.frame.to_bytes(format.block_bits(copy))
    assert np.array_equal(turned, 255 - plain)
    assert not doubt.any() and not doubt_2.any()


def test_half_cycles_given_in_seconds_are_those_on_the_tape():
    """Whatever the unit is called inside."""
    format = LEARNERS["half-cycles in seconds, ones shorter"]
    halves = format.block_half_cycles(b"\xf0", leader_s=0.02)
    assert halves[:4] == pytest.approx([0.0008] * 4)
    lead = 2 * round(0.02 / 0.0016)
    assert halves[lead : lead + 6] == pytest.approx([0.00055] * 6)
    assert halves[lead + 6 : lead + 22] == pytest.approx([0.00025] * 8 + [0.0004] * 8)


def test_the_bit_rate_is_the_mean_over_zeros_and_ones():
    """House: 1/2400 s and 1/1200 s, so 1600 bits a second."""
    assert HOUSE.bits_per_second == pytest.approx(1600)
    halves = HOUSE.code.encode([0, 1] * 800) * HOUSE.unit_s()
    assert halves.sum() == pytest.approx(1.0)


# -- formats of one's own ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LEARNERS)
def test_any_consistent_format_encodes_and_decodes(name):
    """Forwards, with the wave the other way up, and backwards."""
    format = LEARNERS[name]
    sound = kit.encode(LOG, name="log.txt", format=format, speed=2, lead_in_s=0.3)
    for samples in (sound.samples, -sound.samples, sound.samples[::-1]):
        reading = kit.decode(kit.Sound(samples, sound.rate), format=format)
        assert reading.complete
        assert [(file.name, file.data) for file in reading.files] == [("log.txt", LOG)]


@pytest.mark.parametrize("check", CHECKS)
@pytest.mark.parametrize("order", ["msb", "lsb"])
def test_every_check_may_end_a_block(check, order):
    """What is checked is complete; with no check at all it is what it is: unchecked, and all there."""
    format = Format("checked", check=check, frame=Frame(order=order), block_bytes=100)
    sound = kit.encode(LOG, format=format, speed=4, lead_in_s=0.2)
    reading = kit.decode(sound, format=format)
    assert [file.data for file in reading.files] == [LOG]
    assert reading.verdict == ("unchecked" if check == "none" else "checked")


@pytest.mark.parametrize(("settings", "said"), [
    ({"unit_hz": 0.5}, "unit_hz must lie in 1 to 100000 Hz, got 0.5"), ({"unit_hz": float("nan")}, "got nan"),
    ({"unit_hz": "2400"}, "got '2400'"), ({"block_bytes": 15}, "16 to 4080 bytes, got 15"),
    ({"block_bytes": 4081}, "got 4081"), ({"lead_in_s": -1}, "lead_in_s must lie in 0 to 600 s, got -1"),
    ({"leader_s": 601}, "leader_s .* got 601"), ({"gap_s": None}, "gap_s .* got None"),
    ({"tail_cycles": 4}, "tail_cycles must lie in 5 to 1000 cycles, got 4"), ({"copies": 0}, "1 to 9 copies, got 0"),
    ({"check": "crc-17"}, "crc-17"), ({"inverted_copies": True}, "copies must be 2 or more .* got 1"),
    ({"code": CycleLength(1.0, 2.8)}, "one and sync must differ by 15% at least, got 2.8 and 3 units"),
    ({"leader": Leader(4.0, 2.2)}, "one and sync must differ"), ({"leader": Leader(1.1, 3.0)}, "zero and leader"),
])
def test_a_format_that_does_not_hold_together_is_refused(settings, said):
    """One line: what must hold, the value and its unit."""
    with pytest.raises(SettingError, match=said) as caught:
        Format("mine", **settings)
    assert "\n" not in str(caught.value)
    with pytest.raises(SettingError, match=said):
        Format("mine").changed(**settings)


@pytest.mark.parametrize("setting", ["copies", "block_bytes", "tail_cycles"])
def test_what_is_counted_must_be_a_whole_number(setting):
    """Nobody writes one and a half copies."""
    with pytest.raises(SettingError, match=setting):
        Format("mine", **{setting: getattr(HOUSE, setting) + 0.5})


@pytest.mark.parametrize("zero_s", [0.0, -0.001, float("nan")])
def test_half_cycles_without_length_are_refused(zero_s):
    """Named in seconds, as they were given."""
    with pytest.raises(SettingError, match=f"longer than 0 s, got {zero_s!r} s"):
        Format.of_half_cycles("mine", zero_s=zero_s, one_s=0.001, sync_s=0.002, leader_s=0.003)


def test_a_format_never_changes_once_made():
    """`changed` makes another."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        HOUSE.copies = 3
    assert HOUSE.changed(copies=3).copies == 3 and HOUSE.copies == 1


# -- names ---------------------------------------------------------------------------------------------


def test_a_format_is_found_by_its_name_or_is_itself():
    """An unknown name is answered with the known ones."""
    assert find_format("house") is HOUSE
    assert find_format(LEARNERS["no gaps"]) is LEARNERS["no gaps"]
    with pytest.raises(SettingError, match=r"format must be one of house, .* got 'hose'"):
        find_format("hose")


def test_a_format_can_be_registered_under_a_name_of_its_own(monkeypatch):
    """Twice the same does no harm; another under a name that is taken is refused."""
    for name, format in FORMATS.items():
        assert format.name == name and format.about
    monkeypatch.setattr("kit.known.FORMATS", dict(FORMATS))
    mine = Format("island", block_bytes=64)
    assert register(mine) is mine and register(mine) is mine and find_format("island") is mine
    with pytest.raises(SettingError, match="name of its own, got 'island': choose another"):
        register(mine.changed(block_bytes=65))


def test_speeds_have_names_at_least_a_factor_of_two_apart():
    """So that a tape at one of them is not taken for another."""
    speeds = sorted(SPEEDS.values())
    assert all(fast >= 2 * slow for slow, fast in itertools.pairwise(speeds))
    assert SPEEDS["ordinary"] == 1
    assert [find_speed(name) for name in SPEEDS] == list(SPEEDS.values())
    assert find_speed("1.5") == find_speed(1.5) == 1.5


@pytest.mark.parametrize("speed", ["fast", 0, -1, 0.09, 17, None, float("nan"), [], "inf"])
def test_a_speed_that_is_none_is_refused_with_the_names_of_those_there_are(speed):
    """And the range of numbers."""
    with pytest.raises(SettingError, match=r"quarter \(0.25\).* or a number from 0.1 to 16, got"):
        find_speed(speed)
