"""Whose an entry of the office page is: of the person who signed in, unless it says another."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher

from steadyhead.register import open_register
from steadyhead.services import accounts as team
from steadyhead.web.app import make_app
from tests.web.filled import Client
from tests.web.test_run_forms import KEY, WHO, begun

__all__ = ["begun"]
pytestmark = pytest.mark.by_turns(3)

WORDS, OFFICE = "wet spanner quiet lane", "Erno Vale"


@pytest.fixture
def signed_in(
    tmp_path: Path, begun: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[str], tuple[Client, str]]]:
    """Return what signs a person in at a visit that WHO began."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(team, "_hasher", lambda: quick)
    shutil.copytree(begun[0], tmp_path / "register")
    register = open_register(tmp_path / "register")
    for name in (WHO, OFFICE):
        team.set_password(register, team.add(register, name, "administer", "this machine"), WORDS)
    app = make_app(register)

    def entered(name: str) -> tuple[Client, str]:
        client = Client(app)
        assert client.post("/sign-in", data={"name": name, "password": WORDS}).status_code == 303
        return client, f"/stations/{KEY}/runs/{begun[1]}"

    yield entered
    register.close()


def _entries(client: Client, at: str) -> list[dict[str, Any]]:
    return [one for one in client.json(f"{at}/entries")["entries"] if isinstance(one, dict)]


def test_an_entry_and_a_signature_are_of_the_person_who_signed_in(signed_in):
    client, at = signed_in(OFFICE)
    page = client.get(at).text
    assert f"{OFFICE}, signed in" in page
    assert "as in the last entry" not in page
    assert client.post(at, data={"act": "enter", "words": "note water clear"}).status_code == 200
    assert client.post(at, data={"act": "enter", "step": "sign", "a.@head": "provisional"}).status_code == 200
    last = _entries(client, at)[-3:]
    assert [one["who"] for one in last] == [OFFICE] * 3
    assert "person" in last[0]["kind"], "who is new in the visit is described first, once"
    assert [one["kind"] for one in last[1:]] == ["note", "sign"]


def test_what_is_entered_for_another_says_who_typed_it(signed_in):
    client, at = signed_in(OFFICE)
    page = client.post(at, data={"act": "enter", "words": "note water clear", "who": WHO})
    assert page.status_code == 200
    last = _entries(client, at)[-1]
    assert (last["who"], last["typed"]) == (WHO, f"typed by {OFFICE}")
    assert f"typed by {OFFICE}" in client.get(at).text
    assert f"typed by {OFFICE}" in client.get(f"{at}/entries").text


def test_nobody_signs_for_another_but_types_in_what_was_signed_on_paper(signed_in):
    client, at = signed_in(OFFICE)
    before = len(_entries(client, at))
    sign = {"act": "enter", "step": "sign", "a.@head": "provisional", "who": WHO}
    page = client.post(at, data=sign)
    assert page.status_code == 422
    assert f"for whom {OFFICE} cannot sign" in page.text
    assert f"{WHO} signs, signed in here or on a device." in page.text
    assert len(_entries(client, at)) == before
    when = f"{datetime.now().astimezone():%H:%M}"
    assert client.post(at, data={**sign, "at": when}).status_code == 200
    last = _entries(client, at)[-1]
    assert (last["kind"], last["who"]) == ("sign", WHO)
    assert last["typed"].endswith(f"by {OFFICE}")
