"""The bench of the tracer: both ways against what was written, through wear and scratches."""

import numpy as np
import pytest

from kit.bench import tracer
from kit.bench.model import Model
from kit.bench.scene import Line, Words
from kit.bench.tracer import FORMAT, TRACER, WEAR, TracerState, find, sound
from kit.bench.tracerviews import BYTE, TIME

WORDS = "Wind W5, gulls 31"


@pytest.mark.parametrize("wear", list(WEAR))
def test_every_byte_leads_to_a_time_and_that_time_back_to_the_byte(wear):
    for k, letter in enumerate(WORDS):
        result = find(TracerState(byte=k + 1, wear=wear))
        middle = (result.span.start_s + result.span.stop_s) / 2
        back = result.tape.reading.at(middle)
        assert (back.byte, back.block.content[back.block_byte]) == (k, ord(letter))
        assert f"“{letter}” = {ord(letter)}" in result.text and "was read right" in result.text


def test_a_new_tape_has_its_bytes_where_arithmetic_puts_them():
    """Leader and sync, header and its tail and leader, then two lengths of cells: all from the format's figures."""
    result = find(TracerState(wear="none", byte=1))
    unit = 1 / 2400
    leader = [round(seconds / (4 * unit)) * 4 * unit for seconds in (0.2, 0.1)]
    header = result.tape.reading.blocks[0]
    bits = np.unpackbits(np.frombuffer(header.content, np.uint8))
    start = leader[0] + 9 * unit + (len(bits) + bits.sum()) * unit
    start += 8 * 4 * unit + leader[1] + 9 * unit  # tail, leader, sync
    mark = np.unpackbits(np.frombuffer(result.tape.reading.blocks[1].content[:7], np.uint8))
    assert result.span.start_s == pytest.approx(start + (56 + mark.sum()) * unit, abs=2e-5)
    length = 8 + ord("W").bit_count()
    assert result.span.stop_s - result.span.start_s == pytest.approx(length * unit, abs=2e-5)


def test_wear_shrinks_the_margins_and_shifts_the_times():
    margins = [np.mean([find(TracerState(byte=k + 1, wear=wear)).span.margin for k in range(len(WORDS))])
               for wear in ("none", "much")]
    places = [find(TracerState(wear=wear)).span.start_s for wear in ("none", "much")]
    assert margins[0] > margins[1] + 0.02 and places[1] > 1.01 * places[0]  # the worn one runs 3 % slow


@pytest.mark.parametrize("seed", range(10))
def test_a_damaged_byte_still_has_its_place_and_says_that_it_is_in_doubt(monkeypatch, seed):
    monkeypatch.setattr(tracer, "SEED", seed)
    tracer._tape.cache_clear()
    whole = find(TracerState())
    hit = [find(TracerState(byte=k + 1, scratch_ms=8)) for k in range(len(WORDS))]
    doubtful = [one for one in hit if "in doubt" in one.text or "lost" in one.text]
    assert 1 <= len(doubtful) < 8
    wrong = [one for one in hit if "which is wrong" in one.text]
    assert all("in doubt" in one.text for one in wrong)
    ends = hit[0].span.start_s, hit[-1].span.stop_s
    clean = find(TracerState(byte=1)).span.start_s, find(TracerState(byte=len(WORDS))).span.stop_s
    assert ends == pytest.approx(clean, abs=2e-3) and whole.tape.sent == WORDS.encode()
    tracer._tape.cache_clear()


def test_every_time_of_the_tape_has_an_answer():
    said = {}
    for time_s in np.arange(0, 1.0, 0.005):
        result = find(TracerState(time_s=float(time_s)))
        said[dict(result.figures)["at the time chosen"]] = result
        assert f"At {round(time_s, 3):.3f} s: " in result.text
    expected = {"leader of the header", "leader of the data block", "header: length", "header: name",
                "check of the header", "mark of the data block", "byte 1 of the text", "byte 17 of the text"}
    assert expected <= set(said)
    past = find(TracerState(time_s=1.4))
    assert past.at_time is None and "nothing that was read" in past.text


def test_the_wave_shown_is_that_of_what_it_follows():
    for follows, about in ((BYTE, "Byte 6 of the text"), (TIME, "Header: name")):
        state = TracerState(follows=follows)
        scene = TRACER.draw(state, find(state))
        assert scene.panes[2].title.startswith(about)
        (wave,) = [item for item in scene.panes[2].items if isinstance(item, Line)]
        assert len(wave.x) == pytest.approx(0.009 * 44100, abs=2)
        bits = "".join(next(item for item in scene.panes[3].items if isinstance(item, Words)).texts)
        assert bits in scene.panes[2].title and len(bits) == 8


def test_pointing_at_tape_or_text_is_the_same_as_moving_a_slider():
    model = Model(TRACER)
    model.pick(0, 0.3)
    assert (model.state.time_s, model.state.follows) == (0.3, TIME)
    span = model.result.tape.reading.where(11)
    model.pick(1, 500 * (span.start_s + span.stop_s))
    assert (model.state.byte, model.state.follows) == (12, BYTE)
    for wrong in ((1, 3.0), (2, 1.0), (0, -3.0), (0, float("nan"))):
        model.pick(*wrong)
    assert (model.state.byte, model.state.time_s) == (12, 0.3)


def test_no_text_and_a_text_beyond_ascii_are_traced_too():
    assert "There is no text" in find(TracerState(words="")).text
    result = find(TracerState(words="Föhn", byte=2))
    assert result.tape.sent[1] == 0xC3 and "195 = 11000011" in result.text
    assert FORMAT.check == "crc-16/ibm-3740" and sound(TracerState(), result) is result.tape.sound
