"""A strip of several streams has a sheet of its own."""

from __future__ import annotations

import pytest

from steadyhead.reports.paper import TEMPLATES


@pytest.mark.parametrize("name", sorted(one.name for one in TEMPLATES.glob("*.typ")))
def test_no_picture_floats_beside_a_list(name: str):
    # In the narrow room beside a floating picture a list breaks behind its mark: the engine refuses it,
    # and the plan of a station with a duty and a standby stream could not be made.
    assert "float: true" not in (TEMPLATES / name).read_text(encoding="utf-8")
