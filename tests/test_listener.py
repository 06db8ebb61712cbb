"""The listener: the same blocks and events however the samples come, in good time, and in bounded memory."""

import numpy as np
import pytest
from crafted import HOUSE, RATE, header, part, samples_of

import kit
from kit.blocks import Header
from kit.errors import SettingError
from kit.listener import Listener

DATA = np.random.default_rng(1).bytes(240)
TAG = Header.of("", DATA).tag
SPEED = 4


def bodies():
    """A header, three data blocks of 80 bytes, the header again."""
    parts = [part(TAG, k, DATA[80 * k : 80 * k + 80]) for k in range(3)]
    first = header("log.bin", DATA, block_bytes=80)
    return [first, *parts, first]


def clean_tape():
    """1.2 s of float32."""
    return samples_of(bodies(), SPEED)


def noisy_tape():
    """Hiss at 0.3 of the wave's level: some blocks read only when smoothed."""
    tape = clean_tape()
    return tape + np.random.default_rng(5).normal(0, 0.15, len(tape)).astype(np.float32)


def holed_tape():
    """The second data block has lost 20 ms in its middle, the first header all but its leader."""
    tape = clean_tape()
    starts = starts_s()
    for start, length in ((starts[0], 0.03), (starts[2] + 0.04, 0.02)):
        tape[int(start * RATE) : int((start + length) * RATE)] = 0
    return tape


def starts_s(count=5):
    """Where the first cell of each block lies, added up from the half-cycles written."""
    starts, now = [], 0.0
    for k, body in enumerate(bodies()[:count]):
        halves = HOUSE.block_half_cycles(body, 0.05 if k else 0.5, SPEED)
        cells = 16 * (len(body) + 2)
        after = cells + 2 * HOUSE.tail_cycles
        starts.append(now + halves[:-after].sum())
        now += halves.sum()
    return starts


def heard(samples, size, format="house", **settings):
    """A listener that got these samples in pieces of a size."""
    listener = Listener(format, RATE, **settings)
    told = []
    for start in range(0, len(samples), size):
        told += listener.feed(samples[start : start + size])
    told += listener.finish()
    assert told == listener.events
    return listener


def summary(listener):
    """What was found, without times."""
    return [(b.content, b.verdict, b.side, b.note, b.headless) for b in listener.blocks]


TAPES = {"clean": clean_tape, "noisy": noisy_tape, "holed": holed_tape}


@pytest.mark.parametrize(("tape", "size"), [
    ("clean", 7), ("clean", 100), ("clean", 4096), ("noisy", 23), ("noisy", 100), ("noisy", 4096), ("holed", 7),
    ("holed", 100), ("holed", 4096),
])
def test_pieces_of_any_size_give_the_same_blocks_as_the_whole(tape, size):
    """The same bytes, verdicts, places and notes."""
    samples = TAPES[tape]()
    whole, pieces = heard(samples, len(samples)), heard(samples, size)
    assert summary(pieces) == summary(whole)
    for one, other in zip(pieces.blocks, whole.blocks, strict=True):
        assert one.span_s == pytest.approx(other.span_s, abs=1e-7)
        assert one.leader_s == pytest.approx(other.leader_s, abs=1e-7)
        assert np.array_equal(one.doubtful, other.doubtful)
    told = [[(round(e.seconds, 5), e.what, e.text) for e in sorted(x.events, key=lambda e: (e.seconds, e.what))]
            for x in (pieces, whole)]
    assert told[0] == told[1]


def test_a_clean_tape_is_told_in_order_of_time():
    """Leader, sync, what it is, check: block after block, each event no earlier than the one before."""
    events = heard(clean_tape(), 1000).events
    assert [e.what for e in events] == [
        word for what in ("header", "data", "data", "data", "header") for word in ("leader", "sync", what, "check")
    ]
    seconds = [event.seconds for event in events]
    assert seconds == sorted(seconds)
    assert [e.seconds for e in events if e.what == "sync"] == pytest.approx(starts_s(), abs=3 / RATE)


def test_a_reading_is_in_order_of_time_also_where_a_block_took_more_effort():
    """The listener tells things when it knows them; the reading puts them in order."""
    reading = kit.decode(kit.Sound(noisy_tape(), RATE), format="house")
    assert any(block.note for block in reading.blocks) and reading.complete
    assert reading.events == sorted(reading.events, key=lambda e: e.seconds)
    assert [b.span_s for b in reading.blocks] == sorted(b.span_s for b in reading.blocks)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_a_block_is_there_as_soon_as_the_next_leader_is_heard(count):
    """Nobody at a live microphone waits for the end of the tape."""
    samples = clean_tape()
    next_sync = starts_s(count + 1)[-1] - 3 * 3 / 2400 / SPEED
    listener = Listener("house", RATE)
    for start in range(0, int(next_sync * RATE), 256):
        listener.feed(samples[start : min(start + 256, int(next_sync * RATE))])
    assert len(listener.blocks) == count
    assert listener.seconds == pytest.approx(next_sync, abs=1 / RATE)


def test_a_block_that_takes_more_effort_is_there_once_the_block_after_it_is_read():
    """Before `finish`: a damaged reading too."""
    samples = holed_tape()
    listener = Listener("house", RATE)
    listener.feed(samples[: int((starts_s()[4] - 0.01) * RATE)])
    assert [b.verdict for b in listener.blocks if b.part and b.part.number == 1] == ["damaged"]


def test_a_quick_listener_reads_what_reads_as_it_is_and_says_soon_what_does_not():
    """The block with the hole is given as damaged while the tape goes on; one drowned in hiss is not waited for."""
    samples, listener = holed_tape(), Listener("house", RATE, quick=True)
    listener.feed(samples[: int((starts_s()[4] - 0.01) * RATE)])
    assert [b.verdict for b in listener.blocks if b.part] == ["checked", "damaged", "checked"]
    assert summary(heard(clean_tape(), 4096, quick=True)) == summary(heard(clean_tape(), 4096))
    thorough = [b.verdict for b in heard(noisy_tape(), 4096).blocks]
    quick = [b.verdict for b in heard(noisy_tape(), 4096, quick=True).blocks]
    assert quick.count("checked") < thorough.count("checked") == 5


def test_int16_samples_give_the_same_blocks_as_floats():
    """A recorder's whole numbers, silence threshold and all."""
    for tape in TAPES.values():
        whole = np.round(tape() * 32768 / 2).astype(np.int16)
        assert summary(heard(whole, 4096)) == summary(heard((whole / 32768).astype(np.float32), 4096))


def test_what_is_not_a_number_counts_as_silence():
    """NaN and infinity cost the block they lie in and no other."""
    samples, silent = clean_tape(), clean_tape()
    hole = slice(int((starts_s()[2] + 0.04) * RATE), int((starts_s()[2] + 0.06) * RATE))
    samples[hole] = np.nan
    samples[hole.start + 5] = np.inf
    silent[hole] = 0
    assert summary(heard(samples, 999)) == summary(heard(silent, 999))
    assert [b.verdict for b in heard(samples, 999).blocks].count("checked") == 4


@pytest.mark.parametrize("channels", [1, 2, 8])
def test_silence_and_nothing_at_all_hold_nothing(channels):
    """No blocks, no events, no complaint."""
    for frames in (0, 1, 50_000):
        listener = heard(np.zeros((frames, channels), np.float32), 10_000, channels=channels)
        assert listener.blocks == [] and listener.events == []
        assert listener.seconds == frames / RATE


@pytest.mark.parametrize("level", [1e-3, 0.05, 0.9])
def test_hiss_holds_nothing(level):
    """At any level: three seconds of it."""
    hiss = np.random.default_rng(3).normal(0, level, 3 * RATE).astype(np.float32)
    assert heard(hiss, 8192).blocks == []


def a_second_of(sound, generator):
    """Hiss, or a hum, which has so few edges that they alone would be kept for half an hour."""
    if sound == "hiss":
        return generator.normal(0, 0.1, 8000).astype(np.float32)
    return (0.2 * np.sin(2 * np.pi * 50 * np.arange(8000) / 8000 + 0.1)).astype(np.float32)


@pytest.mark.parametrize("sound", ["hiss", "hum"])
def test_minutes_of_nothing_take_no_more_memory_than_a_minute_of_it(sound):
    """What is neither read nor settled is given up after a while; samples are let go of."""
    generator, listener = np.random.default_rng(4), Listener("house", 8000)
    kept, edges = [], []
    for _ in range(240):
        listener.feed(a_second_of(sound, generator))
        kept.append(listener._effort.held)
        edges.append(sum(len(lane._edges) for lane in listener._first))
    # The patient effort works on a minute at once, and what it leaves is kept for the next one.
    assert max(kept) <= 150 * 8000
    assert max(kept[120:]) <= max(kept[:120]) * 1.25
    assert max(edges[120:]) <= max(edges[:120]) * 1.1
    assert listener.blocks == []


def test_after_minutes_of_hiss_a_block_is_still_read():
    """Giving up on the hiss does not give up on the tape."""
    generator = np.random.default_rng(6)
    hiss = generator.normal(0, 0.05, 70 * RATE).astype(np.float32)
    listener = heard(np.concatenate((hiss, clean_tape(), hiss[:RATE])), 1 << 16)
    assert [b.verdict for b in listener.blocks] == ["checked"] * 5


def test_the_caller_may_use_the_same_array_for_every_piece():
    """As the drivers of sound cards do."""
    samples, buffer = noisy_tape(), np.zeros(4096, np.float32)
    listener = Listener("house", RATE)
    for start in range(0, len(samples), len(buffer)):
        piece = samples[start : start + len(buffer)]
        buffer[: len(piece)] = piece
        listener.feed(buffer[: len(piece)])
    listener.finish()
    assert summary(listener) == summary(heard(samples, 4096))


def test_blocks_and_events_carry_the_number_of_their_recording():
    """So that parts of one tape can be told apart."""
    listener = heard(clean_tape(), 4096, recording=3)
    assert {b.recording for b in listener.blocks} == {e.recording for e in listener.events} == {3}


@pytest.mark.parametrize(("format", "found"), [("auto", 5), ("house", 5), (["framed", "house"], 5), ("framed", 0)])
def test_only_the_formats_asked_for_are_listened_for(format, found):
    """All that have a name, one, or several."""
    blocks = heard(clean_tape(), 4096, format=format).blocks
    assert len([b for b in blocks if b.verdict == "checked"]) == found


@pytest.mark.parametrize(("samples", "said"), [
    (np.zeros((10, 2), np.float32), r"\(n, 1\), got shape \(10, 2\)"),
    (np.zeros((5, 1, 1)), r"got shape \(5, 1, 1\)"),
    (np.zeros(()), r"got shape \(\)"), (np.zeros(5, complex), "floats or int16, got complex128"),
    (np.array(["a"]), "floats or int16, got "), (np.zeros(5, bool), "floats or int16, got bool"),
])
def test_samples_of_another_shape_or_kind_are_refused(samples, said):
    """With the shape or kind that was got; what was heard before is not lost."""
    listener = Listener("house", RATE)
    listener.feed(clean_tape()[: 4 * RATE // 5])
    with pytest.raises(SettingError, match=said):
        listener.feed(samples)
    listener.feed(clean_tape()[4 * RATE // 5 :])
    listener.finish()
    assert len(listener.blocks) == 5


@pytest.mark.parametrize("channels", [0, -1, 9])
def test_a_number_of_channels_that_is_none_is_refused(channels):
    """One to eight."""
    with pytest.raises(SettingError, match=f"1 to 8 channels, got {channels}: mix it down first"):
        Listener("house", RATE, channels)
