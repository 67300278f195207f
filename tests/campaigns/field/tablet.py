"""A tablet: a real browser with a profile of its own, touched key by key, and killed by its id."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from steadyhead.station.canonical import sha256
from tests.conftest import BROWSERS
from tests.web.browser.conftest import SWITCHES

PATIENCE = 60.0
"""How long a page may take to show something, on a machine that does much else. [s]"""
HASTE = "steadyhead-clock"
CLOCK = f"""
(() => {{
  const Real = Date
  const shift = () => Number(localStorage.getItem("{HASTE}") ?? 0)
  class Set extends Real {{
    constructor(...given) {{ super(...(given.length > 0 ? given : [Real.now() + shift()])) }}
    static now() {{ return Real.now() + shift() }}
  }}
  globalThis.Date = Set
}})()
"""
"""A clock that a person can set: what it is off by stands in the profile."""
KEPT = re.compile(r"(\d+) (?:entry|entries) kept on this device")
WAYS_THROUGH = 40
"""Touches from the list of what is here to the first step, at most. [1]"""


class Away(Exception):
    """The browser was killed, or the page closed."""


@dataclass
class Tablet:
    """One tablet. attempts: words somebody meant to note; shown: those the page then showed as kept.

    taken, shot: SHA-256 of photos, the same way. touched_again: how often More had to be touched once more.
    """

    name: str
    driver: Any
    home: str
    profile: Path
    visit: str
    context: Any = None
    page: Any = None
    session: Any = None
    shift: float = 0.0
    attempts: list[str] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    shot: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    touched_again: int = 0

    # the browser

    def open(self, cookie: str) -> None:
        """Open the browser on the field page."""
        program = next(path for path in map(shutil.which, BROWSERS) if path)
        self.context = self.driver.chromium.launch_persistent_context(
            str(self.profile), executable_path=program, args=list(SWITCHES), reduced_motion="reduce",
            viewport={"width": 390, "height": 844}, timeout=1e3 * PATIENCE,
        )  # fmt: skip
        self.context.set_default_timeout(1e3 * PATIENCE)
        self.context.add_init_script(CLOCK)
        self.sign_in(cookie)
        self.page = self._hears(self.context.pages[0])

    def sign_in(self, cookie: str) -> None:
        """Hold a session, as after signing in."""
        name, _, value = cookie.partition("=")
        self.context.add_cookies([{"name": name, "value": value, "url": self.home}])

    def _hears(self, page: Any) -> Any:
        page.on("pageerror", lambda one: self.faults.append(f"{self.name}: {one}"))
        return page

    @property
    def is_open(self) -> bool:
        """Whether its browser is there."""
        return self.context is not None

    def pid(self) -> int:
        """Return the id of the browser's first process, 0 where there is none."""
        mine = f"--user-data-dir={self.profile}"
        for place in Path("/proc").iterdir():
            with suppress(OSError):
                words = (place / "cmdline").read_bytes().decode(errors="replace").split("\0")
                if mine in words and not any(one.startswith("--type=") for one in words):
                    return int(place.name)
        return 0

    def kill(self, pid: int = 0) -> None:
        """End the browser by SIGKILL."""
        pid = pid or self.pid()
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
        until = time.monotonic() + PATIENCE
        while self.pid() and time.monotonic() < until:
            time.sleep(0.02)
        with suppress(Exception):
            self.context.close()
        self.context = self.page = self.session = None

    def close(self) -> None:
        """End it as a person does."""
        with suppress(Exception):
            self.context.close()
        self.context = self.page = self.session = None

    def close_tab(self) -> None:
        """Close the page in the middle of whatever it does, and open another one."""
        before = self.page
        self.page = self._hears(self.context.new_page())
        before.close(run_before_unload=False)
        self.session = None

    def room(self, size: int | None) -> None:
        """Let the browser's storage for this place be as large as that, or as it is."""
        self.session = self.session or self.context.new_cdp_session(self.page)
        told = {"origin": self.home, **({} if size is None else {"quotaSize": size})}
        self.session.send("Storage.overrideQuotaForOrigin", told)

    def set_clock(self, hours: float) -> None:
        """Set the clock that many hours off."""
        self.shift = hours
        self.page.evaluate(f"localStorage.setItem('{HASTE}', '{hours * 3.6e6}')")

    # what is seen

    def seen(self) -> str:
        """Return the words of the page."""
        return str(self.page.evaluate("document.body.innerText"))

    def line(self) -> str:
        """Return what the page says of what is kept and sent."""
        words = "document.querySelector('header .net')?.innerText ?? ''"
        return str(self.page.evaluate(words)).replace("\n", " ")

    def count(self) -> int:
        """Return how many entries the page says are kept; 0 where it says none."""
        found = KEPT.search(self.line())
        return int(found[1]) if found else 0

    def until(self, holds: Callable[[], bool], what: str, seconds: float = PATIENCE) -> None:
        """Wait until something is so.

        Raises
        ------
        AssertionError
            It never was.
        """
        end = time.monotonic() + seconds
        while not holds():
            if time.monotonic() > end:
                raise AssertionError(f"{self.name}: {what} did not come; the page says: {self.seen()[:600]}")
            time.sleep(0.03)

    def title(self) -> str:
        """Return the page's title, of which the screen is the first part."""
        return str(self.page.title()).partition(" · ")[0]

    # what is touched

    def touch(self, name: str) -> None:
        """Touch a key by its name."""
        self.page.click(f'[data-key="{name}"]')

    def beside(self, name: str) -> None:
        """Touch More and a key there; once more, as a person does, where the step was drawn again."""
        for _ in range(3):
            self.touch("more")
            end = time.monotonic() + PATIENCE / 4
            while not self.has(name) and time.monotonic() < end:
                time.sleep(0.03)
            if self.has(name) or not self.has("more"):
                break
            self.touched_again += 1
        self.touch(name)

    def has(self, name: str) -> bool:
        """Return whether a key is there."""
        found = 'name => document.querySelector(`[data-key="${CSS.escape(name)}"]`) !== null'
        return bool(self.page.evaluate(found.replace("CSS.escape(name)", "name"), name))

    def take_along(self, key: str) -> None:
        """Take the visit along, and go on to its first step."""
        self.page.goto(f"{self.home}/field#take={key}/{self.visit}")
        self.until(lambda: self.has("right"), "the visit", 3 * PATIENCE)
        self.through()

    def again(self) -> None:
        """Open the page again, and the visit that is on the device."""
        self.page.goto(f"{self.home}/field")
        self.until(lambda: "Visits on this device" in self.seen(), "the list of visits")
        self.until(lambda: self.page.locator(".choice button").count() > 0, "a visit")
        self.page.locator(".choice button").first.click()
        self.until(lambda: self.title() != "Visits on this device", "the visit")
        self.through()

    def through(self) -> None:
        """Touch on, screen after screen, until the page shows a step."""
        for _ in range(WAYS_THROUGH):
            self.until(
                lambda: self.has("more") or self.is_stopped or self.has("right") or self._is_who(), "a key"
            )
            if self.has("more") or self.is_stopped:
                return
            if self._is_who():
                before = self.count()
                self.page.locator(".choice button").first.click()
                self.until(lambda: self.has("more") or self.is_stopped or self.has("words"), "the first step")
                if self.has("words"):  # nobody is known here yet
                    self.page.fill("#words", "Tam Oduya")
                    self.touch("right")
                self.until(lambda: self.has("more") or self.is_stopped, "the first step")
                self.until(lambda b=before: self.count() >= b, "the count")  # type: ignore[misc]
                return
            title, words = self.title(), self.seen()
            self.touch("right")
            self.until(lambda t=title, w=words: self.title() != t or self.seen() != w, "the next screen")  # type: ignore[misc]
        raise AssertionError(f"{self.name}: no step came; the page says: {self.seen()[:400]}")

    def _is_who(self) -> bool:
        return self.title() == "Who works with this device?"

    @property
    def is_stopped(self) -> bool:
        """Whether the page says Stop."""
        return self.title() == "Stop"

    def note(self, words: str, *, pid: int = 0, waits: float | None = None) -> bool:
        """Note something; return whether the page then shows it as kept.

        pid: kill the browser of this id `waits` seconds after the last touch; without it only do not look.
        """
        self.attempts.append(words)
        self.beside("choice Note")
        self.page.fill("#words", words)
        before = self.count()
        self.touch("right")
        is_kept = self._is_kept(before, pid, waits)
        self.shown += [words] if is_kept else []
        return is_kept

    def photo(self, content: bytes, *, pid: int = 0, waits: float | None = None) -> bool:
        """Take a photo of what is seen; return whether the page then shows it as kept. The rest as `note`."""
        digest = sha256(content)
        self.taken.append(digest)
        self.beside("choice Photo")
        before = self.count()
        file = {"name": f"{digest[:8]}.png", "mimeType": "image/png", "buffer": content}
        self.page.set_input_files("#photo", files=[file])
        is_kept = self._is_kept(before, pid, waits)
        self.shot += [digest] if is_kept else []
        return is_kept

    def _is_kept(self, before: int, pid: int, waits: float | None) -> bool:
        """Return whether the page says that what was just entered is kept, all of it."""
        if waits is not None:
            time.sleep(waits)
            if pid:
                self.kill(pid)
            return False
        self.until(lambda: self.has("more") and not self.has("words"), "the step after an entry")
        self.until(
            lambda: self.count() > before or "not saved" in self.line(), "word of what was entered", 20.0
        )
        return self.count() > before and "not saved" not in self.line()

    def say(self, yes: bool) -> bool:
        """Answer the question of the step; return whether the page then shows that as kept."""
        before = self.count()
        self.through_pages()
        self.touch("right")
        self.touch(f"choice {'Yes' if yes else 'No'}")
        self.until(lambda: self.count() > before or "not saved" in self.line(), "word of the answer", 20.0)
        return "not saved" not in self.line()

    def through_pages(self) -> None:
        """Read every page of a screen to its end."""
        while self.page.inner_text('[data-key="right"]').startswith("Read on"):
            self.touch("right")

    def online(self) -> None:
        """Let the browser say that there is a signal again, on which the page sends."""
        self.page.evaluate("window.dispatchEvent(new Event('online'))")

    def told(self) -> str:
        """Return what the page says, as JSON of its parts, for whoever must find out why."""
        return json.dumps({"line": self.line(), "title": self.title()})
