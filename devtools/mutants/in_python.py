"""Mutants of Python modules: the operators of cosmic-ray, and three of our own.

cosmic-ray (MIT) is not installed with the rest: only who runs this campaign needs it.
"""

from __future__ import annotations

import ast
import importlib
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeGuard

from devtools.mutants.model import Mutant, statement_lines
from devtools.places import ROOT

Spot = tuple[int, int]

LEFT_OUT = (
    "RemoveDecorator",  # a module whose dataclasses are none does not even load
    "VariableReplacer",  # asks which variable
    "VariableInserter",
)
ODD = ("FloorDiv", "Mod", "Pow", "RShift", "LShift", "BitXor")
HOW_TO_GET_IT = (
    "The campaign `mutants` needs cosmic-ray, which is not installed with the rest. "
    "Install it into the environment (.venv/bin/python -m pip install 'cosmic-ray>=8.4'), then run again."
)


@cache
def operators() -> dict[str, Any]:
    """Return cosmic-ray's operators by name.

    Raises
    ------
    SystemExit
        It is not installed; the text says how to get it.
    """
    try:
        provider = importlib.import_module("cosmic_ray.operators.provider").OperatorProvider()
    except ImportError as problem:
        raise SystemExit(HOW_TO_GET_IT) from problem
    return {name: provider[name] for name in provider if name not in LEFT_OUT and not _is_odd(name)}


def _is_odd(name: str) -> bool:
    """Return whether an operator puts in what fails at once, or what says the same of words and numbers."""
    kind, _, words = name.partition("_")
    new = words.partition("_")[2]
    if kind == "ReplaceBinaryOperator":
        return new in ODD
    return (
        kind == "ReplaceComparisonOperator"
        and new in ("Is", "IsNot")
        and words not in ("Is_IsNot", "IsNot_Is")
    )


def sample(path: Path, n: int, seed: int) -> list[Mutant]:
    """Return at most n mutants of a module, drawn from all with the seed: first a place, then a change."""
    source = path.read_text("utf-8")
    spots = sorted(_spots(source), key=lambda one: (one.at, one.operator, one.number))
    rng = random.Random(f"{seed} {path.name}")
    rng.shuffle(spots)
    by_place: dict[tuple[Spot, str], list[Change]] = {}
    for one in spots:
        by_place.setdefault((one.at, one.operator.partition("_")[0]), []).append(one)
    rows = list(by_place.values())
    rng.shuffle(rows)
    found: list[Mutant] = []
    seen, lines = {source}, statement_lines(source)
    while rows and len(found) < n:
        for row in rows:
            text = row.pop().text(source)
            if len(found) < n and text not in seen and _compiles(text):
                seen.add(text)
                found.append(_mutant(path, source, text, lines))
        rows = [row for row in rows if row]
    return found


def _mutant(path: Path, source: str, text: str, lines: Mapping[int, frozenset[int]]) -> Mutant:
    first, before, after = _changed(source, text)
    group = path.relative_to(ROOT).as_posix()
    return Mutant(group, f"line {first}", before, after, text, first, lines.get(first, frozenset()))


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a text: where, by which operator, and its number or what it puts in."""

    at: Spot
    operator: str
    number: int
    made: str = ""

    def text(self, source: str) -> str:
        """Return the whole text after the change."""
        if self.made:
            return self.made
        mutate = importlib.import_module("cosmic_ray.mutating").mutate_code
        return str(mutate(source, operators()[self.operator](), self.number))


def _compiles(text: str) -> bool:
    try:
        ast.parse(text)
    except SyntaxError:
        return False
    return True


def _changed(source: str, text: str) -> tuple[int, str, str]:
    """Return the first line that differs, and those that do as they were and as they are."""
    old, new = source.splitlines(), text.splitlines()
    start = next(i for i, (a, b) in enumerate(zip((*old, ""), (*new, ""), strict=False)) if a != b)
    end = 0
    while end < min(len(old), len(new)) - start and old[-1 - end] == new[-1 - end]:
        end += 1
    shown = [" / ".join(part.strip() for part in rows[start : len(rows) - end]) for rows in (old, new)]
    return start + 1, shown[0], shown[1]


class Idle:
    """Where a change changes nothing here: annotations, decorators, types put together at a module's top."""

    def __init__(self, source: str) -> None:
        self.spans: list[tuple[Spot, Spot]] = []
        tree = ast.parse(source)
        for node in ast.walk(tree):
            for each in (*_annotations(node), *getattr(node, "decorator_list", ())):
                self._add(each)
        for top in tree.body:
            value = top.value if isinstance(top, ast.Assign | ast.AnnAssign) else None
            if isinstance(value, ast.BinOp) and isinstance(value.op, ast.BitOr):
                self._add(top)

    def _add(self, node: ast.expr | ast.stmt) -> None:
        self.spans.append(((node.lineno, node.col_offset), (node.end_lineno or 0, node.end_col_offset or 0)))

    def __contains__(self, spot: Spot) -> bool:
        return any(first <= spot < last for first, last in self.spans)


def _annotations(node: ast.AST) -> Iterator[ast.expr]:
    if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
        yield node.annotation
    if isinstance(node, ast.FunctionDef) and node.returns is not None:
        yield node.returns


def _spots(source: str) -> Iterator[Change]:
    """Yield every change of a text; those of annotations and of texts nobody runs are left out."""
    tools, idle = importlib.import_module("cosmic_ray.ast"), Idle(source)
    nodes = list(tools.ast_nodes(tools.get_ast(source)))
    for name, make in operators().items():
        operator = make()
        spots = [spot for node in nodes for (spot, _) in operator.mutation_positions(node)]
        yield from (Change(tuple(at), name, n) for n, at in enumerate(spots) if tuple(at) not in idle)
    yield from _own(source)


def _own(source: str) -> Iterator[Change]:
    """Yield our own: another word in place of a word, an act not done, a condition's part left out."""
    tree = ast.parse(source)
    papers = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    inside = {
        id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)
    }
    inside |= {id(part) for node in ast.walk(tree) for note in _annotations(node) for part in ast.walk(note)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value:
            if id(node) not in papers | inside:
                yield _change(source, node, "OtherWord", repr(node.value + "~"))
        elif _is_act(node):
            yield _change(source, node, "NotDone", "pass")
        elif isinstance(node, ast.BoolOp):
            for left in node.values:
                word = " and " if isinstance(node.op, ast.And) else " or "
                rest = word.join(f"({ast.unparse(one)})" for one in node.values if one is not left)
                yield _change(source, node, "PartLeftOut", f"({rest})")


def _is_act(node: ast.AST) -> TypeGuard[ast.stmt]:
    """Return whether a statement only does something: nothing is named, returned or raised by it."""
    if isinstance(node, ast.Expr):
        return not isinstance(node.value, ast.Constant | ast.Yield | ast.YieldFrom)
    return isinstance(node, ast.AugAssign)


def _change(source: str, node: ast.expr | ast.stmt, operator: str, text: str) -> Change:
    return Change((node.lineno, node.col_offset), operator, 0, _put(source, node, text))


def _put(source: str, node: ast.expr | ast.stmt, text: str) -> str:
    """Return the source with a node written otherwise."""
    lines = source.encode().splitlines(keepends=True)
    first, last = node.lineno - 1, (node.end_lineno or node.lineno) - 1
    head, tail = lines[first][: node.col_offset], lines[last][node.end_col_offset :]
    return b"".join((*lines[:first], head, text.encode(), tail, *lines[last + 1 :])).decode()
