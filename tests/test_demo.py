"""The demonstration: scenes that come out the same each time, fail as planned, and are read from the back row."""

import binascii
import hashlib
import io
import json
import random
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import matplotlib
import matplotlib.image
import numpy as np
import pytest
from matplotlib.text import Text

from kit import demo, shown
from kit.bench.headerloader import NEXT
from kit.demo import preflights, sheet, slide, unread

NAMES = ["words", "wave", "parts", "loud", "clock", "scratch", "swapped", "header"]
PROMISED_PX = 24
each_scene = pytest.mark.parametrize("name", NAMES)


def digest(told):
    """Of all that a scene says, shows and plays; its page is held against the fallback, pixel by pixel."""
    parts = [told.text.encode(), told._repr_html_().encode(), repr(told.outcomes).encode()]
    parts += [told.player.sound.samples.tobytes()] if told.player else []
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


@pytest.fixture(scope="module")
def slides():
    """Every scene once, in the order of the story."""
    return {name: getattr(demo, name)() for name in NAMES}


@pytest.fixture(scope="module")
def digests(slides):
    return {name: digest(told) for name, told in slides.items()}


# -- the same each time ---------------------------------------------------------------------------------


def test_scenes_come_out_the_same_in_a_fresh_process_in_another_order_and_under_other_settings(digests):
    """Text, picture and samples, byte for byte."""
    order = random.Random(9).sample(NAMES, len(NAMES))
    assert order != NAMES
    code = ("import json, sys; sys.path.insert(0, sys.argv[1])\n"
            "import matplotlib, numpy\n"
            "matplotlib.rcParams.update({'font.size': 31, 'axes.grid': True, 'lines.linewidth': 9})\n"
            "numpy.random.seed(3)\n"
            "from test_demo import demo, digest\n"
            "print(json.dumps({name: digest(getattr(demo, name)()) for name in sys.argv[2:]}))")
    done = subprocess.run([sys.executable, "-c", code, str(Path(__file__).parent), *order],
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == digests


def test_a_scene_comes_out_the_same_again_after_all_others(digests):
    for name in ("loud", "header", "words"):
        assert digest(getattr(demo, name)()) == digests[name]


def test_other_settings_of_the_notebook_are_left_as_they_were():
    with matplotlib.rc_context({"font.size": 31}):
        demo.wave()
        assert matplotlib.rcParams["font.size"] == 31


# -- what is shown really happens -----------------------------------------------------------------------


def test_the_scenes_are_those_that_were_planned(slides):
    assert list(demo.SCENES) == NAMES
    for name, told in slides.items():
        assert told.name == name and told.question.endswith("?") and "\n" not in told.question
        assert 1 <= len(told.happens) <= 3
        assert told.why.endswith(".") and len(re.findall(r"[.!?](?:\s|$)", told.why)) == 1


@each_scene
def test_a_scene_says_its_question_first_and_holds_what_was_read(name, slides):
    told = slides[name]
    assert repr(told).splitlines()[0] == told.question
    assert told.outcomes["sent"] and len(told.outcomes) >= 2


@pytest.mark.parametrize("name", NAMES[:3])
def test_what_opens_is_read_back_as_it_was_sent(name, slides):
    assert slides[name].outcomes["read"] == slides[name].outcomes["sent"]


# The scene, what fails in it, and what then works.
PLANNED = [("loud", "too loud", "turned down"), ("clock", "fixed clock", "follows the tape"),
           ("scratch", "one copy", "two copies"), ("swapped", "sum", "CRC"), ("header", "believed", "checked")]


@pytest.mark.parametrize(("name", "fails", "works"), PLANNED)
def test_a_planned_failure_fails_and_its_rescue_brings_back_every_byte(name, fails, works, slides):
    outcomes = slides[name].outcomes
    assert outcomes[fails] and outcomes[fails] != outcomes["sent"]
    assert outcomes[works] == outcomes["sent"]


def test_the_bits_that_are_wrong_on_the_loud_tape_are_those_of_the_bytes(slides):
    outcomes = slides["loud"].outcomes
    sent, came = (np.unpackbits(np.frombuffer(outcomes[name], np.uint8)) for name in ("sent", "too loud"))
    wrong = len(sent) - np.count_nonzero(sent[: len(came)] == came)
    assert wrong > len(sent) / 4
    assert f"{wrong} bits wrong" in slides["loud"].text
    assert slides["loud"].shown.figure.axes[0].get_title("left") == f"too loud: {wrong} of {len(sent)} bits wrong"


def test_the_fixed_clock_is_as_far_off_as_the_wow_adds_up_to(slides):
    """The integral of a sine, from the first bit on, in bits."""
    rate = unread.STEADY.bits_per_second
    angle = 2 * np.pi * unread.WOW_HZ
    first_s = unread.written(unread.LOG, unread.STEADY, unread.LEADER_S).data_s
    times = first_s + np.linspace(0, 8 * len(unread.LOG) / rate, 2000)
    late = rate * unread.WOW_PERCENT / 100 / angle * (np.cos(angle * first_s) - np.cos(angle * times))
    said = float(re.search(r"by up to ([\d.]+) bits", slides["clock"].text).group(1))
    assert said == pytest.approx(np.abs(late).max(), abs=0.15) and said > 0.5
    assert float(re.search(r"follows by ([\d.]+)", slides["clock"].text).group(1)) < 0.1


def test_the_scratch_takes_letters_from_the_middle_of_one_copy_only(slides):
    outcomes = slides["scratch"].outcomes
    damaged = outcomes["one copy"]
    assert len(damaged) == len(outcomes["sent"])
    assert damaged[:2] == outcomes["sent"][:2] and damaged[-3:] == outcomes["sent"][-3:]
    lost = sum(came != sent for came, sent in zip(damaged, outcomes["sent"], strict=True))
    assert f"one copy: {lost} of {len(damaged)} letters lost" in [
        axes.get_title("left") for axes in slides["scratch"].shown.figure.axes]


def test_the_swapped_letters_have_the_same_sum_and_another_crc_by_the_standard_library(slides):
    outcomes, text = slides["swapped"].outcomes, slides["swapped"].text
    sent, came = outcomes["sent"], outcomes["sum"]
    assert sorted(sent) == sorted(came) and sum(sent) % 256 == sum(came) % 256
    crcs = [binascii.crc_hqx(data, 0xFFFF) for data in (sent, came)]
    assert crcs[0] != crcs[1]
    assert f"{sum(sent) % 256} and {sum(came) % 256}." in text and f"{crcs[0]} and {crcs[1]}." in text


def test_the_loader_that_believes_runs_into_the_next_file_by_just_the_bit_that_was_flipped(slides):
    outcomes = slides["header"].outcomes
    own, eaten = outcomes["sent"], outcomes["believed"]
    assert len(own) ^ len(eaten) == 128
    assert eaten == own + NEXT[:128]
    assert "160 instead of 32" in slides["header"].text


# -- read from the back row -----------------------------------------------------------------------------


def texts_of(figure):
    """All words in a figure that are drawn; labels of ticks out of the range are kept, but not drawn."""
    figure.draw_without_rendering()
    axis_of = [axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)]
    unseen = {id(label) for axis in axis_of for tick in axis.get_major_ticks() for label in (tick.label1, tick.label2)
              if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())}
    return [each for each in figure.findobj(Text)
            if each.get_visible() and each.get_text().strip() and id(each) not in unseen]


def pictures(slides):
    return [*((name, told.shown.figure) for name, told in slides.items()),
            *((f"page of {name}", told._page()) for name, told in slides.items()),
            ("opening", demo.reset().shown.figure)]


def test_type_in_pictures_is_large_enough_and_lies_within_them(slides):
    for name, figure in pictures(slides):
        drawn = texts_of(figure)
        assert drawn or name == "opening"
        for each in drawn:
            pixels = each.get_fontsize() * sheet.DOTS_PER_INCH / 72
            assert pixels >= PROMISED_PX, (name, each.get_text())
            box = each.get_window_extent()
            width, height = figure.get_size_inches() * figure.dpi
            assert box.x0 >= -1 and box.x1 <= width + 1, (name, each.get_text())
            assert box.y0 >= -1 and box.y1 <= height + 1, (name, each.get_text())


@each_scene
def test_a_scene_shows_its_picture_pixel_for_pixel_with_large_type_beside_it(name, slides):
    page = slides[name]._repr_html_()
    sizes = [float(size) for size in re.findall(r"font-size:([\d.]+)px", page)]
    assert sizes and min(sizes) >= PROMISED_PX and "font-size:small" not in page
    (image,) = re.findall(r"<img[^>]*>", page)
    assert f"width:{sheet.WIDTH_PX}px;max-width:none" in image and re.search(r'alt="[^"]{40,}"', image)
    assert np.allclose(slides[name].shown.figure.get_size_inches() * sheet.DOTS_PER_INCH,
                       (sheet.WIDTH_PX, sheet.HEIGHT_PX))
    # Everything is inside the section whose type is large.
    assert page.startswith("<section") and page.endswith("</section>")


@pytest.fixture(scope="module")
def lacking(tmp_path_factory):
    """A preflight where there are no fallbacks."""
    return demo.preflight(tmp_path_factory.mktemp("nothing"))


def test_the_opening_and_the_preflight_are_in_large_type(lacking):
    for page in (demo.reset()._repr_html_(), lacking._repr_html_()):
        assert min(float(size) for size in re.findall(r"font-size:([\d.]+)px", page)) >= PROMISED_PX


def test_pictures_use_the_colours_of_the_kit_and_what_colour_tells_a_line_or_a_mark_tells_too(slides):
    palette = {getattr(shown, name) for name in ("BLACK", "BLUE", "GREEN", "ORANGE", "PURPLE", "SKY", "VERMILLION")}
    for name, told in slides.items():
        for axes in told.shown.figure.axes:
            looks = {}
            for line in axes.get_lines():
                look = (line.get_linestyle(), line.get_marker(), line.get_linewidth())
                looks.setdefault(look, set()).add(matplotlib.colors.to_hex(line.get_color()).upper())
            assert all(len(colours) == 1 for colours in looks.values()), (name, looks)
            assert set.union(set(), *looks.values()) <= {colour.upper() for colour in palette}, name


# -- sound ----------------------------------------------------------------------------------------------


@each_scene
def test_sounds_are_quiet_and_short_and_wait_for_their_button(name, slides):
    player, page = slides[name].player, slides[name]._repr_html_()
    assert 0 < player.sound.peak <= 0.1 + 1e-6 and player.sound.seconds <= 3.0
    assert page.count("<audio") == 1 and "autoplay" not in page
    assert "Volume down" in page and "Volume down" in slides[name].text


def test_the_demonstration_plays_through_the_one_player_only():
    for path in Path(demo.__file__).parent.glob("*.py"):
        assert not re.search(r"Audio\(|IPython|autoplay", path.read_text("utf-8")), path.name


# -- fallbacks, preflight -------------------------------------------------------------------------------


@each_scene
def test_the_fallback_says_and_sounds_just_what_the_scene_does_now(name, slides):
    files, told = demo.fallback(name), slides[name]
    assert files.agrees(told)
    assert not files.agrees(replace(told, why="Another reason."))
    assert not files.agrees(replace(told, player=slides["wave" if name != "wave" else "words"].player))
    kept = matplotlib.image.imread(files.picture)
    assert kept.shape[:2] == slide.PAGE_PX[::-1]
    if f"Matplotlib version{matplotlib.__version__}".encode() in files.picture.read_bytes():
        assert np.array_equal(kept, matplotlib.image.imread(io.BytesIO(told.page())))


def test_fallbacks_are_written_where_they_are_looked_for_and_a_broken_one_is_noticed(tmp_path, slides):
    for name in ("clock", "loud"):
        files = demo.fallback(name, tmp_path)
        assert not files.agrees(slides[name])
        assert files.write(slides[name]) == [files.picture, files.sound]
        assert files.agrees(slides[name])
    demo.fallback("clock", tmp_path).sound.write_bytes(b"no sound")
    demo.fallback("loud", tmp_path).picture.write_bytes(b"no picture")
    assert not any(demo.fallback(name, tmp_path).agrees(slides[name]) for name in ("clock", "loud"))


def test_the_preflight_says_what_is_missing_and_what_to_be_careful_with(lacking):
    found = lacking
    assert [row.name for row in found.rows] == NAMES and not found.ready
    assert repr(found).startswith("Look at: words")
    assert repr(found).count("missing or old: python media/make.py") == len(NAMES)
    assert "Volume down first" in repr(found) and "never join" in repr(found)
    assert found.player.sound.peak <= 0.1 + 1e-6 and found._repr_html_().count("<audio") == 1


def test_a_scene_that_is_slow_or_has_no_fallback_is_not_ready():
    assert preflights.Row("loud", 0.5, True).ready
    assert not preflights.Row("loud", 0.5, False).ready
    slow = preflights.Row("loud", 2.5, True)
    assert not slow.ready and "over 2 s" in str(slow)


def test_the_opening_page_asks_what_the_scenes_ask(slides):
    lines = repr(demo.reset()).splitlines()
    assert lines[1:] == [f"{number}. {told.question}" for number, told in enumerate(slides.values(), 1)]
