"""The station-file reference, read off the JSON Schema of the model."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from devtools.reference.marks import code, grid, plain

Schema = Mapping[str, Any]
POINTER = "#/$defs/"
PLAIN_TYPES = {
    "string": "text",
    "integer": "whole number",
    "number": "number",
    "boolean": "yes or no",
    "null": "nothing",
    "object": "mapping",
}


def pages(schema: Schema) -> str:
    """Return the reference as Markdown: the file itself, then each block in the order it is met."""
    blocks = schema.get("$defs", {})
    parts = [block("The file", schema, blocks, anchor="file")]
    parts += [block(name, blocks[name], blocks) for name in _in_order(schema)]
    return "\n\n".join(parts) + "\n"


def block(name: str, schema: Schema, blocks: Mapping[str, Schema], anchor: str = "") -> str:
    """Return heading, sentence and table of one block of the file."""
    required = set(schema.get("required", ()))
    fields = schema.get("properties", {})
    rows = [row(field, shape, field in required, blocks) for field, shape in fields.items()]
    head = f"({_anchor(anchor or name)})=\n## {_words(name)}"
    table = grid(("field", "what to write", "needed", "meaning"), rows)
    return "\n\n".join(part for part in (head, plain(schema.get("description", "")), table) if part)


def row(field: str, shape: Schema, needed: bool, blocks: Mapping[str, Schema]) -> tuple[str, str, str, str]:
    """Return one line of a block's table; a field that is a block says what the block says of itself."""
    default = shape.get("default")
    told = "yes" if needed else "no" if default in (None, "", [], {}) else f"no; {_default(default)}"
    meaning = shape.get("description") or _of_the_block(shape, blocks)
    return code(field), kind_of(shape), told, plain(meaning)


def _of_the_block(shape: Schema, blocks: Mapping[str, Schema]) -> str:
    names = list(_pointers(shape))
    return str(blocks[names[0]].get("description", "")) if len(names) == 1 else ""


def kind_of(shape: Schema) -> str:
    """Return in words what one field takes."""
    if "x-quantity" in shape:
        return _quantity(shape)
    if "$ref" in shape:
        return _link(shape["$ref"])
    if "const" in shape:
        return code(str(shape["const"]))
    if "enum" in shape:
        return ", ".join(code(_choice(one)) for one in shape["enum"])
    if shape.get("type") == "array":
        return _list(shape)
    choices = shape.get("oneOf") or shape.get("anyOf")
    if choices:
        said = [kind_of(one) for one in choices if one.get("type") != "null"]
        return " or ".join(dict.fromkeys(said))
    return _plain_type(shape)


def _quantity(shape: Schema) -> str:
    limits = [shape[key] for key in ("x-low", "x-high") if key in shape]
    between = f", {limits[0]} to {limits[1]}" if len(limits) == 2 else ""
    return plain(shape["x-quantity"].replace("_", " ") + between)


def _list(shape: Schema) -> str:
    if "prefixItems" in shape:
        return "(" + ", ".join(kind_of(one) for one in shape["prefixItems"]) + ")"
    return "list of: " + kind_of(shape.get("items", {}))


def _plain_type(shape: Schema) -> str:
    told = PLAIN_TYPES.get(str(shape.get("type")), "anything")
    limits = [
        f"{word} {shape[key]:g}" for word, key in (("from", "minimum"), ("to", "maximum")) if key in shape
    ]
    if "pattern" in shape:
        limits.append(f"matching {code(shape['pattern'])}")
    return " ".join([told, *limits])


def _in_order(schema: Schema) -> list[str]:
    """Return the names of all blocks in the order a reader of the file meets them."""
    found: list[str] = []
    waiting = list(_pointers({key: part for key, part in schema.items() if key != "$defs"}))
    while waiting:
        name = waiting.pop(0)
        if name not in found:
            found.append(name)
            waiting[:0] = _pointers(schema["$defs"][name])
    return found


def _pointers(part: object) -> Iterator[str]:
    if isinstance(part, Mapping):
        if "$ref" in part:
            yield str(part["$ref"]).removeprefix(POINTER)
        for key, inside in part.items():
            if key != "discriminator":
                yield from _pointers(inside)
    elif isinstance(part, list):
        for inside in part:
            yield from _pointers(inside)


def _words(name: str) -> str:
    """Return a class's name as words.

    >>> _words("IsolatingValve")
    'Isolating valve'
    """
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).capitalize()
    return re.sub(r"\bShut off\b", "Shut-off", words)


def _anchor(name: str) -> str:
    return "file-" + re.sub(r"(?<=[a-z])(?=[A-Z])", "-", name).lower()


def _link(pointer: str) -> str:
    name = pointer.removeprefix(POINTER)
    return f"[{_words(name).lower()}](#{_anchor(name)})"


def _choice(one: object) -> str:
    return {True: "true", False: "false"}.get(one, str(one)) if isinstance(one, bool) else str(one)


def _default(value: object) -> str:
    if isinstance(value, bool):
        return code("yes" if value else "no")
    return "see the block" if isinstance(value, (dict, list)) else code(str(value))
