"""Joins our own modules of the field page into one classic script, which runs from a file without a server.

Only the syntax our modules use is understood: named imports of neighbours at the top, named exports of
declarations. Anything else is refused by file and line; nothing is guessed.
"""

from __future__ import annotations

import hashlib
import posixpath
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from steadyhead.errors import InputError
from steadyhead.laws.compiling import PACKAGE

FOLDERS = {
    "field": Path(PACKAGE) / "web" / "assets" / "field",
    "procedure": Path(PACKAGE) / "procedure" / "js",
}
"""Where the modules of the field page lie, by the name they are served under."""
LOOK = ("tokens.css", "mark.svg")
"""What it shares with the other pages of the app."""
WORKER = "field/sw.js"
"""What runs beside pages; no module."""
_NAME = r"[A-Za-z_$][\w$]*"
_LIST = rf"\{{\s*({_NAME}(?:\s*,\s*{_NAME})*)\s*,?\s*\}}"
_IMPORT = re.compile(rf'import\s+{_LIST}\s+from\s+"(\.[^"]+\.js)";?')
_PASSED = re.compile(rf'export\s+{_LIST}\s+from\s+"(\.[^"]+\.js)";?')
_DECLARED = re.compile(rf"export\s+(?:const|class|function\*?|async\s+function\*?)\s+({_NAME})")
_BEGINS = re.compile(r"(?:import|export)\b")
_WAITS = re.compile(r"(?:await\b|(?:const|let|var)\b[^=]*=\s*await\b)")
_NEVER = {
    re.compile(r"\bimport\s*[(.]"): "asks for a module while it runs",
    re.compile(r"</script|<!--", re.IGNORECASE): "holds what ends a script in a page",
}
_MORE = 12
"""Most lines of one list of names. Own choice. [1]"""
_AGAIN = (
    'Write `import { a, b } from "./name.js"` and `export const|class|function name`, each from column 1.'
)


@dataclass
class _Module:
    """A module that was read: what it takes, what it gives, and its text without either."""

    name: str
    takes: list[tuple[str, str]] = field(default_factory=list)
    """(names, module) in the order they stand."""
    passes: list[tuple[str, str]] = field(default_factory=list)
    gives: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)


@lru_cache(maxsize=1)
def modules() -> Mapping[str, str]:
    """Return every module of the field page by its name as it is served, e.g. ``field/view.js``."""
    return {
        name: content.decode() for name, content in files().items() if name.endswith(".js") and name != WORKER
    }


@lru_cache(maxsize=1)
def files() -> Mapping[str, bytes]:
    """Return all that the field page fetches besides itself, by the name it is served under."""
    shared = {f"look/{name}": (FOLDERS["field"].parent / name).read_bytes() for name in LOOK}
    return shared | {
        f"{place}/{path.relative_to(folder).as_posix()}": path.read_bytes()
        for place, folder in FOLDERS.items()
        for path in sorted(folder.rglob("*"))
        if path.suffix in (".js", ".css", ".svg")
    }


@lru_cache(maxsize=1)
def build_digest() -> str:
    """Return what names the script, styles and pictures of the field page as they lie here."""
    told = hashlib.sha256()
    for name, content in sorted(files().items()):
        told.update(name.encode() + b"\0" + content + b"\0")
    return told.hexdigest()


@lru_cache(maxsize=4)
def needed(entry: str) -> tuple[str, ...]:
    """Return the modules that one of ours takes, each after those it takes from, itself last."""
    return tuple(one.name for one in _ordered(entry, modules()))


def bundle(entry: str, sources: Mapping[str, str], called: str) -> str:
    """Return one classic script that declares the exports of a module under one name.

    Parameters
    ----------
    entry
        Module that is begun with; what it takes comes along, nothing else.
    sources
        Texts by name; a path in an import is meant from the module it stands in.
    called
        Name the exports are declared under.

    Raises
    ------
    InputError
        A module that is not there, a ring of modules, or what is not understood, by file and line.
    """
    ordered = _ordered(entry, sources)
    number = {one.name: f"_{at}" for at, one in enumerate(ordered)}
    written = [_written(one, number) for one in ordered]
    body = "\n".join(written)
    return f'"use strict";\nvar {called} = (() => {{\n{body}\nreturn {number[entry]}\n}})();\n'


def _written(one: _Module, number: Mapping[str, str]) -> str:
    takes = [f"const {{ {names} }} = {number[of]}" for names, of in one.takes]
    gives = [*one.gives]
    for names, of in one.passes:
        gives += [f"{name.strip()}: {number[of]}.{name.strip()}" for name in names.split(",")]
    body = "\n".join([*takes, *one.lines]).rstrip()
    return (
        f"// {one.name}\nconst {number[one.name]} = (() => {{\n{body}\n"
        f"return {{ {', '.join(gives)} }}\n}})();"
    )


def _ordered(entry: str, sources: Mapping[str, str]) -> list[_Module]:
    """Return the modules that are needed, each after what it takes from."""
    done: dict[str, _Module] = {}
    under_way: list[str] = []

    def visit(name: str, asked_in: str) -> None:
        if name in done:
            return
        if name in under_way:
            raise InputError(
                asked_in, f"is in a ring with {name}.", "Move what both need into a third module."
            )
        if name not in sources:
            raise InputError(asked_in, f"asks for {name}, which is not there.", "Name a module that is.")
        under_way.append(name)
        found = _read(name, sources[name])
        for names, of in (*found.takes, *found.passes):
            visit(of, name)
            _all_given(name, names, done[of])
        under_way.pop()
        done[name] = found

    visit(entry, entry)
    return list(done.values())


def _all_given(name: str, names: str, of: _Module) -> None:
    given = {*of.gives, *(one.strip() for passed, _ in of.passes for one in passed.split(","))}
    missing = [one for one in (word.strip() for word in names.split(",")) if one not in given]
    if missing:
        raise InputError(
            name, f"takes {missing[0]} from {of.name}, which does not give it.", "Export it there."
        )


def _read(name: str, text: str) -> _Module:
    """Return a module without its imports and exports."""
    found = _Module(name)
    folder = posixpath.dirname(name)
    for number, line in _statements(text):
        where = f"{name}, line {number}"
        _hold(where, line)
        if taken := _IMPORT.fullmatch(line.strip()):
            found.takes.append((_names(taken[1]), posixpath.normpath(posixpath.join(folder, taken[2]))))
        elif passed := _PASSED.fullmatch(line.strip()):
            found.passes.append((_names(passed[1]), posixpath.normpath(posixpath.join(folder, passed[2]))))
        elif declared := _DECLARED.match(line):
            found.gives.append(declared[1])
            found.lines.append(line.removeprefix("export").lstrip())
        elif _BEGINS.match(line):
            raise InputError(where, f"is not understood: {line[:60]!r}.", _AGAIN)
        else:
            found.lines.append(line)
    return found


def _names(given: str) -> str:
    return ", ".join(one.strip() for one in given.split(",") if one.strip())


def _hold(where: str, line: str) -> None:
    """Refuse what a classic script cannot hold."""
    code = re.sub(r"^\s*//.*", "", line)
    for never, why in _NEVER.items():
        if never.search(code):
            raise InputError(where, f"{why}: {line.strip()[:60]!r}.", _AGAIN)
    if _WAITS.match(line):
        raise InputError(where, f"waits outside a function: {line[:60]!r}.", "Wait inside a function.")


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Yield each line with its number; an import or export list over several lines as one."""
    rows = text.splitlines()
    at = 0
    while at < len(rows):
        line, first = rows[at], at + 1
        if re.match(r"(?:import|export)\s*\{", line):
            while "}" not in line and at + 1 < len(rows) and at - first < _MORE:
                at += 1
                line = f"{line} {rows[at].strip()}"
        yield first, line
        at += 1
