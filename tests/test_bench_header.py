"""The bench of the header: every bit against the layout as documented, real reading, and what lesson 6 predicts."""

import numpy as np
import pytest

import kit
from kit.bench.header import HEADER_BENCH, PLACES, HeaderState, find, pick_tile, sound
from kit.bench.headerloader import FIELDS, FORMAT, NEXT
from kit.bench.model import Model
from kit.bench.scene import Tiles
from kit.blocks import Header
from kit.sides import tape_blocks

OFFSETS = dict(zip(FIELDS, np.cumsum([0, *FIELDS.values()]), strict=False))


def figure(result, name):
    return dict(result.figures)[name]


def test_length_32_read_as_160_eats_128_wrong_bytes_or_waits_for_them():
    """What lesson 6 lets people predict, with the check off."""
    eats = find(HeaderState())
    assert (figure(eats, "length as read"), figure(eats, "wrong bytes eaten")) == ("160 bytes", "128")
    assert figure(eats, "bytes waited for") == "0" and "eats 128 wrong bytes" in eats.text
    assert eats.loaded.data[32:] == NEXT[:128] and not eats.loaded.agrees
    waits = find(HeaderState(followed=False))
    assert figure(waits, "wrong bytes eaten") == "0" and figure(waits, "bytes waited for") == "128"
    assert "waits for 128 more" in waits.text


def test_with_the_check_on_every_single_bit_is_refused():
    """A CRC of 16 bits misses no single flip: the same prediction with the check on."""
    result = find(HeaderState(check=True))
    assert result.outcomes == "R" * 408 and "refuses it before" in result.text
    assert result.loaded.header is None and result.loaded.data == b""
    assert figure(result, "bits that do harm") == "0 of 408"


def test_each_bit_of_the_length_does_what_arithmetic_says_on_any_tape():
    """Over random tapes and bits: bytes eaten and waited for are just those the header has too many."""
    rng = np.random.default_rng(3)
    for _ in range(100):
        length, bit = 8 * int(rng.integers(1, 13)), int(rng.integers(0, 32))
        result = find(HeaderState(length=length, bit=bit, followed=bool(rng.integers(2))))
        said = length ^ (1 << bit)
        assert result.loaded.header.length == said
        extra = int(figure(result, "wrong bytes eaten")) + int(figure(result, "bytes waited for"))
        assert extra == max(0, said - length)
        assert len(result.loaded.data) == min(said, length) + int(figure(result, "wrong bytes eaten"))


def test_a_map_of_outcomes_follows_from_the_layout_of_the_header():
    outcomes = find(HeaderState()).outcomes
    assert len(outcomes) == 8 * 51
    part = {name: outcomes[8 * OFFSETS[name] : 8 * (OFFSETS[name] + size)] for name, size in FIELDS.items()}
    assert part["kind"] == "U" * 8 and part["layout"] == "U" * 8
    assert part["length"] == "+" * 26 + "−" + "+" * 5  # 32 is bit 5 alone
    assert part["content"] == "U" * 6 + "KK"
    assert set(part["start address"]) == {"A"} and set(part["CRC-32 of file"]) == {"C"}
    assert set(part["name"]) == {"N"} and part["check"] == "·" * 16
    allowed = ["·" if 16 <= FORMAT.block_bytes ^ (1 << bit) <= 4080 else "U" for bit in range(15, -1, -1)]
    assert part["bytes a block"] == "".join(allowed)


@pytest.mark.parametrize("seed", range(4))
def test_the_kits_own_reader_refuses_such_a_header_too_and_takes_its_second_copy(seed):
    """Through real sound: the flipped bit is laid on a tape and read as any tape is."""
    bit = int(np.random.default_rng(seed).integers(8, 392))
    log = b"Mon wind W5 rain 2 mm gulls 31 ;"
    blocks = list(tape_blocks([kit.TapeFile("log.txt", log, "text")], FORMAT.changed(lead_in_s=0.3)))
    halves = [FORMAT.block_half_cycles(body, leader_s) for leader_s, body in blocks]
    (_, header), first = blocks[0], len(halves[0]) - 16 - 2 * 51 * 8
    cell = slice(first + 2 * bit, first + 2 * bit + 2)
    one = header[bit // 8] >> (7 - bit % 8) & 1
    halves[0][cell] = FORMAT.code.encode([1 - one]) * FORMAT.unit_s()
    wave = kit.Sound(kit.waves.render(np.concatenate(halves), 44100), 44100)
    reading = kit.decode(wave, format="house")
    assert [file.data for file in reading.files] == [log] and reading.files[0].name == "log.txt"
    checked = [block for block in reading.blocks if block.header is not None]
    assert len(checked) == 1 and checked[0].start_s > 1  # the first was refused


def test_pointing_at_a_bit_is_the_same_as_choosing_field_and_bit():
    model = Model(HEADER_BENCH)
    for bit, (x, y) in PLACES.items():
        changes = pick_tile(model.state, 0, x + 0.5, y + 0.5)
        assert find(HeaderState(**changes)).bit == bit
    model.pick(0, 31.5, 12.5)
    assert (model.state.field, model.state.bit) == ("length", 0)
    for pane, x, y in ((1, 31.5, 3.5), (0, -4.0, 3.5), (0, float("nan"), 3.5), (0, 3.0, None), (0, 1.0, 15.5)):
        model.pick(pane, x, y)
    assert (model.state.field, model.state.bit) == ("length", 0)


def test_the_picture_has_a_tile_for_each_bit_and_each_byte():
    state = HeaderState()
    scene = HEADER_BENCH.draw(state, find(state))
    counts = [[len(item.x) for item in pane.items if isinstance(item, Tiles)] for pane in scene.panes]
    assert sum(counts[0]) == 408 and counts[1] == [32, 128]


def test_what_is_heard_is_the_header_with_the_bit_flipped():
    state = HeaderState()
    heard = sound(state, find(state))
    listener = kit.Listener(FORMAT.changed(check="none"), heard.rate)
    listener.feed(heard.samples)
    listener.finish()
    header = next(block for block in listener.blocks if block.header or len(block.content) >= 49)
    assert Header.unpack(header.content[1:49]).length == 160
