"""The plan as a service: what stands against the release of the design stands on its face."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.services.planning import make_plan, plan_data, plan_text
from steadyhead.station import examples

DAY = date(2026, 11, 25)
RELEASED = examples.read("dunmarrow-bottom")
FIRE = RELEASED.replace(b"  kind: utility chamber\n", b"  kind: fire main\n", 1)
"""A shut-off in a fire main is a question until the fire authority has answered."""


def test_a_plan_of_a_design_with_open_questions_says_so_first_and_is_written_all_the_same():
    made = make_plan(FIRE, "return-to-service", day=DAY)
    assert made.procedure is not None
    assert "LAY-26" in {finding.code for finding in made.against}
    assert not made.releasable
    assert made.procedure.notes[0].id == "note.not_released"
    assert "Design not released: " in plan_text(made)
    data = plan_data(made)
    assert data["design_releasable"] is False
    assert {finding["code"] for finding in data["against_release"]} >= {"LAY-26"}


def test_a_plan_of_a_design_that_can_be_released_has_a_clean_face():
    made = make_plan(RELEASED, "return-to-service", day=DAY)
    assert made.releasable
    assert made.against == ()
    assert made.procedure is not None
    assert "note.not_released" not in {note.id for note in made.procedure.notes}


def test_a_gauge_past_its_date_on_the_day_of_the_plan_is_told():
    made = make_plan(RELEASED, "return-to-service", day=date(2099, 1, 1))
    assert made.procedure is not None
    assert "PLAN-35" in {note.id for note in made.procedure.notes}


@pytest.mark.parametrize(("source", "status"), [(RELEASED, 0), (FIRE, 1)])
def test_the_exit_status_tells_whether_the_design_may_be_released(source, status, tmp_path: Path, capsys):
    place = tmp_path / "station.yaml"
    place.write_bytes(source)
    assert run(["plan", str(place), "--for", "return-to-service"]) == status
    assert "Return to service" in capsys.readouterr().out
