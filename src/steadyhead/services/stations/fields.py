"""Entry of every field of a station file: the form, made from the model and the file as it is typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError
from steadyhead.records.design import UsedDefault
from steadyhead.records.station import Station
from steadyhead.services.page_words import on_page
from steadyhead.services.stations.entry_model import (
    EXTRAS,
    FieldForm,
    fields_of,
    part_model,
)
from steadyhead.station.load import PLACEHOLDER
from steadyhead.station.refusal import Path, Refusal, in_words
from steadyhead.units import METRIC, UnitSet, say

TITLES = {
    "station": "Station",
    "water": "Water",
    "supply": "Supply and its main",
    "demand": "Flows",
    "zone": "Consumers and their mains",
    "hot_water": "Heated water",
    "needs": "Pressures needed",
    "limits": "Limits: what each component bears",
    "line": "Line, in the order the water meets its parts",
    "alarm": "High alarm",
    "credited": "Failures credited",
    "events": "Events: what consumers do all at once",
    "stacking": "How tolerances add up",
    "tolerances": "Tolerances",
    "gauges": "Test gauges",
    "equipment": "Equipment of the crew",
    "papers": "Units of the papers",
    "answers": "Answers and accepted findings",
}
"""Headings of the top of the file, in its order."""
ONE_OF = {
    "needs": "need",
    "limits": "limit",
    "credited": "credited failure",
    "events": "event",
    "gauges": "gauge",
    "answers": "answer",
    "reaches": "reach",
    "observed": "observation",
    "branches": "branch",
    "line": "part",
}


class ProblemView(BaseModel):
    """What cannot be used: the field in words, its place as forms name it, line, what was got, the remedy."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    field: str
    at: str
    line: int
    problem: str
    remedy: str


class ExtraView(BaseModel):
    """What stands beside a value: where it comes from, when, how sure, its half-width."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: str
    name: str
    value: str
    choices: tuple[str, ...] = ()


class RowView(BaseModel):
    """One field as a form shows it.

    at: its place, keys and indices joined by dots; value: as typed, empty where left out; values: of a list
    of words, those chosen; otherwise: what holds where it is left out, with where that comes from.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: str
    name: str
    purpose: str
    kind: str
    value: str
    required: bool
    choices: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    such: str = ""
    most: int = 0
    otherwise: str = ""
    provenance: str = ""
    extras: tuple[ExtraView, ...] = ()
    problems: tuple[ProblemView, ...] = ()


class GroupView(BaseModel):
    """A block, a list, or an item of a list.

    kind: *block* of fields, *list* of items, *item* of a list, *absent*: an optional block not in the file;
    filled, total: fields filled in and all of them; add: what can be added, (value, words); count: items
    beside this one, itself counted; index: its place among them.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: str
    title: str
    purpose: str
    kind: Literal["block", "list", "item", "absent"]
    rows: tuple[RowView, ...] = ()
    groups: tuple[GroupView, ...] = ()
    add: tuple[tuple[str, str], ...] = ()
    one: str = ""
    can_go: bool = False
    index: int = 0
    count: int = 0
    filled: int = 0
    total: int = 0
    problems: tuple[ProblemView, ...] = ()
    wrong: int = 0


class FormView(BaseModel):
    """Every field of a station file, grouped as the file is, and what cannot be used."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    groups: tuple[GroupView, ...]
    problems: tuple[ProblemView, ...]


def at_words(path: Path) -> str:
    """Return a path as forms name it.

    Examples
    --------
    >>> at_words(("line", 4, "trip"))
    'line.4.trip'
    """
    return ".".join(str(step) for step in path)


def read_at(words: str) -> Path:
    """Return the path that `at_words` wrote."""
    return tuple(int(step) if step.isdecimal() else step for step in words.split(".") if step)


def problems_of(errors: Iterable[InputError], data: object = None) -> tuple[ProblemView, ...]:
    """Return what cannot be used as forms show it; `data` gives places the words of their parts."""
    found = []
    for one in errors:
        path = one.path if isinstance(one, Refusal) else ()
        line = one.line if isinstance(one, Refusal) else 0
        words = in_words(path, data) if path and data is not None else one.field
        found.append(
            ProblemView(
                field=words,
                at=at_words(_of_value(path)),
                line=line,
                problem=one.problem,
                remedy=on_page(one.remedy),
            )
        )
    return tuple(found)


def _of_value(path: Path) -> Path:
    return path[:-1] if path and path[-1] == "value" and path[0] != "answers" else path


def form_of(
    data: Mapping[str, Any],
    problems: Sequence[ProblemView] = (),
    defaults: Sequence[UsedDefault] = (),
    units: UnitSet = METRIC,
) -> FormView:
    """Return the form of a file's plain data, good or bad.

    Parameters
    ----------
    data
        Plain data of the file, as typed.
    problems
        What cannot be used; each is put beside its field.
    defaults
        What the design used where nobody stated a value; shown beside the empty field.
    units
        Of the defaults.
    """
    maker = _Maker(dict(data), _by_place(problems), _by_field(defaults), units)
    return FormView(groups=maker.top(), problems=tuple(problems))


@dataclass(slots=True)
class _Maker:
    data: dict[str, Any]
    problems: dict[str, list[ProblemView]]
    defaults: dict[tuple[str, str], UsedDefault]
    units: UnitSet
    told: set[str] = field(default_factory=set)

    def top(self) -> tuple[GroupView, ...]:
        found: list[GroupView] = []
        loose: list[RowView] = []
        for form in fields_of(Station):
            if form.name == "format":
                continue
            if form.kind in ("block", "list", "parts"):
                group = self.group(form, (form.name,), self.data.get(form.name), "")
                found.append(_with_rows(group, tuple(loose), TITLES.get(form.name, "")))
                loose = []
            else:
                loose.append(self.row(form, (form.name,), self.data.get(form.name), ""))
        return tuple(found)

    def group(self, form: FieldForm, path: Path, value: object, owner: str) -> GroupView:
        if form.kind != "block":
            return self.list(form, path, value)
        if value is None and not form.required:
            return self._sealed(
                at=at_words(path),
                title=_title(form.name),
                purpose=form.purpose,
                kind="absent",
                one=_title(form.name).lower(),
            )
        assert form.model is not None
        rows, groups = self.inside(form.model, path, value, owner)
        return self._sealed(
            at=at_words(path),
            title=_title(form.name),
            purpose=form.purpose,
            kind="block",
            rows=rows,
            groups=groups,
            can_go=not form.required,
        )

    def list(self, form: FieldForm, path: Path, value: object) -> GroupView:
        items = value if isinstance(value, list) else []
        found = [self.item(form, (*path, index), item, len(items)) for index, item in enumerate(items)]
        one = ONE_OF.get(form.name, "entry")
        if form.kind == "parts":
            add = tuple((name, name.replace("_", " ")) for name in form.choices)
        else:
            add = (("", one),)
        return self._sealed(
            at=at_words(path),
            title=_title(form.name),
            purpose=form.purpose,
            kind="list",
            groups=tuple(found),
            add=() if form.most and len(items) >= form.most else add,
            one=one,
            count=len(items),
        )

    def item(self, form: FieldForm, path: Path, item: object, count: int) -> GroupView:
        model = part_model(item) if form.kind == "parts" else form.model
        owner = in_words(path, self.data) if form.kind == "parts" else ""
        rows, groups = self.inside(model, path, item, owner) if model is not None else ((), ())
        if form.kind == "parts":
            rows = tuple(row for row in rows if row.name != "part")
        place = path[-1]
        return self._sealed(
            at=at_words(path),
            title=item_title(item, ONE_OF.get(form.name, "entry"), int(place)),
            purpose="",
            kind="item",
            rows=rows,
            groups=groups,
            can_go=True,
            index=int(place),
            count=count,
        )

    def inside(
        self, model: type[BaseModel], path: Path, value: object, owner: str
    ) -> tuple[tuple[RowView, ...], tuple[GroupView, ...]]:
        holder = value if isinstance(value, dict) else {}
        rows, groups = [], []
        for form in fields_of(model):
            here = (*path, form.name)
            if form.kind in ("block", "list", "parts"):
                groups.append(self.group(form, here, holder.get(form.name), owner))
            else:
                rows.append(self.row(form, here, holder.get(form.name), owner))
        return tuple(rows), tuple(groups)

    def row(self, form: FieldForm, path: Path, value: object, owner: str) -> RowView:
        at = at_words(path)
        extras: tuple[ExtraView, ...] = ()
        if form.kind == "quantity" and isinstance(value, dict):
            extras = tuple(_extra(path, name, value) for name in EXTRAS)
            value = value.get("value")
        values = (
            tuple(str(one) for one in value) if isinstance(value, list) and form.kind == "several" else ()
        )
        otherwise, provenance = self.otherwise(form, path, owner) if value is None else ("", "")
        return RowView(
            at=at,
            name=form.name.replace("_", " "),
            purpose=form.purpose,
            kind=form.kind,
            value=as_text(value) if form.kind != "several" else "",
            values=values,
            required=form.required,
            choices=form.choices,
            such=form.such,
            most=form.most,
            otherwise=otherwise,
            provenance=provenance,
            extras=extras,
            problems=self.beside(at, extras),
        )

    def otherwise(self, form: FieldForm, path: Path, owner: str) -> tuple[str, str]:
        """Return what holds where a field is left out, and where that comes from."""
        words = form.name.replace("_", " ")
        used = self.defaults.get((in_words(path, self.data), "")) or self.defaults.get((owner, words))
        if used is not None and not form.otherwise:
            return say(used.si, used.kind, self.units), used.provenance
        return form.otherwise, ""

    def beside(self, at: str, extras: tuple[ExtraView, ...] = ()) -> tuple[ProblemView, ...]:
        found = [*self.problems.get(at, ()), *(p for one in extras for p in self.problems.get(one.at, ()))]
        self.told |= {one.at for one in found}
        return tuple(found)

    def _sealed(self, *, at: str, rows: Any = (), groups: Any = (), **given: Any) -> GroupView:
        """Return a group that counts its fields, and shows what of it cannot be used and has no field."""
        own = tuple(self.problems.get(at, ()))
        below = {row.at for row in rows} | {group.at for group in groups}
        own += tuple(
            problem
            for place, told in self.problems.items()
            if place.startswith(f"{at}.") and not any(place == b or place.startswith(f"{b}.") for b in below)
            for problem in told
        )
        return GroupView(
            at=at,
            rows=rows,
            groups=groups,
            problems=own,
            filled=sum(bool(row.value or row.values) for row in rows) + sum(g.filled for g in groups),
            total=len(rows) + sum(group.total for group in groups),
            wrong=len(own) + sum(len(row.problems) for row in rows) + sum(group.wrong for group in groups),
            **given,
        )


def _with_rows(group: GroupView, rows: tuple[RowView, ...], title: str) -> GroupView:
    more = {"rows": (*rows, *group.rows), "title": title or group.title}
    wrong = group.wrong + sum(len(row.problems) for row in rows)
    filled = group.filled + sum(bool(row.value) for row in rows)
    counts = {"wrong": wrong, "filled": filled, "total": group.total + len(rows)}
    return group.model_copy(update=more | counts)


def item_title(item: object, one: str, index: int) -> str:
    """Return what an item of a list is called: its part and id, its component, its name.

    Examples
    --------
    >>> item_title({"part": "isolating_valve", "id": "IV1", "name": "inlet"}, "part", 0)
    'isolating valve IV1, inlet'
    """
    if not isinstance(item, dict):
        return f"{one} {index + 1}"
    part = item.get("part")
    words = part.replace("_", " ") if isinstance(part, str) else ""
    name = next(
        (
            str(item[key])
            for key in ("id", "component", "failure", "at", "to", "lift")
            if isinstance(item.get(key), str) and item[key] not in ("", "?")
        ),
        "",
    )
    head = " ".join(word for word in (words or one, name or str(index + 1)) if word)
    called = item.get("name")
    return f"{head}, {called}" if isinstance(called, str) and called else head


def as_text(value: object) -> str:
    """Return a value as an entry shows it: pairs as ``0 0, 1 1``, what is to be filled in as nothing."""
    if value is None or value == PLACEHOLDER:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(
            " ".join(str(part) for part in one) if isinstance(one, list) else str(one) for one in value
        )
    if isinstance(value, dict):
        return ", ".join(f"{key}: {as_text(inner)}" for key, inner in value.items())
    return str(value)


def _extra(path: Path, name: str, value: Mapping[str, Any]) -> ExtraView:
    from steadyhead.records.quantities import CONFIDENCE

    choices = CONFIDENCE if name == "confidence" else ()
    return ExtraView(
        at=at_words((*path, name)),
        name=name.replace("plus_minus", "±"),
        value=as_text(value.get(name)),
        choices=choices,
    )


def _title(name: str) -> str:
    words = name.replace("_", " ")
    return TITLES[name] if name in TITLES and name != "line" else words[:1].upper() + words[1:]


def _by_place(problems: Sequence[ProblemView]) -> dict[str, list[ProblemView]]:
    found: dict[str, list[ProblemView]] = {}
    for one in problems:
        found.setdefault(one.at, []).append(one)
    return found


def _by_field(defaults: Sequence[UsedDefault]) -> dict[tuple[str, str], UsedDefault]:
    """Return defaults by place alone, where that is a field, and by part and field."""
    found: dict[tuple[str, str], UsedDefault] = {}
    for one in defaults:
        found.setdefault((one.where, one.what), one)
        found.setdefault((one.where, ""), one)
    return found
