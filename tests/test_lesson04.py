"""Lesson 4: what it claims, and that a learner's own reader reads a tape."""

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.cells import CellsState
from kit.bench.fields import fields_of
from kit.comparison import CODES
from kit.exercises import LESSONS, learner
from kit.exercises.lesson04bits import READ_BITS, bits_of_edges
from kit.exercises.marking import marked
from kit.known import SPEEDS
from kit.waves import edges, render

PAGE = page_of(4)
SEEN_LATER = ["every bit is right", "44100 samples a second:"]
SOLVED = """
import numpy
def solved_by_test(edges_s, short_s, long_s):
    cycles = numpy.diff(edges_s[::2])
    return [1 if abs(cycle - long_s) < abs(cycle - short_s) else 0 for cycle in cycles]
"""
FAMILY = ("on-off tone", "two tones", "phase flips", "cycle length")


def learner_edges(edges_s, short_s, long_s):
    """An answer written another way than the reference: nearer to which of the two?"""
    cycles = np.diff(np.array(edges_s)[::2])
    return (np.abs(cycles - long_s) < np.abs(cycles - short_s)).astype(int)


INDEPENDENT = {"read_bits": learner_edges}


def bench(code="gull 7", **settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("cells", words=learner(code).message(4), **settings).result


def numbers():
    tape = learner("gull 7").tape(4)
    block = kit.decode(tape).blocks[1]
    lengths = np.diff(block.cell_s)
    text = learner("gull 7").message(4).encode()
    written = "".join(f"{byte:08b}" for byte in text)
    by_hand = bits_of_edges([0, 1, 2, 4, 6], 2, 4)
    agreed = kit.FORMATS["kansas"]
    return {
        "0": abs(lengths[block.bits == 0].mean() - 1 / 2400) < 1e-6,
        "1": abs(lengths[block.bits == 1].mean() - 2 / 2400) < 1e-6 and fields_of(CellsState())[1].values[0] == 1,
        "2": by_hand == [0, 1],
        "4": by_hand == [0, 1],
        "6": by_hand == [0, 1],
        "50": tape.peak == 0.5 and LESSONS[4].items["a"].option("c").text.startswith("The same bits"),
        "56": "".join(map(str, block.bits[56 : 56 + 8 * len(text)])) == written,
        "8000": fields_of(CellsState())[-1].words[0] == "8000 Hz",
        # M. and V. Peschke, "BYTE's Audio Cassette Standards Symposium", BYTE, February 1976, pp. 72-73: a one is
        # eight cycles of 2400 Hz, a zero four cycles of 1200 Hz, at up to 300 baud.
        "1976": len(agreed.code.encode([1])) == 2 * 8 and len(agreed.code.encode([0])) == 2 * 4,
        "2400": agreed.code.encode([1])[0] * agreed.unit_s() == pytest.approx(1 / 2400 / 2),
        "1200": agreed.code.encode([0])[0] * agreed.unit_s() == pytest.approx(1 / 1200 / 2),
        "300": 8 / 2400 == 4 / 1200 == pytest.approx(1 / 300),
    }


def half_the_volume_changes_no_bit(code):
    """On the bench, and by decoding the whole tape at half its level."""
    usual, quiet = bench(code), bench(code, volume_percent=25)
    tape = learner(code).tape(4)
    read = kit.decode(tape.scaled(0.5)).files[0].data
    return (not quiet.wrong.any() and np.array_equal(usual.read, quiet.read)
            and np.abs(quiet.samples).max() == pytest.approx(np.abs(usual.samples).max() / 2, rel=1e-3)
            and np.allclose(usual.edges_ms, quiet.edges_ms, atol=0.001) and read == learner(code).message(4).encode())


def twice_the_rate_is_the_same_bits_in_twice_the_file(code):
    data = learner(code).message(4).encode()
    single, double = (kit.encode(data, lead_in_s=1.0, rate=rate) for rate in (22050, 44100))
    read = [kit.decode(sound) for sound in (single, double)]
    spans = [reading.blocks[1].span_s for reading in read]
    lasts = [stop - start for start, stop in spans]
    same_bits = read[0].files[0].data == read[1].files[0].data == data
    same_time = max(abs(lasts[0] - lasts[1]), abs(single.seconds - double.seconds)) < 0.0002
    return same_bits and same_time and abs(double.frames - 2 * single.frames) <= 2  # the last samples are rounded up


DEMONSTRATIONS = {"4a": half_the_volume_changes_no_bit, "4b": twice_the_rate_is_the_same_bits_in_twice_the_file}


def test_files_of_lesson_4_are_twice_as_large_to_the_header(tmp_path):
    sounds = [kit.encode(b"Terns 35 NW1", lead_in_s=1.0, rate=rate) for rate in (22050, 44100)]
    sizes = [sound.write(tmp_path / f"{sound.rate}.wav").stat().st_size for sound in sounds]
    assert 1.99 < sizes[1] / sizes[0] < 2.01
    assert sizes[1] == pytest.approx(2 * sounds[1].frames, rel=0.001)  # "a sample takes two bytes"


def test_the_limits_named_after_prediction_4a_are_limits():
    """No higher than a step of the file, or than the hiss: then bits are lost."""
    halves = kit.FORMATS["house"].block_half_cycles(b"\x02" + b"Terns 35 NW1", 0.5)
    wave = render(halves, 44100, peak=0.4 / 32767)
    assert not np.round(wave * 32767).any()
    tape = learner("gull 7").tape(4)
    hiss = np.random.default_rng(4).normal(0, 1, tape.frames).astype(np.float32)
    lost = kit.decode(kit.Sound(0.01 * tape.samples + 0.02 * hiss, tape.rate))
    assert not any(file.complete for file in lost.files)


def test_with_too_few_samples_edges_are_lost_as_the_explanation_of_4b_says_and_the_task_asks_for():
    wrong = {speed: int(bench(rate_hz=8000, speed=speed).wrong.sum()) for speed in SPEEDS if speed != "quarter"}
    assert wrong["half"] == wrong["ordinary"] == 0
    assert wrong["double"] > 0 and wrong["quadruple"] > 0
    assert dict(bench(rate_hz=8000, speed="double").figures)["samples in the shortest half-cycle"] == "0.8"


def test_speed_doubles_the_bits_per_second_as_the_task_lets_one_find():
    speeds = ("ordinary", "double", "quadruple")
    rates = [int(dict(bench(speed=speed).figures)["bits per second"]) for speed in speeds]
    assert rates[1] == pytest.approx(2 * rates[0], rel=0.01) and rates[2] == pytest.approx(4 * rates[0], rel=0.01)


def test_what_is_said_of_the_four_ways_holds():
    many_ones, many_zeros = [1] * 7 + [0], [0] * 7 + [1]
    lasting = {name: [CODES[name].encode(bits).sum() for bits in (many_ones, many_zeros)] for name in FAMILY}
    assert lasting["cycle length"][0] > 1.5 * lasting["cycle length"][1]
    assert lasting["two tones"][0] == pytest.approx(lasting["two tones"][1])
    for name in ("on-off tone", "phase flips"):
        code = CODES[name]
        cells = {code._cells_units[0], code._cells_units[1]}
        assert len(cells) == 1


def test_the_tape_shows_two_lengths_in_the_words_two_more_before_them():
    tape = learner("gull 7").tape(4)
    start_s, stop_s = kit.decode(tape).blocks[1].span_s
    from kit.views import lengths_view, wave_view

    text = lengths_view(tape, start_s - 0.02, stop_s).text
    lengths = [float(line.split("about ")[1].split()[0]) for line in text.splitlines() if "about" in line]
    assert lengths == pytest.approx([2 / 2.4, 1.5 / 2.4, 1 / 2.4, 0.5 / 2.4], abs=0.006)  # of 2400 Hz, in ms
    assert "half-cycles 0.21 to 0.42 ms" in wave_view(tape, start_s, start_s + 0.008).text


@pytest.mark.parametrize("code", ["gull 7", "tern 2", "guest"])
def test_the_first_picture_of_the_wave_begins_where_the_words_do(code):
    """Its half-cycles, read by hand, are the bits of the first letter."""
    tape = learner(code).tape(4)
    block = kit.decode(tape).blocks[1]
    words_s = block.start_s + block.cell_s[56]
    near = edges(tape.samples, tape.rate)
    shown = near[(near > words_s - 1e-4) & (near < words_s + 0.008)]
    assert shown[0] == pytest.approx(words_s, abs=1e-6)
    letter = f"{learner(code).message(4).encode()[0]:08b}"
    assert "".join(map(str, bits_of_edges(list(shown), 1 / 2400, 2 / 2400)))[:8] == letter


@pytest.mark.parametrize("factor", [0.97, 1.03])
def test_the_stretch_of_lesson_4_is_right_where_a_function_fails(factor):
    """Played by one percent less than the answer too fast, a long cycle is read as long; by more, as short."""
    item = LESSONS[4].items["s"]
    for short, long in ((360, 828), (200, 320), (500, 1150)):
        speed = 1 + factor * item.right([short, long]) / 100
        edges_s = [0, long / 2 / speed, long / speed]
        assert bits_of_edges(edges_s, short, long) == [int(factor < 1)]


ZEROS = {
    "one half": lambda e, s, long: [int(e[k + 1] - e[k] > (s + long) / 2) for k in range(0, len(e) - 1, 2)],
    "exact": lambda e, s, long: [1 if e[k + 2] - e[k] == long else 0 for k in range(0, len(e) - 2, 2)],
    "sum": lambda e, s, long: [int(e[k + 2] - e[k] > s + long) for k in range(0, len(e) - 2, 2)],
    "only zeros": lambda e, s, long: [int(e[k + 2] - e[k] > 99) for k in range(0, len(e) - 2, 2)],
}


@pytest.mark.parametrize("name", ZEROS)
def test_each_way_to_get_nothing_but_zeros_has_its_own_hints_and_its_own_belief_in_the_marks(name, tmp_path):
    """All four give the same on the learner's data, and are told apart all the same."""
    for code in ("gull 7", "tern 2"):
        me = learner(code, folder=tmp_path)
        assert not any(ZEROS[name](*me.data("4m")))
        (mistake,) = [each for each in READ_BITS.mistakes if each.name == name]
        assert mistake.shows in repr(me.check("4m", ZEROS[name]))
        (result,) = [each for each in marked(me.file.answers, [4]) if each.key == "4m"]
        assert (result.verdict, result.misconception) == ("wrong", mistake.means)


def test_a_wrong_function_that_stops_on_the_probe_still_gets_the_hints_for_zeros():
    def stops(edges_s, short_s, long_s):
        if short_s == 2:
            raise ValueError
        return [0] * (len(edges_s) // 2)

    found = READ_BITS.check(stops, learner("gull 7").data("4m"), b"seed")
    assert (found.passed, found.mistake, found.answer[-1]) == (False, "only zeros", None)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_4_reads_a_learner_s_own_words_from_the_sound(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "read_bits", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    words = learner(code, "6b").message(4)
    assert f"You read: b'{words}'" in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that reads bits from edges." in shown


def test_the_solution_of_lesson_4_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert READ_BITS.check(space["solved_read_bits"], learner("gull 7").data("4m"), b"seed").passed
