"""Mutants of what plans judge by: predicates, bands, needs, proofs and what they rest on, what is minded.

A row is found by step, field and name, not by number, so that one change fits every plan that has the row.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from devtools.mutants.model import Mutant
from steadyhead.records.procedure import Message, Node, Procedure

LISTS = ("touches", "proves", "depends_on", "opens", "restores")
PREDICATES = ("refuses", "otherwise")
INPUT_FLAGS = ("traced",)
INPUT_NUMBERS = ("error_most", "stable_for", "stable_within")
TURNED = {"lt": "ge", "ge": "lt", "gt": "le", "le": "gt", "eq": "ne", "ne": "eq", "all": "any", "any": "all"}
MOVED = (1.1, 0.9)
"""A number or a limit is moved by a tenth, either way."""


@dataclass(frozen=True, slots=True)
class Row:
    """Where in a plan: step (empty: the plan), field, name in it, way into a predicate; and the change."""

    node: str
    field: str
    name: str
    path: tuple[str | int, ...]
    change: str

    @property
    def text(self) -> str:
        """The id of the row's text or its name: tests that speak of the row name it."""
        return self.name.partition("#")[0]


def rows(procedure: Procedure) -> Iterator[tuple[Row, str, str]]:
    """Yield every row of a plan that can be changed, with what it says before and after."""
    for node in procedure.nodes:
        yield from _of_node(node)
    for name, value in procedure.limits.items():
        for factor in MOVED:
            yield Row("", "limits", name, (), f"by {factor}"), f"{value:g}", f"{value * factor:g}"
    for name in sorted(procedure.never):
        yield Row("", "never", name, (), "left out"), name, ""
    for kind in ("things", "left", "shields", "keeps", "ranges"):
        for one in getattr(procedure.minding, kind):
            yield from _minded(kind, one)


def _of_node(node: Node) -> Iterator[tuple[Row, str, str]]:
    for kind in LISTS:
        for name in getattr(node, kind):
            yield Row(node.id, kind, name, (), "left out"), name, ""
    for path, need in _needed(node.needs):
        yield Row(node.id, "needs", need, path, "left out"), need, ""
    for kind in PREDICATES:
        for name, rule in named(getattr(node, kind)):
            told = _shown(rule.when)
            yield Row(node.id, kind, name, (), "left out"), told, ""
            yield Row(node.id, kind, name, (), "negated"), told, _shown({"not": rule.when})
            for path, change, now in _changes(rule.when):
                yield Row(node.id, kind, name, path, change), told, _shown(now)
    for one in node.inputs:
        yield from _of_input(node, one)
    for name, band in expected(node):
        for edge in ("low", "high"):
            value = getattr(band, edge)
            if value:
                for factor in MOVED:
                    row = Row(node.id, "expect", name, (edge,), f"by {factor}")
                    yield row, f"{band.input} {edge} {value:g}", f"{value * factor:g}"


def _of_input(node: Node, one: Any) -> Iterator[tuple[Row, str, str]]:
    for flag in INPUT_FLAGS:
        if getattr(one, flag):
            yield Row(node.id, "inputs", one.name, (flag,), "left out"), f"{one.name} {flag}", ""
    for number in INPUT_NUMBERS:
        if value := getattr(one, number):
            for factor in MOVED:
                row = Row(node.id, "inputs", one.name, (number,), f"by {factor}")
                yield row, f"{one.name} {number} {value:g}", f"{value * factor:g}"
    for key in one.carries:
        yield Row(node.id, "inputs", one.name, ("carries", key), "left out"), f"{one.name} carries {key}", ""
    for kind in ("unless", "worked"):
        told = getattr(one, kind)
        if told is None:
            continue
        yield Row(node.id, "inputs", one.name, (kind,), "left out"), f"{kind} {_shown(told)}", ""
        for path, change, now in _changes(told):
            yield Row(node.id, "inputs", one.name, (kind, *path), change), _shown(told), _shown(now)


def _minded(kind: str, one: Any) -> Iterator[tuple[Row, str, str]]:
    name = name_of(one)
    yield Row("", kind, name, (), "left out"), _shown_record(one), ""
    if is_dataclass(one):
        for each in fields(one):
            value = getattr(one, each.name)
            if isinstance(value, tuple):
                for part in value:
                    yield Row("", kind, name, (each.name, part), "left out"), f"{name} {each.name} {part}", ""
            elif isinstance(value, bool) and value:
                yield Row("", kind, name, (each.name,), "left out"), f"{name} {each.name}", ""
            elif isinstance(value, float) and value:
                for factor in MOVED:
                    row = Row("", kind, name, (each.name,), f"by {factor}")
                    yield row, f"{name} {each.name} {value:g}", f"{value * factor:g}"


def name_of(one: Any) -> str:
    """Return the name of what is minded."""
    if isinstance(one, str):
        return one
    for each in ("thing", "proof"):
        if hasattr(one, each):
            return str(getattr(one, each))
    return f"{one.step}/{one.input}"


def named(rows: Iterable[Any]) -> list[tuple[str, Any]]:
    """Return refusals or other meanings by the id of their text, numbered where it comes again."""
    found: list[tuple[str, Any]] = []
    for one in rows:
        message: Message = getattr(one, "message", None) or one.see
        n = sum(name.partition("#")[0] == message.id for name, _ in found)
        found.append((f"{message.id}#{n}" if n else message.id, one))
    return found


def expected(node: Node) -> list[tuple[str, Any]]:
    """Return the bands of a step by their input, numbered where it comes again."""
    found: list[tuple[str, Any]] = []
    for one in node.expect:
        n = sum(name.partition("#")[0] == one.input for name, _ in found)
        found.append((f"{one.input}#{n}" if n else one.input, one))
    return found


def _needed(needs: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    for word, parts in needs.items():
        for at, part in enumerate(parts):
            if isinstance(part, str):
                yield (*path, word, at), part
            else:
                yield from _needed(part, (*path, word, at))


def _changes(whole: Any) -> Iterator[tuple[tuple[str | int, ...], str, Any]]:
    """Yield path, change and the predicate then: a comparison turned, a number or a limit moved."""
    for path, part, key in _parts(whole, (), ""):
        if isinstance(part, Mapping):
            word = next(iter(part), "")
            if word in TURNED and not (word in ("all", "any") and len(part[word]) < 2):
                yield path, "turned", put(whole, path, changed(part, "turned"))
            if word == "limit":
                yield path, "by 1.1", put(whole, path, changed(part, "by 1.1"))
        elif isinstance(part, int | float) and not isinstance(part, bool) and part and key != "back":
            yield path, "by 1.1", put(whole, path, changed(part, "by 1.1"))


def _parts(
    one: Any, path: tuple[str | int, ...], key: str
) -> Iterator[tuple[tuple[str | int, ...], Any, str]]:
    yield path, one, key
    if isinstance(one, Mapping):
        for word, part in one.items():
            if word not in (
                "value",
                "given",
                "expect",
                "carried",
                "time",
                "order",
                "instrument",
                "entry",
                "of",
            ):
                yield from _parts(part, (*path, word), word)
    elif isinstance(one, list | tuple):
        for at, part in enumerate(one):
            yield from _parts(part, (*path, at), key)


def changed(part: Any, change: str) -> Any:
    """Return one part of a predicate after its change."""
    if change == "negated":
        return {"not": part}
    if change == "turned":
        word = next(iter(part))
        return {TURNED[word]: part[word]}
    factor = float(change.removeprefix("by "))
    return {"mul": [factor, part]} if isinstance(part, Mapping) else part * factor


def put(one: Any, path: tuple[str | int, ...], value: Any) -> Any:
    """Return a nest of maps and lists with one part in it put in place.

    >>> put({"all": [1, {"lt": [2, 3]}]}, ("all", 1, "lt", 0), 9)
    {'all': [1, {'lt': [9, 3]}]}
    """
    if not path:
        return value
    head, rest = path[0], path[1:]
    if isinstance(one, Mapping):
        return {key: put(part, rest, value) if key == head else part for key, part in one.items()}
    return [put(part, rest, value) if at == head else part for at, part in enumerate(one)]


def got(one: Any, path: tuple[str | int, ...]) -> Any:
    """Return the part of a nest at the end of a path; raise `LookupError` where there is none."""
    for step in path:
        if not isinstance(one, Mapping | list | tuple):
            raise LookupError(step)
        one = one[step]  # type: ignore[index]
    return one


def sample(procedures: Iterable[Procedure], n: int, seed: int) -> list[Mutant]:
    """Return at most n mutants of each field, drawn with the seed from the rows of all the plans."""
    every: dict[str, dict[Row, Mutant]] = {}
    for procedure in procedures:
        for row, before, after in rows(procedure):
            group = f"plan {row.field}"
            told = before if row.change == "left out" else f"{before} → {after}"
            where = f"{row.node or 'plan'} {row.name}"
            mine = every.setdefault(group, {})
            if row not in mine:
                mine[row] = Mutant(group, where, f"{where}: {before}", _after(row, told), row)
    found = []
    for group in sorted(every):
        pool = sorted(every[group].values(), key=lambda one: (one.place, one.after))
        random.Random(f"{seed} {group}").shuffle(pool)
        found += pool[:n]
    return found


def _after(row: Row, told: str) -> str:
    return f"{'/'.join(map(str, row.path))} {row.change}: {told}".strip()


def _shown(predicate: Any) -> str:
    return json.dumps(predicate, ensure_ascii=False, default=str)


def _shown_record(one: Any) -> str:
    return one if isinstance(one, str) else repr(one)


Changer = Callable[[Procedure], Procedure]


def changer(row: Row) -> Changer:
    """Return what changes a plan as a row says; a plan without that row stays as it is."""

    def change(procedure: Procedure) -> Procedure:
        if row.node:
            nodes = tuple(_node(node, row) if node.id == row.node else node for node in procedure.nodes)
            return replace(procedure, nodes=nodes)
        if row.field == "limits":
            factor = float(row.change.removeprefix("by "))
            limits = {k: v * factor if k == row.name else v for k, v in procedure.limits.items()}
            return replace(procedure, limits=limits)
        if row.field == "never":
            return replace(procedure, never=procedure.never - {row.name})
        told = tuple(_kept(getattr(procedure.minding, row.field), row))
        return replace(procedure, minding=replace(procedure.minding, **{row.field: told}))

    return change


def _kept(minded: Iterable[Any], row: Row) -> Iterator[Any]:
    for one in minded:
        if name_of(one) != row.name:
            yield one
        elif row.path:
            yield _with(one, row)


def _with(one: Any, row: Row) -> Any:
    name = str(row.path[0])
    value = getattr(one, name)
    if isinstance(value, tuple):
        return replace(one, **{name: tuple(part for part in value if part != row.path[1])})
    if isinstance(value, bool):
        return replace(one, **{name: False})
    return replace(one, **{name: value * float(row.change.removeprefix("by "))})


def _node(node: Node, row: Row) -> Node:
    if row.field in LISTS:
        kept = tuple(name for name in getattr(node, row.field) if name != row.name)
        return replace(node, **{row.field: kept})  # type: ignore[arg-type]
    if row.field == "needs":
        return _without_need(node, row)
    if row.field in PREDICATES:
        told = tuple(each for name, one in named(getattr(node, row.field)) for each in _ruled(name, one, row))
        return replace(node, **{row.field: told})  # type: ignore[arg-type]
    if row.field == "inputs":
        return replace(
            node, inputs=tuple(_input(one, row) if one.name == row.name else one for one in node.inputs)
        )
    return replace(node, expect=tuple(_band(name, one, row) for name, one in expected(node)))


def _band(name: str, one: Any, row: Row) -> Any:
    edge = str(row.path[0])
    value = getattr(one, edge)
    if name != row.name or not value:
        return one
    return replace(one, **{edge: value * float(row.change.removeprefix("by "))})


def _without_need(node: Node, row: Row) -> Node:
    try:
        parts = got(node.needs, row.path[:-1])
    except (LookupError, TypeError):
        return node
    return replace(node, needs=put(node.needs, row.path[:-1], [part for part in parts if part != row.name]))


def _ruled(name: str, one: Any, row: Row) -> Iterator[Any]:
    if name != row.name:
        yield one
    elif row.change != "left out":
        yield replace(one, when=_predicate(one.when, row.path, row.change))


def _predicate(whole: Any, path: tuple[str | int, ...], change: str) -> Any:
    try:
        part = got(whole, path)
        return put(whole, path, changed(part, change))
    except (LookupError, TypeError):
        return whole


def _input(one: Any, row: Row) -> Any:
    name = str(row.path[0])
    value = getattr(one, name)
    if name == "carries":
        return replace(one, carries=tuple(key for key in value if key != row.path[1]))
    if name in INPUT_FLAGS:
        return replace(one, **{name: False})
    if name in INPUT_NUMBERS:
        return replace(one, **{name: value * float(row.change.removeprefix("by "))})
    if row.change == "left out" or value is None:
        return replace(one, **{name: None})
    return replace(one, **{name: _predicate(value, row.path[1:], row.change)})
