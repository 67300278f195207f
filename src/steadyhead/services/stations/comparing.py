"""Two revisions of a station file beside each other: value by value, and what that does to the ladder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from math import isclose
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from steadyhead.services.page_words import field_words, place_words
from steadyhead.services.stations.entry_model import FieldForm, form_at
from steadyhead.services.stations.fields import as_text, at_words, item_title
from steadyhead.services.stations.judged import FindingView, finding_view, judge_at, today
from steadyhead.services.stations.rungs import RungView, WindowView, rungs_of, windows_of
from steadyhead.services.stations.summary import is_lumped
from steadyhead.station.atmosphere import at_station
from steadyhead.station.refusal import Path, in_words
from steadyhead.units import METRIC, UnitError, UnitSet, parse, say_typed

Kind = Literal["changed", "added", "removed", "moved", "anew"]
"""What a difference is; anew: the same value in another writing, as 8.6 bar and 8,6 bar."""
SAME = 1e-9
"""Values that differ by less than this share of themselves are one."""
NAMES = ("id", "component", "failure", "at", "to", "lift")
"""Fields that tell the items of a list apart."""


class DifferenceView(BaseModel):
    """One difference: the place in words, what it is, and the value before and after.

    at: place in the later file, of what was removed in the earlier; typed_was, typed_now: as typed.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: str
    field: str
    kind: Kind
    was: str
    now: str
    typed_was: str = ""
    typed_now: str = ""


class ComparedView(BaseModel):
    """Two files beside each other. was_lumped, now_lumped: its ladder is not proved."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    differences: tuple[DifferenceView, ...]
    rungs: tuple[RungView, ...]
    windows: tuple[WindowView, ...]
    came: tuple[FindingView, ...]
    went: tuple[FindingView, ...]
    only_text: bool
    was_lumped: bool = False
    now_lumped: bool = False


def compared(old: bytes, new: bytes, units: UnitSet = METRIC, day: date | None = None) -> ComparedView:
    """Return what a later file says otherwise than an earlier one.

    only_text: the bytes differ, but not what they say: comments, order of keys, spelling.

    Raises
    ------
    InputErrors
        One of them cannot be used.
    """
    day = day or today()
    before, after = judge_at(old, day), judge_at(new, day)
    found = differences(before.loaded.data, after.loaded.data, units)
    was = {(f.code, f.subject, f.severity.value): f for f in before.sheet.findings}
    now = {(f.code, f.subject, f.severity.value): f for f in after.sheet.findings}
    return ComparedView(
        differences=found,
        rungs=rungs_of(after, before, units),
        windows=windows_of(after, before, units),
        came=tuple(finding_view(one, units) for key, one in now.items() if key not in was),
        went=tuple(finding_view(one, units) for key, one in was.items() if key not in now),
        only_text=not found and old != new,
        was_lumped=is_lumped(before),
        now_lumped=is_lumped(after),
    )


def differences(
    old: Mapping[str, Any], new: Mapping[str, Any], units: UnitSet = METRIC
) -> tuple[DifferenceView, ...]:
    """Return every difference between the plain data of two station files, in the order of the later one.

    Items of a list are the same where they have the same id or name; a list without names is compared place
    by place.
    """
    return tuple(_Comparing(dict(old), dict(new), units).maps((), (), old, new))


class _Comparing:
    def __init__(self, old: dict[str, Any], new: dict[str, Any], units: UnitSet) -> None:
        self.old, self.new, self.units = old, new, units
        self.air = {id(old): _air(old), id(new): _air(new)}

    def maps(
        self, at_old: Path, at_new: Path, old: Mapping[str, Any], new: Mapping[str, Any]
    ) -> Iterator[DifferenceView]:
        for key in [*new, *(key for key in old if key not in new)]:
            yield from self.values((*at_old, key), (*at_new, key), old.get(key), new.get(key))

    def values(self, at_old: Path, at_new: Path, old: object, new: object) -> Iterator[DifferenceView]:
        if old == new:
            return
        form = form_at(at_new, self.new) or form_at(at_old, self.old)
        if form is not None and form.kind == "quantity" and old is not None and new is not None:
            yield from self.quantity(at_old, at_new, old, new, form)
        elif isinstance(old, dict) and isinstance(new, dict):
            yield from self.maps(at_old, at_new, old, new)
        elif _is_list(old) and _is_list(new) and (form is None or form.kind in ("list", "parts")):
            yield from self.lists(at_old, at_new, _list(old), _list(new))
        else:
            yield self.one(at_old, at_new, old, new, form)

    def quantity(
        self, at_old: Path, at_new: Path, old: object, new: object, form: FieldForm
    ) -> Iterator[DifferenceView]:
        was = old if isinstance(old, dict) else {"value": old}
        now = new if isinstance(new, dict) else {"value": new}
        if was.get("value") != now.get("value"):
            found = self.one(at_old, at_new, was.get("value"), now.get("value"), form)
            yield _anew(found) if self.is_one(was.get("value"), now.get("value"), form) else found
        for key in ("source", "date", "confidence", "plus_minus"):
            if was.get(key) != now.get(key):
                yield self.one((*at_old, key), (*at_new, key), was.get(key), now.get(key), None)

    def is_one(self, old: object, new: object, form: FieldForm) -> bool:
        """Return whether two writings say the same value."""
        if not isinstance(old, str) or not isinstance(new, str):
            return False
        try:
            was, now = parse(old, form.measure), parse(new, form.measure)
        except UnitError:
            return False
        air = [self.air[id(data)] * one.absolute for one, data in ((was, self.old), (now, self.new))]
        return isclose(was.si - air[0], now.si - air[1], rel_tol=SAME)

    def lists(
        self, at_old: Path, at_new: Path, old: Sequence[Any], new: Sequence[Any]
    ) -> Iterator[DifferenceView]:
        before, after = _named(old), _named(new)
        for name, (place, item) in after.items():
            here = (*at_new, place)
            if name not in before:
                yield self.one(here, here, None, item, None)
                continue
            was, known = before[name]
            yield from self.values((*at_old, was), here, known, item)
        for name, (place, item) in before.items():
            if name not in after:
                here = (*at_old, place)
                yield self.one(here, here, item, None, None)
        yield from self.order(at_old, at_new, before, after)

    def order(
        self,
        at_old: Path,
        at_new: Path,
        before: Mapping[str, tuple[int, Any]],
        after: Mapping[str, tuple[int, Any]],
    ) -> Iterator[DifferenceView]:
        """Yield the items that stand elsewhere among those that both files have."""
        was = [name for name in before if name in after]
        now = [name for name in after if name in before]
        still = set(_longest_run([was.index(name) for name in now]))
        for place, name in enumerate(now):
            if was.index(name) in still:
                continue
            item = after[name]
            yield DifferenceView(
                at=at_words((*at_new, item[0])),
                field=_field((*at_new, item[0]), self.new),
                kind="moved",
                was=_after(before, was, was.index(name)),
                now=_after(after, now, place),
            )

    def one(
        self, at_old: Path, at_new: Path, old: object, new: object, form: FieldForm | None
    ) -> DifferenceView:
        kind: Kind = "added" if old is None else "removed" if new is None else "changed"
        path, data = (at_old, self.old) if new is None else (at_new, self.new)
        return DifferenceView(
            at=at_words(path),
            field=_field(path, data),
            kind=kind,
            was=self.say(old, form, self.old),
            now=self.say(new, form, self.new),
            typed_was=as_text(old),
            typed_now=as_text(new),
        )

    def say(self, value: object, form: FieldForm | None, data: dict[str, Any]) -> str:
        """Return a value in the reader's units, with what was typed where that is another unit."""
        if value is None:
            return ""
        if isinstance(value, dict) and form is not None and form.kind == "quantity":
            value = value.get("value")
        typed = as_text(value)
        if form is None or form.kind != "quantity" or not isinstance(value, str):
            return _whole(value) if isinstance(value, dict) else typed
        if form.measure == "ratio" and "%" not in value:
            return typed  # a plain number, as a bore over its wall: never said as per cent
        try:
            parsed = parse(value, form.measure)
        except UnitError:
            return typed
        si = parsed.si - self.air[id(data)] if parsed.absolute else parsed.si
        said = say_typed(si, value, form.measure, self.units)
        return said if typed in said else f"{said}, typed {typed}"


def _anew(found: DifferenceView) -> DifferenceView:
    """Return a difference of writing alone, as both were typed."""
    return found.model_copy(update={"kind": "anew", "was": found.typed_was, "now": found.typed_now})


def _field(path: Path, data: dict[str, Any]) -> str:
    """Return where a difference stands, as a person reads the file; an answer by what it answers."""
    if len(path) < 2 or path[0] != "answers" or not isinstance(path[1], int):
        return in_words(path, data)
    item = data["answers"][path[1]]
    at = f", {place_words(str(item['at']))}" if item.get("at") else ""
    rest = f": {field_words(' '.join(map(str, path[2:])))}" if path[2:] else ""
    return f"answer to {item.get('to', path[1] + 1)}{at}{rest}"


def _whole(item: dict[str, Any]) -> str:
    """Return an added or removed block in words: what it is called, then its fields."""
    is_answer = "answer" in item
    title = item_title(item, "", 0) if any(name in item for name in NAMES) and not is_answer else ""
    left = ("part", "name", *NAMES) if title else ("to", "at", "value") if is_answer else ()
    rest = [f"{field_words(name)}: {as_text(one)}" for name, one in item.items() if name not in left]
    return ": ".join(one for one in (title, ", ".join(rest)) if one)


def _air(data: dict[str, Any]) -> float:
    return at_station(data)


def _is_list(value: object) -> bool:
    return value is None or isinstance(value, list)


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _named(items: Sequence[Any]) -> dict[str, tuple[int, Any]]:
    """Return the items by name; of those without one, or of the same, by place too."""
    found: dict[str, tuple[int, Any]] = {}
    for place, item in enumerate(items):
        name = ""
        if isinstance(item, dict):
            name = next((str(item[key]) for key in NAMES if isinstance(item.get(key), str)), "")
        key = name or f"#{place}"
        while key in found:
            key += "'"
        found[key] = (place, item)
    return found


def _after(items: Mapping[str, tuple[int, Any]], order: Sequence[str], place: int) -> str:
    if place == 0:
        return "first"
    return f"behind {item_title(items[order[place - 1]][1], 'entry', place - 1)}"


def _longest_run(numbers: Sequence[int]) -> list[int]:
    """Return the longest rising run that can be picked from numbers in their order."""
    best: list[list[int]] = []
    for number in numbers:
        before = max((run for run in best if run[-1] < number), key=len, default=[])
        best.append([*before, number])
    return max(best, key=len, default=[])
