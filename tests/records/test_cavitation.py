from __future__ import annotations

import pytest
from pydantic import ValidationError

from steadyhead.records.cavitation import CavitationLimits

ROW = {"lift": "10 %", "incipient": 2.4, "constant": 2.0, "damage": 1.7}
SHEET = {"index": "sigma 1", "source": "data sheet H 12", "limits": [ROW]}


@pytest.mark.source(kind="analytic", ref="ISA-RP75.23 definitions (from memory): σ1 = σ2 + 1 = 1/x_F")
@pytest.mark.parametrize(("index", "limit"), [("sigma 1", 2.5), ("sigma 2", 1.5), ("x_F", 0.4)])
def test_every_index_in_use_says_the_same(index: str, limit: float):
    stated = CavitationLimits.model_validate(
        {**SHEET, "index": index, "limits": [{"lift": "50 %", "damage": limit}]}
    )
    ((lift, sigma),) = stated.table("damage")
    assert lift == 0.5
    assert sigma == pytest.approx(2.5, rel=1e-15)
    assert stated.table("choked") == ()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"limits": [{**ROW}, {**ROW, "lift": "5 %"}]}, "do not rise"),
        ({"limits": [{"lift": "5 %"}]}, "no limit at lift 5 %"),
        ({"limits": [{**ROW, "damage": 2.2}]}, "damage before constant"),
        ({"limits": [{"lift": "5 %", "damage": 0.7}]}, "below 1"),
        ({"index": "x_F", "limits": [{"lift": "5 %", "damage": 1.7}]}, "x_F lies above 0"),
        ({"index": "x_F", "limits": [{"lift": "5 %", "incipient": 0.6, "damage": 0.5}]}, "damage before"),
        ({"scaling": {"size_exponent": 0.1, "pressure_exponent": 0.1, "source": "supplier"}}, "measured_at"),
        ({"source": ""}, "at least 1"),
        ({"limits": []}, "at least 1"),
    ],
)  # fmt: skip
def test_limits_that_contradict_themselves_are_refused(change: dict[str, object], told: str):
    with pytest.raises(ValidationError, match=told):
        CavitationLimits.model_validate({**SHEET, **change})


def test_degrees_may_stand_in_some_rows_only():
    stated = CavitationLimits.model_validate({**SHEET, "limits": [ROW, {"lift": "100 %", "incipient": 3.0}]})
    assert stated.table("incipient") == ((0.1, 2.4), (1.0, 3.0))
    assert stated.table("damage") == ((0.1, 1.7),)
