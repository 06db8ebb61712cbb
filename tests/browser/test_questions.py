"""Questions in a real JupyterLab: answered by keyboard, told by text, kept, and accessible."""

import json
import re

import jupyterpage
import pytest

pytestmark = pytest.mark.xdist_group("browser")

CELLS = ('from kit.exercises import learner\nme = learner("gull 7")\nme', 'me.predict("4a")', 'me.answer("4c")',
         'me.answer("4z")')


@pytest.fixture(scope="module")
def asked(playwright, tmp_path_factory):
    """A notebook with a question of four answers, one answered in words, and a mistyped one."""
    lacking = jupyterpage.missing()
    if lacking:
        pytest.skip(lacking)
    folder = tmp_path_factory.mktemp("questions")
    jupyterpage.write_notebook(folder / "questions.ipynb", *CELLS)
    with jupyterpage.lab_server(folder) as server, jupyterpage.chromium_page(playwright=playwright) as page:
        jupyterpage.open_and_run(page, server, "questions.ipynb")
        page.locator("section.kitq").nth(1).wait_for()
        page.get_by_text("SettingError").first.wait_for()
        page.folder = folder
        yield page


def kept(page, key):
    (path,) = (page.folder / "answers").iterdir()
    return json.loads(path.read_text("utf-8"))["items"][key]


def test_a_choice_is_made_and_saved_by_keyboard_alone_and_said_where_screen_readers_hear_it(asked):
    question = asked.locator("section.kitq").first
    group = question.get_by_role("group", name=re.compile("at half the volume"))
    radios = group.get_by_role("radio")
    assert radios.count() == 4 and not any(radios.nth(k).is_checked() for k in range(4))
    assert group.get_by_role("radio", name=re.compile(r"^c\) The same bits")).count() == 1
    radios.first.focus()
    asked.keyboard.press("ArrowDown")
    assert radios.nth(1).is_checked()
    count = asked.locator(".jp-Cell").count()
    asked.keyboard.press("b")
    asked.keyboard.press("Tab")
    assert asked.evaluate("document.activeElement.textContent") == "Save my prediction"
    asked.keyboard.press("Enter")
    status = question.get_by_role("status")
    status.get_by_text("Saved: b)").wait_for()
    assert status.get_attribute("aria-live") == "polite"
    assert asked.locator(".jp-Cell").count() == count
    assert kept(asked, "4a")["votes"] == ["b"]


def test_words_are_typed_saved_and_answered_with_a_hint(asked):
    question = asked.locator("section.kitq").nth(1)
    question.get_by_role("textbox", name=re.compile("Which six bits")).fill("<b>0</b>")
    question.get_by_role("button").click()
    question.get_by_text("This answer is bits").wait_for()
    question.get_by_role("textbox").fill("0101 0")
    question.get_by_role("button").click()
    question.get_by_text("Not yet.").wait_for()
    assert question.locator("b").count() == 0
    assert kept(asked, "4c")["answer"] == [0, 1, 0, 1, 0]


def test_the_question_in_words_is_hidden_where_the_control_runs(asked):
    assert asked.locator(".kitq-still").count() == 2
    assert not any(asked.locator(".kitq-still").nth(k).is_visible() for k in range(2))


def test_a_mistyped_item_shows_one_line_and_no_traceback(asked):
    shown = asked.locator(".jp-RenderedText[data-mime-type*=error], .jp-RenderedText[data-mime-type*=stderr]").last
    assert shown.inner_text().strip().startswith("SettingError: an item must be one of")
    assert "File" not in shown.inner_text() and "\n" not in shown.inner_text().strip()


def test_axe_finds_no_serious_fault_of_accessibility_in_a_question(asked):
    if not jupyterpage.AXE.exists():
        pytest.skip("axe-core is not here: npm install --prefix .ci --no-save axe-core, as .ci/run does")
    asked.add_script_tag(content=jupyterpage.AXE.read_text("utf-8"))
    found = asked.evaluate("async () => (await axe.run('section.kitq')).violations")
    assert not [one["id"] for one in found if one["impact"] in ("serious", "critical")]
    assert asked.evaluate("async () => (await axe.run('section.kitq')).passes.length") > 5
    assert not asked.complaints
