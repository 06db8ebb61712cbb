"""Notebook 7 and Voilà in a real Chromium: a bench moves by keyboard there too, and the live ear hears a tape."""

import contextlib
import re

import jupyterpage
import pytest
from touched import Touched

import kit
from kit.bench.harmonics import HarmonicsState, find

LOG = b"Monday 0600. Wind west 5, rain before noon. Gulls: 3.\n" * 2


@pytest.fixture(scope="module", params=["notebook", "voila"])
def page(request, playwright, tmp_path_factory):
    """A page with a bench and a live ear, in a Chromium whose microphone hears a tape of 3 s."""
    app = request.param
    lacking = jupyterpage.missing(app)
    if lacking:
        pytest.skip(lacking)
    folder = tmp_path_factory.mktemp(app)
    kit.encode(LOG, name="log.txt", speed=2, lead_in_s=1.5).write(folder / "heard.wav")
    flags = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
             f"--use-file-for-fake-audio-capture={folder / 'heard.wav'}%noloop"]
    notebook = jupyterpage.write_notebook(folder / "page.ipynb", "import kit", "kit.bench.open('harmonics')",
                                          "ear = kit.live.listen()\near")
    with contextlib.ExitStack() as stack:
        if app == "voila":
            server = stack.enter_context(jupyterpage.voila_server(notebook))
        else:
            server = stack.enter_context(jupyterpage.lab_server(folder, app))
        page = stack.enter_context(jupyterpage.chromium_page(flags=flags, playwright=playwright))
        if app == "voila":
            page.goto(server)
        else:
            jupyterpage.open_and_run(page, server, notebook.name, app)
        page.locator("section.kite").wait_for()
        page.complaints.clear()  # what a page says of itself while it is built is none of ours
        yield page


def test_a_bench_moves_by_keyboard_and_picture_and_text_follow(page):
    bench = Touched(page, "harmonics")
    assert bench.text == find(HarmonicsState()).text
    before = bench.pixels
    sines = bench.frame.get_by_label("Sines added", exact=True)
    bench.keys(sines, "ArrowRight")
    moved = HarmonicsState(sines=HarmonicsState().sines + 1)
    assert bench.text == find(moved).text != find(HarmonicsState()).text and bench.pixels != before
    assert sines.get_attribute("aria-valuetext") == str(moved.sines)
    assert bench.changed.startswith("You changed sines added from ")
    bench.reset()
    assert bench.pixels == before and bench.text == find(HarmonicsState()).text


def test_where_the_widget_runs_its_still_picture_is_not_seen(page):
    stills = page.locator(".kitb-still").all()
    assert stills and not any(still.is_visible() for still in stills)


def test_the_live_ear_reads_the_tape_to_the_byte(page):
    """From the page's microphone to what Python says of it."""
    ear = page.locator("section.kite")
    ear.get_by_label(re.compile("^All who may be heard")).check()
    ear.get_by_role("button", name="Record", exact=True).click()
    ear.locator(".kite-lines").get_by_text("(once more)").wait_for()
    ear.get_by_role("button", name="Stop", exact=True).click()
    page.wait_for_function("document.querySelector('section.kite').dataset.state === 'ready'")
    assert ear.locator(".kitb-result").inner_text() == f"done: log.txt, {len(LOG)} bytes, whole (checked)"


def test_the_page_made_no_complaint_while_it_was_used(page):
    assert not page.complaints
