"""Where nothing else feeds the zone, a zone that falls is answered by the outage that was agreed."""

from __future__ import annotations

import pytest

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.records.run import Judgement
from tests.procedure.lane import plan
from tests.procedure.walking import Device

STATION = "sorrel-flat"


def _cut_off(*answers: tuple[str, object]) -> Judgement:
    device = Device("tab-1")
    entries = [device.make("run", {"plan": "", "kind": "first"})]
    entries += [device.make("observation", {"input": name, "value": value}, "B1") for name, value in answers]
    return judge(plan("first", STATION), gathered(entries))


@pytest.mark.parametrize(
    ("answers", "refused"),
    [
        ([("zone", False)], True),
        ([("zone", False), ("outage", "Lena of the desk, until 16:00")], False),
        ([("zone", True)], False),
    ],
)
def test_a_zone_that_falls_passes_within_the_outage_that_was_agreed(
    answers: list[tuple[str, object]], *, refused: bool
):
    step = _cut_off(*answers).step("B1")
    assert (step.state == "refused") is refused
    assert ("outage" in step.lacks) is refused


def test_where_another_feed_holds_the_zone_no_outage_is_asked():
    asked = {one.name for node in plan("first").nodes if node.id == "B1" for one in node.inputs}
    assert "zone" in asked
    assert "outage" not in asked
