"""The step of a rising run and the advice take small steps from the same reading on."""

from __future__ import annotations

import pytest

from steadyhead.findings import Amount
from steadyhead.procedure.advice import NEAR
from steadyhead.records.procedure import Kind
from tests.visits.few_plans import plan

STATIONS: tuple[tuple[str, Kind, str], ...] = (
    ("quillenby-row", "first", "F1.SO"),
    ("dunmarrow-bottom", "first", "F1.SO"),
    ("quillenby-row", "yearly", "Y4.SO"),
)


@pytest.mark.parametrize(("name", "kind", "step"), STATIONS)
def test_a_rising_run_is_raised_in_small_steps_from_where_the_advice_takes_them(name, kind, step):
    procedure = plan(name, kind)
    said = next(one for one in procedure.node(step).do if one.id == "F1.raise").params
    aim = next(one for one in procedure.advice.aims if one.step == step)
    assert aim.climb > 0.0
    small, fine_from = said["step"], said["fine_from"]
    assert isinstance(small, Amount)
    assert isinstance(fine_from, Amount)
    assert small.si == pytest.approx(aim.climb)
    assert fine_from.si == pytest.approx(aim.target - NEAR * aim.climb, abs=1.0)
