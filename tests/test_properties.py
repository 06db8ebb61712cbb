"""Properties of any data, any name and any cut: no error but the kit's own, and never a wrong "complete"."""

import warnings

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import kit
from kit import Listener, Sound, TapeFile

QUICK = settings(
    max_examples=20, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=24)
DATA = st.binary(max_size=300)


def tape(data, name="x.bin", **more):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a name that had to be cut is said, and is no fault here
        return kit.encode(TapeFile(name, data), speed=4, lead_in_s=0.3, block_bytes=64, **more)


@QUICK
@given(DATA, NAMES)
def test_any_bytes_under_any_name_come_back(data, name):
    """The name is made safe on the way, and says so."""
    (file,) = kit.decode(tape(data, name), format="house").files
    assert file.complete and file.data == data
    assert file.name and not set('/\\:<>"|?*') & set(file.name) and file.name != ".."


@QUICK
@given(DATA, st.floats(0, 1), st.floats(0, 1))
def test_any_cut_of_a_recording_claims_no_more_than_it_holds(data, one, other):
    samples = tape(data).samples
    start, stop = sorted((int(one * len(samples)), int(other * len(samples))))
    for file in kit.decode(Sound(samples[start:stop], 44100), format="house").files:
        assert not file.complete or file.data == data
        if file.said_name:
            doubted = {byte for first, last in file.doubtful for byte in range(first, last)}
            wrong = {k for k in range(len(file.data)) if file.data[k] != data[k]}
            assert wrong <= doubted


@QUICK
@given(DATA, st.integers(0, 2**32 - 1), st.floats(0, 1), st.floats(0.001, 0.4), st.floats(0.01, 1))
def test_any_noise_over_any_stretch_makes_no_wrong_complete(data, seed, where, length, level):
    samples = tape(data).samples.copy()
    start = int(where * len(samples))
    stop = min(len(samples), start + int(length * len(samples)))
    samples[start:stop] += level * np.random.default_rng(seed).standard_normal(stop - start)
    for file in kit.decode(Sound(samples, 44100)).files:
        assert not file.complete or file.data == data


@QUICK
@given(DATA, st.lists(st.integers(1, 30_000), min_size=1, max_size=20))
def test_any_division_into_pieces_reads_the_same(data, sizes):
    """A microphone's pieces are as good as a file's."""
    samples, position = tape(data).samples, 0
    listener = Listener("house", 44100)
    for size in sizes * (1 + len(samples) // sum(sizes)):
        listener.feed(samples[position : position + size])
        position += size
    listener.finish()
    assert [block.content for block in listener.blocks] == [
        block.content for block in kit.decode(Sound(samples, 44100), format="house").blocks
    ]


@QUICK
@given(st.binary(min_size=1, max_size=200))
def test_where_and_at_are_each_other_s_inverse_for_any_data(data):
    reading = kit.decode(tape(data), format="house")
    for byte in range(len(data)):
        start_s, stop_s = reading.where(byte=byte)
        assert start_s < stop_s and reading.at((start_s + stop_s) / 2).byte == byte
