"""A person who walks a visit on the device: looks at the screen, touches what it shows, types figures only.

What is to be answered comes from the walker of clean visits; which question it is the answer to is read off
the screen.
Time on site is let run on by hand: every device and the server show the same hour.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from steadyhead.procedure.expression import Taken
from steadyhead.records.procedure import Node, Procedure
from steadyhead.services.example_year.clean_answers import fine, flow_beside
from steadyhead.services.example_year.clean_visit import COMPARED_WITH, GAUGE, SECOND, pauses_of
from steadyhead.services.example_year.teller import picture
from steadyhead.units import METRIC
from steadyhead.visits.texts.saying import say

PICTURES = "STEADYHEAD_WALK_PICTURES"
"""Environment: the folder that takes a picture of every distinct screen; none is taken where it is empty."""
PATIENCE = 120.0
"""How long one screen may take on a machine that does much else. [s]"""
BETWEEN = 45.0
"""From one answer to the next. [s]"""
MOST_TOUCHES = 60
"""Of one question, before it counts as going round in circles."""
CLOCK = """(() => {
  const [wall, ran] = [Date.now.bind(Date), performance.now.bind(performance)]
  const real = Date
  let more = Number(window.name || %d)
  performance.now = () => ran() + more
  Date.now = () => wall() + more
  window.Date = class extends real {
    constructor(...given) { if (given.length === 0) super(wall() + more); else super(...given) }
  }
  window.Date.now = () => wall() + more
  window.walkTo = (shift) => { more = shift; window.name = String(shift) }
})()"""
"""A clock that shows another hour, and goes on by it over pages of one tab. [ms]"""
LOOK = """() => {
  const text = (place) => document.querySelector(place)?.innerText ?? ""
  const lines = (place) => text(place).split("\\n")
  const every = [...document.querySelectorAll(".field button, .field label.key")]
  const keys = every.filter((one) => one.checkVisibility())
  const asked = document.querySelector("main h1.asked")?.firstChild?.textContent
  const frames = [document.documentElement, document.querySelector("main")].filter((one) => one !== null)
  const isOver = (one) => one.scrollHeight > one.clientHeight + 1 || one.scrollWidth > one.clientWidth + 1
  return {
    title: asked ?? text("main h1"), alarm: text(".alarm"), step: text("header.above > span"),
    all: document.body.innerText, net: text("header .net"), number: text('[data-key="number"]'),
    right: lines('[data-key="right"]')[0], beside: lines('[data-key="right"]')[1] ?? "",
    keys: keys.map((one) => one.innerText), names: keys.map((one) => one.getAttribute("data-key") ?? ""),
    unit: (text('[data-key="unit"]') || text(".figure .unit")).split("\\n")[0],
    over: frames.filter(isOver).length,
  }
}"""


@dataclass
class Hours:
    """The hour on site, for the server and every device. shift: from the clock of this machine. [s]"""

    file: Path
    shift: float = 0.0

    @classmethod
    def at(cls, file: Path, moment: datetime) -> Hours:
        """Begin at a moment."""
        found = cls(file)
        found.set(moment)
        return found

    @property
    def now(self) -> datetime:
        """What clocks on site show."""
        return datetime.now(UTC) + timedelta(seconds=self.shift)

    def set(self, moment: datetime) -> None:
        """Let it be that moment."""
        self.on((moment - self.now).total_seconds())

    def on(self, seconds: float) -> None:
        """Let time pass. [s]"""
        self.shift += seconds
        beside = self.file.with_suffix(".new")
        beside.write_text(f"{self.shift:.3f}", encoding="utf-8")
        beside.replace(self.file)


@dataclass
class Album:
    """Pictures of the distinct screens that are passed, one of each kind."""

    folder: Path | None = None
    taken: set[str] = field(default_factory=set)

    @classmethod
    def asked(cls) -> Album:
        """Return the album of the environment."""
        folder = os.environ.get(PICTURES, "")
        if not folder:
            return cls()
        Path(folder).mkdir(parents=True, exist_ok=True)
        return cls(Path(folder))

    def look(self, page: Any, kind: str, what: str) -> None:
        """Keep a picture of what is shown, where there is none of its kind yet."""
        if self.folder is None or kind in self.taken:
            return
        self.taken.add(kind)
        name = re.sub(r"[^\w.-]+", "-", f"{len(self.taken):03d} {what} {kind}")[:90]
        page.screenshot(path=str(self.folder / f"{name}.png"))


class Person:
    """Somebody with a device in the hand."""

    def __init__(
        self,
        page: Any,
        hours: Hours,
        album: Album,
        procedure: Procedure,
        way: Mapping[str, str],
        table: Mapping[str, Any],
        *,
        device: str,
    ) -> None:
        self.page, self.hours, self.album, self.device = page, hours, album, device
        self.procedure, self.way, self.table = procedure, way, table
        self.shown = -1.0
        self.over: list[str] = []

    # what is seen and touched

    def see(self) -> dict[str, Any]:
        """Return what the screen shows; keep a picture of it where it is a new one."""
        if self.shown != self.hours.shift:
            self.page.evaluate(f"window.walkTo({1e3 * self.hours.shift:.0f})")
            self.shown = self.hours.shift
        found: dict[str, Any] = self.page.evaluate(LOOK)
        step = found["step"].split(" ")[0]
        kind = "pad" if found["number"] else re.sub(r"[\d.,]+", "", found["title"] or found["alarm"])
        right = found["right"].split(" ")[0]
        if found["over"]:
            self.over.append(f"{step}: {found['title']}")
        self.album.look(self.page, f"{kind} {right}", f"{self.device} {step}")
        return found

    def touch(self, place: str) -> None:
        """Touch a key."""
        self.page.tap(place)

    def key(self, name: str) -> None:
        """Touch the key of that name."""
        self.touch(f'[data-key="{name}"]')

    def choose(self, *words: str) -> None:
        """Touch keys by their words, one after the other, reading on until each is there."""
        for one in words:
            self._found(
                self.page.locator(".field button", has_text=re.compile(f"^{re.escape(one)}", re.I)), one
            )

    def beside(self, words: str) -> Any:
        """Return the keys whose second line begins with some words."""
        small = self.page.locator("small", has_text=re.compile(f"^{re.escape(words)}"))
        return self.page.locator(".field button", has=small)

    def choose_beside(self, words: str) -> None:
        """Touch a key by its second line, as a step by its name in the plan."""
        self._found(self.beside(words), words)

    def _found(self, keys: Any, words: str) -> None:
        for _ in range(MOST_TOUCHES):
            if keys.count():
                break
            assert self.see()["right"].startswith("Read on"), (words, self.see()["all"])
            self.key("right")
        self.see()
        keys.first.tap()
        self.page.wait_for_timeout(20)

    def until(self, holds: Callable[[dict[str, Any]], bool], what: str) -> dict[str, Any]:
        """Wait until the screen shows it."""
        end = time.monotonic() + PATIENCE
        while True:
            with suppress(Exception):
                seen = self.see()
                if holds(seen):
                    return seen
            assert time.monotonic() < end, f"{what} never came: {self.page.inner_text('body')}"
            self.page.wait_for_timeout(30)

    def words(self, words: str) -> dict[str, Any]:
        """Wait until some words are shown."""
        return self.until(lambda seen: words in seen["all"], words)

    def read_on(self) -> dict[str, Any]:
        """Read every page of a screen to its end."""
        seen = self.see()
        while seen["right"].startswith("Read on"):
            self.key("right")
            seen = self.see()
        return seen

    # steps

    def go_to(self, step: str) -> None:
        """Open a step by the list of steps, where it is not the one that is shown."""
        shown = self.see()
        if shown["step"].split(" ")[0] == step and not shown["title"].startswith(("Beside", "Steps")):
            return
        shown = self.read_on()
        title = say(self.procedure.node(step).title, METRIC)
        if shown["right"] == "Next step" and shown["beside"] == title:
            was = shown["step"]
            self.key("right")
            if self.until(lambda seen: seen["step"] != was, "the next step")["step"].split(" ")[0] == step:
                return
            self.read_on()
        self.key("more")
        self.choose("Steps")
        if not self.beside(f"{step},").count():
            self.choose_beside(f"{step[0]},")
        self.choose_beside(f"{step},")
        self.until(lambda seen: seen["step"].split(" ")[0] == step, step)

    def walk(
        self, steps: list[str], seen: list[Taken], instead: Mapping[tuple[str, str], Any] | None = None
    ) -> None:
        """Do some steps as the plan has them. instead: answers that are other than all is well."""
        for step in steps:
            self.step(self.procedure.node(step), seen, instead or {})

    def step(self, node: Node, seen: list[Taken], instead: Mapping[tuple[str, str], Any]) -> None:
        """Answer everything that a step asks, and say that it is done."""
        self.go_to(node.id)
        values = fine(node, self.way, seen, self.procedure.limits)
        pauses = pauses_of(node)
        made: dict[str, datetime] = {}
        open_ = [one for one in node.inputs if one.name in values]
        seen += [Taken(node.id, one.name, values[one.name]) for one in open_]
        for _ in range(4 * MOST_TOUCHES):
            shown = self.read_on()
            right = shown["right"]
            if shown["alarm"]:
                if any(key[0] == node.id for key in instead):
                    return
                raise AssertionError(f"{node.id}: {shown['all']}")
            if right.startswith(("Next step", "Final")):
                assert "Done." in shown["all"] or not open_, shown["all"]
                return
            if right.startswith("Done"):
                self.hours.on(BETWEEN)
                self.see()
                self.key("right")
                self.until(lambda now: now["right"] != "Done" or now["alarm"] != "", "the step done")
                continue
            self.key("right")
            shown = self.see()
            if right.startswith("Turn"):
                self.key("right")
                continue
            if right.startswith("Choose"):
                option = self.way[node.id]
                at = next(c for c in self.procedure.choices if c.id == node.id)
                names = [one[0] for one in at.options]
                place = self.page.locator("main .choice button")
                place.nth(names.index(option)).tap()
                self.until(lambda now: not now["right"].startswith("To the step"), "the choice taken")
                continue
            one = self._asked(node, open_, shown)
            first, seconds = pauses.get(one.name, ("", 0.0))
            if first in made:
                self.hours.on(
                    max(0.0, (made[first] + timedelta(seconds=seconds) - self.hours.now).total_seconds())
                )
            self.hours.on(BETWEEN)
            value = instead.get((node.id, one.name), values[one.name])
            if one.quantity == "time_of_day":
                acts = [name for name in made if name == "act" or name.startswith("act.")]
                value = f"{(made[acts[-1]] if acts else self.hours.now):%H:%M}"
            self.answer(one, value, flow_beside(self.procedure, node, one, values))
            made[one.name] = self.hours.now
            open_.remove(one)
        raise AssertionError(f"{node.id} goes round in circles: {self.see()['all']}")

    def _asked(self, node: Node, open_: list[Any], shown: Mapping[str, Any]) -> Any:
        """Return the input that a screen asks for: the first of those open with the label it bears."""
        head = re.sub(r" \d+ of \d+$", "", shown["title"].split("\n")[0])
        said = (
            head.removesuffix(": wait until it stands")
            .removeprefix("What is to be noted: ")
            .removeprefix("Flow while ")
            .removesuffix(" is read")
        )
        for one in open_:
            if self.label(node, one).casefold() == said.casefold():
                return one
        if open_ and "read with?" in head:
            return open_[0]
        raise AssertionError(f"{node.id} asks for what was not expected: {shown['all']}")

    # answers

    def again(self, step: str, seen: list[Taken], only: tuple[str, ...] = ()) -> None:
        """Answer again what a step asks, from the screen that lists it. only: these inputs; empty: all."""
        node = self.procedure.node(step)
        values = fine(node, self.way, seen, self.procedure.limits)
        asked = [one for one in node.inputs if one.name in values and (not only or one.name in only)]
        for at, one in enumerate(asked):
            if at:
                self.read_on()
                self.key("more")
                self.choose("Answer again")
            self.until(lambda now: "answer again" in now["title"], "answer again")
            self.hours.on(BETWEEN)
            self.choose(self.label(node, one))
            self.answer(one, values[one.name], flow_beside(self.procedure, node, one, values))

    def label(self, node: Node, one: Any) -> str:
        """Return what an input is called on the screen."""
        message = self.procedure.names.get(f"{node.id}/{one.name}")
        return str(one.name) if message is None else say(message, METRIC)

    def answer(self, one: Any, value: Any, flow: float) -> None:
        """Answer one question, screen by screen, until the step is shown again."""
        for _ in range(MOST_TOUCHES):
            shown = self.see()
            title = shown["title"]
            if shown["number"]:
                self._figure(shown, flow if title.startswith("Flow while") else value, one, title)
                if title.startswith("Flow while"):
                    self.until(lambda now: not now["title"].startswith("Flow while"), "the flow taken")
                    continue
                # a question may bear the title of its step
                self.until(lambda now: not now["number"], "the figure taken")
                return self._back_at_step("")
            if "read with?" in title:
                gauge = SECOND if one.name == COMPARED_WITH[1] else str(GAUGE["name"])
                self.choose("No meter" if "meter" in title else gauge)
                self._past(title)
            elif title.endswith("wait until it stands"):
                self._waits(one.stable_for)
            elif "type" in shown["names"]:
                self.key("type")
            elif one.quantity == "photo":
                content = picture(one.name, 640, 480)
                self.page.set_input_files(
                    "#photo", {"name": "seen.png", "mimeType": "image/png", "buffer": content}
                )
                return self._back_at_step(title)
            elif one.quantity == "text":
                self.page.locator("main .choice button").first.tap()
                return self._back_at_step(title)
            elif one.quantity == "yes_no":
                self.choose("Yes" if value else "No")
                return self._back_at_step(title)
            else:
                raise AssertionError(f"{one.name}: {shown['all']}")
        raise AssertionError(f"{one.name} goes round in circles")

    def _past(self, was: str) -> None:
        self.until(lambda now: now["title"] != was, "the next question")

    def _back_at_step(self, was: str) -> None:
        def is_step(now: dict[str, Any]) -> bool:
            if now["title"] == was:
                return False
            return "more" in now["names"] or now["alarm"] != "" or now["right"].startswith("Read on")

        self.until(is_step, "the step")

    def _waits(self, seconds: float) -> None:
        self.key("right")
        self.page.wait_for_timeout(20)
        self.hours.on(seconds + 2.0)
        self.until(lambda now: now["right"].startswith("It stood"), "it stood")
        self.key("right")
        self.until(lambda now: not now["right"].startswith("It stood"), "the next question")

    def _figure(self, shown: Mapping[str, Any], value: Any, one: Any, title: str) -> None:
        if one.quantity == "time_of_day":
            digits = str(value).replace(":", "")
        else:
            quantity = "flow" if title.startswith("Flow while") else one.quantity
            digits = self._digits(float(value), quantity, shown)
        if digits.startswith("-"):
            self.key("number")
        for digit in digits.lstrip("-"):
            self.key(f"digit {digit}")
        self.see()
        self.key("take")

    def _digits(self, value: float, quantity: str, shown: Mapping[str, Any]) -> str:
        """Return the digits of an amount in the unit of the screen, with as many decimals as it shows."""
        number = shown["number"].strip()
        places = len(number.partition(".")[2])
        units = self.table["kinds"].get(quantity, [])
        unit = next((each for each in units if each["unit"] == shown["unit"]), None)
        figure = value if unit is None else (value - unit.get("offset", 0.0)) / unit["factor"]
        text = f"{figure:.{places}f}".replace(".", "")
        bare = text.lstrip("-").lstrip("0") or "0"
        return f"-{bare}" if text.startswith("-") and bare != "0" else bare
