"""Write one value as YAML text: plain where that reads back the same, else in double quotes."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

from steadyhead.station.refusal import Refusal
from steadyhead.station.tree import read_tree

_CONTROL = re.compile("[\x7f-\x9f\u2028\u2029\ufeff]")
_SAFE = re.compile(r"^[A-Za-z0-9](?:[A-Za-z0-9 ./%°³²·µ+()–−-]*[A-Za-z0-9./%°³²·µ+()])?$")
_SPECIAL = frozenset(("true", "false", "null", "~", ""))


def written(value: object, *, flow: bool, quoted: bool = False) -> str:
    """Return a value as YAML; maps and lists in braces and brackets.

    Parameters
    ----------
    value
        Text, yes or no, or maps and lists of them.
    flow
        Whether it stands inside braces or brackets, where a comma ends it.
    quoted
        Whether text is put in quotes in any case.

    Examples
    --------
    >>> written({"pressure": "4.2 bar", "at": "top, left"}, flow=False)
    '{pressure: 4.2 bar, at: "top, left"}'
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return _double(value) if quoted else in_flow(value) if flow else in_block(value)
    if isinstance(value, Mapping):
        return (
            "{" + ", ".join(f"{in_flow(str(key))}: {written(value[key], flow=True)}" for key in value) + "}"
        )
    if isinstance(value, Sequence):
        return "[" + ", ".join(written(item, flow=True) for item in value) + "]"
    raise TypeError(f"{type(value).__name__} has no place in a station file.")


def in_flow(text: str) -> str:
    """Return text as it may stand inside braces."""
    return text if _reads_back(text, f"[{text}]") else _double(text)


def in_block(text: str) -> str:
    """Return text as it may stand after a colon on its own line."""
    return text if _reads_back(text, f"- {text}") else _double(text)


def _reads_back(text: str, yaml: str) -> bool:
    if text.casefold() in _SPECIAL or text == "?" or text != text.strip() or "\n" in text:
        return False
    if _SAFE.match(text):
        return True
    try:
        tree = read_tree(yaml)
    except Refusal:
        return False
    if tree is None or tree.kind != "list" or len(tree.items) != 1:
        return False
    item = tree.items[0]
    return item.kind == "scalar" and not item.style and item.text == text


def _double(text: str) -> str:
    stored = json.dumps(text, ensure_ascii=False)
    return _CONTROL.sub(lambda found: f"\\u{ord(found.group()):04x}", stored)
