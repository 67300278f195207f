"""The closed expression language: shared vectors, and properties that hold for any expression."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.procedure.expression import Context, Taken, check, evaluate, holds, names
from steadyhead.procedure.grammar import DEEPEST
from tests.procedure.expression_vectors import FILE, HAND, file

VECTORS: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
CONTEXT = Context(
    VECTORS["node"],
    tuple(
        Taken(e["node"], e["input"], e["value"], e["time"], e.get("order"), e.get("keys", {}))
        for e in VECTORS["entries"]
    ),
    VECTORS["bands"],
    VECTORS["limits"],
    VECTORS["instruments"],
)


@pytest.mark.source(
    kind="independent", ref="tests/procedure/expression_vectors.py: by hand, and by a second evaluator"
)
def test_every_vector_evaluates_to_its_value():
    assert len(HAND) >= 100
    assert len(VECTORS["cases"]) >= 500
    for case in VECTORS["cases"]:
        got = evaluate(case["expression"], CONTEXT)
        wanted = case["value"]
        assert type(got) is type(wanted), case["name"]
        if isinstance(wanted, float):
            assert got == pytest.approx(wanted, rel=1e-12, abs=0.0), case["name"]
        else:
            assert got == wanted, case["name"]


def test_the_vectors_file_is_what_its_maker_writes():
    assert file() == VECTORS


@pytest.mark.parametrize("case", VECTORS["refused"], ids=lambda case: case["name"])
def test_an_expression_outside_the_grammar_is_refused_with_its_place(case):
    with pytest.raises(InputError, match=r"^expression") as refused:
        evaluate(case["expression"], CONTEXT)
    assert refused.value.remedy


def test_a_refusal_names_the_place_in_the_expression():
    with pytest.raises(InputError, match=r"^when\.all\[1\]\.gt: got "):
        check({"all": [True, {"gt": [1.0]}]}, "when")


def test_depth_is_bounded():
    deep: Any = True
    for _ in range(DEEPEST + 1):
        deep = {"not": deep}
    with pytest.raises(InputError, match="nested deeper"):
        check(deep)


def test_only_true_holds():
    assert holds(True)
    assert not holds(False)
    assert not holds(None)
    assert not holds({"value": "T3"})
    assert not holds(1.0)


def test_names_are_all_inputs_read():
    expression = {
        "all": [
            {"gt": [{"value": "T3"}, {"expect": ["T2", "low"]}]},
            {"given": ["F1.SO", "act"]},
            {"ge": [{"count": {"of": "run", "where": {"lt": [{"entry": "value"}, {"value": "top"}]}}}, 2.0]},
            {"lt": [{"table": {"x": {"value": "turns"}, "at": [0.0, 1.0], "give": [0.0, 1.0]}}, 1.0]},
        ]
    }
    assert names(expression) == {"T3", "T2", ("F1.SO", "act"), "run", "top", "turns"}


leaf = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.booleans(),
    st.none(),
    st.text(max_size=3),
    st.just({"value": "T3"}),
    st.just({"value": "missing"}),
    st.just({"expect": ["T3", "high"]}),
)


def under(operator: str, arguments: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return arguments.map(lambda argument: {operator: argument})


def extended(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    pair = st.lists(inner, min_size=2, max_size=2)
    many = st.lists(inner, min_size=1, max_size=3)
    return st.one_of(
        *(under(name, pair) for name in ("lt", "le", "gt", "ge", "eq", "ne", "sub", "div")),
        *(under(name, many) for name in ("all", "any", "add", "mul", "min", "max")),
        *(under(name, inner) for name in ("not", "abs")),
        under("count", inner.map(lambda where: {"of": "T3", "where": where})),
        under("if", st.lists(inner, min_size=3, max_size=3)),
    )


expressions = st.recursive(leaf, extended, max_leaves=12)


@given(expressions)
def test_every_expression_of_the_grammar_has_a_finite_value_and_survives_json(expression):
    value = evaluate(expression, CONTEXT)
    assert value is None or isinstance(value, float | bool | str)
    assert not isinstance(value, float) or math.isfinite(value)
    assert evaluate(json.loads(json.dumps(expression)), CONTEXT) == value


@given(st.lists(expressions, min_size=1, max_size=3))
def test_not_all_is_any_not(parts):
    left = evaluate({"not": {"all": parts}}, CONTEXT)
    assert left == evaluate({"any": [{"not": part} for part in parts]}, CONTEXT)


@given(expressions, expressions)
def test_a_predicate_and_its_opposite_never_both_hold(first, second):
    assert not (holds({"gt": [first, second]}, CONTEXT) and holds({"le": [first, second]}, CONTEXT))


def test_what_is_not_yet_read_is_neither_fine_nor_a_fault():
    inside = {"all": [{"gt": [{"value": "T3"}, 1.0]}, {"lt": [{"value": "T3"}, 1e9]}]}
    assert evaluate(inside, Context("F1.SO")) is None
    assert evaluate({"not": inside}, Context("F1.SO")) is None
    assert evaluate(inside, CONTEXT) is True
