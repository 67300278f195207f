"""A device asks the register for the certificate of its visit: what it is told, and what it keeps of it."""

from __future__ import annotations

import base64
import shutil
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher

from steadyhead.procedure.ledger import dump
from steadyhead.services import accounts as team
from steadyhead.services.certificates.verifying import verify
from steadyhead.services.visits_kept import runs
from steadyhead.services.visits_kept.certificates import key_of
from steadyhead.web.app import make_app
from tests.procedure.walking import Device
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, WHO, Visit
from tests.web.field.field_js import in_node
from tests.web.filled import Client

ADDRESS = f"/stations/{KEY}/runs/{RUN}/certificate"
JSON = {"accept": "application/json"}
WORDS = "wet spanner quiet lane"
pytestmark = pytest.mark.by_turns(2)


def client_of(visit: Visit) -> Client:  # noqa: F811
    return Client(make_app(visit.register, rooms=("account", "field", "records", "interface")))


def signed(visit: Visit, asks: str) -> None:  # noqa: F811
    """Take the whole visit in, and a signature behind it."""
    last = visit.entries[-1]
    device = Device("tab-1", RUN, start=last.t_mono)
    device.number = last.device_seq
    sign = device.make("sign", {"asks": asks}, "K1", who=WHO)
    runs.take_in(visit.register, KEY, RUN, dump([*visit.entries, sign]), WHO)


def test_an_unsigned_visit_is_told_what_stands_against_a_certificate(visit: Visit):  # noqa: F811
    found = client_of(visit).post(ADDRESS, headers=JSON)
    assert found.status_code == 409
    told = found.json()
    assert told["against"][0]["code"] == "RUN-70"
    assert told["against"][0]["cure"]


def test_a_signed_visit_gets_its_certificate_once_with_its_link_and_its_paper(visit: Visit):  # noqa: F811
    client = client_of(visit)
    signed(visit, "provisional")
    one = client.post(ADDRESS, headers=JSON)
    assert one.status_code == 200
    told = one.json()
    assert (told["standing"], told["revision"], told["is_new"]) == ("provisional", 1, True)
    assert told["entries"] == len(visit.entries) + 1
    assert len(told["head"]) == 64
    assert told["link"] > 0
    paper = client.get(told["pdf"])
    assert paper.content[:5] == b"%PDF-"
    proved = verify(paper.content, key_of(visit.register).public)
    assert proved.all_proved
    assert (proved.number, proved.chain) == (told["number"], (told["link"], told["head"]))
    assert proved.finger == told["finger"]
    assert told["finger"] in " ".join(told["prove"])
    again = client.post(ADDRESS, headers=JSON).json()
    assert (again["id"], again["is_new"]) == (told["id"], False)


def test_who_only_records_may_not_issue_it(visit: Visit, monkeypatch: pytest.MonkeyPatch):  # noqa: F811
    monkeypatch.setattr(team, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    team._nobodys.cache_clear()
    team.set_password(visit.register, team.add(visit.register, "Tom Pell", "record", "this machine"), WORDS)
    stranger, records = client_of(visit), client_of(visit)
    records.post("/sign-in", data={"name": "Tom Pell", "password": WORDS})
    assert stranger.post(ADDRESS, headers=JSON).status_code == 401
    assert records.post(ADDRESS, headers=JSON).status_code == 403


IMPORTS = {"kept": "openKept", "issuing": "issue, issuedOf, lacking, unwish, wish, wished"}
BODY = """
const kept = await openKept({ memory: true })
const answered = (one) => async (address) => {
  if (one === null) throw new TypeError("no signal")
  const isPaper = address.endsWith("?as=file")
  const { status, body, paper } = isPaper ? { ...one, status: one.paper ? 200 : 503 } : one
  const bytes = Uint8Array.from(atob(paper ?? ""), (letter) => letter.charCodeAt(0))
  return { ok: status === 200, status, json: async () => body, arrayBuffer: async () => bytes.buffer }
}
result = []
for (const one of data) {
  await wish(kept, "run-1", { who: "Ilse Marrow", asks: "final", at: "2027-04-14T17:20+01:00" })
  const address = "/stations/A/runs/run-1/sync"
  const found = await issue({ kept, run: "run-1", address, asks: answered(one) })
  const there = await issuedOf(kept, "run-1")
  result.push({ state: found.state, words: found.words, against: found.against.length,
    size: there?.bytes?.length ?? null, wish: (await wished(kept, "run-1"))?.asks ?? null })
}
const sign = { signs: [{ stands: true }] }
const none = { signs: [{ stands: false }] }
result.push([["", 0, sign], ["a", 3, sign], ["a", 0, sign], ["a", 0, none]].map(([address, unsent, view]) =>
  lacking({ address, counts: { unsent }, view })))
"""


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_device_keeps_the_wish_until_the_register_issued(visit: Visit, tmp_path: Path):  # noqa: F811
    client = client_of(visit)
    refused = client.post(ADDRESS, headers=JSON).json()
    signed(visit, "provisional")
    told = client.post(ADDRESS, headers=JSON).json()
    paper = base64.b64encode(client.get(told["pdf"]).content).decode()
    answers: list[dict[str, Any] | None] = [
        None,
        {"status": 401, "body": {}},
        {"status": 403, "body": {}},
        {"status": 500, "body": None},
        {"status": 409, "body": refused},
        {"status": 200, "body": told},
        {"status": 200, "body": told, "paper": paper},
    ]
    *found, lacks = in_node(tmp_path / "node", IMPORTS, BODY, answers)
    states = [one["state"] for one in found]
    assert states == ["offline", "signed out", "not allowed", "offline", "refused", "loose", "issued"]
    assert [one["wish"] for one in found] == ["final"] * 5 + [None, None]
    assert found[4]["against"] == len(refused["against"])
    assert (found[5]["size"], found[6]["size"]) == (None, len(base64.b64decode(paper)))
    assert "provisional" in found[0]["words"]
    assert lacks == ["local", "unsent", "", "unsigned"]
