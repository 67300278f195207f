"""A statement that was handed over is checked on the page of its visit, and its page is taken in there."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import plain_entry
from steadyhead.web.app import make_app
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, STATION, Visit
from tests.web.field import test_handing_over as handing
from tests.web.field.field_js import in_node, pack_of, plan_of
from tests.web.filled import Client

HERE = f"/stations/{KEY}/runs/{RUN}"
JSON = {"accept": "application/json"}
pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(2),
]


@pytest.fixture
def client(visit: Visit) -> Client:  # noqa: F811
    return Client(make_app(visit.register, rooms=("account", "hand_over", "runs", "interface")))


def handed(folder: Path, visit: Visit, count: int) -> dict[str, str]:  # noqa: F811
    """Return statement and page of a device that holds so many entries of the visit."""
    pack = pack_of(plan_of(STATION)) | {"station": {"id": KEY, "name": "Quillenby Row"}, "run": RUN}
    entries = visit.entries[:count]
    lines = dump(entries).decode()
    plain = [plain_entry(one) for one in entries]
    body = handing.BODY
    given = [{"pack": pack, "entries": plain, "lines": lines}]
    (found,) = in_node(folder, handing.IMPORTS, body, given)
    return {"text": str(found["text"]), "page": str(found["page"])}


def test_a_statement_of_what_is_here_matches_and_one_of_more_says_what_lacks(
    client: Client,
    visit: Visit,  # noqa: F811
    tmp_path: Path,
):
    told = handed(tmp_path / "a", visit, COUNT)
    found = client.post(f"{HERE}/hand-over", json={"statement": told["text"]}, headers=JSON)
    assert found.status_code == 200, found.text
    assert found.json()["checked"]["matches"] is True
    forged = told["text"].replace("deviations: none", "deviations: SO, accepted")
    page = client.post(f"{HERE}/hand-over", data={"statement": forged})
    assert "It does not match" in page.text
    assert "Deviations: it says SO, accepted; the entries give none." in page.text
    more = handed(tmp_path / "b", visit, COUNT + 7)
    page = client.post(f"{HERE}/hand-over", data={"statement": more["text"]})
    assert page.status_code == 200
    assert "It does not match" in page.text
    assert f"7 of {COUNT + 7} entries are not here yet" in page.text
    sent = {"entries": ("hand-over.html", more["page"].encode())}
    client.post(HERE, data={"act": "take"}, files=sent)
    again = client.post(f"{HERE}/hand-over", files={"page": ("hand-over.html", more["page"].encode())})
    assert "It matches" in again.text
    assert (len(visit.kept.splitlines()), again.status_code) == (COUNT + 7 + 1, 200)


def test_what_is_no_statement_is_named_and_stays_in_the_field(client: Client):
    page = client.post(f"{HERE}/hand-over", data={"statement": "a wrong paste"})
    assert page.status_code == 422
    assert "does not begin with steadyhead/hand-over/1" in page.text
    assert "a wrong paste</textarea>" in page.text
    assert client.get(f"{HERE}/hand-over").status_code == 200
