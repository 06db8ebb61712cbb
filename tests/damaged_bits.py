"""Blocks damaged at the level of bits, asked as the reader asks, and how often their check must let them pass.

The checks have classes of damage that they catch for certain: a pass there is a fault, however rare. Beyond
these they let a known share pass, and the count is held against that.
"""

from math import exp, factorial, gcd

import numpy as np

from kit.blocks import DATA, HEADER, PART_START, DataPart, length_of, upright
from kit.checks import CHECKS, CRCS
from kit.reading import Reading

LONGEST_BURST, MOST_FLIPS = 16, 3  # caught for certain by a 16-bit CRC, in blocks of up to 32,767 bits


def flips(bits, each, rng):
    """1 to 200 bits anywhere."""
    bits = bits.copy()
    bits[rng.choice(len(bits), min(len(bits), int(rng.integers(1, 201))), replace=False)] ^= 1
    return bits


def burst(bits, each, rng):
    """A stretch of any length, of which the first and the last bit are wrong and others may be."""
    start, stop = stretch(len(bits), rng)
    bits = bits.copy()
    bits[start:stop] ^= rng.integers(0, 2, stop - start, dtype=np.uint8)
    bits[[start, stop - 1]] ^= 1
    return bits


def swapped(bits, each, rng):
    """Two bytes that changed places, frames and all."""
    rows = bits.reshape(-1, each).copy()
    one, other = rng.choice(len(rows), 2, replace=False)
    rows[[one, other]] = rows[[other, one]]
    return rows.reshape(-1)


def inverted(bits, each, rng):
    """A stretch with every bit inverted."""
    start, stop = stretch(len(bits), rng)
    return np.concatenate((bits[:start], bits[start:stop] ^ 1, bits[stop:]))


def zeros(bits, each, rng):
    """A stretch of zeros."""
    start, stop = stretch(len(bits), rng)
    return np.concatenate((bits[:start], np.zeros(stop - start, np.uint8), bits[stop:]))


def ones(bits, each, rng):
    """A stretch of ones."""
    return 1 - zeros(1 - bits, each, rng)


def shortened(bits, each, rng):
    """A stretch left out: at the end every fourth time."""
    start, stop = stretch(len(bits), rng)
    return bits[:start] if rng.random() < 0.25 else np.concatenate((bits[:start], bits[stop:]))


def lengthened(bits, each, rng):
    """A stretch put in: random bits, or what lies there a second time; at the end every fourth time."""
    start, stop = stretch(len(bits), rng)
    more = bits[start:stop] if rng.random() < 0.5 else rng.integers(0, 2, stop - start, dtype=np.uint8)
    at = len(bits) if rng.random() < 0.25 else start
    return np.concatenate((bits[:at], more, bits[at:]))


def replaced(bits, each, rng):
    """A stretch left out and as many bits put in elsewhere: between the two all is shifted."""
    start, stop = stretch(len(bits), rng)
    rest = np.concatenate((bits[:start], bits[stop:]))
    at = int(rng.integers(0, len(rest) + 1))
    return np.concatenate((rest[:at], rng.integers(0, 2, stop - start, dtype=np.uint8), rest[at:]))


BIT_FAULTS = (flips, burst, swapped, inverted, zeros, ones, shortened, lengthened, replaced)


def stretch(size, rng):
    """First and last-but-one of a stretch: of every length alike, or more of the short ones, in turn."""
    length = int(rng.integers(1, size + 1)) if rng.random() < 0.5 else int(size ** rng.random())
    start = int(rng.integers(0, size - length + 1))
    return start, start + length


def damaged_bits(bits, each, rng):
    """A block's bits with one fault, or two of them every fifth time."""
    for _ in range(1 + (rng.random() < 0.2)):
        if len(bits) >= 2 * each:
            fault = BIT_FAULTS[rng.integers(len(BIT_FAULTS))]
            bits = fault(bits[: len(bits) // each * each] if fault is swapped else bits, each, rng)
    return bits


def asked(format, bits):
    """Bits → frame → bytes → check, as the reader goes: the block's bytes, upright, and whether the check agrees.

    Parameters
    ----------
    format : Format
    bits : ndarray of uint8
        From the first cell on to where cells give way to leader.

    Returns
    -------
    tuple of (bytes, bool), or None
        None where the bits are too few to be asked about.
    """
    each, frame = format.frame.bits_per_byte, format.frame
    length = length_of(frame.to_bytes(bits[: PART_START * each])[0].tobytes())
    # Of an unknown kind the end tells the length; the leader after a block reads as ones.
    total = len(bits) // each if length is None else length + format.check_bytes
    heard = np.concatenate((bits, np.ones(format.tail_cycles, np.uint8)))
    if len(heard) < total * each or len(bits) < PART_START * each or total <= 1 + format.check_bytes:
        return None
    content, _ = upright(frame.to_bytes(heard[: total * each])[0].tobytes())
    body = total - format.check_bytes
    return content, CHECKS[format.check].agrees(content[:body], content[body:])


def ask_damaged_bits(format, bodies, count, rng, tally, each_body=10):
    """Ask about blocks damaged in their bits until so many were asked about that differ from what was written.

    Parameters
    ----------
    format : Format
    bodies : iterator of (bytes, bytes)
        Blocks before their check, and as a right reading has them.
    count : int
    rng : numpy.random.Generator
    tally : Tally
        What comes of it is added; `refused` are those asked about in vain.
    each_body : int
        How often each block is damaged.

    Returns
    -------
    int
        How many of the wrong ones that passed are of classes that the check catches for certain.
    """
    broken_promises = 0
    for body, written in bodies:
        bits = format.block_bits(body)
        for _ in range(each_body):
            answer = asked(format, damaged_bits(bits, format.frame.bits_per_byte, rng))
            if answer is None or answer[0] == written:
                continue
            content, agrees = answer
            likely, wrong = chance_of(format.check, written, content), tally.wrong
            tally.blocks += 1
            if agrees:
                tally.take(format.check, content, {written}, format.name, tally.blocks)
            tally.refused += not agrees
            tally.expected += likely
            broken_promises += likely == 0 and tally.wrong > wrong
        if tally.blocks >= count:
            return broken_promises


def chance_of(check, written, got):
    """How likely a check is to pass these bytes for those written, as far as theory tells; 0 for never.

    Source
    ------
    W. W. Peterson, D. T. Brown, "Cyclic codes for error detection", Proc. IRE 49(1), 1961: a CRC of 16 bits
    catches every burst of up to 16; with the factor x + 1, which 0x1021 has, every odd number of flips, so that
    of the others twice as many pass; with a primitive factor of degree 15 every two within 32,767 bits.
    J. Fletcher, "An arithmetic checksum for serial transmissions", IEEE Trans. Comm. 30(1), 1982: two sums
    modulo 255 let one in 255² pass; bytes a and b that changed places at a distance g do if g(a - b) is 0 there.
    """
    if check == "fletcher-16":
        return _chance_of_fletcher(written, got)
    model = CRCS.get(check)
    if model is None or (model.width, model.poly) != (16, 0x1021):
        return 2 / 256 ** CHECKS[check].size_bytes
    if model.refin:
        written, got = written.translate(_TURNED_ROUND), got.translate(_TURNED_ROUND)
    if int.from_bytes(got).bit_count() % 2:
        return 0.0
    wrong = int.from_bytes(written) ^ int.from_bytes(got)
    span = wrong.bit_length() - (wrong & -wrong).bit_length() + 1
    certain = span <= LONGEST_BURST or wrong.bit_count() <= MOST_FLIPS
    return 0.0 if len(got) == len(written) and certain else 2 / 65536


_TURNED_ROUND = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


def _chance_of_fletcher(written, got):
    if len(got) == len(written):
        differ = [k for k, (one, other) in enumerate(zip(written, got, strict=True)) if one != other]
        ends = differ[0], differ[-1]
        if len(differ) == 2 and [got[k] for k in ends] == [written[k] for k in ends[::-1]]:
            step = 255 // gcd(ends[1] - ends[0], 255)
            return sum(2 * (256 - d) for d in range(step, 255, step)) / (256 * 255)
    return 1 / 255**2


# -- files whose blocks all pass --------------------------------------------------------------------------

CLAIMS = slice(2, 12)  # of a header: CRC-32, length, data bytes a block


def forge_files(format, tapes, count, rng, tally, each_tape=10):
    """Give the reading of so many tapes whose blocks all pass their check, some of them wrongly, to a tally.

    So only the CRC-32 of a whole file stands between them and a file called complete.

    Parameters
    ----------
    format : Format
    tapes : iterator of (dict, list of FoundBlock)
        Files by name, and the blocks as read without fault.
    count : int
    rng : numpy.random.Generator
    tally : Tally
    each_tape : int
        How often each tape is forged.
    """
    for (files, blocks), _ in zip(tapes, range(-(-count // each_tape)), strict=False):
        for _ in range(each_tape):
            forged, original = list(blocks), {block.content for block in blocks}
            while {block.content for block in forged} == original:
                k = int(rng.integers(len(forged)))
                forged[k] = _forged(format, forged[k], blocks[int(rng.integers(len(blocks)))], rng)
            if rng.random() < 0.5:
                # Each copy of the block alike, or it might be mended from another.
                forged = [forged[k] if block.content == blocks[k].content else block for block in forged]
            tally.blocks += 1
            tally.take_files(Reading.of(forged).files, files)


def _forged(format, block, other, rng):
    """A block with other content, and a check to match; a name is left as it is, for no CRC-32 covers it."""
    body = np.frombuffer(block.content[: len(block.content) - format.check_bytes], np.uint8).copy()
    claimed = CLAIMS if block.kind == HEADER else slice(PART_START, None)
    way = rng.integers(4)
    if way == 1 and block.kind == DATA and other.kind == DATA:
        # Another block's data under this one's number.
        body = np.frombuffer(DataPart(block.part.tag, block.part.number, other.part.data).body(), np.uint8)
    elif way == 2 and block.kind == DATA:
        body = np.frombuffer(
            DataPart(block.part.tag, int(rng.integers(0, 9)), block.part.data).body(), np.uint8
        )
    elif way == 3 and block.kind == DATA:
        data = block.part.data[:-1] if rng.random() < 0.5 else block.part.data + rng.bytes(1)
        body = np.frombuffer(DataPart(block.part.tag, block.part.number, data).body(), np.uint8)
    elif len(body[claimed]):
        bits = np.unpackbits(body[claimed])
        bits[rng.choice(len(bits), min(len(bits), int(rng.integers(1, 60))), replace=False)] ^= 1
        body[claimed] = np.packbits(bits)
    body = body.tobytes()
    content = body + CHECKS[format.check].compute(body)
    return block.changed(content=content, doubtful=np.zeros(len(content), bool)).with_room(len(content))


# -- counts against expectations --------------------------------------------------------------------------


def most_by_chance(expected, confidence=0.9999):
    """The most that a count may be where so many are expected: a Poisson count is larger once in 10,000 runs.

    >>> most_by_chance(0.0), most_by_chance(0.1), most_by_chance(1.0)
    (0, 3, 6)
    """
    term = reached = exp(-expected)
    count = 0
    while reached < confidence:
        count += 1
        term *= expected / count
        reached += term
    return count


def rate_below(count, asked_about, confidence=0.95):
    """The rate that is above the true one with some confidence; of none in n it is 3/n.

    >>> round(rate_below(0, 3000) * 3000, 3), round(rate_below(2, 1000) * 1000, 2)
    (2.996, 6.3)
    """
    low, high = 0.0, 10.0 + 3 * count
    for _ in range(60):
        middle = (low + high) / 2
        seen = sum(exp(-middle) * middle**k / factorial(k) for k in range(count + 1))
        low, high = (middle, high) if seen > 1 - confidence else (low, middle)
    return high / asked_about
