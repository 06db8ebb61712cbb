"""A bench on the page, moved and read as a person would."""

__all__ = ["Touched"]

PIXELS = "canvas => canvas.toDataURL()"
# A step is over when the page has shown a later number of Python's, and that stays.
SETTLED = """async ([name, before]) => {
  const frame = document.querySelector(`section[data-bench=${name}]`);
  const now = () => Number(frame.dataset.seq);
  const late = performance.now() + 20000;
  while (now() <= before) {
    if (performance.now() > late) throw new Error(`${name}: nothing came of it`);
    await new Promise((done) => setTimeout(done, 20));
  }
  let seen = -1;
  while (seen !== now()) { seen = now(); await new Promise((done) => setTimeout(done, 150)); }
  return seen;
}"""


class Touched:
    """A bench on the page, moved and read as a person would."""

    def __init__(self, page, name):
        self.page, self.name = page, name
        self.frame = page.locator(f"section[data-bench={name}]")
        self.frame.scroll_into_view_if_needed()

    def after(self, action, *arguments):
        """Do something and wait until the page shows what came of it."""
        before = int(self.frame.get_attribute("data-seq"))
        action(*arguments)
        self.page.evaluate(SETTLED, [self.name, before])

    def keys(self, control, *keys):
        """Press keys on a control."""
        control.focus()
        for key in keys:
            self.after(self.page.keyboard.press, key)

    def reset(self):
        """Press the button for it."""
        self.after(self.frame.get_by_role("button", name="Reset").click)

    @property
    def text(self):
        """The result in words."""
        return self.frame.locator(".kitb-result").inner_text()

    @property
    def changed(self):
        """The line that says what changed."""
        return self.frame.locator(".kitb-changed").inner_text()

    @property
    def pixels(self):
        """The picture, as it is on the screen."""
        return self.frame.locator("canvas").evaluate(PIXELS)
