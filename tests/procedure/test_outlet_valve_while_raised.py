"""An outlet valve opened after the last raise of a yearly proof, the reducer not yet read at duty (V1)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from tests.procedure.lane import plan, visit
from tests.procedure.walking import Device

MILL, ROW = "orrowby-mill", "quillenby-row"


def _after(station: str, step: str, how: str) -> set[tuple[str, str]]:
    """Return what stands against final with the outlet valve said to stand so just after a step."""
    entries = visit("yearly", None, station)
    last = [one for one in entries if one.node == step][-1]
    made = Device("tab-2").make("position", {"thing": "IV2", "is": how}, step)
    told: Entry = replace(
        made, run=last.run, t_device=last.t_device, clock_offset=last.clock_offset + 1.0, t_mono=0.0
    )
    found = judge(plan("yearly", station), read(dump([*entries, told])))
    return {(block.remark.code, block.remark.about) for block in found.blocks}


@pytest.mark.source(kind="common practice", ref="handbook 3.1 V1, 3.7 Y7 before Y8")
@pytest.mark.parametrize(
    ("station", "step"), [(MILL, "Y4"), (MILL, "Y5"), (ROW, "Y6H")], ids=["alarm", "filters", "last raise"]
)
def test_the_outlet_valve_stays_shut_until_the_raised_reducer_is_back_at_duty(
    station: str, step: str
) -> None:
    assert ("RUN-48", "Y7.RV") in _after(station, step, "open")
    assert _after(station, step, "shut") == set()


@pytest.mark.parametrize("station", [MILL, ROW])
def test_once_the_reducer_was_read_at_duty_again_opening_it_is_the_normal_return(station: str) -> None:
    assert _after(station, "Y7.RV", "open") == set()
