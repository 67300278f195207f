"""The text of a station file, open to changes that leave every other byte alone.

A change is put into the very place of the value: comments, quotes, order, line ends and blank lines
elsewhere stay as they are. After each change the text is read again and must give the old content
with exactly this change; a style the editor cannot handle is refused, never mangled.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from steadyhead.station.decoding import UTF8, Encoding
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path, Refusal, in_words
from steadyhead.station.tree import Node, read_tree
from steadyhead.station.writing import in_flow, written

Content = str | bool | dict[str, Any] | list[Any]


@dataclass(frozen=True, slots=True)
class Document:
    """A station file's text with the place of each value; never changed, only replaced."""

    text: str
    root: Node | None
    encoding: Encoding = UTF8

    @property
    def newline(self) -> str:
        """Line end this file uses."""
        return "\r\n" if "\r\n" in self.text else "\n"


def read_document(text: str, encoding: Encoding | None = None) -> Document:
    """Return the document of a YAML text."""
    return Document(text, read_tree(text), encoding or UTF8)


def dump(document: Document) -> bytes:
    """Return the bytes of the file; those it was read from where nothing was changed."""
    return document.encoding.mark + document.text.encode(document.encoding.name)


def patch(document: Document, path: Path, value: Content) -> Document:
    """Return the document with one value set; missing keys are added, a list index at its end appends.

    Parameters
    ----------
    path
        Keys and indices from the top, e.g. ``("line", 4, "trip")``.
    value
        Text, yes or no, or maps and lists of them.

    Raises
    ------
    Refusal
        The place cannot be reached, or stands in a style that cannot be changed in place.
    """
    expected = _with(_content(document), path, value)
    return _again(document, _spliced(document, path, value), path, expected)


def remove(document: Document, path: Path) -> Document:
    """Return the document without one key or list item, with the comment at its line's end.

    Raises
    ------
    Refusal
        There is no such place, or its style does not allow the change in place.
    """
    parent = _find(document, path[:-1])
    expected = _without(_content(document), path)
    text = document.text
    if parent.kind == "map":
        at = next((i for i, (key, _) in enumerate(parent.entries) if key.text == path[-1]), None)
        spans = [(key.start, _content_end(text, key, value)) for key, value in parent.entries]
    else:
        at = path[-1] if isinstance(path[-1], int) and 0 <= path[-1] < len(parent.items) else None
        spans = [(item.start, _content_end(text, item, item)) for item in parent.items]
    if at is None:
        raise _cannot(path, "is not in the file.")
    if len(spans) == 1:
        start, end = parent.start, max(parent.end if parent.flow else 0, spans[0][1])
        empty = "{}" if parent.kind == "map" else "[]"
        return _again(document, f"{text[:start]}{empty}{text[end:]}", path, expected)
    start, end = _hole(text, parent, spans, at)
    return _again(document, text[:start] + text[end:], path, expected)


def patch_texts(document: Document, texts: Mapping[Path, str]) -> Document:
    """Return the document with several texts set at once, as `patch` one by one would; read again once.

    Raises
    ------
    Refusal
        As `patch`.
    """
    plain: list[tuple[Node, Path]] = []
    rest: list[Path] = []
    for path in texts:
        node = _plain_scalar(document, path)
        if node is None:
            rest.append(path)
        else:
            plain.append((node, path))
    if len(plain) > 1:
        text, expected = document.text, _content(document)
        for node, path in sorted(plain, key=lambda one: -one[0].start):
            new = written(texts[path], flow=_is_in_flow(document, path), quoted=node.style == '"')
            text = text[: node.start] + new + text[node.end :]
            expected = _with(expected, path, texts[path])
        document = _again(document, text, plain[-1][1], expected)
    else:
        rest = list(texts)
    for path in rest:
        document = patch(document, path, texts[path])
    return document


def insert(document: Document, path: Path, index: int, value: Content) -> Document:
    """Return the document with a new item in a list, at `index`; a list that is not there is begun.

    Raises
    ------
    Refusal
        The list cannot be reached, or stands in a style that cannot be changed in place.
    """
    count = _length(_content(document), path)
    document = patch(document, (*path, count), value)
    return document if index >= count else move(document, path, count, max(index, 0))


def move(document: Document, path: Path, old: int, new: int) -> Document:
    """Return the document with one item of a list at another place, its comments going with it.

    Comment lines above an item belong to it; those above the first item stay where they are.

    Raises
    ------
    Refusal
        There is no such item, or the list stands in a style that cannot be changed in place.
    """
    node = _find(document, path)
    count = len(node.items)
    if node.kind != "list" or not 0 <= old < count or not 0 <= new < count:
        raise _cannot((*path, old), "is not in the file.")
    order = list(range(count))
    order.insert(new, order.pop(old))
    holder = _at(_content(document), path)
    expected = _with(_content(document), path, [holder[at] for at in order])
    text = document.text
    if node.flow:
        spans = [
            (item.start, item.end if item.alias else _content_end(text, item, item)) for item in node.items
        ]
        parts = [text[start:end] for start, end in spans]
        for (start, end), at in reversed(list(zip(spans, order, strict=True))):
            text = text[:start] + parts[at] + text[end:]
        return _again(document, text, (*path, old), expected)
    first = text.rfind("\n", 0, node.items[0].start) + 1
    if text[first : node.items[0].start].strip() != "-":
        raise _cannot((*path, old), "stands in a style that cannot be changed in place.")
    cuts = [first, *(_line_after(text, _content_end(text, item, item)) for item in node.items)]
    chunks = [text[start:end] for start, end in pairwise(cuts)]
    if not chunks[-1].endswith("\n"):
        chunks[-1] += document.newline
    body = "".join(chunks[at] for at in order)
    return _again(document, text[:first] + body + text[cuts[-1] :], (*path, old), expected)


def _line_after(text: str, end: int) -> int:
    """Return where the line after a place begins."""
    line_end = text.find("\n", end - 1 if text[end - 1 : end] == "\n" else end)
    return len(text) if line_end < 0 else line_end + 1


def _plain_scalar(document: Document, path: Path) -> Node | None:
    """Return the scalar that stands at a path, where its text can simply be replaced."""
    node = document.root
    for step in path:
        node = _child(node, step)
        if node is None or node.alias:
            return None
    plain = node is not None and node.kind == "scalar" and not node.is_empty and node.style not in ("|", ">")
    return node if plain else None


def _is_in_flow(document: Document, path: Path) -> bool:
    """Return whether a place stands inside braces or brackets."""
    node = document.root
    for step in path[:-1]:
        if node is not None and node.flow:
            return True
        node = _child(node, step)
    return node is not None and node.flow


def _length(content: Any, path: Path) -> int:
    found = _at(content, path)
    return len(found) if isinstance(found, list) else 0


def _at(content: Any, path: Path) -> Any:
    for step in path:
        if isinstance(content, dict):
            content = content.get(str(step))
        elif isinstance(content, list) and isinstance(step, int) and 0 <= step < len(content):
            content = content[step]
        else:
            return None
    return content


def _hole(text: str, parent: Node, spans: list[tuple[int, int]], at: int) -> tuple[int, int]:
    """Return the stretch of text that goes when entry `at` is removed."""
    start, end = spans[at]
    if parent.flow:
        return (start, spans[at + 1][0]) if at + 1 < len(spans) else (spans[at - 1][1], end)
    line_start = text.rfind("\n", 0, start) + 1
    before = text[line_start:start].strip()
    if before == ("" if parent.kind == "map" else "-"):
        line_end = text.find("\n", end - 1 if text[end - 1 : end] == "\n" else end)
        return line_start, line_end + 1 if line_end >= 0 else len(text)
    return start, spans[at + 1][0]


def _content(document: Document) -> Any:
    return from_tree(document.root).data


def _again(document: Document, text: str, path: Path, expected: Any) -> Document:
    """Read the changed text; it must hold the expected content."""
    try:
        changed = read_document(text, document.encoding)
        got = _content(changed)
    except Refusal:
        got = None
    if got != expected:
        raise _cannot(path, "stands in a style that cannot be changed in place.")
    return changed


def _cannot(path: Path, problem: str) -> Refusal:
    return Refusal(in_words(path, None), problem, "Change it by hand.", path=path)


def _find(document: Document, path: Path) -> Node:
    node = document.root
    for step in path:
        node = _child(node, step)
        if node is None or node.alias:
            raise _cannot(path, "is an alias of another place." if node else "is not in the file.")
    if node is None:
        raise _cannot(path, "is not in the file.")
    return node


def _child(node: Node | None, step: str | int) -> Node | None:
    if node is None:
        return None
    if node.kind == "map":
        return next((value for key, value in node.entries if key.text == step), None)
    if node.kind == "list" and isinstance(step, int) and 0 <= step < len(node.items):
        return node.items[step]
    return None


def _spliced(document: Document, path: Path, value: Content) -> str:
    """Return the text with `value` at `path`, going down as far as the file goes."""
    node, text = document.root, document.text
    if node is None or node.kind != "map":
        raise _cannot(path, "needs a file that starts with fields.")
    flow = node.flow
    for depth, step in enumerate(path):
        child = _child(node, step)
        if child is None or (child.is_empty and child.start == child.end):
            return _added(document, node, path[depth:], value, child)
        if depth < len(path) - 1:
            if child.alias:
                raise _cannot(path, "stands behind an alias; a change would show in two places.")
            node, flow = child, flow or child.flow
            continue
        end = (
            child.end
            if child.kind == "scalar" or child.flow or child.alias
            else _content_end(text, child, child)
        )
        tail = document.newline if child.style in ("|", ">") else ""
        return text[: child.start] + written(value, flow=flow, quoted=child.style == '"') + tail + text[end:]
    raise _cannot(path, "names no place.")


def _added(document: Document, node: Node, path: Path, value: Content, empty: Node | None) -> str:
    """Return the text with a new entry in `node`, or a value after a key that had none."""
    text, step = document.text, path[0]
    for outer in reversed(path[1:]):
        value = {outer: value} if isinstance(outer, str) else [value]
    if empty is not None and node.kind == "map":
        key = next(key for key, _ in node.entries if key.text == step)
        colon = text.index(":", key.end) + 1
        return f"{text[:colon]} {written(value, flow=node.flow)}{text[colon:]}"
    if node.kind == "scalar" or (node.kind == "list") != isinstance(step, int):
        raise _cannot(path, "does not fit the file: a map needs a key, a list an index.")
    key_text = "" if node.kind == "list" else f"{in_flow(str(step))}: "
    spans = node.entries if node.kind == "map" else [(item, item) for item in node.items]
    end = _content_end(text, *spans[-1]) if spans else node.start + 1
    if node.flow:
        comma = ", " if spans else ""
        return f"{text[:end]}{comma}{key_text}{written(value, flow=True)}{text[end:]}"
    column = node.column if node.kind == "list" else spans[0][0].column
    margin = " " * column + ("- " if node.kind == "list" else "")
    line_end = text.find("\n", end - 1 if text[end - 1 : end] == "\n" else end)
    body = _block(f"{margin}{key_text}", value, column, document.newline)
    if line_end < 0:
        return f"{text}{document.newline}{body}{document.newline}"
    return f"{text[: line_end + 1]}{body}{document.newline}{text[line_end + 1 :]}"


def _block(head: str, value: Content, column: int, newline: str) -> str:
    """Return one new entry in block style; a list of maps gets a line for each item."""
    if isinstance(value, list) and value and any(isinstance(item, dict) for item in value):
        inner = " " * (column + 2)
        return newline.join([head.rstrip(), *(f"{inner}- {written(item, flow=True)}" for item in value)])
    return head + written(value, flow=False)


def _content_end(text: str, key: Node, value: Node) -> int:
    """Return where the last character of an entry stands, trailing blanks and comments left out."""
    if (
        value.alias
        or (value.kind == "scalar" and not value.is_empty)
        or (value.flow and value.kind != "scalar")
    ):
        end = value.end
        while end > value.start and value.style in ("|", ">") and text[end - 1] in "\r\n ":
            end -= 1
        return end
    if value.kind == "map" and value.entries:
        return _content_end(text, *value.entries[-1])
    if value.kind == "list" and value.items:
        return _content_end(text, value.items[-1], value.items[-1])
    if value.end > value.start:
        return value.end
    colon = text.find(":", key.end)
    return colon + 1 if colon >= 0 and key is not value else value.end


def _with(content: Any, path: Path, value: Content) -> Any:
    content = copy.deepcopy(content)
    if not path:
        return _as_read(value)
    if isinstance(path[0], int):
        content = [] if content is None else content
        if not isinstance(content, list):
            raise _cannot(path, "does not fit the file: a map needs a key, a list an index.")
        inner = content[path[0]] if path[0] < len(content) else None
        content[path[0] : path[0] + 1] = [_with(inner, path[1:], value)]
        return content
    content = {} if content is None else content
    if not isinstance(content, dict):
        raise _cannot(path, "does not fit the file: a map needs a key, a list an index.")
    content[path[0]] = _with(content.get(path[0]), path[1:], value)
    return content


def _as_read(value: Any) -> Any:
    """Return a value as the file will say it: yes and no are text there."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return {key: _as_read(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_read(inner) for inner in value]
    return value


def _without(content: Any, path: Path) -> Any:
    content = copy.deepcopy(content)
    holder = content
    try:
        for step in path[:-1]:
            holder = holder[step]
        del holder[path[-1]]
    except (KeyError, IndexError, TypeError):
        raise _cannot(path, "is not in the file.") from None
    return content
