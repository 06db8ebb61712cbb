"""A learner's browser on a real hub: the microphone over https, a file without it, and a screen that is touched."""

import re

import hubclass
import jupyterpage
import pytest

import kit

LOG = b"Monday 0600. Wind west 5, rain before noon. Gulls: 3.\n"
NAME = "station.example"  # no address of this computer itself, for which browsers make exceptions
HERE = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
ALL_AGREE = re.compile("^All who may be heard")
RUN = ".jp-NotebookPanel:not(.lm-mod-hidden) [data-jp-item-name=run] jp-button"


@pytest.fixture(scope="module")
def tape(tmp_path_factory):
    path = tmp_path_factory.mktemp("heard") / "heard.wav"
    kit.encode(LOG, name="log.txt", speed=2, lead_in_s=1.5).write(path)
    return path


@pytest.fixture(scope="module", params=["https", "http"])
def hub(request, playwright, tmp_path_factory):
    """A hub by its scheme; `playwright` skips where there is no browser."""
    lacking = hubclass.missing()
    if lacking:
        pytest.skip(lacking)
    https_name = NAME if request.param == "https" else ""
    with hubclass.hub_running(tmp_path_factory.mktemp(request.param), https_name) as running:
        yield running


def sign_in(page, hub, name, notebook):
    """Sign in as a learner does, and open a notebook; its kernel need not be there yet."""
    address = hub.address.replace("127.0.0.1", NAME)
    page.goto(address)
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(hubclass.CLASS_WORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**/user/{name}/**")
    page.goto(f"{address}/user/{name}/lab/tree/{notebook}")
    page.get_by_text("(ipykernel) | Idle").wait_for()


def tap_twice(page, selector):
    """Two taps, one at once after the other: a busy machine must not part them."""
    page.locator(selector).wait_for()
    box = page.locator(selector).bounding_box()
    middle = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}]
    touches = page.context.new_cdp_session(page)
    for _ in range(2):
        touches.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": middle})
        touches.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def run_until(page, selector, press):
    """Press the button that runs a cell and goes to the next, until something is there."""
    found = page.locator(selector).first
    for _ in range(20):
        press(page.locator(RUN).first)
        page.get_by_text("(ipykernel) | Idle").wait_for()
        if found.is_visible():
            return found
    raise AssertionError(f"no {selector} after 20 cells")


def test_the_ear_records_over_https_and_says_why_it_does_not_over_http(hub, playwright, tape):
    """The certificate is one that nobody vouches for: the browser is told to go on, as a learner would be."""
    flags = [HERE, "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
             f"--use-file-for-fake-audio-capture={tape}%noloop"]
    secure = hub.address.startswith("https:")
    with jupyterpage.chromium_page(flags=flags, playwright=playwright, ignore_https_errors=True) as page:
        sign_in(page, hub, "gull-7", "workbench.ipynb")
        assert page.evaluate("[isSecureContext, Boolean(navigator.mediaDevices)]") == [secure, secure]
        ear = run_until(page, "section.kite", lambda button: button.click())
        assert "This notebook runs on a hub: what you record goes to that server" in ear.inner_text()
        ear.get_by_label(ALL_AGREE).check()
        ear.get_by_role("button", name="Record", exact=True).click()
        if secure:
            ear.locator("li").get_by_text("header: log.txt, 54 bytes (once more)").first.wait_for()
            ear.get_by_role("button", name="Stop", exact=True).click()
        else:
            ear.get_by_text("This page is not secure").wait_for()
            assert "Or open a file below: that needs no microphone." in ear.inner_text()
            ear.get_by_label("Or open a recording from a file").set_input_files(tape)
        ear.get_by_text("log.txt, 54 bytes, whole (checked)").first.wait_for()


@pytest.mark.parametrize("hub", ["http"], indirect=True)
def test_on_a_screen_that_is_touched_a_prediction_is_tapped_and_opens_its_result(hub, playwright):
    """Emulated: a browser that reports touches and a screen held upright, not a tablet; nothing is typed."""
    with jupyterpage.chromium_page(810, 1080, flags=[HERE], playwright=playwright, ignore_https_errors=True,
                                   has_touch=True, is_mobile=True) as page:
        sign_in(page, hub, "tern-2", "00-start-here.ipynb")
        tap_twice(page, ".jp-DirListing-item:has-text('04-put-bits')")
        page.wait_for_url("**/04-put-bits-into-timing.ipynb")
        page.locator(".jp-SideBar.jp-mod-left .lm-TabBar-tab").first.tap()
        page.get_by_text("(ipykernel) | Idle").wait_for()
        run_until(page, "button:has-text('Save my prediction')", lambda button: button.tap())
        page.get_by_label(re.compile("The same bits, every one of them")).tap()
        page.get_by_role("button", name="Save my prediction").tap()
        bench = run_until(page, "section[data-bench=cells]", lambda button: button.tap())
        assert "every bit is right" in bench.inner_text()
        volume = bench.locator("[data-field=volume_percent] input")
        before = volume.input_value()
        volume.scroll_into_view_if_needed()
        box = volume.bounding_box()
        page.touchscreen.tap(box["x"] + 0.9 * box["width"], box["y"] + box["height"] / 2)
        page.wait_for_function("(was) => document.querySelector("
                               "'section[data-bench=cells] [data-field=volume_percent] input').value !== was",
                               arg=before)
        assert not [line for line in page.complaints if "favicon" not in line]
