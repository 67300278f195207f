"""YAML text to a tree of nodes that know where they stand in the text.

The parser is ruamel.yaml's (YAML 1.2, pure Python); the tree is ours, so that depth, aliases and
tags are capped while reading, scalars stay text, and a change can be put back into the very place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.resolver import BaseResolver
from ruamel.yaml.scanner import Scanner

from steadyhead.station.limits import DEEPEST
from steadyhead.station.refusal import Refusal

Kind = Literal["scalar", "list", "map"]
_TEXT_TAGS = (None, "!", "tag:yaml.org,2002:str", "!!str")


@dataclass(slots=True)
class Node:
    """One value of the file with its place: offsets into the text, line and column from 0."""

    kind: Kind
    start: int
    end: int
    line: int
    column: int
    text: str = ""
    style: str = ""
    flow: bool = False
    entries: list[tuple[Node, Node]] = field(default_factory=list)
    items: list[Node] = field(default_factory=list)
    alias: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing was written: an empty plain scalar, ``~`` or ``null``."""
        return self.kind == "scalar" and not self.style and self.text in ("", "~", "null", "Null", "NULL")


class _Scanner(Scanner):
    """Lets a lone ``?`` stand as text, the placeholder of the templates."""

    def check_key(self) -> bool:
        return False

    def check_plain(self) -> Any:
        return self.reader.peek() == "?" or super().check_plain()


class _NoResolver(BaseResolver):
    """Leaves every scalar text: no dates, no numbers, no yes and no."""

    def __init__(self, version: object = None, loader: object = None) -> None:
        super().__init__(loader)

    @property
    def processing_version(self) -> tuple[int, int]:
        return (1, 2)


def read_tree(text: str) -> Node | None:
    """Return the root node of a YAML text, or None when it holds nothing.

    Raises
    ------
    Refusal
        Broken YAML, several documents, tags, a cyclic or unknown alias, or too deep.
    """
    return _Reader(_events(text)).document()


def _events(text: str) -> Iterator[Any]:
    yaml = YAML(typ="safe", pure=True)
    yaml.Scanner = _Scanner
    yaml.Resolver = _NoResolver
    try:
        yield from yaml.parse(text)
    except YAMLError as error:
        raise _broken(error, text) from None
    except (ValueError, AttributeError, TypeError, AssertionError, LookupError, NotImplementedError):
        # The parser's own slips over odd bytes; never the reader's, which runs outside this block.
        raise Refusal(
            "station file", "is no YAML the reader can follow.", "Compare it with 'steadyhead example'."
        ) from None


class _Reader:
    """Builds the tree from the parser's events."""

    def __init__(self, events: Iterator[Any]) -> None:
        self.events = events
        self.anchors: dict[str, Node | None] = {}
        self.depth = 0

    def document(self) -> Node | None:
        root: Node | None = None
        documents = 0
        for event in self.events:
            name = type(event).__name__
            if name == "DocumentStartEvent":
                documents += 1
                if documents > 1:
                    raise _at(event, "holds a second document after '---'.", "Keep one station in one file.")
                root = self.node(next(self.events))
        return root

    def node(self, event: Any) -> Node:
        name = type(event).__name__
        if name == "AliasEvent":
            return self._alias(event)
        if str(getattr(event, "tag", None) or "!") not in _TEXT_TAGS:
            raise _at(
                event, f"has the tag {str(event.tag)[:40]!r}; a station file has no tags.", "Delete the tag."
            )
        self.depth += 1
        if self.depth > DEEPEST:
            raise _at(event, f"is nested more than {DEEPEST} deep.", "Compare it with 'steadyhead example'.")
        if event.anchor:
            self.anchors[event.anchor] = None
        mark, end = event.start_mark, event.end_mark
        if name == "ScalarEvent":
            node = Node(
                "scalar", mark.index, end.index, mark.line, mark.column, event.value, event.style or ""
            )
        elif name == "SequenceStartEvent":
            node = Node("list", mark.index, 0, mark.line, mark.column, flow=bool(event.flow_style))
            for inner in self.events:
                if type(inner).__name__ == "SequenceEndEvent":
                    node.end = inner.end_mark.index
                    break
                node.items.append(self.node(inner))
        else:
            node = Node("map", mark.index, 0, mark.line, mark.column, flow=bool(event.flow_style))
            for inner in self.events:
                if type(inner).__name__ == "MappingEndEvent":
                    node.end = inner.end_mark.index
                    break
                key = self.node(inner)
                node.entries.append((key, self.node(next(self.events))))
        if event.anchor:
            self.anchors[event.anchor] = node
        self.depth -= 1
        return node

    def _alias(self, event: Any) -> Node:
        if event.anchor not in self.anchors:
            raise _at(
                event,
                f"uses '*{event.anchor}', which stands nowhere above.",
                f"Write '&{event.anchor}' first.",
            )
        node = self.anchors[event.anchor]
        if node is None:
            raise _at(event, f"'*{event.anchor}' stands inside itself.", "Write the value out.")
        mark = event.start_mark
        return replace(
            node, start=mark.index, end=event.end_mark.index, line=mark.line, column=mark.column, alias=True
        )


def _at(event: Any, problem: str, remedy: str) -> Refusal:
    mark = event.start_mark
    return Refusal("station file", problem, remedy, line=mark.line + 1, column=mark.column + 1)


def _broken(error: YAMLError, text: str) -> Refusal:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)
    lines = text.splitlines()
    if line and line <= len(lines):
        for number in (line, line - 1):
            written = lines[number - 1] if number >= 1 else ""
            at = written.find("\t", 0, len(written) - len(written.lstrip()))
            if at >= 0:
                remedy = "Use spaces."
                return Refusal("station file", "is indented with a tab.", remedy, line=number, column=at + 1)
    problem = str(getattr(error, "problem", "") or "").strip() or "no reason given"
    return Refusal(
        "station file",
        f"is no YAML from here on: {problem[:120]}.",
        "Look for a missing space after a colon, a missing quote or bracket, or a shifted line above.",
        line=line,
        column=column,
    )
