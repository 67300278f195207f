"""How the steps of one stream are called in the graph of its station, and what becomes of those left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from steadyhead.procedure.grammar import ANY_STEP
from steadyhead.procedure.graph import needed
from steadyhead.records.procedure import Choice, Expression, Message, Node
from steadyhead.visits.tables.desk import Needs
from steadyhead.visits.tables.streams import Stream

NAMING = ("value", "given", "time", "order", "of")
"""Operators of a predicate that name an input of another step."""
OWN_VENT = ("B2", "B4", "B5")
"""Steps of the whole station that are repeated for a later stream where it has something of its own there."""

CLEANED = (".line_open", ".loss_due")
"""Ends of restore items of a part that was opened to be cleaned: once, whichever stream is tested."""


@dataclass
class Built:
    """Steps and choices as they grow.

    key_of: stream of each step, by step id; aliases: what a need for a step left out becomes.
    """

    nodes: list[Node] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)
    key_of: dict[str, str] = field(default_factory=dict)
    labels: dict[str, Message] = field(default_factory=dict)

    def add(self, node: Node, key: str = "") -> None:
        """Append a step; key: of the stream it belongs to."""
        self.nodes.append(node)
        if key:
            self.key_of[node.id] = key

    @property
    def ids(self) -> set[str]:
        """Ids of all steps so far."""
        return {node.id for node in self.nodes}


class Once:
    """Which steps are done once for the station, not for each stream."""

    def __init__(self, steps: tuple[str, ...]) -> None:
        self.steps = steps

    def __contains__(self, node_id: str) -> bool:
        base = node_id.split(".")[0]
        return base in self.steps or (base[0] in self.steps and base != "E0" and f"-{base}" not in self.steps)


STATION_OUT = ("A", "B", "J", "K", "G4", "G5")
"""Positions and letters of the tables that are gone through once where the whole station is out."""


STREAM_OUT = ("A", "K", "J", "-J1", "-J2", "G4", "G5")
"""The same where one stream is out at a time; each stream has its own J1 and J2."""


def steps_once(*, out: bool) -> Once:
    """Return what is done once, for the two ways of cutting streams off."""
    return Once(STATION_OUT if out else STREAM_OUT)


def once(parts: Iterable[Any]) -> list[Any]:
    """Return needs without repetition, a nested "all" laid open, empty ones left out."""
    found: list[Any] = []
    for part in parts:
        for one in part["all"] if isinstance(part, Mapping) and set(part) == {"all"} else [part]:
            if one and one not in found:
                found.append(one)
    return found


def swapped(needs: Expression, old: str, new: str) -> dict[str, Any]:
    """Return needs with one step in place of another, at every depth."""
    return {
        operator: [
            (new if part == old else part) if isinstance(part, str) else swapped(part, old, new)
            for part in parts
        ]
        for operator, parts in needs.items()
    }


def after(node: Node, ends: list[Needs]) -> Node:
    """Return a step that also waits for others."""
    return replace(node, needs={"all": once([*node.needs["all"], *ends])})


def loose_ends(built: Built, stream: Stream) -> list[str]:
    """Return the steps of a stream that every way goes through and that nothing on every way waits for."""
    options = [[set(ids) for _, _, ids in choice.options] for choice in built.choices]
    chosen = {name for choice in options for ids in choice for name in ids}
    own = [node for node in built.nodes if built.key_of.get(node.id) == stream.way.key]
    own = [node for node in own if node.id.split(".")[0] not in OWN_VENT]
    waiting: dict[str, set[str]] = {}
    for node in own:
        for name in needed(node.needs):
            waiting.setdefault(name, set()).add(node.id)

    def is_loose(name: str) -> bool:
        found = waiting.get(name, set())
        return not found - chosen and not any(all(ids & found for ids in choice) for choice in options)

    return [node.id for node in own if node.id not in chosen and is_loose(node.id)]


class StreamNames:
    """How the steps of one stream are called in the whole graph, and what becomes of those left out."""

    def __init__(
        self, stream: Stream, built: Built, steps: Once, nodes: Iterable[Node], *, first: bool
    ) -> None:
        self.stream, self.built, self.steps, self.first = stream, built, steps, first
        self.before = set(built.ids)
        listed = tuple(nodes)
        self.returning = {node.id for node in listed if self._returns(node, listed)}
        self.again = {
            node.id for node in listed if node.id in self.before and self._moves(node)
        } - self.returning
        self.held: set[str] = set()
        self.key = stream.way.key
        self.labels: dict[str, Message] = {}

    def keeps(self, node: Node) -> bool:
        """Return whether a step of the stream stands in the whole graph."""
        done = "." in node.id and node.id in self.before
        if self._is_shared(node) or (done and (node.id not in self.again or node.id in self.steps)):
            return False
        if self.first or node.id not in self.steps:
            return True
        return node.id in OWN_VENT and self._differs(node)

    def _moves(self, node: Node) -> bool:
        """Return whether a step at a common part moves it for this stream's test: cut off, put back."""
        part = node.id.partition(".")[2]
        moved = [name for name in (*node.opens, *node.restores) if not name.endswith(CLEANED)]
        return bool(part) and any(name.startswith(f"{part}.") for name in moved)

    def _returns(self, node: Node, nodes: tuple[Node, ...]) -> bool:
        """Return whether a step of a stream puts right what a step of the whole station has opened."""
        own = node.id.partition(".")[2] in self.stream.way.own
        if own or node.id in self.steps or not node.restores:
            return False
        openers = [other.id for other in nodes if set(other.opens) & set(node.restores)]
        return bool(openers) and all(opener in self.steps for opener in openers)

    def _is_shared(self, node: Node) -> bool:
        shared = self.stream.way.view.shared
        part = node.id.partition(".")[2]
        if part in shared:
            return True
        names = (*node.touches, *node.opens, *node.proves) if "." in node.id or not self.first else ()
        return node.id not in OWN_VENT and any(name.split(".")[0] in shared for name in names)

    def _differs(self, node: Node) -> bool:
        """Return whether a later stream has something of its own to vent, clean or look into."""
        first = next((n for n in self.built.nodes if n.id == node.id), None)
        if first is None:
            return True
        if node.id == "B4":
            return set(node.touches) != set(first.touches)
        node = self._own_words(node)
        told = [(m.id, dict(m.params)) for m in node.do if "valve" in m.params or m not in first.do]
        taps = {one.tap for one in node.inputs} - {one.tap for one in first.inputs}
        return bool(taps) or bool(told)

    def _own_words(self, node: Node) -> Node:
        """Return B5 of a later stream without the valves that an earlier one has too."""
        shared = self.stream.way.view.shared
        return replace(
            node,
            do=tuple(m for m in node.do if m.params.get("valve", "") not in shared),
            touches=tuple(t for t in node.touches if t.split(".")[0] not in shared),
        )

    def name(self, node_id: str) -> str:
        """Return how a step of the stream is called in the whole graph."""
        if node_id in self.again and node_id not in self.steps:
            return f"{node_id}.{self.key}"
        once_here = node_id in self.steps and (self.first or node_id not in OWN_VENT)
        return node_id if "." in node_id or once_here else f"{node_id}.{self.key}"

    def renamed(self, node: Node, nodes: list[Node]) -> Node:
        """Return a step under its name in the whole graph; nodes: all of the stream as a line."""
        fresh = self.name(node.id)
        if node.id == "B5" and not self.first:
            node = self._own_words(node)
        for one in node.inputs:
            label = self.stream.desk.labels.get(f"{node.id}/{one.name}")
            if label is not None:
                self.labels[f"{fresh}/{one.name}"] = label
        return replace(
            node,
            id=fresh,
            needs=self._needs(node.needs, nodes),
            otherwise=tuple(replace(o, when=self._when(o.when, nodes)) for o in node.otherwise),
            refuses=tuple(replace(o, when=self._when(o.when, nodes)) for o in node.refuses),
        )

    def _needs(self, needs: Expression, nodes: list[Node]) -> dict[str, Any]:
        return {op: once(self.need(part, nodes) for part in parts) for op, parts in needs.items()}

    def need(self, part: Any, nodes: list[Node]) -> Any:
        """Return a need as the whole graph has it: renamed, another stream's, or what the lost step needs."""
        if not isinstance(part, str):
            return self._needs(part, nodes)
        node = next((n for n in nodes if n.id == part), None)
        lost = part in self.held or (part in self.steps and not self.first)
        if node is not None and self.keeps(node) and not lost:
            return self.name(part)
        elsewhere = self._elsewhere(part)
        own = self._needs(node.needs, nodes) if node is not None else {"all": []}
        if not elsewhere:
            return own
        done_there = part in self.steps or node is None or self._is_shared(node)
        return elsewhere if done_there else {"all": once([elsewhere, own])}

    def _elsewhere(self, part: str) -> str:
        """Return the id under which an earlier stream has done a step that is left out here."""
        done = self.built.ids
        if part in done:
            return part
        before = [name for name in done if name.split(".")[0] == part and part == "D2"]
        return before[0] if before else ""

    def _when(self, expression: Any, nodes: list[Node]) -> Any:
        if isinstance(expression, Mapping):
            return {
                operator: [self.name(inner[0]), inner[1]]
                if operator in NAMING and isinstance(inner, list | tuple) and inner[0] != ANY_STEP
                else self._when(inner, nodes)
                for operator, inner in expression.items()
            }
        if isinstance(expression, list | tuple):
            return [self._when(inner, nodes) for inner in expression]
        return expression

    def choice(self, choice: Choice) -> Iterator[Choice]:
        """Yield a choice with the steps that stand in the whole graph; none of a shared valve."""
        part = choice.id.partition(".")[2]
        if part in self.stream.way.view.shared or choice.id in {one.id for one in self.built.choices}:
            return
        have = self.built.ids
        options = tuple(
            (name, words, tuple(self.name(n) for n in ids if self.name(n) in have))
            for name, words, ids in choice.options
        )
        yield replace(choice, id=self.name(choice.id), options=options)


def apart(built: Built) -> Built:
    """Return the graph with names that two streams would share kept apart: restore items, proofs, sensing."""
    for kind in ("opens", "proves"):
        keys: dict[str, set[str]] = {}
        for node in built.nodes:
            for name in getattr(node, kind):
                keys.setdefault(name, set()).add(built.key_of.get(node.id, ""))
        shared = {name for name, found in keys.items() if len(found - {""}) > 1 and not _is_common(name)}
        if kind == "proves":
            shared |= {"shared.sensing"}
        built.nodes[:] = [_marked(node, shared, built, keys) for node in built.nodes]
    return built


def _is_common(name: str) -> bool:
    """Return whether a proof or item is one and the same for all streams."""
    return name.startswith(("filters.", "streams.", "alarm.")) or name.endswith(
        (".isolated", ".shut_tight", ".unlocked")
    )


def _marked(node: Node, shared: set[str], built: Built, keys: Mapping[str, set[str]]) -> Node:
    key = built.key_of.get(node.id, "")
    fields: dict[str, Any] = {}
    for name in ("touches", "proves", "depends_on", "opens", "restores"):
        found: list[str] = []
        for one in getattr(node, name):
            if one not in shared:
                found.append(one)
            elif key:
                found.append(f"{one}@{key}")
            else:
                found += [f"{one}@{k}" if k else one for k in sorted(keys.get(one, ()))]
        fields[name] = tuple(dict.fromkeys(found))
    return replace(node, **fields)
