"""A person at the pages: with a mouse, or with the keyboard alone."""

from __future__ import annotations

from typing import Any

MOST_STOPS = 400
"""How often one presses Tab before a thing counts as out of reach."""
IS_MARKED = """one => {
  const style = getComputedStyle(one), line = getComputedStyle(one.closest('label') ?? one);
  return one.matches(':focus-visible') && [style, line].some(
    (it) => it.outlineStyle !== 'none' && parseFloat(it.outlineWidth) > 0 || it.boxShadow !== 'none');
}"""
"""Whether the thing in focus shows it."""


class Mouse:
    """Points and types."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def follow(self, words: str) -> None:
        """Go where a link leads."""
        self._press(self._named("link", words))

    def go(self, place: str) -> None:
        """Go where the link at a place of the page leads."""
        self._press(self.page.locator(place))

    def press(self, words: str) -> None:
        """Press a button."""
        self._press(self._named("button", words))

    def unfold(self, place: str) -> None:
        """Open what is folded."""
        self._press(self.page.locator(f"{place} > summary"))

    def tick(self, words: str) -> None:
        """Tick a box."""
        self.page.get_by_label(words).check()

    def write(self, place: str, words: str) -> None:
        """Put words into a field, in place of what stands there."""
        self.page.fill(place, words)

    def _named(self, role: str, words: str) -> Any:
        return self.page.get_by_role(role, name=words, exact=True).first

    def _press(self, thing: Any) -> None:
        thing.click()


class Keyboard(Mouse):
    """Has no mouse: goes through a page by Tab, and sees where the focus stands."""

    def tick(self, words: str) -> None:
        """Tick a box by the space bar."""
        self._reach(self.page.get_by_label(words))
        self.page.keyboard.press("Space")

    def write(self, place: str, words: str) -> None:
        """Go to a field and type."""
        self._reach(self.page.locator(place))
        self.page.keyboard.press("Control+a")
        self.page.keyboard.insert_text(words)

    def _press(self, thing: Any) -> None:
        self._reach(thing)
        self.page.keyboard.press("Enter")

    def _reach(self, thing: Any) -> None:
        """Go on by Tab until a thing has the focus; the focus must be seen."""
        thing.wait_for()
        for _ in range(MOST_STOPS):
            if thing.evaluate("one => one === document.activeElement"):
                assert thing.evaluate(IS_MARKED), "the focus is not seen"
                return
            self.page.keyboard.press("Tab")
        raise AssertionError("out of reach by keyboard")
