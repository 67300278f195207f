"""Makes `tests/vectors/expressions.json`: cases written by hand, and generated ones with a second evaluator.

The second evaluator shares no code with the product: values are wrapped, every operator is one small function
over wrapped values. Run ``python -m tests.procedure.expression_vectors`` to write the file again.
"""

from __future__ import annotations

import json
import math
import random
from itertools import pairwise
from pathlib import Path
from typing import Any

from tests.procedure.expression_cases import (
    BANDS,
    DRY,
    FAR,
    HAND,
    INSTRUMENTS,
    LIMITS,
    NONE,
    ODD,
    REFUSED,
    RUNS,
    T3,
    WORD,
    table_at,
)  # fmt: skip

FILE = Path(__file__).parent.parent / "vectors" / "expressions.json"
SEED = 7
GENERATED = 420

__all__ = ["FILE", "HAND", "file"]

# A second evaluator, for the generated cases.


def _end(listed: list[Any], place: int) -> Any:
    return listed[place] if listed else None


def known(value: Any) -> bool:
    return isinstance(value, float) and math.isfinite(value)


def second(e: Any, here: dict[str, Any] | None = None) -> Any:
    if not isinstance(e, dict):
        return float(e) if isinstance(e, int) and not isinstance(e, bool) else e
    ((op, arg),) = e.items()
    return getattr(_Second, f"op_{op}")(arg, here)


class _Second:
    @staticmethod
    def of(name: Any) -> list[dict[str, Any]]:
        step, wanted = ("F1.SO", name) if isinstance(name, str) else name
        return [run for run in RUNS if run["input"] == wanted and step in ("*", run["node"])]

    @classmethod
    def op_value(cls, name: Any, here: Any) -> Any:
        found = cls.of(name)
        return found[-1]["value"] if found else None

    @classmethod
    def op_given(cls, name: Any, here: Any) -> Any:
        return len(cls.of(name)) > 0

    @staticmethod
    def op_expect(arg: Any, here: Any) -> Any:
        return BANDS.get(arg[0], {}).get(arg[1])

    @staticmethod
    def op_limit(arg: Any, here: Any) -> Any:
        return LIMITS.get(arg)

    @classmethod
    def op_entry(cls, arg: Any, here: Any) -> Any:
        if here is None:
            return None
        whole = {"order": None, **here.get("keys", {}), **here, "step": here["node"]}
        return whole.get(arg)

    @classmethod
    def op_time(cls, arg: Any, here: Any) -> Any:
        return cls.op_entry("time", _end(cls.of(arg), -1))

    @classmethod
    def op_order(cls, arg: Any, here: Any) -> Any:
        return cls.op_entry("order", _end(cls.of(arg), -1))

    @classmethod
    def op_carried(cls, arg: Any, here: Any) -> Any:
        return cls.op_entry(arg[1], _end(cls.of(arg[0]), -1))

    @classmethod
    def op_instrument(cls, arg: Any, here: Any) -> Any:
        run, key = (here, arg) if isinstance(arg, str) else (_end(cls.of(arg[0]), -1), arg[1])
        return INSTRUMENTS.get(cls.op_entry("instrument", run), {}).get(key)

    @classmethod
    def _numbers_of(cls, arg: Any) -> list[float]:
        test = arg.get("where", True)
        values = [run["value"] for run in cls.of(arg["of"]) if second(test, run) is True]
        return sorted(value for value in values if isinstance(value, float))

    @classmethod
    def op_least(cls, arg: Any, here: Any) -> Any:
        return _end(cls._numbers_of(arg), 0)

    @classmethod
    def op_most(cls, arg: Any, here: Any) -> Any:
        return _end(cls._numbers_of(arg), -1)

    @classmethod
    def op_begun(cls, arg: Any, here: Any) -> Any:
        found = (run for run in cls.of(arg["of"]) if second(arg.get("where", True), run) is True)
        return cls.op_entry("order", next(found, None))

    @classmethod
    def op_first(cls, arg: Any, here: Any) -> Any:
        test = arg.get("where", True)
        found = [run["value"] for run in cls.of(arg["of"]) if second(test, run) is True]
        return dict(enumerate(found)).get(arg.get("back", 0))

    @staticmethod
    def numbers(arg: Any, here: Any) -> list[float] | None:
        values = [second(part, here) for part in arg]
        return values if all(isinstance(v, float) for v in values) else None

    @classmethod
    def _order(cls, arg: Any, here: Any, sign: set[int]) -> Any:
        pair = cls.numbers(arg, here)
        return None if pair is None else ((pair[0] > pair[1]) - (pair[0] < pair[1])) in sign

    @classmethod
    def op_lt(cls, arg: Any, here: Any) -> Any:
        return cls._order(arg, here, {-1})

    @classmethod
    def op_le(cls, arg: Any, here: Any) -> Any:
        return cls._order(arg, here, {-1, 0})

    @classmethod
    def op_gt(cls, arg: Any, here: Any) -> Any:
        return cls._order(arg, here, {1})

    @classmethod
    def op_ge(cls, arg: Any, here: Any) -> Any:
        return cls._order(arg, here, {0, 1})

    @staticmethod
    def op_eq(arg: Any, here: Any) -> Any:
        a, b = (second(part, here) for part in arg)
        kinds = [(bool, a, b), (float, a, b), (str, a, b)]
        for kind, x, y in kinds:
            if type(x) is kind and type(y) is kind:
                return x == y
        return None

    @classmethod
    def op_ne(cls, arg: Any, here: Any) -> Any:
        same = cls.op_eq(arg, here)
        return None if same is None else not same

    @staticmethod
    def op_not(arg: Any, here: Any) -> Any:
        return (
            {True: False, False: True}.get(second(arg, here)) if isinstance(second(arg, here), bool) else None
        )

    @staticmethod
    def op_all(arg: Any, here: Any) -> Any:
        values = [second(part, here) for part in arg]
        ranks = [0 if v is False else 2 if v is True else 1 for v in values]
        return (False, None, True)[min(ranks)]

    @staticmethod
    def op_any(arg: Any, here: Any) -> Any:
        values = [second(part, here) for part in arg]
        ranks = [0 if v is False else 2 if v is True else 1 for v in values]
        return (False, None, True)[max(ranks)]

    @classmethod
    def _chain(cls, arg: Any, here: Any, step: Any) -> Any:
        values = cls.numbers(arg, here)
        if values is None:
            return None
        total = values[0]
        for value in values[1:]:
            total = step(total, value)
            if total is None:
                return None
        return total if known(total) else None

    @classmethod
    def op_add(cls, arg: Any, here: Any) -> Any:
        return cls._chain(arg, here, lambda a, b: a + b)

    @classmethod
    def op_sub(cls, arg: Any, here: Any) -> Any:
        return cls._chain(arg, here, lambda a, b: a - b)

    @classmethod
    def op_mul(cls, arg: Any, here: Any) -> Any:
        return cls._chain(arg, here, lambda a, b: a * b)

    @classmethod
    def op_div(cls, arg: Any, here: Any) -> Any:
        return cls._chain(arg, here, lambda a, b: None if b == 0 else a / b)

    @classmethod
    def op_min(cls, arg: Any, here: Any) -> Any:
        values = cls.numbers(arg, here)
        return None if values is None else sorted(values)[0]

    @classmethod
    def op_max(cls, arg: Any, here: Any) -> Any:
        values = cls.numbers(arg, here)
        return None if values is None else sorted(values)[-1]

    @staticmethod
    def op_abs(arg: Any, here: Any) -> Any:
        value = second(arg, here)
        return math.fabs(value) if isinstance(value, float) else None

    @staticmethod
    def op_if(arg: Any, here: Any) -> Any:
        chosen = (
            {True: 1, False: 2}.get(second(arg[0], here)) if isinstance(second(arg[0], here), bool) else None
        )
        return None if chosen is None else second(arg[chosen], here)

    @staticmethod
    def op_table(arg: Any, here: Any) -> Any:
        x = second(arg["x"], here)
        if not isinstance(x, float):
            return None
        rows = list(zip(arg["at"], arg["give"], strict=True))
        for (x0, y0), (x1, y1) in pairwise(rows):
            if x0 <= x <= x1:
                return y0 + (y1 - y0) * ((x - x0) / (x1 - x0))
        return None

    @classmethod
    def op_count(cls, arg: Any, here: Any) -> Any:
        test = arg.get("where", True)
        return float(sum(second(test, run) is True for run in cls.of(arg["of"])))

    @classmethod
    def op_last(cls, arg: Any, here: Any) -> Any:
        test = arg.get("where", True)
        found = [run["value"] for run in cls.of(arg["of"]) if second(test, run) is True]
        back = arg.get("back", 0)
        return list(reversed(found))[back] if back < len(found) else None


OPERATORS = [
    *("lt", "le", "gt", "ge", "eq", "ne", "all", "any", "not", "add", "sub"),
    *("mul", "div", "min", "max", "abs", "if", "table", "count", "last", "first", "least", "most", "begun"),
]


def grown(rng: random.Random, depth: int, *, inside: bool = False) -> Any:
    """Return a random expression within the grammar."""
    if depth == 0 or rng.random() < 0.15:
        leaves = [
            rng.choice([0.0, 1.0, -2.5, 5.2e5, 3]),
            T3,
            FAR,
            NONE,
            DRY,
            WORD,
            ODD,
            True,
            False,
            None,
            "shut",
        ]
        leaves += [{"given": "T3"}, {"expect": ["T3", rng.choice(["low", "high", "nominal"])]}]
        leaves += [{"limit": rng.choice(["trip", "runs", "none"])}, {"order": "act"}, {"time": "act"}]
        leaves += [{"carried": ["act", rng.choice(["instrument", "day"])]}, {"instrument": ["act", "error"]}]
        own = ["value", "time", "order", "step", "instrument", "day"]
        leaves += [{"entry": rng.choice(own)}] * 6 + [{"instrument": "error"}] if inside else []
        return rng.choice(leaves)
    op = rng.choice(OPERATORS)

    def part() -> Any:
        return grown(rng, depth - 1, inside=inside)

    if op in ("not", "abs"):
        return {op: part()}
    if op == "if":
        return {op: [part(), part(), part()]}
    if op == "table":
        return table_at(part())
    if op in ("count", "last", "first", "least", "most", "begun"):
        name = rng.choice(["T3", ["H2.RV", "T3"], "dry", "missing", "act", ["*", "act"], ["*", "@action"]])
        where = {"where": grown(rng, depth - 1, inside=True)} if rng.random() < 0.7 else {}
        back = {"back": rng.randrange(3)} if op in ("first", "last") and rng.random() < 0.5 else {}
        return {op: {"of": name, **where, **back}}
    two = op in ("lt", "le", "gt", "ge", "eq", "ne", "sub", "div")
    return {op: [part() for _ in range(2 if two else rng.randint(1, 3))]}


def file() -> dict[str, Any]:
    """Return the whole content of the vectors file."""
    rng = random.Random(SEED)
    cases = [{"name": name, "expression": e, "value": value} for name, e, value in HAND]
    number = 0
    while number < GENERATED:
        expression = grown(rng, rng.randint(1, 4))
        value = second(expression)
        if value is None and rng.random() < 0.6:
            continue
        number += 1
        cases.append({"name": f"generated {number}", "expression": expression, "value": value})
    return {
        "node": "F1.SO",
        "entries": RUNS,
        "bands": BANDS,
        "limits": LIMITS,
        "instruments": INSTRUMENTS,
        "cases": cases,
        "refused": [{"name": name, "expression": e} for name, e in REFUSED],
    }


if __name__ == "__main__":
    FILE.parent.mkdir(exist_ok=True)
    blocks = []
    for key, value in file().items():
        lines = [json.dumps(one, ensure_ascii=False) for one in value] if isinstance(value, list) else []
        blocks.append(f'"{key}": ' + ("[\n" + ",\n".join(lines) + "\n]" if lines else json.dumps(value)))
    FILE.write_text("{\n" + ",\n".join(blocks) + "\n}\n", encoding="utf-8")
