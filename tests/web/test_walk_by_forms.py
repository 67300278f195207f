"""Visits walked from their beginning to a certificate by the forms of their page alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from steadyhead.procedure.graph import order
from steadyhead.records.procedure import Procedure
from steadyhead.register import Register, open_register
from steadyhead.services.example_year.clean_visit import SECOND
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client
from tests.web.step_forms import Clock, Walker, form, said

WHO = "Ilse Marrow"
pytestmark = pytest.mark.by_turns(4)


@dataclass
class Begun:
    """A visit that was begun by its form, its gauge and second person described."""

    register: Register
    key: str
    visit: str
    item: str
    clock: Clock
    plan: Procedure = field(init=False)
    way: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        made = plans.make(self.register, self.key, self.visit, self.item, WHO, with_paper=False)
        self.plan = read_plan_file(plans.plan_content(self.register, self.key, made.record.id)[1]).procedure
        self.way = {choice.id: choice.options[0][0] for choice in self.plan.choices}
        self.client = Client(make_app(self.register))
        begin = form(self.client.get(f"/stations/{self.key}/plans").text, act="begin")
        self.at = begin.action
        page = begin.send(self.client, {}).text
        gauge = {"a.name": "G1", "a.low": "0 bar", "a.high": "16 bar", "a.class": "0.1 %"}
        gauge["a.due"] = "2099-06-30"
        for name in ("G1", SECOND):
            shown = form(page, step="instrument", **{"a.name": ""})
            page = shown.send(self.client, {**gauge, "a.name": name}).text
        self.page = (
            form(page, step="person").send(self.client, {"a.name": "Bo Lind", "a.role": "second"}).text
        )
        self.walker = Walker(self.client, self.plan, self.clock, self.way, "G1")

    def certify(self, page: str) -> str:
        """Sign the last page as final, make its certificate, and return the page that was signed on."""
        assert set(self.walker.walked) == set(order(self.plan, self.way)), said(page)
        page = form(page, step="sign").send(self.client, {"a.@head": "final"}).text
        assert self.client.json(self.at)["runs"][0]["state"] == "final", said(page)
        paper = form(page, act="certify").send(self.client, {})
        assert paper.status_code == 200, said(paper.text)
        (certificate,) = self.client.json(f"/stations/{self.key}/records")["certificates"]
        assert (certificate["standing"], certificate["all_proved"]) == ("final", True)
        return page


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    found = Clock(datetime.now(UTC) - timedelta(hours=20))
    found.hang(monkeypatch)
    return found


def test_every_step_of_a_first_visit_has_its_form_and_the_last_ones_sign_and_certify(
    tmp_path: Path, clock: Clock
):
    register = open_register(tmp_path / "register")
    save(register, read("pinnock-yard"), WHO, "first")
    begun = Begun(register, "PNY-1", "first", "", clock)
    begun.certify(begun.walker.walk(begun.page))
    register.close()


def test_a_shut_off_that_closed_before_its_time_stands_against_final_until_its_step_is_answered_again(
    tmp_path: Path, clock: Clock
):
    register = open_register(tmp_path / "register")
    save(register, read("quillenby-row"), WHO, "first")
    begun = Begun(register, "QUR-02", "new-setting", "shut-off", clock)
    begun.walker.odd["ES3.SO"] = {"shut_off_open": "no"}
    page = begun.page
    while begun.walker.odd:
        page = begun.walker.step(page)

    assert form(page[page.index('id="next"') :], act="enter").texts["step"] == "ES3.SO"
    assert "SO closes already." in page[page.index("Against final") :]
    assert "Draw water. Raise SO (screw clockwise)" in page
    page = begun.certify(begun.walker.walk(page))
    assert "Nothing stands against final" in page
    every = begun.client.json(f"{begun.at}/{begun.client.json(begun.at)['runs'][0]['id']}/entries")
    words = [str(one) for one in every["entries"] if "ES3.SO" in str(one)]
    assert sum("open?" in one for one in words) == 2, words
    register.close()
