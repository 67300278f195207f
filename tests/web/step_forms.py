"""Forms of a page as a browser has them: read out of its HTML, filled, sent; and a visit walked by them."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from html.parser import HTMLParser
from typing import Any

import httpx
import pytest

from steadyhead.procedure.expression import Taken
from steadyhead.records.procedure import Input, Node, Procedure
from steadyhead.services.entering import making
from steadyhead.services.example_year.clean_answers import fine, flow_beside
from steadyhead.services.example_year.clean_visit import COMPARED_WITH, SECOND
from tests.web.filled import Client

PNG = b"\x89PNG\r\n\x1a\n" + bytes(16)
UNITS = {
    "pressure": ("bar", 1e5, 0.0),
    "flow": ("L/s", 1e-3, 0.0),
    "time": ("s", 1.0, 0.0),
    "length": ("mm", 1e-3, 0.0),
    "volume": ("L", 1e-3, 0.0),
    "temperature": ("°C", 1.0, 273.15),
    "count": ("", 1.0, 0.0),
    "turns": ("turns", 1.0, 0.0),
    "ratio": ("%", 1e-2, 0.0),
    "leak": ("mL/min", 1e-6 / 60.0, 0.0),
}
"""Unit each kind of quantity is typed in, how much of SI it is, and where it begins."""


@dataclass
class PageForm:
    """A form of a page: where it goes, what stands in it, what can be picked, which fields are files."""

    action: str
    texts: dict[str, str] = field(default_factory=dict)
    options: dict[str, list[str]] = field(default_factory=dict)
    files: set[str] = field(default_factory=set)

    def send(self, client: Client, told: Mapping[str, str]) -> httpx.Response:
        """Send it with some fields filled, each of which it must have."""
        assert set(told) <= {*self.texts, *self.files}, set(told) - {*self.texts, *self.files}
        files = dict.fromkeys(self.files & set(told), ("seen.png", PNG))
        texts = {**self.texts, **{name: text for name, text in told.items() if name not in self.files}}
        page = client.post(self.action, data=texts, **({"files": files} if files else {}))
        while page.status_code in (302, 303):
            page = client.get(page.headers["location"])
        return page


class _Forms(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[PageForm] = []
        self._form: PageForm | None = None
        self._select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        got = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._form = PageForm(got.get("action", "").partition("#")[0])
            self.found.append(self._form)
        elif self._form is not None and tag == "option" and self._select:
            self._form.options[self._select].append(got.get("value", "?"))
        elif self._form is not None and got.get("name"):
            self._field(self._form, tag, got["name"], got)

    def _field(self, form: PageForm, tag: str, name: str, got: Mapping[str, str]) -> None:
        if got.get("type") == "file":
            form.files.add(name)
        elif got.get("type") == "radio":
            form.options.setdefault(name, []).append(got["value"])
            form.texts.setdefault(name, "")
        else:
            form.texts[name] = got.get("value", "")
        if tag == "select":
            self._select = name
            form.options[name] = []

    def handle_endtag(self, tag: str) -> None:
        self._form = None if tag == "form" else self._form
        self._select = "" if tag == "select" else self._select


def forms(page: str, **has: str) -> list[PageForm]:
    """Return the forms of a page in which some fields stand as given."""
    return [one for one in _Forms(page).found if has.items() <= one.texts.items()]


def form(page: str, **has: str) -> PageForm:
    """Return the first such form; it must be there."""
    found = forms(page, **has)
    assert found, f"no form with {has}"
    return found[0]


@dataclass
class Clock:
    """Wall clock of who enters by the forms: it goes on as told, and never by itself."""

    now: datetime

    def hang(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Let entries be made by this clock."""
        clock = self

        class Hung(datetime):
            @classmethod
            def now(cls, tz: Any = None) -> Any:
                return clock.now.astimezone(tz)

        monkeypatch.setattr(making, "datetime", Hung)
        monkeypatch.setattr(making, "_running", lambda: round(clock.now.timestamp() % 1e7, 3))

    def wait(self, seconds: float) -> None:
        """Let time pass. [s]"""
        self.now += timedelta(seconds=seconds)


@dataclass
class Walker:
    """Goes through a visit by the form of each step, all well; way: what is chosen; gauge: read with.

    walked: steps whose form was sent; odd: what is typed in place of fine answers, by step: once, and then
    the step is answered again, all well.
    """

    client: Client
    plan: Procedure
    clock: Clock
    way: Mapping[str, str]
    gauge: str
    seen: list[Taken] = field(default_factory=list)
    walked: list[str] = field(default_factory=list)
    odd: dict[str, dict[str, str]] = field(default_factory=dict)

    def walk(self, page: str, most: int = 400) -> str:
        """Send the form of the next step until there is none, and return the last page."""
        for _ in range(most):
            if 'id="next"' not in page:
                return page
            page = self.step(page)
        raise AssertionError(f"{most} forms sent, and still a step is next: {self.walked[-3:]}")

    def step(self, page: str) -> str:
        """Send the form of the step that a page shows, once for each moment at which it is read."""
        shown = form(page[page.index('id="next"') :], act="enter")
        node = self.plan.node(shown.texts["step"])
        slip = self.odd.pop(node.id, {})
        again = self.walked.count(node.id)
        assert again < 2, (node.id, said(page))
        if again:
            self.walked.append(node.id)
            return self._sent(shown, {})
        values = fine(node, self.way, self.seen, self.plan.limits)
        if not slip:
            self.walked.append(node.id)
            self.seen += [Taken(node.id, name, value) for name, value in values.items()]
        fields = {*shown.texts, *shown.files}
        asked = [one for one in node.inputs if f"a.{one.name}" in fields and one.name in values]
        assert {one.name for one in asked} == {one.name for one in node.inputs if one.worked is None}, node.id
        chosen = {"a.@choice": self.way[node.id]} if "a.@choice" in fields else {}
        made: dict[str, datetime] = {}
        for moment in self._moments(node, asked, values):
            told = {f"a.{one.name}": self._typed(one, values[one.name], made) for one in moment}
            told |= self._beside(node, moment, values, shown) | chosen
            told |= {f"a.{name}": text for name, text in slip.items() if f"a.{name}" in told}
            chosen = {}
            page = self._sent(shown, told)
            made |= {one.name: self.clock.now for one in moment}
            if 'id="next"' in page:
                shown = form(page[page.index('id="next"') :], act="enter")
                if shown.texts["step"] != node.id:
                    break
        return page if asked or slip else self._sent(shown, chosen)

    def _sent(self, shown: PageForm, told: Mapping[str, str]) -> str:
        self.clock.wait(48.0)
        page = shown.send(self.client, told)
        assert page.status_code == 200, (shown.texts["step"], told, said(page.text))
        return page.text

    def _moments(
        self, node: Node, asked: list[Input], values: Mapping[str, Any]
    ) -> Iterator[tuple[Input, ...]]:
        """Yield what is read at one moment: with one flow, and nothing that waits for another of them."""
        waits = watches(node)
        group: list[Input] = []
        for one in asked:
            first, seconds = waits.get(one.name, ("", 0.0))
            flow = flow_beside(self.plan, node, one, values)
            other = [each for each in group if each.quantity == "pressure"]
            differs = other and one.quantity == "pressure"
            differs = differs and flow != flow_beside(self.plan, node, other[0], values)
            if group and (first in {each.name for each in group} or differs):
                yield tuple(group)
                group = []
            if first:
                self.clock.wait(seconds)
            group.append(one)
        if group:
            yield tuple(group)

    def _beside(
        self, node: Node, moment: tuple[Input, ...], values: Mapping[str, Any], shown: PageForm
    ) -> dict[str, str]:
        pressures = [one for one in moment if one.quantity == "pressure"]
        if not pressures:
            return {}
        told = {"a.with": self.gauge}
        told |= {f"a.{one.name}.with": SECOND for one in moment if (node.id, one.name) == COMPARED_WITH}
        if "a.stood" in shown.texts and any(one.stable_for for one in pressures):
            told["a.stood"] = f"{max(one.stable_for for one in pressures):g} s"
            told["a.moved"] = f"{max(one.stable_within for one in pressures) / 1e5:.5f} bar"
        if "a.flow" in shown.texts and not any(one.name == "flow" for one in node.inputs):
            told["a.flow"] = f"{flow_beside(self.plan, node, pressures[0], values) * 1e3:.6f} L/s"
        return told

    def _typed(self, one: Input, value: Any, made: Mapping[str, datetime]) -> str:
        if one.quantity == "time_of_day":
            acted = [moment for name, moment in made.items() if name.startswith("act")]
            return f"{(acted or [self.clock.now])[-1]:%H:%M:%S}"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str):
            return value
        unit, size, begins = UNITS[one.quantity]
        return f"{(value - begins) / size:.7g} {unit}".strip()


def watches(node: Node) -> dict[str, tuple[str, float]]:
    """Return for each reading at the end of a watch the one it began with, and how long it lasts. [s]"""
    found = {}
    for refusal in node.refuses:
        for part in refusal.when.get("all", ()):
            if isinstance(part, Mapping) and "lt" in part and "time" in str(part["lt"][0]):
                last, first = (time["time"] for time in part["lt"][0]["sub"])
                found[last] = (first, part["lt"][1] / 0.9)
    return found


def said(page: str) -> str:
    """Return what a page says to what was sent, as far as a message of a failed test needs it."""
    text = page[page.find('<div id="said">') :][:4000]
    return shlex.join(text.split())[:1500]
