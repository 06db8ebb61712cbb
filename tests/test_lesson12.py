"""Lesson 12: what it claims of dubs, of tapes that are recorded anew, and of the way out of the computer."""

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.generations import MOST
from kit.exercises import LESSONS, learner
from kit.exercises.lesson12compare import COMPARE, differing_places
from kit.found import CHECKED
from kit.player import play

PAGE = page_of(12)
SEEN_LATER = ["does not load", "No hiss:", "starts clean each time", "recording 8: checked"]
SOLVED = """
import itertools
def solved_by_test(sent, got):
    pairs = itertools.zip_longest(sent, got[:len(sent)])
    return [place for place, (one, other) in enumerate(pairs) if one != other]
"""
PORTABLE = kit.decks["portable"]
SILENT = PORTABLE.with_settings(hiss_dbfs=-np.inf)
BRIGHT = PORTABLE.with_settings(record_spacing_um=0, replay_spacing_um=0, replay_gap_um=0)
TENTH = [f"code {k}" for k in range(0, 100, 10)]
SILENCE_S, MEASURED_S = 0.3, 0.15


def learner_places(sent, got):
    """An answer written another way than the reference: with arrays."""
    one, other = (np.array([ord(letter) for letter in text]) for text in (sent, got.ljust(len(sent), "\0")))
    return np.flatnonzero(one != other[: len(one)])


INDEPENDENT = {"compare": learner_places}


def bench(**settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("generations", **{"speed": "double", **settings}).result


def fast_tape(data):
    return kit.encode(data, lead_in_s=1.0, speed=2)


def simple_read(sound):
    return kit.decode(sound, format="house", counter=kit.Counter(5e-6, speed=2))


def dubbed(code, recorder=PORTABLE, last=8):
    """Of each recording of the row, as in the notebook, whether it loads."""
    me, loads = learner(code), []
    sound = fast_tape(me.message(12).encode())
    for number in range(last):
        sound = recorder.play(sound, me.seed("12a"), generation=number)
        loads.append(simple_read(sound).complete)
    return loads


def with_silence(sound):
    return kit.Sound(np.concatenate((sound.samples, np.zeros(round(SILENCE_S * sound.rate), np.float32))), sound.rate)


def noise_db(sound):
    """How strong the noise is at the end, where nothing was written."""
    last = sound.samples[-round(MEASURED_S * sound.rate) :].astype(float)
    return 20 * np.log10(np.sqrt(np.mean(last**2)))


def band_db(sound, low_hz, high_hz):
    """Power of a sound between two frequencies."""
    power = np.abs(np.fft.rfft(sound.samples.astype(float))) ** 2
    hertz = np.fft.rfftfreq(sound.frames, 1 / sound.rate)
    return 10 * np.log10(power[(hertz > low_hz) & (hertz < high_hz)].sum())


def numbers():
    dubs = bench().dubs
    loss_db = -PORTABLE.response([4800])[0]
    house = kit.FORMATS["house"]
    two = [np.random.default_rng(seed).normal(size=100_000) for seed in (1, 2)]
    return {
        "0": differing_places("Wind 5", "#ind 5") == [0],
        "1": len(dubs) == MOST == 8 and dubs[0].margin > 0.9,
        "2": dubs[1].loads and dubs[1].margin > 0.75,
        "4": not dubs[3].loads,
        "8": len(dubs) == 8,
        "4800": house.code.encode([0]).sum() * house.unit_s(2) == pytest.approx(1 / 4800),
        "6": loss_db == pytest.approx(6.02, abs=0.1) and 20 * np.log10(2) == pytest.approx(6.02, abs=0.01),
        "18": 3 * loss_db == pytest.approx(18, abs=0.3) and pytest.approx(1 / 8, abs=0.002) == 10 ** (-18 / 20),
        # Twice the power is 10 log10 2 dB (computed).
        "3.01": 20 * np.log10(np.std(sum(two)) / np.std(two[0])) == pytest.approx(3.01, abs=0.06),
    }


def first_dubs_load_and_later_ones_do_not(code):
    """From whole to no file, once and for all; and turned up again, the first that failed fails as before."""
    loads = dubbed(code, last=5)
    good = loads.index(False) if False in loads else len(loads)
    me = learner(code)
    failed = PORTABLE.copy(fast_tape(me.message(12).encode()), good + 1, me.seed("12a"))
    return 1 <= good <= 4 and not any(loads[good:]) and not simple_read(failed.scaled(2.0)).complete


def recorded_anew_the_eighth_is_like_the_first(code):
    """All eight checked, the words as sent, hiss and highs those of one recording; the fourth dub's are not."""
    me = learner(code)
    sent = data = me.message(12).encode()
    recordings = []
    for number in range(8):
        recordings.append(PORTABLE.play(with_silence(fast_tape(data)), me.seed("12b") + number))
        reading = simple_read(recordings[-1])
        if not reading.complete or reading.files[0].verdict != CHECKED:
            return False
        data = reading.files[0].data
    dub = PORTABLE.copy(with_silence(fast_tape(sent)), 4, me.seed("12a"))
    compared = recordings[0], recordings[7], dub
    first, eighth, fourth_dub = ((noise_db(one), band_db(one, 4300, 5300)) for one in compared)
    alike = abs(eighth[0] - first[0]) < 0.7 and abs(eighth[1] - first[1]) < 0.7
    return data == sent and alike and fourth_dub[0] > first[0] + 1.4 and fourth_dub[1] < first[1] - 10


DEMONSTRATIONS = {"12a": first_dubs_load_and_later_ones_do_not, "12b": recorded_anew_the_eighth_is_like_the_first}


@pytest.mark.parametrize("code", TENTH)
def test_it_is_the_loss_of_highs_and_not_the_hiss_that_ends_the_row_as_the_lesson_says(code):
    usual, silent, bright = (dubbed(code, deck, 4) for deck in (PORTABLE, SILENT, BRIGHT))
    assert usual.count(True) <= silent.count(True) <= usual.count(True) + 1 and not silent[3]
    assert not usual[3] and all(bright)


def test_not_a_letter_is_wrong_in_the_last_good_dub_and_nearly_all_are_in_the_next():
    """The reply to who expects a few more letters wrong in each copy."""
    for code in TENTH[:4]:
        me = learner(code)
        sent, good = me.message(12), dubbed(code, last=4).index(False)
        lost = []
        for generations in (good, good + 2):
            sound = PORTABLE.copy(fast_tape(sent.encode()), generations, me.seed("12a"))
            files = simple_read(sound).files
            lost.append(len(differing_places(sent, files[0].data.decode("latin-1") if files else "")))
        assert lost[0] == 0 and lost[1] > 0.9 * len(sent)


def test_in_the_fourth_recording_short_cycles_are_lost_and_long_ones_are_not():
    me = learner("gull 7")
    tape = fast_tape(me.message(12).encode())
    first, fourth = (PORTABLE.copy(tape, count, me.seed("12a")) for count in (1, 4))
    assert band_db(fourth, 4300, 5300) < band_db(first, 4300, 5300) - 12
    assert band_db(fourth, 1100, 1300) > band_db(first, 1100, 1300) - 4


def rises(result):
    """How far the noise of each dub has come nearer to the data than that of the first recording, in dB."""
    return [one.noise_db - result.dubs[0].noise_db for one in result.dubs]


def test_the_bench_has_what_the_tasks_ask_for():
    usual, slow = bench(), bench(speed="ordinary")
    assert sum(one.loads for one in slow.dubs) > sum(one.loads for one in usual.dubs) >= 2
    quick = {deck: [one.loads for one in bench(deck=deck, speed="quadruple").dubs]
             for deck in ("studio", "home", "portable")}
    assert all(quick["studio"]) and not all(quick["home"]) and not all(quick["portable"])
    studio, portable = (rises(bench(deck=deck, speed="ordinary")) for deck in ("studio", "portable"))
    # By theory 3.01 and 6.02 dB, and a little less where each copy takes highs off the older hiss.
    assert 2.4 < studio[1] < 3.01 and 5.0 < studio[3] < 6.02 < portable[3]
    assert max(one.noise_db for one in usual.written) - usual.written[0].noise_db < 2
    assert all(one.loads for one in usual.written) and "starts clean each time" in usual.text


def test_the_answer_to_how_hiss_gathers_is_that_of_hisses_added_up():
    random = np.random.default_rng(12)
    for count in (3, 8, 16):
        hisses = random.normal(size=(count, 50_000))
        gathered_db = 20 * np.log10(np.std(hisses.sum(axis=0)) / np.std(hisses[0]))
        assert LESSONS[12].items["d"].right(count) == pytest.approx(gathered_db, abs=0.15)


def test_the_last_copy_of_the_stretch_is_found_by_adding_up_power_after_power():
    for room_db in (5.5, 6.5, 7.5, 8):
        last = max(count for count in range(1, 20) if 10 * np.log10(count) <= room_db)
        assert LESSONS[12].items["s"].right([20 + room_db, 20]) == last


def test_a_microphone_input_expects_a_signal_hundreds_of_times_weaker():
    """50 to 60 dB below line level, common practice."""
    assert 300 < 10 ** (50 / 20) < 10 ** (60 / 20) <= 1000


def test_the_doctor_finds_the_faults_that_the_lesson_lets_one_make():
    me = learner("gull 7")
    quiet = kit.decks["home"].with_settings(source_level_db=-45).play(me.tape(12), me.seed("12e"))
    assert "too quiet" in str(kit.diagnose(quiet)).splitlines()[0]
    for deck, healthy in (("home", True), ("worn", False)):
        found = kit.diagnose(kit.decks[deck].play(me.tape(12), me.seed("12e")))
        assert found.healthy == healthy


def of_code(notebook, code):
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    return notebook


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_12_works_with_a_learner_s_own_words(code, tmp_path, monkeypatch):
    notebook = of_code(solved(predicted(stored(PAGE), "d"), "compare", SOLVED), code)
    run(notebook, tmp_path, monkeypatch)
    shown, words = text_of(notebook), learner(code, "6b").message(12)
    assert shown.count(f"checked, {words}") == 8
    assert "Passed on your message and 3 others." in shown
    for line in ("loopback: []", "from-cable (simulated): checked, lost: []",
                 "from-recorder (simulated): checked, lost: []"):
        assert line in shown
    assert "You can now write a function that compares what was sent with what arrived." in shown


def test_a_recording_that_is_there_is_taken_and_is_not_called_simulated(tmp_path, monkeypatch):
    """Stereo, with a pause before it, a scratch in it, and at another rate, as it may come from a recorder."""
    tape = learner("tern 2", "6b").tape(12)
    start_s, stop_s = kit.decode(tape).blocks[1].span_s
    heard = kit.decks["home"].play(tape.scratch((start_s + stop_s) / 2, 0.02, 1), 5)
    pause = np.zeros((heard.rate // 2, 2), np.float32)
    stereo = kit.Sound(np.vstack((pause, np.column_stack((heard.samples, heard.samples)))), heard.rate)
    (tmp_path / "page" / "tapes").mkdir(parents=True)
    stereo.write(tmp_path / "page" / "tapes" / "from-recorder.wav")
    space = {"me": learner("tern 2", "6b", tmp_path / "answers"), "kit": kit, "play": play,
             "words": learner("tern 2", "6b").message(12), "compare": learner_places}
    (cell,) = [cell for cell in stored(PAGE).cells if "def arrived" in cell.source]
    monkeypatch.chdir(tmp_path / "page")
    printed = []
    exec("from pathlib import Path\n" + cell.source, space | {"print": lambda text: printed.append(text)})
    assert printed[0].startswith("from-cable (simulated): checked, lost: []")
    assert printed[1].startswith("from-recorder (recorded): damaged, lost: [") and not printed[1].endswith("[]")


def test_the_solution_of_lesson_12_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert COMPARE.check(space["solved_compare"], learner("gull 7").data("12m"), b"seed").passed


def test_a_function_that_runs_past_the_end_is_told_so_in_one_line():
    def unguarded(sent, got):
        return [place for place in range(len(sent)) if sent[place] != got[place]]

    found = COMPARE.check(unguarded, learner("gull 7").data("12m"), b"seed")
    assert not found.passed and "IndexError" in found.rungs[0] and len(found.rungs[0].split()) <= 15
