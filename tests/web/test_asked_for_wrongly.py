"""What an address cannot give is refused in words; what the papers tell a program to send is let in."""

from __future__ import annotations

import re
import shlex
from datetime import date
from pathlib import Path

import httpx
import pytest

from steadyhead.register import Register
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import HOME, Client

APP = Path(__file__).parents[2] / "docs" / "app.md"
KEY = "QUR-02"


@pytest.fixture
def two(register: Register) -> Client:
    """A client of a register with a station of two revisions."""
    source = read("quillenby-row")
    save(register, source, "a", day=date(2026, 11, 26))
    save(register, source + b"# looked through\n", "a", day=date(2026, 11, 26), based_on=1, key=KEY)
    return Client(make_app(register))


def test_one_revision_without_the_other_is_refused_and_one_that_is_not_there_is_not_found(two: Client):
    home = f"/stations/{KEY}/revisions"
    for asked, left_out in (("one=1", "other"), ("other=2", "one")):
        told = two.get(f"{home}?{asked}", headers={"accept": "application/json"})
        assert told.status_code == 422
        assert told.json()["problems"][0]["field"] == left_out
    for asked in ("one=99", "other=99", "one=1&other=99"):
        assert two.get(f"{home}?{asked}").status_code == 404, asked
    assert two.get(home).status_code == 200
    beside = two.get(f"{home}?one=1&other=2", headers={"accept": "text/html"})
    assert beside.status_code == 200
    assert "On lumped figures, without the protection proof." in beside.text


def test_a_record_is_given_as_what_it_is_given_as(looker: Client):
    told = looker.get("/stations/QNH-01/records/x?as=pdf", headers={"accept": "application/json"})
    assert told.status_code == 422
    assert "json, file or picture" in told.text


async def _sent(client: Client, path: str, headers: dict[str, str], body: str) -> int:
    transport = httpx.ASGITransport(app=client.app)
    async with httpx.AsyncClient(transport=transport, base_url=HOME) as bare:
        return (await bare.post(path, headers=headers, content=body)).status_code


def test_the_example_for_programs_is_let_in(looker: Client):
    import asyncio

    block = next(
        one for one in re.findall(r"(?s)```sh\n(curl.*?)```", APP.read_text("utf-8")) if "/paper" in one
    )
    words = shlex.split(block.replace("\\\n", " "))
    headers = dict(words[at + 1].split(": ", 1) for at, word in enumerate(words) if word == "-H")
    body = words[words.index("-d") + 1]
    path = words[-1].removeprefix(HOME)
    assert asyncio.run(_sent(looker, path, headers, body)) != 403
    del headers["Origin"]
    assert asyncio.run(_sent(looker, path, headers, body)) == 403
