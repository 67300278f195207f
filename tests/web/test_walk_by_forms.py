"""A first visit walked from its beginning to its certificate by the forms of its page alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from steadyhead.procedure.graph import order
from steadyhead.register import open_register
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client
from tests.web.step_forms import Clock, Walker, form, said

KEY, WHO = "PNY-1", "Ilse Marrow"
pytestmark = pytest.mark.by_turns(4)


def test_every_step_of_a_first_visit_has_its_form_and_the_last_ones_sign_and_certify(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    register = open_register(tmp_path / "register")
    save(register, read("pinnock-yard"), WHO, "first")
    made = plans.make(register, KEY, "first", "", WHO, with_paper=False)
    plan = read_plan_file(plans.plan_content(register, KEY, made.record.id)[1]).procedure
    way = {choice.id: choice.options[0][0] for choice in plan.choices}
    client = Client(make_app(register))
    clock = Clock(datetime.now(UTC) - timedelta(hours=20))
    clock.hang(monkeypatch)

    begin = form(client.get(f"/stations/{KEY}/plans").text, act="begin")
    page = begin.send(client, {}).text
    gauge = {"a.name": "G1", "a.low": "0 bar", "a.high": "16 bar", "a.class": "0.1 %", "a.due": "2099-06-30"}
    page = form(page, step="instrument", **{"a.name": ""}).send(client, gauge).text
    page = form(page, step="person").send(client, {"a.name": "Bo Lind", "a.role": "second"}).text
    walker = Walker(client, plan, clock, way, "G1")
    page = walker.walk(page)

    assert set(walker.walked) == set(order(plan, way)), said(page)
    page = form(page, step="sign").send(client, {"a.@head": "final"}).text
    assert client.json(begin.action)["runs"][0]["state"] == "final", said(page)
    paper = form(page, act="certify").send(client, {})
    assert paper.status_code == 200, said(paper.text)
    (certificate,) = client.json(f"/stations/{KEY}/records")["certificates"]
    assert (certificate["standing"], certificate["all_proved"]) == ("final", True)
    register.close()
