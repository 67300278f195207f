"""The coupled cases of an independent reference, all of them, through the adapter."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from tests.independent.twin_adapter import run

pytestmark = pytest.mark.by_turns(4)

CASES_FILE = Path(
    os.environ.get("STEADYHEAD_CASES", Path(__file__).parents[3] / "shared" / "checks" / "twin_cases.json")
)


def shared_cases() -> list[dict[str, Any]]:
    if not CASES_FILE.is_file():
        return []
    cases: list[dict[str, Any]] = json.loads(CASES_FILE.read_text("utf-8"))["cases"]
    return cases


def worst_of(got: Any, expected: Any, tolerance: Any, where: str) -> list[str]:
    if isinstance(expected, dict):
        return [
            line
            for key in expected
            for line in worst_of(got[key], expected[key], tolerance[key], f"{where}.{key}")
        ]
    if isinstance(expected, list):
        assert len(got) == len(expected), f"{where}: {len(got)} values, {len(expected)} expected"
        limits = tolerance if isinstance(tolerance, list) else [tolerance] * len(expected)
        return [
            line
            for i, (g, e, t) in enumerate(zip(got, expected, limits, strict=True))
            for line in worst_of(g, e, t, f"{where}[{i}]")
        ]
    if isinstance(expected, bool | str) or expected is None:
        return [] if got == expected else [f"{where}: {got!r}, expected {expected!r}"]
    return (
        []
        if abs(got - expected) <= tolerance
        else [f"{where}: {got:.9g}, expected {expected:.9g} ± {tolerance:.3g}"]
    )


@pytest.mark.skipif(not shared_cases(), reason="the reference cases are not beside this checkout")
@pytest.mark.source(
    kind="independent",
    ref="slow, clear program written apart from the product; cases shared with the project",
    note="tolerances as given with the cases",
)
@pytest.mark.parametrize("case", shared_cases(), ids=lambda case: case["name"])
def test_case_of_the_independent_reference(case: dict[str, Any]) -> None:
    off = worst_of(run(case["scenario"], case["args"]), case["expected"], case["tolerance"], case["name"])
    assert not off, "\n".join(off)
