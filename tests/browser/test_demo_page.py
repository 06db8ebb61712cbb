"""The demonstration on a projector of 1280 × 720 pixels: Shift+Enter alone leads from scene to scene."""

import shutil
from pathlib import Path

import jupyterpage
import pytest

from kit.demo import SCENES

NOTEBOOK = Path(__file__).parents[2] / "lessons" / "demo.ipynb"
WIDTH, HEIGHT = 1280, 720
PLACE = """
(number) => {
  const section = document.querySelectorAll(".jp-OutputArea section[aria-label]")[number];
  const image = section?.querySelector("img");
  if (!image?.complete || !image.naturalWidth) return null;
  const box = section.getBoundingClientRect(), picture = image.getBoundingClientRect();
  const words = [...section.querySelectorAll("p, b")].filter((each) => each.textContent.trim());
  const sizes = words.map((each) => parseFloat(getComputedStyle(each).fontSize));
  return {top: box.top, bottom: box.bottom, width: picture.width, smallest: Math.min(...sizes),
          beside: words.at(-1).getBoundingClientRect().left >= picture.right};
}
"""


@pytest.fixture(scope="module")
def shown(playwright, lab):
    """Where each scene lay, and how large its type was, just after Shift+Enter; and what the page complained of."""
    folder, server = lab
    shutil.copy(NOTEBOOK, folder / NOTEBOOK.name)
    with jupyterpage.chromium_page(WIDTH, HEIGHT, playwright=playwright) as page:
        jupyterpage.open_notebook(page, server, NOTEBOOK.name)
        page.keyboard.press("Control+b")
        page.locator(".jp-CodeCell").nth(1).locator(".jp-InputArea-prompt").click()
        places = []
        for number in range(1 + len(SCENES)):
            page.keyboard.press("Shift+Enter")
            page.wait_for_function(f"({PLACE})({number})?.top < {HEIGHT} && ({PLACE})({number}).top > 0")
            places.append(page.evaluate(PLACE, number))
        yield places, page.complaints


def test_each_scene_is_wholly_in_sight_with_its_text_beside_its_picture(shown):
    places, complaints = shown
    assert len(places) == 1 + len(SCENES) and not complaints
    for place in places:
        assert place["top"] > 0 and place["bottom"] <= HEIGHT, place
    assert all(place["beside"] and place["width"] == 720 for place in places[1:])


def test_type_on_the_projector_has_24_pixels_or_more(shown):
    places, _ = shown
    assert min(place["smallest"] for place in places) >= 24
