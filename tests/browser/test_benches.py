"""Every bench in a real JupyterLab and a real Chromium: it opens, moves by keyboard, tells, resets, is accessible."""

import re

import jupyterpage
import pytest
from touched import Touched

import kit
from kit.bench.fields import fields_of

each_bench = pytest.mark.parametrize("name", kit.bench.names())


@pytest.fixture
def bench(benches, name):
    touched = Touched(benches, name)
    touched.reset()
    return touched


@each_bench
def test_a_bench_shows_its_question_its_picture_with_text_and_a_result(bench, name):
    frame, model = bench.frame, kit.bench.open_model(name)
    experiment = model.experiment
    assert frame.get_by_role("heading", name=experiment.title).is_visible()
    assert frame.get_by_text(experiment.question).is_visible()
    assert bench.text == model.result.text
    picture = frame.get_by_role("img")
    assert picture.is_visible() and len(picture.get_attribute("aria-label")) > 40
    assert frame.locator("canvas").evaluate("canvas => canvas.width") > 200


@each_bench
def test_every_control_moves_by_keyboard_and_picture_and_text_follow(bench, name):
    """Each by one step, from where it starts; a control without any effect would be noticed."""
    for field in fields_of(kit.bench.open_model(name).state):
        bench.reset()
        before = bench.pixels, bench.text, bench.frame.locator("dl").inner_text()
        control = bench.frame.get_by_label(field.label, exact=True)
        if field.kind == "text":
            bench.after(control.fill, "Gulls")
        else:
            back = field.position(field.default) == len(field.values) - 1
            bench.keys(control, {"switch": "Space"}.get(field.kind, "ArrowUp" if back and field.kind == "choice"
                       else "ArrowDown" if back or field.kind == "choice" else "ArrowUp"))
        assert (bench.pixels, bench.text, bench.frame.locator("dl").inner_text()) != before, field.name
        assert bench.changed.startswith(f"You changed {field.label.lower()} from "), field.name
    bench.reset()
    assert bench.changed.startswith("What changed: nothing yet")


@each_bench
def test_a_slider_says_its_value_with_the_unit_and_has_the_usual_keys(bench, name):
    """Arrows one step, page keys five, Home and End to the ends: heard by `aria-valuetext`, seen beside it."""
    sliders = [field for field in fields_of(kit.bench.open_model(name).state) if field.kind == "number"]
    assert sliders
    for field in sliders[:2]:
        slider = bench.frame.get_by_label(field.label, exact=True)
        assert slider.get_attribute("aria-valuetext") == field.shown(field.default)
        steps = [("Home", 0), ("ArrowRight", 1), ("PageUp", 6), ("PageDown", 1), ("ArrowLeft", 0)]
        for key, position in steps[field.position(field.default) == 0:]:
            bench.keys(slider, key)
            assert slider.get_attribute("aria-valuetext") == field.words[position]
        bench.keys(slider, "End")
        row = bench.frame.locator(f"[data-field={field.name}]")
        assert row.locator("output").inner_text() == field.words[-1] == slider.get_attribute("aria-valuetext")
        bench.reset()
        assert slider.get_attribute("aria-valuetext") == field.shown(field.default)


@each_bench
def test_keys_pressed_in_a_bench_do_nothing_to_the_notebook(bench, name, benches):
    """JupyterLab adds a cell for B and moves on for an arrow: not while a control has the focus."""
    count = benches.locator(".jp-Cell").count()
    bench.frame.locator("input[type=range]").first.focus()
    for key in ("b", "a", "ArrowDown", "ArrowUp"):
        benches.keyboard.press(key)
    assert benches.locator(".jp-Cell").count() == count
    assert bench.frame.locator("input[type=range]").first.evaluate("input => input === document.activeElement")


@each_bench
def test_the_whole_bench_is_reached_with_the_tab_key(bench, name, benches):
    labels = [field.label for field in fields_of(kit.bench.open_model(name).state)]
    bench.frame.get_by_label(labels[0], exact=True).focus()
    for label in labels[1:]:
        benches.keyboard.press("Tab")
        control = bench.frame.get_by_label(label, exact=True)
        assert control.evaluate("control => control === document.activeElement"), label
    benches.keyboard.press("Tab")
    assert benches.evaluate("document.activeElement.textContent") == "Reset"


@each_bench
def test_axe_finds_no_serious_fault_of_accessibility(bench, name, benches):
    if not jupyterpage.AXE.exists():
        pytest.skip("axe-core is not here: npm install --prefix .ci --no-save axe-core, as .ci/run does")
    if not benches.evaluate("typeof axe === 'object'"):
        benches.add_script_tag(content=jupyterpage.AXE.read_text("utf-8"))
    found = benches.evaluate("async (name) => (await axe.run(`section[data-bench=${name}]`)).violations", name)
    serious = [(one["id"], [node["html"] for node in one["nodes"]]) for one in found
               if one["impact"] in ("serious", "critical")]
    assert not serious
    checked = benches.evaluate("async (name) => (await axe.run(`section[data-bench=${name}]`)).passes.length", name)
    assert checked > 10  # or it looked at nothing


def test_axe_would_find_a_fault(benches):
    """The test above, on a control without a name."""
    if not jupyterpage.AXE.exists():
        pytest.skip("axe-core is not here: npm install --prefix .ci --no-save axe-core, as .ci/run does")
    if not benches.evaluate("typeof axe === 'object'"):
        benches.add_script_tag(content=jupyterpage.AXE.read_text("utf-8"))
    found = benches.evaluate("""async () => {
      const bad = document.createElement("input");
      bad.id = "nameless";
      document.querySelector("section.kitb").append(bad);
      const { violations } = await axe.run("#nameless");
      bad.remove();
      return violations.filter((one) => one.impact === "critical").map((one) => one.id);
    }""")
    assert "label" in found


def test_hostile_text_is_shown_as_text_and_nothing_else(benches):
    bench = Touched(benches, "cells")
    bench.reset()
    hostile = "<b onfocus=x"
    bench.after(bench.frame.get_by_label("Text", exact=True).fill, hostile)
    assert hostile in bench.text and hostile in bench.changed
    assert bench.frame.locator("b").count() == 0
    bench.reset()


def test_listen_plays_when_pressed_and_stops_when_the_picture_changes(benches):
    bench = Touched(benches, "harmonics")
    bench.reset()
    assert bench.frame.locator("audio").count() == 0
    bench.frame.get_by_role("button", name="Listen").click()
    audio = bench.frame.locator("audio")
    audio.wait_for()
    assert re.match(r"1\.00 s of sound; peak 0\.10", bench.frame.locator(".kitb-player [role=status]").inner_text())
    assert audio.get_attribute("autoplay") is None
    bench.keys(bench.frame.get_by_label("Sines added"), "ArrowRight")
    assert audio.count() == 0
    bench.reset()


def test_pointing_at_the_sweep_chooses_a_level(benches):
    bench = Touched(benches, "levels")
    bench.reset()
    box = bench.frame.locator("canvas").bounding_box()
    bench.after(benches.mouse.click, box["x"] + 0.7 * box["width"], box["y"] + 0.8 * box["height"])
    assert bench.changed.startswith("You changed playing level")
    bench.reset()


def test_pointing_at_a_bit_flips_it_and_flips_it_back(benches):
    """The height counts as well: two bits of one byte lie above one another."""
    bench = Touched(benches, "damage")
    bench.reset()
    box = bench.frame.locator("canvas").bounding_box()
    line = bench.frame.get_by_label("Bits flipped by hand", exact=True)
    bits = []
    for height in (0.18, 0.3):
        spot = box["x"] + 0.5 * box["width"], box["y"] + height * box["height"]
        bench.after(benches.mouse.click, *spot)
        bits.append(line.input_value())
        bench.after(benches.mouse.click, *spot)
        assert line.input_value() == ""
    first, second = map(int, bits)
    assert first // 8 == second // 8 and first < second
    bench.reset()


def test_long_work_shows_how_far_it_is_and_stops_when_asked(benches):
    bench = Touched(benches, "long")
    bar, stop = bench.frame.get_by_label("Work done"), bench.frame.get_by_role("button", name="Stop")
    assert not bar.is_visible()
    bench.frame.get_by_label("Steps", exact=True).focus()
    benches.keyboard.press("End")
    bar.wait_for()
    benches.wait_for_function("document.querySelector('section[data-bench=long] progress').value > 0.003")
    bench.after(stop.click)
    assert not bar.is_visible() and bench.text.startswith("Stopped")
    assert bench.frame.get_by_label("Steps", exact=True).get_attribute("aria-valuetext") == "0"
    bench.reset()
    assert bench.text == "0 steps."


def test_a_bench_fits_a_narrow_page(benches):
    """At 320 pixels and less, as at 400 % enlargement, nothing sticks out at the side."""
    bench = Touched(benches, "cells")
    bench.frame.evaluate("frame => { frame.style.width = '320px'; }")
    inside = bench.frame.evaluate("frame => frame.scrollWidth <= frame.clientWidth + 1")
    bench.frame.evaluate("frame => { frame.style.width = ''; }")
    assert inside


def test_a_cell_run_again_goes_on_where_its_bench_was_left(benches):
    bench = Touched(benches, "cells")
    bench.reset()
    bench.keys(bench.frame.get_by_label("Volume", exact=True), "End")
    bench.frame.evaluate("frame => frame.dataset.old = 'yes'")
    number = 1 + kit.bench.names().index("cells")
    benches.locator(".jp-CodeCell").nth(number).locator(".cm-content").click()
    benches.keyboard.press("Control+Enter")
    benches.locator("section[data-bench=cells]:not([data-old])").wait_for()
    again = Touched(benches, "cells")
    assert again.frame.get_by_label("Volume", exact=True).get_attribute("aria-valuetext") == "100 %"
    again.reset()


def test_the_page_made_no_complaint(benches):
    """Errors on the browser's console since it was opened; those of JupyterLab about itself are none of ours."""
    ours = [line for line in benches.complaints if "favicon" not in line]
    assert not ours
