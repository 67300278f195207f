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

FILE = Path(__file__).parent.parent / "vectors" / "expressions.json"
SEED = 7
GENERATED = 420

RUNS: list[dict[str, Any]] = [
    {"node": "F1.SO", "input": "T3", "value": 5.12e5, "time": 100.0},
    {"node": "F1.SO", "input": "T3", "value": 5.2e5, "time": 160.0},
    {"node": "F1.SO", "input": "T3", "value": 5.31e5, "time": 220.0},
    {"node": "F1.SO", "input": "dry", "value": True, "time": 230.0},
    {"node": "F1.SO", "input": "word", "value": "shut", "time": 231.0},
    {"node": "H2.RV", "input": "flow", "value": 0.0, "time": 300.0},
    {"node": "H2.RV", "input": "T3", "value": 4.21e5, "time": 301.0},
    {"node": "H2.RV", "input": "wet", "value": False, "time": 302.0},
    {"node": "F1.SO", "input": "odd", "value": None, "time": None},
]
BANDS: dict[str, dict[str, Any]] = {
    "T3": {"low": 5.05e5, "high": 5.35e5, "nominal": 5.2e5},
    "dry": {"low": 0.0, "high": None},
}
T3, FAR, NONE = {"value": "T3"}, {"value": ["H2.RV", "T3"]}, {"value": "missing"}
DRY, WORD, ODD = {"value": "dry"}, {"value": "word"}, {"value": "odd"}
TABLE = {"at": [0.0, 1.0, 3.0], "give": [10.0, 20.0, -20.0]}


def _x(x: Any) -> dict[str, Any]:
    return {"table": {"x": x, **TABLE}}


HAND: list[tuple[str, Any, Any]] = [
    ("a number is itself", 4.5, 4.5),
    ("a whole number is a double", 4, 4.0),
    ("text is itself", "shut", "shut"),
    ("true is itself", True, True),
    ("null is not known", None, None),
    ("the newest value of this step", T3, 5.31e5),
    ("the newest value of another step", FAR, 4.21e5),
    ("a value never taken is not known", NONE, None),
    ("a value of a step never done is not known", {"value": ["Z9", "T3"]}, None),
    ("a value taken as not known is not known", ODD, None),
    ("an answer is a boolean", DRY, True),
    ("given, once taken", {"given": "T3"}, True),
    ("given, never taken", {"given": "missing"}, False),
    ("given, taken as not known", {"given": "odd"}, True),
    ("given in another step", {"given": ["H2.RV", "flow"]}, True),
    ("lower edge", {"expect": ["T3", "low"]}, 5.05e5),
    ("upper edge", {"expect": ["T3", "high"]}, 5.35e5),
    ("likeliest", {"expect": ["T3", "nominal"]}, 5.2e5),
    ("an open edge is not known", {"expect": ["dry", "high"]}, None),
    ("an edge that is left out is not known", {"expect": ["dry", "nominal"]}, None),
    ("an edge of an input without a band is not known", {"expect": ["T2", "low"]}, None),
    ("above its band: no", {"gt": [T3, {"expect": ["T3", "high"]}]}, False),
    ("above another edge: yes", {"gt": [T3, {"expect": ["T3", "nominal"]}]}, True),
    ("below an open edge is not known", {"lt": [1.0, {"expect": ["dry", "high"]}]}, None),
    ("less", {"lt": [1.0, 2.0]}, True),
    ("less, equal", {"lt": [2.0, 2.0]}, False),
    ("less or equal, equal", {"le": [2.0, 2.0]}, True),
    ("more", {"gt": [2.0, 1.0]}, True),
    ("more, equal", {"gt": [2.0, 2.0]}, False),
    ("more or equal, less", {"ge": [1.0, 2.0]}, False),
    ("order with the unknown", {"lt": [NONE, 2.0]}, None),
    ("order of texts is not known", {"lt": ["a", "b"]}, None),
    ("order of a boolean is not known", {"gt": [True, 0.0]}, None),
    ("equal numbers", {"eq": [2.0, 2]}, True),
    ("equal texts", {"eq": [WORD, "shut"]}, True),
    ("other case is another text", {"eq": [WORD, "Shut"]}, False),
    ("equal booleans", {"eq": [DRY, True]}, True),
    ("unequal booleans", {"ne": [DRY, True]}, False),
    ("a number and a text are not comparable", {"eq": [1.0, "1"]}, None),
    ("true is not one", {"eq": [True, 1.0]}, None),
    ("unequal with the unknown", {"ne": [NONE, 1.0]}, None),
    ("unknown equals nothing", {"eq": [NONE, NONE]}, None),
    ("minus zero is zero", {"eq": [0.0, -0.0]}, True),
    ("not", {"not": DRY}, False),
    ("not unknown", {"not": NONE}, None),
    ("not a number", {"not": 1.0}, None),
    ("all true", {"all": [True, True]}, True),
    ("all, one false", {"all": [True, False]}, False),
    ("all, one unknown", {"all": [True, NONE]}, None),
    ("all, false beats unknown", {"all": [NONE, False]}, False),
    ("all with a number is not known", {"all": [True, 1.0]}, None),
    ("all with a number and a false", {"all": [1.0, False]}, False),
    ("any true", {"any": [False, True]}, True),
    ("any, none", {"any": [False, False]}, False),
    ("any, true beats unknown", {"any": [NONE, True]}, True),
    ("any, unknown", {"any": [NONE, False]}, None),
    ("any with a text is not known", {"any": ["yes", False]}, None),
    ("one part of all", {"all": [True]}, True),
    ("sum", {"add": [1.0, 2.0, 3.5]}, 6.5),
    ("sum from left to right", {"add": [1e16, 1.0, -1e16]}, 0.0),
    ("sum with unknown", {"add": [1.0, NONE]}, None),
    ("sum with text", {"add": [1.0, "2"]}, None),
    ("sum with a boolean", {"add": [1.0, True]}, None),
    ("difference", {"sub": [T3, FAR]}, 1.1e5),
    ("product", {"mul": [2.0, -3.0]}, -6.0),
    ("quotient", {"div": [1.0, 4.0]}, 0.25),
    ("division by zero", {"div": [1.0, 0.0]}, None),
    ("division by minus zero", {"div": [1.0, -0.0]}, None),
    ("zero by zero", {"div": [0.0, 0.0]}, None),
    ("a product that is not finite", {"mul": [1e200, 1e200]}, None),
    ("a quotient that is not finite", {"div": [1e200, 1e-200]}, None),
    ("smallest", {"min": [3.0, 1.0, 2.0]}, 1.0),
    ("largest", {"max": [3.0, 1.0, 2.0]}, 3.0),
    ("smallest with unknown", {"min": [3.0, NONE]}, None),
    ("one part of max", {"max": [3.0]}, 3.0),
    ("absolute", {"abs": -2.5}, 2.5),
    ("absolute of unknown", {"abs": NONE}, None),
    ("absolute of a boolean", {"abs": True}, None),
    ("if true", {"if": [DRY, 1.0, 2.0]}, 1.0),
    ("if false", {"if": [{"value": ["H2.RV", "wet"]}, 1.0, 2.0]}, 2.0),
    ("if unknown", {"if": [NONE, 1.0, 2.0]}, None),
    ("if with a number", {"if": [1.0, 1.0, 2.0]}, None),
    ("if of texts", {"if": [True, "a", "b"]}, "a"),
    ("table at its first row", _x(0.0), 10.0),
    ("table at its last row", _x(3.0), -20.0),
    ("table at a middle row", _x(1.0), 20.0),
    ("table between rows", _x(0.5), 15.0),
    ("table on a falling line", _x(2.0), 0.0),
    ("table below its rows", _x(-0.1), None),
    ("table beyond its rows", _x(3.1), None),
    ("table of unknown", _x(NONE), None),
    ("table of a text", _x("1"), None),
    ("count all", {"count": {"of": "T3"}}, 3.0),
    ("count none", {"count": {"of": "missing"}}, 0.0),
    ("count where", {"count": {"of": "T3", "where": {"ge": [{"entry": "value"}, 5.2e5]}}}, 2.0),
    ("count by time", {"count": {"of": "T3", "where": {"gt": [{"entry": "time"}, 150.0]}}}, 2.0),
    ("count where unknown counts nothing", {"count": {"of": "T3", "where": {"gt": [NONE, 1.0]}}}, 0.0),
    ("count against another value", {"count": {"of": "T3", "where": {"lt": [{"entry": "value"}, T3]}}}, 2.0),
    ("count in another step", {"count": {"of": ["H2.RV", "flow"]}}, 1.0),
    ("last", {"last": {"of": "T3"}}, 5.31e5),
    ("the one before the last", {"last": {"of": "T3", "back": 1}}, 5.2e5),
    ("further back than there is", {"last": {"of": "T3", "back": 3}}, None),
    ("last where", {"last": {"of": "T3", "where": {"lt": [{"entry": "value"}, 5.3e5]}}}, 5.2e5),
    ("last of none", {"last": {"of": "missing"}}, None),
    ("an entry outside where is not known", {"entry": "value"}, None),
    ("time of an entry not known", {"count": {"of": "odd", "where": {"ge": [{"entry": "time"}, 0.0]}}}, 0.0),
    (
        "spread of three runs",
        {"sub": [{"max": [T3, {"last": {"of": "T3", "back": 2}}]}, {"last": {"of": "T3", "back": 2}}]},
        19000.0,
    ),
    ("a lock-up with flow is refused", {"gt": [{"value": ["H2.RV", "flow"]}, 0.0]}, False),
    ("follows the inlet", {"gt": [FAR, {"sub": [T3, 5e4]}]}, False),
]  # fmt: skip

REFUSED: list[tuple[str, Any]] = [
    ("a list", [1.0, 2.0]),
    ("two operators", {"lt": [1.0, 2.0], "gt": [1.0, 2.0]}),
    ("no operator", {}),
    ("an unknown operator", {"power": [2.0, 3.0]}),
    ("one part too few", {"lt": [1.0]}),
    ("one part too many", {"sub": [1.0, 2.0, 3.0]}),
    ("all of nothing", {"all": []}),
    ("if without else", {"if": [True, 1.0]}),
    ("a name that is a number", {"value": 3}),
    ("an empty name", {"value": ""}),
    ("a name of three", {"value": ["a", "b", "c"]}),
    ("an edge that is none", {"expect": ["T3", "middle"]}),
    ("an entry field that is none", {"entry": "who"}),
    ("a table that falls", {"table": {"x": 1.0, "at": [1.0, 0.0], "give": [1.0, 2.0]}}),
    ("a table of one row", {"table": {"x": 1.0, "at": [1.0], "give": [1.0]}}),
    ("a table with rows that do not match", {"table": {"x": 1.0, "at": [0.0, 1.0], "give": [1.0]}}),
    ("a table with text", {"table": {"x": 1.0, "at": [0.0, "1"], "give": [1.0, 2.0]}}),
    ("a table without x", {"table": {"at": [0.0, 1.0], "give": [1.0, 2.0]}}),
    ("count of nothing named", {"count": {"where": True}}),
    ("count with back", {"count": {"of": "T3", "back": 1}}),
    ("last with a negative back", {"last": {"of": "T3", "back": -1}}),
    ("last with a boolean back", {"last": {"of": "T3", "back": True}}),
    ("a fault in a branch never taken", {"if": [True, 1.0, {"power": [1.0]}]}),
    ("a number too large", {"add": [1.0, 1e301]}),
]


# A second evaluator, for the generated cases.


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
        return [run for run in RUNS if (run["node"], run["input"]) == (step, wanted)]

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
    def op_entry(arg: Any, here: Any) -> Any:
        return None if here is None else here[arg]

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
    *("mul", "div", "min", "max", "abs", "if", "table", "count", "last"),
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
        leaves += [{"entry": rng.choice(["value", "time"])}] * 3 if inside else []
        return rng.choice(leaves)
    op = rng.choice(OPERATORS)

    def part() -> Any:
        return grown(rng, depth - 1, inside=inside)

    if op in ("not", "abs"):
        return {op: part()}
    if op == "if":
        return {op: [part(), part(), part()]}
    if op == "table":
        return _x(part())
    if op in ("count", "last"):
        name = rng.choice(["T3", ["H2.RV", "T3"], "dry", "missing"])
        where = {"where": grown(rng, depth - 1, inside=True)} if rng.random() < 0.7 else {}
        back = {"back": rng.randrange(3)} if op == "last" and rng.random() < 0.5 else {}
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
