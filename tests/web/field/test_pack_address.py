"""The addresses a device fetches from before it goes down: pack, files of the page, worker."""

from __future__ import annotations

import pytest
from argon2 import PasswordHasher

from steadyhead.services import accounts as team
from steadyhead.services.field.bundling import files
from steadyhead.services.field.pack import FieldPack
from steadyhead.web.app import make_app
from steadyhead.web.field_kit import build, field_asset
from tests.services.field.conftest import COUNT, _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, Visit
from tests.web.filled import HOME, Client

ADDRESS = f"/stations/{KEY}/runs/{RUN}/field-pack"
ROOMS = ("account", "field", "interface")
WORDS = "wet spanner quiet lane"


@pytest.fixture
def client(visit: Visit) -> Client:  # noqa: F811
    """Somebody alone on this machine."""
    return Client(make_app(visit.register, rooms=ROOMS))


def test_the_pack_is_given_in_json_whatever_is_accepted_and_as_described(client: Client):
    for accept in ("application/json", "text/html"):
        found = client.get(ADDRESS, headers={"accept": accept})
        assert (found.status_code, found.headers["content-type"]) == (200, "application/json")
        assert found.headers["cache-control"] == "no-store"
    pack = FieldPack.model_validate_json(found.content)
    assert (pack.format, pack.run, len(pack.entries)) == ("steadyhead/field-pack/1", RUN, COUNT)
    paths = client.get(f"{HOME}/openapi.json").json()["paths"]
    told = paths["/stations/{key}/runs/{run}/field-pack"]["get"]["responses"]["200"]
    assert told["content"]["application/json"]["schema"]["$ref"].endswith("FieldPack")
    assert not any(path.startswith("/field") for path in paths)


def test_a_visit_that_is_not_there_is_told_so(client: Client):
    for address in (ADDRESS.replace(RUN, "visit-9"), ADDRESS.replace(KEY, "NOW-1")):
        assert client.get(address, headers={"accept": "application/json"}).status_code == 404


def test_who_may_look_gets_the_pack_and_who_is_signed_out_does_not(
    visit: Visit,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(team, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    team._nobodys.cache_clear()
    team.set_password(visit.register, team.add(visit.register, "Tom Pell", "look", "this machine"), WORDS)
    app = make_app(visit.register, rooms=ROOMS)
    stranger, looks = Client(app), Client(app)
    looks.post("/sign-in", data={"name": "Tom Pell", "password": WORDS})
    headers = {"accept": "application/json"}
    assert stranger.get(ADDRESS, headers=headers).status_code == 401
    assert looks.get(ADDRESS, headers=headers).status_code == 200


def test_every_file_of_the_page_is_given_under_its_build_alone(client: Client):
    for name in ("field/view.js", "procedure/judge.js", "look/tokens.css"):
        found = client.get(field_asset(name))
        assert (found.status_code, found.content) == (200, files()[name])
        assert "immutable" in found.headers["cache-control"]
        assert client.get(field_asset(name).replace(build(), "0" * 16)).status_code == 404
    assert client.get(f"/field/assets/{build()}/field/%2e%2e/%2e%2e/app.py").status_code == 404
    assert client.get(f"/field/assets/{build()}/field/none.js").status_code == 404
    with pytest.raises(KeyError):
        field_asset("field/none.js")


def test_the_worker_names_the_build_and_every_file_and_may_look_after_the_page(client: Client):
    found = client.get("/field/sw.js")
    text = found.text
    assert found.headers["service-worker-allowed"] == "/field"
    assert found.headers["cache-control"] == "no-cache"
    assert f'const BUILD = "{build()}"' in text
    assert field_asset("field/view.js") in text
    assert "/field/sw.js" not in text.partition("\n//")[0]
