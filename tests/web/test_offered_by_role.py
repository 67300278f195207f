"""What a page offers reaches no further than the role of the person who reads it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from steadyhead.register import Register
from steadyhead.services import accounts as team
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client
from tests.web.test_people import CHIEF, HAND, WORDS, _quick_hashes, staffed

__all__ = ("_quick_hashes", "staffed")


@pytest.fixture
def filled_team(staffed: Register) -> Callable[[str], Client]:
    """Give a client of a team with a station, and one who may look."""
    save(staffed, read("quernhollow-lane"), CHIEF)
    made = team.add(staffed, "Lou Dale", "look", "this machine")
    team.set_password(staffed, made, WORDS)
    app = make_app(staffed)

    def entered(name: str) -> Client:
        client = Client(app)
        assert client.post("/sign-in", data={"name": name, "password": WORDS}).status_code == 303
        return client

    return entered


def test_nobody_is_offered_what_their_role_does_not_reach(filled_team: Callable[[str], Client]):
    home = "/stations/QHL-01"
    chief, hand, looker = (filled_team(name) for name in (CHIEF, HAND, "Lou Dale"))
    assert ">Plan a visit</a>" in chief.get(home).text
    assert ">Begin a visit</a>" in hand.get(home).text
    assert ">Plans</a>" in looker.get(home).text
    for one in (hand, looker):
        assert "Plan a visit" not in one.get(home).text
        assert "Make a plan" not in one.get(f"{home}/runs").text
    assert "Somebody with the right of an engineer makes it." in hand.get(f"{home}/runs").text
    assert "<h2>Begin</h2>" not in looker.get(f"{home}/runs").text
