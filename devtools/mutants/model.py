"""One mutant, one change of a text, and what came of them."""

from __future__ import annotations

import ast
import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Fate = Literal["killed", "lived", "timed out", "no test"]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One small wrong change.

    Parameters
    ----------
    group
        What it counts to: a module's path, or the field of a plan.
    place
        Where: ``line 12`` of a module, or the step of a plan.
    before, after
        The changed line or row, as it is and as it is made.
    load
        What is needed to make it: a module's whole text, or a row's change.
    line
        Line of the change; 0 in a plan.
    lines
        Lines of the statement it lies in; empty in a plan, and where it runs when the module is loaded.
    """

    group: str
    place: str
    before: str
    after: str
    load: Any
    line: int = 0
    lines: frozenset[int] = frozenset()

    @property
    def key(self) -> str:
        """A short name that stays while neither the group nor the two texts change."""
        told = "\n".join((self.group, self.before, self.after))
        return hashlib.sha256(told.encode()).hexdigest()[:10]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one mutant; `test`: the test that noticed it."""

    mutant: Mutant
    fate: Fate
    test: str = ""

    @property
    def lives(self) -> bool:
        """Nobody noticed it."""
        return self.fate in ("lived", "no test")


def shares(outcomes: Iterable[Outcome]) -> dict[str, dict[str, float]]:
    """Return by group how many were tried, killed and left alive, and the share killed.

    >>> one = Mutant("a.py", "line 1", "x < 1", "x > 1", "")
    >>> shares([Outcome(one, "killed"), Outcome(one, "lived")])
    {'a.py': {'tried': 2, 'killed': 1, 'lived': 1, 'share': 0.5}}
    """
    tried: Counter[str] = Counter()
    lived: Counter[str] = Counter()
    for one in outcomes:
        tried[one.mutant.group] += 1
        lived[one.mutant.group] += one.lives
    return {
        group: {
            "tried": n,
            "killed": n - lived[group],
            "lived": lived[group],
            "share": round((n - lived[group]) / n, 3),
        }
        for group, n in sorted(tried.items())
    }


def survivors(outcomes: Iterable[Outcome], reasons: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return those left alive, with the reason known for each; an empty one is still to be found."""
    found = {
        one.mutant.key: {
            "key": one.mutant.key,
            "group": one.mutant.group,
            "place": one.mutant.place,
            "before": one.mutant.before,
            "after": one.mutant.after,
            "why": reasons.get(one.mutant.key, ""),
        }
        for one in outcomes
        if one.lives
    }
    return sorted(found.values(), key=lambda row: (row["group"], row["place"], row["key"]))


def statement_lines(source: str) -> dict[int, frozenset[int]]:
    """Return for each line inside a function the lines of its innermost statement, a block's body left out.

    >>> statement_lines("def f():\\n    if (a or\\n            b):\\n        c()")[3]
    frozenset({2, 3})
    """
    found: dict[int, frozenset[int]] = {}
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.FunctionDef):
            for node in (part for one in function.body for part in ast.walk(one)):
                if isinstance(node, ast.stmt) and not isinstance(node, ast.FunctionDef):
                    _statement(node, found)
    return found


def _statement(node: ast.stmt, found: dict[int, frozenset[int]]) -> None:
    first, last = node.lineno, node.end_lineno or node.lineno
    body = getattr(node, "body", None)
    if body:
        last = max(first, body[0].lineno - 1)
    mine = frozenset(range(first, last + 1))
    for line in mine:
        if line not in found or len(mine) <= len(found[line]):
            found[line] = mine
