"""A number typed anew does not keep where the old number came from.

What stands beside a value (source, date, how sure, half-width) is said of that value. Where another number is
typed and nothing is said of it, the file says who typed it and when, and that it is estimated.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from steadyhead.services.stations.entry_model import EXTRAS, form_at, quantity_at
from steadyhead.services.stations.steps import Step, draft
from steadyhead.services.stations.typing_in import value_at
from steadyhead.station.load import PLACEHOLDER
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path
from steadyhead.units import UnitError, parse

SURENESS = "estimated"
"""How sure a number is of which nobody said it."""
LONGEST_SOURCE = 400
"""Longest source of a value. [characters]"""
SAME = 1e-9
"""Numbers this close, of one, are the same number in other words."""
_NUMBERS = ("quantity", "number", "pairs")


def typed_by(who: str, day: date) -> str:
    """Return the source of a number that somebody typed and said nothing of.

    Examples
    --------
    >>> typed_by("A. Name", date(2027, 4, 14))
    'typed by A. Name on 2027-04-14'
    """
    return f"typed by {' '.join(who.split())[:100] or 'somebody'} on {day.isoformat()}"


def restated(source: bytes, steps: Sequence[Step], who: str, day: date) -> tuple[Step, ...]:
    """Return steps with, after each number typed anew, those that say where it comes from.

    The same number in another unit keeps what was said of it, and so does what is said anew beside it.

    Parameters
    ----------
    source
        Bytes of the file the steps go on from.
    steps
        As they were typed, in their order.
    who, day
        For the source of a number of which nothing is said.

    Raises
    ------
    Refusal
        A step that cannot be done in the text.
    """
    found: list[Step] = []
    at = 0
    while at < len(steps):
        end = at
        while end < len(steps) and _stays(steps[end]):
            end += 1
        if end > at:
            data = from_tree(draft(source, tuple(found)).root).data
            found += _Run(data, tuple(steps[at:end]), typed_by(who, day)).told()
        found += steps[end : end + 1]
        at = end + 1
    return tuple(found)


def _stays(step: Step) -> bool:
    """Return whether a step leaves every place where it was."""
    return step.do == "set" or (step.do == "remove" and step.at[-1] in EXTRAS)


@dataclass(slots=True)
class _Run:
    """Steps that move no place, on the data before them."""

    data: Any
    steps: tuple[Step, ...]
    source: str
    said: set[Path] = field(default_factory=set)
    gone: set[Path] = field(default_factory=set)
    there: set[Path] = field(default_factory=set)
    sources: dict[Path, str] = field(default_factory=dict)

    def told(self) -> list[Step]:
        found: list[Step] = []
        last = {_of_value(step.at): number for number, step in enumerate(self.steps)}
        for number, step in enumerate(self.steps):
            place = _of_value(step.at)
            if step.do == "remove" and not self.is_there(place):
                continue
            self.note(place, step)
            found.append(step)
            if step.do == "set" and last[place] == number:
                more = [*self.of_quantity(place, step), *self.of_item(place, step)]
                for one in more:
                    self.note(one.at, one, is_said=False)
                found += more
        return found

    def note(self, place: Path, step: Step, *, is_said: bool = True) -> None:
        if is_said:
            self.said.add(place)
        if isinstance(step.value, dict):
            self.said |= {(*place, name) for name in step.value}
            self.there |= {(*place, name) for name in step.value}
        (self.gone if step.do == "remove" else self.there).add(place)
        (self.there if step.do == "remove" else self.gone).discard(place)

    def is_there(self, place: Path) -> bool:
        return place in self.there or (place not in self.gone and value_at(self.data, place) is not None)

    def of_quantity(self, place: Path, step: Step) -> list[Step]:
        """Return the steps that put another source beside a number, in place of the old number's."""
        holder = value_at(self.data, place)
        form = quantity_at(place, self.data)
        if form is None or not isinstance(holder, dict) or not isinstance(step.value, str):
            return []
        if not any(holder.get(name) for name in EXTRAS) or not _is_other(
            holder.get("value"), step.value, form.measure
        ):
            return []
        new = {"source": self.source, "confidence": SURENESS}
        found = []
        for name in EXTRAS:
            at = (*place, name)
            if at in self.said:
                continue
            if name in new:
                found.append(Step(do="set", at=at, value=new[name]))
            elif self.is_there(at):
                found.append(Step(do="remove", at=at))
        return found

    def of_item(self, place: Path, step: Step) -> list[Step]:
        """Return the step that adds to the source of a whole entry, e.g. a limit, which number is new."""
        owner, name = place[:-1], str(place[-1])
        at = (*owner, "source")
        old = value_at(self.data, at)
        form = form_at(place, self.data)
        if form is None or form.kind not in _NUMBERS or not isinstance(old, str) or not old:
            return []
        before = value_at(self.data, place)
        before = before.get("value") if isinstance(before, dict) else before
        if (
            at in self.said
            or form_at(at, self.data) is None
            or not _is_other(before, step.value, form.measure)
        ):
            return []
        words = f"{name.replace('_', ' ')} {self.source}"
        pattern = rf"(^|; ){re.escape(name.replace('_', ' '))} typed by [^;]* on \d{{4}}-\d\d-\d\d"
        kept = re.sub(pattern, "", self.sources.get(at, old)).removeprefix("; ")
        told = f"{kept}; {words}" if kept else words
        self.sources[at] = told if len(told) <= LONGEST_SOURCE else words
        return [Step(do="set", at=at, value=self.sources[at])]


def _of_value(path: Path) -> Path:
    return path[:-1] if len(path) > 1 and path[-1] == "value" and path[0] != "answers" else path


def _is_other(before: object, now: object, measure: str) -> bool:
    """Return whether another number is typed; not where one of them is to be filled in."""
    if before is None or before == PLACEHOLDER or now == PLACEHOLDER or now is None:
        return False
    if not measure or not isinstance(now, str):
        return before != now
    try:
        old, new = parse(str(before), measure), parse(now, measure)
    except UnitError:
        return " ".join(str(before).split()) != " ".join(now.split())
    return old.absolute != new.absolute or abs(old.si - new.si) > SAME * max(abs(old.si), abs(new.si))
