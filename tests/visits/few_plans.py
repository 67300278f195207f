"""A few plans that together have every kind of step, and their rows in short words.

`python -m tests.visits.few_plans` writes the tables anew; read what changed before keeping it.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from steadyhead.records.procedure import Kind, Node, Otherwise, Procedure, Refusal
from tests.visits import plan_stations, stream_stations
from tests.visits.every_plan import plan_of

FEW: tuple[tuple[str, Kind], ...] = (
    ("quillenby-row", "first"), ("quillenby-row", "yearly"), ("quillenby-row", "restart"),
    ("dunmarrow-bottom", "first"), ("dunmarrow-bottom", "new_setting"),
    ("veldany-house", "first"), ("veldany-house", "yearly"), ("quernhollow-lane", "first"),
    ("mesquill-flat", "yearly"), ("fenwarren-gate", "first"), ("tarnholt-quay", "yearly"),
    ("quernhollow-lane", "restart"), ("orrowby-mill", "yearly"), ("sorrel-flat", "first"),
    ("twins", "first"), ("twins", "yearly"), ("low flow", "first"), ("low flow", "yearly"),
    ("fenwarren-gate", "yearly"), ("sorrel-flat", "yearly"), ("twins", "return_to_service"),
    ("veldany-house", "new_setting"),
)  # fmt: skip
MADE = {"twins": stream_stations.twin_streams, "low flow": stream_stations.low_flow}
STEPS = Path(__file__).parent / "rows_of_steps.txt"
TOLD = Path(__file__).parent / "rows_told_when.txt"
NEEDS = Path(__file__).parent / "rows_needed.txt"
READS = Path(__file__).parent / "rows_read.txt"
TEXTS = Path(__file__).parent / "rows_of_texts.txt"
PINNED = Path(__file__).parent / "rows_pinned.txt"
FIELDS = ("touches", "opens", "restores", "proves", "depends_on")
ROLES = (
    (r"^(RV[0-9ABab]?|LB)(?=\.)", "RV"), (r"^SO[ABab]?(?=\.)", "SO"),
    (r"^([ABabm]|low|main)(?=\.)", "stream"),
    (r"^IV([ABLM]?2|2[ab])(?=\.)", "IV2"), (r"^TG-\d+", "gauge"), (r"^TD([ABab])(?=\.)", "TD"), (r"@.*", "@"),
)  # fmt: skip
NUMBER = re.compile(r"-?\d{3,}(\.\d+)?(e[+-]?\d+)?|-?\d+\.\d{4,}(e-\d+)?|\d(\.\d+)?e-\d+")
SIGNS = {"gt": ">", "lt": "<", "ge": ">=", "le": "<=", "eq": "=", "ne": "≠", "sub": "-", "mul": "*",
         "div": "/", "add": "+", "all": "and", "any": "or", "says": "says"}  # fmt: skip


@cache
def plan(name: str, kind: Kind) -> Procedure:
    """Return a plan of an example, or of a station made for the tests, written with figures made by hand."""
    if name in MADE:
        return stream_stations.made(MADE[name](), kind=kind)
    found = plan_of(plan_stations.station(name), kind)
    assert found is not None
    return found


def step_row(node: Node) -> tuple[str, str]:
    """Return the kind of a step, and its things, items and proofs in terms of its own valve."""
    kind, _, own = node.id.partition(".")
    own = own.partition(".")[0]
    told = (" ".join(sorted(_role(name, own) for name in getattr(node, field))) for field in FIELDS)
    return kind, " | ".join(told)


def texts_row(node: Node) -> str:
    """Return the ids of the texts a step has, in their order, and the readings it asks for."""
    told = " ".join([*(one.see.id for one in node.otherwise), *(one.message.id for one in node.refuses)])
    return f"{told} | {' '.join(one.name for one in node.inputs)}"


def digest(procedure: Procedure) -> str:
    """Return a digest of everything a plan judges by, numbers to six digits."""
    told = []
    for one in procedure.nodes:
        rules = [shown(rule.when) for rule in one.otherwise]
        rules += [shown(rule.when) for rule in one.refuses]
        lists = [getattr(one, field) for field in FIELDS]
        told.append((one.id, one.needs, lists, one.expect, one.inputs, texts_row(one), rules))
    whole = repr((told, sorted(procedure.limits.items()), sorted(procedure.never), procedure.minding))
    short = re.sub(r"-?\d+\.\d+(e[+-]?\d+)?", lambda found: f"{float(found.group()):.6g}", whole)
    return hashlib.sha256(short.encode()).hexdigest()[:12]


def needs_row(node: Node) -> str:
    """Return what a step needs, in terms of its own valve or stream."""
    own = node.id.partition(".")[2].partition(".")[0]
    return re.sub(rf"\b{own}\b", "*", shown(node.needs)) if own else shown(node.needs)


def reads_rows(node: Node) -> Iterator[tuple[str, str]]:
    """Yield of each input the kind of its step and its name, and what is asked of it; no tap, no amount."""
    kind = node.id.partition(".")[0]
    for one in node.inputs:
        told = [one.quantity, one.instrument, f"still {one.stable_for:g} s within {one.stable_within:g}"]
        told += [word for word, is_so in (("traced", one.traced), ("fine", one.error_most > 0.0)) if is_so]
        told += [f"carries {key}" for key in one.carries]
        rules = (("unless", one.unless), ("worked", one.worked))
        told += [f"{word} {shown(rule)}" for word, rule in rules if rule]
        yield f"{kind} {one.name}", " | ".join(told)


def _role(name: str, own: str) -> str:
    if own:
        name = re.sub(rf"^{own}(?=\.)", "*", name)
    for pattern, role in ROLES:
        name = re.sub(pattern, role, name)
    return name


def told_rows(node: Node) -> Iterator[tuple[str, str, list[float], Mapping[str, Any]]]:
    """Yield of each text of a step its id, when it is told, the large amounts in that, and its parameters.

    Amounts are left out of the words, and lists of the station's parts, as long as the station.
    """
    rules: tuple[Otherwise | Refusal, ...] = (*node.otherwise, *node.refuses)
    for one in rules:
        message = one.message if isinstance(one, Refusal) else one.see
        own = node.id.partition(".")[2].partition(".")[0]
        when = shown(one.when)
        if own[:1].isupper():
            when = re.sub(rf"\b{own}\b", "*", when)
        params = dict(message.params)
        if isinstance(one, Otherwise):
            params |= dict(one.meaning.params) | dict(one.then.params)
        yield message.id, NUMBER.sub("#", when), [float(m.group()) for m in NUMBER.finditer(when)], params


def shown(one: Any) -> str:
    """Return a predicate in short words.

    >>> shown({"all": [{"gt": [{"value": "T3"}, 5e5]}, {"not": {"given": "T1"}}]})
    '((T3 > 500000) and (not (given T1)))'
    """
    if isinstance(one, Mapping) and len(one) == 1:
        word, part = next(iter(one.items()))
        if word in SIGNS and isinstance(part, list | tuple):
            if len(part) > 9 and all(isinstance(each, Mapping) and "eq" in each for each in part):
                return f"({word} of its parts)"
            told = f" {SIGNS[word]} ".join(shown(each) for each in part)
            return f"({told})" if word not in ("all", "any") or len(part) > 1 else told
        if word == "value":
            return part if isinstance(part, str) else ":".join(part)
        return f"({word} {shown(part)})"
    if isinstance(one, Mapping):
        return "{" + ", ".join(f"{key} {shown(one[key])}" for key in sorted(one)) + "}"
    if isinstance(one, list | tuple):
        return "[" + ", ".join(shown(each) for each in one) + "]"
    return f"{one:.9g}" if isinstance(one, float) else str(one)


def tables() -> dict[Path, dict[str, list[str]]]:
    """Return both tables as the plans are: by kind of step, and by text."""
    steps: dict[str, set[str]] = {}
    told: dict[str, set[str]] = {}
    needs: dict[str, set[str]] = {}
    reads: dict[str, set[str]] = {}
    texts: dict[str, set[str]] = {}
    pinned: dict[str, set[str]] = {}
    for name, kind in FEW:
        pinned[f"{name} {kind}"] = {digest(plan(name, kind))}
        for node in plan(name, kind).nodes:
            at, row = step_row(node)
            steps.setdefault(at, set()).add(row)
            texts.setdefault(at, set()).add(texts_row(node))
            needs.setdefault(at, set()).add(needs_row(node))
            for key, asked in reads_rows(node):
                reads.setdefault(key, set()).add(asked)
            for text, when, _, _ in told_rows(node):
                told.setdefault(text, set()).add(when)
    found = {STEPS: steps, TOLD: told, NEEDS: needs, READS: reads, TEXTS: texts, PINNED: pinned}
    return {file: {key: sorted(rows) for key, rows in sorted(table.items())} for file, table in found.items()}


@cache
def read(file: Path) -> dict[str, list[str]]:
    """Return a table as it is kept."""
    found: dict[str, list[str]] = {}
    for line in file.read_text("utf-8").splitlines():
        key, _, row = line.partition(": ")
        found.setdefault(key.strip(), []).append(row)
    return found


if __name__ == "__main__":
    for file, table in tables().items():
        lines = [f"{key}: {row}" for key, rows in table.items() for row in rows]
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
