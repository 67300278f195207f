"""A strip of several streams has a sheet of its own."""

from __future__ import annotations

import pytest

from steadyhead.reports.paper import TEMPLATES


@pytest.mark.parametrize("name", sorted(one.name for one in TEMPLATES.glob("*.typ")))
def test_no_picture_floats_beside_a_list(name: str):
    # In the narrow room beside a floating picture a list breaks behind its mark: the engine refuses it,
    # and the plan of a station with a duty and a standby stream could not be made.
    assert "float: true" not in (TEMPLATES / name).read_text(encoding="utf-8")


def test_pictures_with_a_sheet_of_their_own_stand_behind_what_fills_the_sheet_before():
    # Else the second sheet of a plan and of a design sheet holds a few lines and nothing else.
    plan, sheet = (
        (TEMPLATES / f"{name}.typ").read_text(encoding="utf-8") for name in ("plan", "design_sheet")
    )
    assert plan.index("== People and permits") < plan.index("== Gauges") < plan.index("none and d.strip_tall")
    assert (
        sheet.index("== Findings in full") < sheet.index("== Pressure ladder") < sheet.index("== The station")
    )
