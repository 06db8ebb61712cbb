"""The live ear in a real Chromium: it records what a fake microphone plays, and says plainly why it cannot."""

import re
from pathlib import Path

import jupyterpage
import numpy as np
import pytest

import kit

LOG = b"Monday 0600. Wind west 5, rain before noon. Gulls: 3.\n" * 2
EAR = Path(kit.__file__).parent / "live" / "ear.js"
# A model as the page sees it, without a kernel behind it; what is sent is kept.
BARE = """
<!doctype html><html lang="en"><title>Ear</title><main id="place"></main><script type="module">
import ear from "./ear.js";
const state = { key: "k", hub: "", zone: [-24, -3], limit_s: 1800, state: "empty", status: "Nothing recorded yet.",
  lines: [], earlier: 0, files: [], facts: "", warnings: [], seconds: 0, progress: 1, kept: "", seq: 1 };
window.sent = [];
const model = { get: (name) => state[name], on(_, told) { window.told = told; }, off() {}, send(message, _, buffers) {
  window.sent.push({ ...message, frames: (buffers?.[0].byteLength ?? 0) / 4 });
} };
window.news = (status) => { state.status = status; window.told(); };
ear.initialize({ model });
window.show = () => ear.render({ model, el: document.getElementById("place") });
window.close_first = window.show();
window.ready = true;
</script></html>
"""


@pytest.fixture(scope="module")
def tape():
    """3 s: short enough to wait for, with a leader that outlasts the first quarter second."""
    return kit.encode(LOG, name="log.txt", speed=2, lead_in_s=1.5)


@pytest.fixture(scope="module")
def ear(playwright, lab, tape):
    """A live ear in JupyterLab, in a Chromium whose microphone hears the tape."""
    folder, server = lab
    (folder / "ear").mkdir()
    tape.write(folder / "ear" / "heard.wav")
    jupyterpage.write_notebook(folder / "ear" / "ear.ipynb", "import kit\near = kit.live.listen()\near")
    flags = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
             f"--use-file-for-fake-audio-capture={folder / 'ear' / 'heard.wav'}%noloop"]
    with jupyterpage.chromium_page(flags=flags, playwright=playwright) as page:
        jupyterpage.open_and_run(page, server, "ear/ear.ipynb")
        section = page.locator("section.kite")
        section.wait_for()
        section.folder = folder / "ear"
        yield section


def until(section, state):
    section.page.wait_for_function(
        f"document.querySelector('section.kite').dataset.state === '{state}'")


def status(section):
    return section.locator(".kitb-result").inner_text()


def press(section, name):
    section.get_by_role("button", name=name, exact=True).click()


def test_the_ear_records_only_once_consent_was_given_and_reads_the_tape_to_the_byte(ear, tape):
    """From microphone to file: the bytes that are saved are those that were encoded."""
    press(ear, "Record")
    assert status(ear).startswith("Tick first") and ear.get_attribute("data-state") == "empty"
    ear.get_by_label(re.compile("^All who may be heard")).check()
    press(ear, "Record")
    until(ear, "recording")
    assert ear.locator(".kite-badge").inner_text().startswith("● Recording: 0:0")
    lines = ear.locator(".kite-lines")
    lines.get_by_text("leader found at 0.0 s").wait_for()
    assert re.search(r"−6 dB, in the loading zone", ear.get_by_role("meter").get_attribute("aria-valuetext"))
    lines.get_by_text("(once more)").wait_for()
    press(ear, "Stop")
    until(ear, "ready")
    said = lines.locator("li").all_inner_texts()[::-1]
    known = r"leader|locked|header: log.txt, 108 bytes|bytes 0 to 107 read|done"
    kinds = [re.match(known, line).group() for line in said]
    # On a busy machine the first leader may be told twice: the device does not wait for who listens to it.
    assert kinds[:2] == ["leader", "locked"] and kinds.count("leader") >= 3
    assert [kind for kind in kinds if kind not in ("leader", "locked")] == [
        "header: log.txt, 108 bytes", "bytes 0 to 107 read", "header: log.txt, 108 bytes", "done"]
    assert status(ear) == said[-1] == "done: log.txt, 108 bytes, whole (checked)"
    assert ear.get_by_role("list", name="Files found").inner_text() == "log.txt, 108 bytes, whole (checked)"
    assert not ear.get_by_role("list", name="What may spoil the recording").is_visible()
    assert "echo cancellation off, noise suppression off, automatic gain off" in ear.inner_text()


def test_what_was_recorded_is_saved_under_a_safe_name_and_never_replaced(ear, tape):
    """Edges of the recording lie as those of the tape; nothing was lost, and what it holds is saved, too."""
    ear.get_by_label(re.compile("^Name to save")).fill("../log one")
    kept = ear.locator(".kite-kept")
    for name in ("_log one.wav", "_log one (2).wav"):
        press(ear, "Save the recording")
        kept.get_by_text(name).wait_for()
    press(ear, "Save the files found")
    kept.get_by_text("log.txt").wait_for()
    assert (ear.folder / "recovered" / "log.txt").read_bytes() == LOG
    names = {path.name for path in (ear.folder / "recordings").iterdir()}
    assert names == {"_log one.wav", "_log one (2).wav"}
    heard = kit.Sound.read(ear.folder / "recordings" / "_log one.wav")
    cells = [kit.decode(sound, format="house").blocks[1].cell_s for sound in (heard, tape)]
    assert np.abs(cells[0] - cells[1]).max() < 1e-6  # seconds


def test_a_file_is_opened_in_place_of_a_recording(ear):
    worn = kit.encode(b"Wind south 2.", name="<b>log", speed=2, lead_in_s=0.5)
    worn.write(ear.folder / "other.flac")
    ear.get_by_label("Or open a recording from a file").set_input_files(ear.folder / "other.flac")
    ear.get_by_text("of other.flac at 44100 Hz").wait_for()
    until(ear, "ready")
    assert status(ear).endswith("log, 13 bytes, whole (checked)") and ear.locator("b").count() == 0
    assert "header: <b>log, 13 bytes" in ear.locator(".kite-lines li").all_inner_texts()


def test_axe_finds_no_serious_fault_of_accessibility_in_the_ear(ear):
    if not jupyterpage.AXE.exists():
        pytest.skip("axe-core is not here: npm install --prefix .ci --no-save axe-core, as .ci/run does")
    ear.page.add_script_tag(content=jupyterpage.AXE.read_text("utf-8"))
    found = ear.page.evaluate("async () => (await axe.run('section.kite'))")
    serious = [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]
               if one["impact"] in ("serious", "critical")]
    assert not serious and len(found["passes"]) > 10


def test_the_ear_s_page_made_no_complaint(ear):
    assert [line for line in ear.page.complaints if "favicon" not in line] == []


# -- where there is no microphone ------------------------------------------------------------------------


def open_bare(page, address):
    """The ear's page with nothing behind it, as if it came from an address; no server is asked."""
    page.route("**/*", lambda route: route.fulfill(
        body=EAR.read_text("utf-8") if route.request.url.endswith(".js") else BARE,
        content_type="text/javascript" if route.request.url.endswith(".js") else "text/html"))
    page.goto(address)
    page.wait_for_function("window.ready")


@pytest.mark.parametrize(("address", "device", "said"), [
    ("http://station.example/", "", "This page is not secure"),
    ("http://localhost/", "", "No microphone or line input was found"),
    ("http://localhost/", "refused", "The microphone was refused"),
])
def test_the_page_says_plainly_why_it_cannot_record_and_offers_a_file(playwright, address, device, said):
    flags = ["--use-fake-device-for-media-stream"] if device else []
    with jupyterpage.chromium_page(flags=flags, playwright=playwright) as page:
        open_bare(page, address)
        page.get_by_label(re.compile("^All who may be heard")).check()
        page.get_by_role("button", name="Record", exact=True).click()
        shown = page.locator(".kitb-result")
        shown.get_by_text(said).wait_for()
        assert shown.inner_text().endswith("Or open a file below: that needs no microphone.")
        assert page.get_by_label("Or open a recording from a file").is_enabled()
        assert page.get_by_role("button", name="Record", exact=True).is_enabled()
        assert [message["kind"] for message in page.evaluate("window.sent")] == ["trouble"]


def test_news_of_a_busy_kernel_do_not_hide_why_nothing_is_recorded(playwright):
    """They are shown beside it, until it is tried again; the kernel's own word of it is not said twice."""
    with jupyterpage.chromium_page(playwright=playwright) as page:
        open_bare(page, "http://station.example/")
        page.get_by_label(re.compile("^All who may be heard")).check()
        record, shown = page.get_by_role("button", name="Record", exact=True), page.locator(".kitb-result")
        record.click()
        why = shown.inner_text()
        page.evaluate("window.news('Practice: log.txt, 40 bytes.')")
        assert shown.inner_text() == f"{why} Practice: log.txt, 40 bytes."
        page.evaluate("(why) => window.news(why)", why)
        assert shown.inner_text() == why and why.startswith("This page is not secure")
        record.click()
        assert shown.inner_text() == why


def test_two_views_of_an_ear_share_one_recorder_and_it_stops_when_the_last_is_closed(playwright):
    """Chunks are numbered without a gap from 0; what is not seen does not record."""
    flags = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
    with jupyterpage.chromium_page(flags=flags, playwright=playwright) as page:
        open_bare(page, "http://localhost/")
        page.evaluate("() => { window.close_second = window.show(); }")
        page.get_by_label(re.compile("^All who may be heard")).first.check()
        assert page.get_by_label(re.compile("^All who may be heard")).nth(1).is_checked()
        page.get_by_role("button", name="Record", exact=True).nth(1).click()
        page.wait_for_function("window.sent.length > 4")
        assert all(badge.startswith("● Recording") for badge in page.locator(".kite-badge").all_inner_texts())
        page.evaluate("window.close_first()")
        count = page.evaluate("window.sent.length")
        page.wait_for_function(f"window.sent.length > {count + 2}")
        page.evaluate("window.close_second()")
        page.wait_for_function("window.sent.at(-1).kind === 'stop'")
        sent = page.evaluate("window.sent")
    kinds = [message["kind"] for message in sent]
    assert kinds == ["start", *["sound"] * (len(kinds) - 2), "stop"] and len({one["number"] for one in sent}) == 1
    chunks = [(one["first"], one["frames"]) for one in sent if one["kind"] == "sound"]
    assert [first for first, _ in chunks] == [sum(size for _, size in chunks[:k]) for k in range(len(chunks))]
    assert sent[0]["settings"]["noiseSuppression"] is False and chunks[0][1] == 4096
