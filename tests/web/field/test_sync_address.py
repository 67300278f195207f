"""The address a device syncs with: JSON alone, for those who may record, from our own pages alone."""

from __future__ import annotations

import json
from typing import Any

import pytest
from argon2 import PasswordHasher

from steadyhead.services import accounts as team
from steadyhead.web.app import make_app
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, WHO, Visit, line
from tests.web.filled import HOME, Client

pytestmark = pytest.mark.by_turns(2)
ADDRESS = f"/stations/{KEY}/runs/{RUN}/sync"
ROOMS = ("account", "field", "interface")
WORDS = "wet spanner quiet lane"


def body(*lines: str, **more: Any) -> dict[str, Any]:
    return {"format": "steadyhead/sync/1", "device": "tab-1", "entries": list(lines), **more}


@pytest.fixture
def client(visit: Visit) -> Client:  # noqa: F811
    """Somebody alone on this machine."""
    return Client(make_app(visit.register, rooms=ROOMS))


def test_what_is_sent_is_answered_in_json_whatever_is_accepted(client: Client, visit: Visit):  # noqa: F811
    one = visit.entries[COUNT]
    for accept in ("application/json", "text/html", "*/*"):
        found = client.post(ADDRESS, json=body(line(one)), headers={"accept": accept})
        assert (found.status_code, found.headers["content-type"]) == (200, "application/json")
        assert found.json()["held"] == [one.id]
        assert found.json()["last"] == COUNT + 1


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        (body(format="steadyhead/sync/9"), "format"),
        (body(device=""), "device"),
        (body(have=-1), "have"),
        (body(within=float("nan")), "within"),
        (body(entries=[1]), "entries.0"),
        (body(entries=["x"] * 5001), "entries"),
        (body(more=1), "more"),
        (body(judged={"entries": "x"}), "judged.verdict"),
    ],
)
def test_a_request_that_cannot_be_used_is_told_by_its_field(client: Client, sent: dict[str, Any], field: str):
    content = {"content-type": "application/json", "accept": "application/json"}
    found = client.ask("POST", ADDRESS, content=json.dumps(sent), headers=content)
    assert found.status_code == 422, found.text
    assert [one["field"] for one in found.json()["problems"]][:1] == [field]


def test_a_form_is_no_sync(client: Client):
    found = client.post(ADDRESS, data={"device": "tab-1"}, headers={"accept": "application/json"})
    assert found.status_code == 415


def test_a_visit_that_is_not_there_is_told_so(client: Client):
    for address in (ADDRESS.replace(RUN, "visit-9"), ADDRESS.replace(KEY, "NOW-1")):
        found = client.post(address, json=body(), headers={"accept": "application/json"})
        assert found.status_code == 404


def test_who_is_signed_out_may_not_record_or_comes_from_elsewhere_changes_nothing(
    visit: Visit,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(team, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    team._nobodys.cache_clear()
    for name, role in ((WHO, "record"), ("Tom Pell", "look")):
        team.set_password(visit.register, team.add(visit.register, name, role, "this machine"), WORDS)  # type: ignore[arg-type]
    app = make_app(visit.register, rooms=ROOMS)
    before, one = visit.kept, visit.entries[COUNT]

    def told(name: str, **more: Any) -> int:
        client = Client(app)
        if name:
            client.post("/sign-in", data={"name": name, "password": WORDS})
        headers = {"accept": "application/json", **more}
        return client.post(ADDRESS, json=body(line(one)), headers=headers).status_code

    assert told("") == 401
    assert told("Tom Pell") == 403
    assert told(WHO, origin="http://elsewhere.example", **{"sec-fetch-site": "cross-site"}) == 403
    assert visit.kept == before
    assert told(WHO) == 200
    assert visit.kept != before


def test_the_address_is_described_with_what_it_takes_and_gives(client: Client):
    told = client.get(f"{HOME}/openapi.json").json()["paths"]["/stations/{key}/runs/{run}/sync"]["post"]
    taken = told["requestBody"]["content"]["application/json"]["schema"]["properties"]
    assert {"format", "device", "entries", "have", "judged"} <= set(taken)
    assert told["responses"]["200"]["content"]["application/json"]["schema"]["$ref"].endswith("SyncAnswer")
    assert taken["judged"]["anyOf"][0]["required"] == ["entries", "verdict"]
