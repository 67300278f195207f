"""A station may lack any tap but the outlet's; the plan then reads what there is, or says why it cannot."""

from __future__ import annotations

import pytest

from steadyhead.services.planning import make_plan
from steadyhead.station import examples


@pytest.mark.share(4)
@pytest.mark.parametrize("tap", ["T0", "T1", "T2", "T4"])
@pytest.mark.parametrize("name", examples.names())
def test_a_tap_left_out_gives_a_plan_or_findings(name: str, tap: str) -> None:
    text = examples.read(name).decode()
    line = f"\n  - {{part: tap, id: {tap}}}\n"
    if line not in text or f"senses: {tap}" in text:
        pytest.skip("this example needs that tap for a pilot, or has none of that name")
    made = make_plan(text.replace(line, "\n").encode(), "first")
    assert made.procedure is not None or made.findings
