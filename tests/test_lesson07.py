"""Lesson 7: what it claims of checks, and that a learner's own check guards a tape."""

import functools
import zlib

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.damage import NAMES, _value
from kit.blocks import PART_START
from kit.exercises import LESSONS, learner
from kit.exercises.lesson07hand import remainder
from kit.exercises.lesson07sum import CHECKSUM, sum_of

PAGE = page_of(7)
SEEN_LATER = ["in each byte an even number of bits is flipped", "of 1000", "what some bytes gain others lose"]
SOLVED = """
def solved_by_test(data):
    return sum(data) & 255
"""


def learner_sum(data):
    """An answer written another way than the reference."""
    return functools.reduce(lambda total, byte: (total + byte) & 0xFF, data, 0)


INDEPENDENT = {"checksum": learner_sum}


def bench(code="gull 7", **settings):
    """What the bench of the lesson finds."""
    return kit.bench.open_model("damage", words=learner(code).message(7), **settings).result


def missed(result):
    return {name for name, (before, after) in result.values.items() if before == after}


def numbers():
    nine = b"123456789"
    block = kit.decode(learner("gull 7").tape(7)).blocks[1]
    return {
        "0": (255 + 1) % 256 == sum_of([255, 1]) == 0,
        "1": (0b0000001 ^ 1).bit_count() % 2 == 0,
        "255": sum_of([255]) == 255 == max(range(256)),
        "256": sum_of([200, 100]) == 300 - 256,
        "8": bench().values["sum-8"][0] == bytes([learner_sum(learner("gull 7").message(7).encode())]),
        "16": kit.FORMATS["house"].check == "crc-16/ibm-3740" and int("10", 16) == 16,
        "9": [int(each, 16) for each in "09"] == [0, 9],
        "49": nine[0] == 49,
        "57": nine[-1] == 57,
        "13": int("D", 16) == 13 and int("DD", 16) == 13 * 16 + 13 == sum(range(49, 58)) % 256,
        "32": zlib.crc32(nine) == 0xCBF43926,  # G. Cook, Catalogue of parametrised CRC algorithms: check values
        "2": 17 % 5 == 2,
        "3": block.content[-2:] == kit.checks.check("crc-16/ibm-3740").compute(block.content[:-2]),
    }


def test_what_lesson_7_says_of_xor_fletcher_and_the_numbers_of_the_table():
    """Counted here: a parity bit for each place of the byte, two running sums, and which rows are hexadecimal."""
    data = learner("gull 7").message(7).encode()
    result = bench()
    ones = [sum(byte >> place & 1 for byte in data) % 2 for place in range(7, -1, -1)]
    assert result.values["xor-8"][0][0] == int("".join(map(str, ones)), 2)
    first = second = 0
    for byte in data:
        first = (first + byte) % 255
        second = (second + first) % 255
    assert sorted(result.values["fletcher-16"][0]) == sorted((first, second))
    shown = {name: _value(name, before) for name, (before, _) in result.values.items()}
    assert shown["parity"] in ("0", "1") and shown["sum-8"] == f"{sum(data) % 256:02x}"


def test_random_damages_that_change_nothing_are_not_counted_as_lesson_7_says():
    swapped = {"pattern": "two bytes swapped", "count": 1, "trials": 300}
    equal = kit.bench.open_model("damage", words="Gulls 99 W5", **swapped).result
    different = kit.bench.open_model("damage", words="Guls 49 W5", **swapped).result
    assert equal.trials < different.trials == 300


def two_flips_pass_parity(code):
    """Where the learner's own flips lie, on the bench and counted here."""
    result = bench(code, place=learner(code).seed("7a") % (8 * len(learner(code).message(7))))
    changed = np.bitwise_xor(np.frombuffer(result.sent, np.uint8), np.frombuffer(result.arrived, np.uint8))
    one_byte = sorted(each.bit_count() for each in changed.tolist())[-2:] == [0, 2]
    return one_byte and {"parity, each byte", "parity"} <= missed(result) and "crc-16/ibm-3740" not in missed(result)


def a_few_of_a_thousand_torn_blocks_pass_the_sum(code):
    """Some, and far fewer than half or an eighth."""
    result = bench(code, pattern="every bit by a coin", trials=1000)
    return result.trials == 1000 and 1 <= result.missed["sum-8"] <= 12 and 400 < result.missed["parity"] < 600


DEMONSTRATIONS = {"7a": two_flips_pass_parity, "7b": a_few_of_a_thousand_torn_blocks_pass_the_sum}


def test_one_torn_block_in_256_passes_the_sum():
    """Drawn here, and summed by numpy; within four standard deviations of "of a thousand about 4"."""
    sent = np.frombuffer(learner("gull 7").message(7).encode(), np.uint8)
    torn = np.random.default_rng(7).integers(0, 256, (200_000, len(sent)))
    share = np.mean(torn.sum(axis=1) % 256 == int(sent.sum()) % 256)
    assert share == pytest.approx(1 / 256, abs=4 * (1 / 256 / 200_000) ** 0.5)
    assert round(1000 / 256) == 4 and 2**16 == 65_536


def test_none_or_nine_may_pass_as_the_explanation_of_7b_says():
    """Of a thousand, by the binomial law: both happen to about one class of thirty in two or more."""
    from math import comb

    chance = {count: comb(1000, count) * (1 / 256) ** count * (255 / 256) ** (1000 - count) for count in (0, 9)}
    assert all(0.01 < each < 0.05 for each in chance.values())


def test_the_changed_note_looks_like_a_note_whatever_the_code_name():
    """"It is a good note": a digit has become another digit."""
    for k in range(100):
        arrived = bytearray(learner(f"code {k}").message(7).encode())
        before = arrived[6]
        arrived[6] ^= 1
        assert chr(before).isdigit() and chr(arrived[6]).isdigit() and before != arrived[6]


def test_the_sum_sees_two_flips_of_one_byte_as_the_text_says():
    """Two flips of one byte change its value by something that is no multiple of 256."""
    for one in range(8):
        for other in range(one):
            assert all((byte ^ (1 << one | 1 << other)) != byte for byte in range(256))
    assert "sum-8" not in missed(bench())


def test_what_the_tasks_let_one_find_is_there():
    """Swapped bytes; flips by hand that the sum misses and parity sees; bursts that only a CRC always sees."""
    for k in range(20):
        swapped = bench(f"code {k}", pattern="two bytes swapped", count=1, place=0)
        assert {"sum-8", "xor-8", "parity"} <= missed(swapped)
        assert not missed(swapped) & {"crc-8/smbus", "crc-16/ibm-3740", "crc-32/iso-hdlc"}
    text = learner("gull 7").message(7).encode()
    column = next(bit for bit in range(8) if len({byte >> bit & 1 for byte in text}) == 2)
    first, other = (next(k for k, byte in enumerate(text) if byte >> column & 1 == bit) for bit in (0, 1))
    by_hand = f"{8 * first + 7 - column} {8 * other + 7 - column}"
    found = bench(pattern="by hand only", by_hand=by_hand)
    assert "sum-8" in missed(found) and "parity, each byte" not in missed(found)
    burst = bench(pattern="a burst", count=16, trials=1000)
    assert burst.missed["crc-16/ibm-3740"] == burst.missed["crc-32/iso-hdlc"] == 0
    assert burst.missed["parity"] > 400 and burst.missed["sum-8"] > 0
    assert len(NAMES) == 8  # "ask eight checks"
    assert PART_START == 7  # "begins with seven bytes that say which block of which file this is"


def test_a_torn_check_behind_good_data_disagrees_as_the_last_question_says():
    """In the block itself; the kit would ask a second check, over the whole file, which the question leaves out."""
    block = kit.decode(learner("gull 7").tape(7)).blocks[1]
    check = kit.checks.check("crc-16/ibm-3740")
    torn = bytes(each ^ 0x55 for each in block.content[-2:])
    assert check.agrees(block.content[:-2], block.content[-2:]) and not check.agrees(block.content[:-2], torn)


def test_the_small_crc_is_a_division_of_polynomials():
    """Against numpy's division of polynomials, taken modulo 2."""
    assert remainder([1, 1, 0, 1]) == [0, 0, 1]
    for number in range(16, 32):
        bits = [int(digit) for digit in f"{number:05b}"]
        _, left = np.polydiv(np.array([*bits, 0, 0, 0]), np.array([1, 0, 1, 1]))
        padded = np.pad(np.round(left).astype(int) % 2, (3 - min(3, len(left)), 0))[-3:]
        assert remainder(bits) == padded.tolist()


def test_the_worked_rows_of_the_hint_are_the_rows_of_the_page(tmp_path):
    (cell,) = [cell for cell in stored(PAGE).cells if "0b1101000" in cell.source]
    shown = []
    exec(cell.source.rsplit("\n", 1)[0], {"print": lambda *words: shown.append(words[0])})
    worked = LESSONS[7].items["s"].worked
    assert shown == ["1101000", "0110000", "0011100", "0001010", "0000001"] and all(row in worked for row in shown)


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_7_guards_a_learner_s_own_tape(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "checksum", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    (line,) = [line for line in shown.splitlines() if line.startswith("on the tape: ")]
    on_tape, by_function = (int(part.split()[-1]) for part in line.replace(" by", ",by").split(","))
    assert on_tape == by_function and learner(code, "6b").message(7) in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that works out a check." in shown
    assert all(value in shown for value in ("DD", "F4", "29B1", "CBF43926"))


def test_the_solution_of_lesson_7_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert CHECKSUM.check(space["solved_checksum"], (learner("gull 7").data("7m"),), b"seed").passed
