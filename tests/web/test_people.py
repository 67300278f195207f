"""A team: signing in and out, passwords, rights, people; and what somebody tries who is none of it."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterator
from functools import partial

import pytest
from argon2 import PasswordHasher
from sqlalchemy import func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import account, attempt, audit
from steadyhead.services import accounts as team
from steadyhead.services.jobs.asking import ask
from steadyhead.services.logs.judging_work import ask_to_judge
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept.filing import keep
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from steadyhead.web.guarding import Door
from tests.web.filled import Client, fill

WORDS = "wet spanner quiet lane"
OTHER = "seven gauges under rain"
ROOMS = ("account", "help", "interface", "library", "stations", "upkeep")
CHIEF, HAND = "Ilse Marrow", "Tom Pell"


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Take the least memory and rounds: the tests sign in often."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(team, "_hasher", lambda: quick)
    team._nobodys.cache_clear()
    yield
    team._nobodys.cache_clear()


@pytest.fixture
def staffed(register: Register) -> Register:
    """A register with one who administers and one who records."""
    for name, role in ((CHIEF, "administer"), (HAND, "record")):
        made = team.add(register, name, role, "this machine")  # type: ignore[arg-type]
        team.set_password(register, made, WORDS)
    return register


@pytest.fixture
def enter(staffed: Register) -> Callable[..., Client]:
    """Give a client of the team's app, signed in under a name."""
    app = make_app(staffed, rooms=ROOMS)

    def entered(name: str = "", password: str = WORDS) -> Client:
        client = Client(app)
        if name:
            assert client.post("/sign-in", data={"name": name, "password": password}).status_code == 303
        return client

    return entered


def _id(register: Register, name: str) -> str:
    return next(one.id for one in team.people(register) if one.name == name)


def test_nobody_sees_a_station_without_signing_in(enter: Callable[..., Client]):
    stranger = enter()
    page = stranger.get("/stations")
    assert page.status_code == 303
    assert page.headers["location"] == "/sign-in?to=/stations"
    assert stranger.get("/stations?as=json").status_code == 401
    assert stranger.get("/openapi.json", headers={"accept": "application/json"}).status_code == 401
    assert stranger.post("/people", data={"name": "X", "role": "administer"}).status_code == 401
    assert stranger.get("/help/rights").status_code == 200


@pytest.mark.parametrize(
    "asked",
    ["/stations?q=valve+%26+main&show=needs&from=50", "/stations/A%20B/revisions?one=3&other=5", "/upkeep"],
)
def test_signing_in_leads_back_to_the_whole_address_that_was_asked(enter: Callable[..., Client], asked: str):
    stranger = enter()
    page = stranger.get(stranger.get(asked).headers["location"])
    to = html.unescape(re.search(r'name="to" value="([^"]*)"', page.text)[1])  # type: ignore[index]
    sent = stranger.post("/sign-in", data={"name": CHIEF, "password": WORDS, "to": to})
    assert sent.headers["location"] == asked


FOLLOWED = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate", "accept": "text/html"}


def test_a_link_of_another_site_is_asked_for_once_more_from_here(enter: Callable[..., Client]):
    asked = "/stations?q=a%22+b&show=needs"
    first = enter().get(asked, headers=FOLLOWED)
    assert (first.status_code, first.headers["refresh"]) == (200, f"0;url={asked}")
    again = enter().get(asked, headers=FOLLOWED | {"sec-fetch-site": "same-origin"})
    assert again.status_code == 303
    assert again.headers["location"].startswith("/sign-in?to=")
    assert "refresh" not in enter().get("/%2Felsewhere.example/", headers=FOLLOWED).headers
    assert "refresh" not in enter(CHIEF).get("/stations", headers=FOLLOWED).headers


def test_of_a_very_long_address_only_the_page_is_come_back_to(enter: Callable[..., Client]):
    page = enter().get(f"/stations?q={'a' * 3000}")
    assert page.headers["location"] == "/sign-in?to=/stations"


def test_a_person_signs_in_and_out_and_the_copied_session_is_dead(enter: Callable[..., Client]):
    chief = enter(CHIEF)
    assert chief.get("/account").status_code == 200
    copied = dict(chief.cookies)
    assert chief.post("/sign-out").status_code == 303
    again = enter()
    again.cookies.update(copied)
    assert again.get("/account").status_code == 303


def test_the_cookie_is_kept_from_scripts_and_other_pages(staffed: Register):
    client = Client(make_app(staffed, rooms=ROOMS))
    found = client.post("/sign-in", data={"name": CHIEF, "password": WORDS})
    told = found.headers["set-cookie"]
    assert "HttpOnly" in told
    assert "SameSite=strict" in told
    assert "Secure" not in told
    safe = Client(
        make_app(staffed, Door(is_tls=True), rooms=ROOMS), home="https://127.0.0.1:8711",
        headers={"origin": "https://127.0.0.1:8711"},
    )  # fmt: skip
    found = safe.post("/sign-in", data={"name": CHIEF, "password": WORDS})
    assert found.headers["set-cookie"].startswith("__Host-session=")
    assert "Secure" in found.headers["set-cookie"]
    assert "max-age" in found.headers["strict-transport-security"]


def test_a_session_planted_beforehand_is_not_taken_over(enter: Callable[..., Client]):
    planted = dict(enter(HAND).cookies)
    client = enter()
    client.cookies.update(planted)
    found = client.post("/sign-in", data={"name": CHIEF, "password": WORDS})
    fresh = re.search(r"session=([^;]+)", found.headers["set-cookie"])
    assert fresh is not None
    assert fresh.group(1) != planted["session"]
    assert enter(CHIEF).cookies["session"] != enter(CHIEF).cookies["session"]


@pytest.mark.parametrize("cookie", ["", "x", "a.b.c", "e30.e30.e30", "é" * 20, "x" * 5000])
def test_a_forged_session_is_nobody(enter: Callable[..., Client], cookie: str):
    client = enter()
    found = client.get("/account", headers={"cookie": f"session={cookie}".encode()})
    assert found.status_code == 303


def test_unknown_names_and_wrong_passwords_are_told_alike(enter: Callable[..., Client]):
    client = enter()
    answers = [
        client.post("/sign-in", data={"name": name, "password": "not the right one"})
        for name in (CHIEF, "Nobody Here")
    ]
    assert [one.status_code for one in answers] == [401, 401]
    texts = [re.sub(r"value=\"[^\"]*\"", "", one.text) for one in answers]
    assert texts[0] == texts[1]
    assert "do not belong together" in texts[0]


def test_unknown_names_cost_the_same_work(staffed: Register, monkeypatch: pytest.MonkeyPatch):
    tried: list[str] = []
    fits = team._fits

    def told(secret: str, password: str) -> bool:
        tried.append(secret)
        return fits(secret, password)

    monkeypatch.setattr(team, "_fits", told)
    for name in (CHIEF, "Nobody Here", ""):
        with pytest.raises(InputError):
            team.sign_in(staffed, name, "not the right one", "192.0.2.1")
    assert len(tried) == 3
    assert all(secret.startswith("$argon2id$") for secret in tried)


def test_an_attempt_is_counted_before_its_password_is_tried(
    staffed: Register, monkeypatch: pytest.MonkeyPatch
):
    def stops(secret: str, password: str) -> bool:
        raise RuntimeError("the process ends here")

    monkeypatch.setattr(team, "_fits", stops)
    with pytest.raises(RuntimeError):
        team.sign_in(staffed, CHIEF, WORDS, "192.0.2.1")
    with staffed.reading() as connection:
        assert connection.execute(select(func.count()).select_from(attempt)).scalar() == 1


def test_each_further_wrong_password_waits_longer_and_the_right_one_too(staffed: Register):
    now, waits = 1000.0, []
    for _ in range(20):
        try:
            team.sign_in(staffed, CHIEF, "not the right one", "192.0.2.1", partial(float, now))
        except team.TooManyTries as told:
            waits.append(told.seconds)
            with pytest.raises(team.TooManyTries):
                team.sign_in(staffed, CHIEF, WORDS, "192.0.2.1", partial(float, now))
            now += told.seconds
            continue
        except InputError:
            continue
    assert waits == sorted(waits)
    assert waits[-1] > 10 * waits[0]
    assert team.sign_in(staffed, CHIEF, WORDS, "192.0.2.1", lambda: now + 1000.0).name == CHIEF


@pytest.mark.parametrize("name", team.OURS)
def test_nobody_is_called_what_the_chain_calls_the_program(staffed: Register, name: str):
    with pytest.raises(InputError, match="what the chain calls this program"):
        team.add(staffed, f" {name.upper()} ", "look", CHIEF)


def test_a_clock_set_back_keeps_nobody_waiting_for_it(staffed: Register):
    for _ in range(8):
        with pytest.raises(InputError):
            team.sign_in(staffed, "Ilse Marrow", "wrong", "10.0.0.1", now=lambda: 900_000.0)
    with pytest.raises(team.TooManyTries):
        team.sign_in(staffed, "Ilse Marrow", "wrong", "10.0.0.1", now=lambda: 900_000.0)
    with pytest.raises(InputError) as told:
        team.sign_in(staffed, "Ilse Marrow", "wrong", "10.0.0.1", now=lambda: 700_000.0)
    assert not isinstance(told.value, team.TooManyTries)


def test_many_names_tried_from_one_address_have_to_wait(staffed: Register):
    for number in range(team.FREE_TRIES_OF_ADDRESS):
        with pytest.raises(InputError):
            team.sign_in(staffed, f"Name {number}", "not the right one", "192.0.2.1", lambda: 1000.0)
    with pytest.raises(team.TooManyTries):
        team.sign_in(staffed, CHIEF, WORDS, "192.0.2.1", lambda: 1000.0)
    assert team.sign_in(staffed, CHIEF, WORDS, "192.0.2.2", lambda: 1000.0).name == CHIEF


def test_how_long_to_wait_is_told_to_programs_too(enter: Callable[..., Client]):
    client = enter()
    for _ in range(team.FREE_TRIES):
        client.post("/sign-in", data={"name": CHIEF, "password": "not the right one"})
    found = client.post("/sign-in", data={"name": CHIEF, "password": WORDS})
    assert found.status_code == 429
    assert int(found.headers["retry-after"]) >= 1
    assert "Wait" in found.text


def test_what_is_typed_as_a_name_is_not_kept_in_the_attempts(staffed: Register):
    with pytest.raises(InputError):
        team.sign_in(staffed, WORDS, "", "192.0.2.1")
    with staffed.reading() as connection:
        assert WORDS not in str(connection.execute(select(attempt)).all())


@pytest.mark.parametrize(
    "to", ["//other.example/", "https://other.example/", "/\\other.example", "javascript:1"]
)
def test_signing_in_never_leads_to_another_place(enter: Callable[..., Client], to: str):
    client = enter()
    assert "other.example" not in client.get("/sign-in", params={"to": to}).text
    found = client.post("/sign-in", data={"name": CHIEF, "password": WORDS, "to": to})
    assert found.headers["location"] == "/stations"


def test_a_changed_password_ends_every_other_session(enter: Callable[..., Client]):
    here, there = enter(CHIEF), enter(CHIEF)
    found = here.post("/account/password", data={"old": WORDS, "new": OTHER})
    assert found.status_code == 200
    assert "Every other session has ended." in found.text
    assert here.get("/account").status_code == 200
    assert there.get("/account").status_code == 303
    assert enter().post("/sign-in", data={"name": CHIEF, "password": WORDS}).status_code == 401
    assert enter(CHIEF, OTHER).get("/account").status_code == 200


@pytest.mark.parametrize("new", ["short", "aaaaaaaaaaaaaaaa", CHIEF + " ", "x" * 300])
def test_a_password_that_is_easily_guessed_is_refused(enter: Callable[..., Client], new: str):
    if new.strip() == CHIEF:
        new = CHIEF.upper()
        if len(new) < team.LEAST_SIGNS:
            new = new.ljust(team.LEAST_SIGNS)
    found = enter(CHIEF).post("/account/password", data={"old": WORDS, "new": new})
    assert found.status_code == 422


def test_a_changed_password_needs_the_old_one(enter: Callable[..., Client]):
    found = enter(CHIEF).post("/account/password", data={"old": "not the right one", "new": OTHER})
    assert found.status_code == 422
    assert "is not right." in found.text


def test_a_changed_role_and_a_suspension_end_sessions_at_once(
    staffed: Register, enter: Callable[..., Client]
):
    hand, chief = enter(HAND), enter(CHIEF)
    assert chief.post(f"/people/{_id(staffed, HAND)}/role", data={"role": "look"}).status_code == 303
    assert hand.get("/account").status_code == 303
    hand = enter(HAND)
    assert hand.json("/account")["role"] == "look"
    assert chief.post(f"/people/{_id(staffed, HAND)}/suspend").status_code == 303
    assert hand.get("/account").status_code == 303
    assert enter().post("/sign-in", data={"name": HAND, "password": WORDS}).status_code == 401


def test_a_person_is_added_by_a_link_that_works_once(staffed: Register, enter: Callable[..., Client]):
    found = enter(CHIEF).post("/people", data={"name": "Ada Fen", "role": "engineer"})
    assert found.status_code == 201
    link = re.search(r"/account/begin\?key=[\w.\-]+", found.text)
    assert link is not None
    newcomer = enter()
    key = link.group(0).partition("key=")[2]
    assert newcomer.get(link.group(0)).status_code == 200
    assert newcomer.post("/account/begin", data={"key": key, "password": "short"}).status_code == 422
    assert newcomer.post("/account/begin", data={"key": key, "password": OTHER}).status_code == 303
    assert newcomer.json("/account")["role"] == "engineer"
    assert enter().post("/account/begin", data={"key": key, "password": WORDS}).status_code == 404
    assert enter("Ada Fen", OTHER).get("/account").status_code == 200


def test_a_new_link_takes_the_old_password_away(staffed: Register, enter: Callable[..., Client]):
    hand = enter(HAND)
    found = enter(CHIEF).post(f"/people/{_id(staffed, HAND)}/password")
    assert found.status_code == 200
    assert hand.get("/account").status_code == 303
    assert enter().post("/sign-in", data={"name": HAND, "password": WORDS}).status_code == 401


def test_the_last_one_who_can_administer_stays(staffed: Register, enter: Callable[..., Client]):
    chief, own = enter(CHIEF), _id(staffed, CHIEF)
    for act, data in (("role", {"role": "look"}), ("suspend", {}), ("password", {})):
        found = chief.post(f"/people/{own}/{act}", data=data or None)
        assert found.status_code == 422
        assert "is the last one who can administer." in found.text
    assert chief.get("/people").status_code == 200


def test_rights_reach_as_far_as_the_role(enter: Callable[..., Client]):
    hand = enter(HAND)
    for path in ("/people", "/people?as=json"):
        found = hand.get(path)
        assert found.status_code == 403
        assert "Ask a person with the right to administer." in found.text
    assert hand.post("/people", data={"name": "X Y", "role": "administer"}).status_code == 403
    assert hand.post("/library", data={"sheet": "x"}).status_code == 403


def test_the_library_tells_nobody_of_a_team_where_its_folder_lies(enter: Callable[..., Client]):
    from steadyhead.services import library

    page = enter(CHIEF).get("/library")
    assert page.status_code == 200
    assert str(library.folder()) not in page.text
    assert "Kept for everybody who uses this app." in page.text


def test_who_records_stops_a_judgement_of_logger_data_and_no_study(staffed: Register):
    save(staffed, read("dunmarrow-bottom"), CHIEF)
    app = make_app(staffed, rooms=("account", "jobs"))
    chief, hand = Client(app), Client(app)
    for client, name in ((chief, CHIEF), (hand, HAND)):
        assert client.post("/sign-in", data={"name": name, "password": WORDS}).status_code == 303
    study = ask(staffed, "DMB-01", "surge", {"event": "", "way": "", "within": ""}, CHIEF).id
    judging = ask_to_judge(staffed, "DMB-01", "", "", HAND).id
    for act in ("stop", "again"):
        assert hand.post(f"/jobs/{study}/{act}").status_code == 403
        assert hand.post(f"/jobs/{judging}/{act}").status_code == 303
    assert chief.post(f"/jobs/{study}/stop").status_code == 303


def test_who_records_strikes_out_documents_and_no_certificate(staffed: Register):
    (key,) = fill(staffed, ("mesquill-flat",))
    with staffed.writing(CHIEF) as writing:
        ids = {
            kind: keep(writing, key, kind, kind.encode(), name=f"{kind}.txt", title=kind).id
            for kind in ("certificate", "baseline", "plan", "document")
        }
    hand = Client(make_app(staffed, rooms=(*ROOMS, "records")))
    hand.post("/sign-in", data={"name": HAND, "password": WORDS})
    told = {
        kind: hand.post(
            f"/stations/{key}/records", json={"act": "strike", "record": one, "reason": "wrong"}
        ).status_code
        for kind, one in ids.items()
    }
    assert told.pop("document") in (201, 303)
    assert set(told.values()) == {403}


@pytest.mark.parametrize(
    "name",
    [
        "",
        "   ",
        "a\u202eb",
        "a\u2066b",
        "a\u0007b",
        "a\u200bb",
        "x" * 101,
        "a\ud800b",
        "a\u0000b",
        CHIEF.upper(),
    ],
)
def test_a_name_that_cannot_be_read_or_told_apart_is_refused(staffed: Register, name: str):
    with pytest.raises(InputError):
        team.add(staffed, name, "look", CHIEF)


def test_a_name_with_a_script_in_it_is_shown_as_text(staffed: Register, enter: Callable[..., Client]):
    team.add(staffed, "<script>alert(1)</script>", "look", CHIEF)
    page = enter(CHIEF).get("/people").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_the_chain_tells_of_people_and_never_of_secrets(staffed: Register, enter: Callable[..., Client]):
    enter(CHIEF).post(f"/people/{_id(staffed, HAND)}/role", data={"role": "engineer"})
    with staffed.reading() as connection:
        links = connection.execute(select(audit)).all()
        secrets = [row.secret for row in connection.execute(select(account))]
    told = [(one.act, json.loads(one.body)) for one in links]
    assert [act for act, _ in told] == [
        "register made", "person added", "password set", "person added", "password set", "role changed",
    ]  # fmt: skip
    assert told[-1][1] == {"name": HAND, "role": "engineer"}
    assert not any(secret and secret in str(links) for secret in secrets)
    assert "argon2" not in str(links)


def test_a_calendar_reads_by_its_own_key_until_the_password_changes(enter: Callable[..., Client]):
    chief = enter(CHIEF)
    address = chief.json("/account")["calendar"]
    assert enter().get("/upkeep.ics").status_code == 303
    assert enter().get(address).status_code in (200, 404)
    key = address.partition("key=")[2]
    assert enter().get(f"/stations?key={key}").status_code == 303
    chief.post("/account/password", data={"old": WORDS, "new": OTHER})
    assert enter().get(address).status_code == 303


def test_alone_on_this_machine_nobody_signs_in(client: Client):
    assert client.json("/account")["is_alone"] is True
    assert "Nobody needs to sign in" in client.get("/sign-in").text
    assert client.post("/sign-in", data={"name": "x", "password": "y"}).status_code == 303
    assert "--administrator" in client.get("/people").text
    assert client.post("/people", data={"name": "X Y", "role": "look"}).status_code == 409
    assert client.post("/account/password", data={"old": "a", "new": "b"}).status_code == 422


def test_units_and_light_are_kept_in_the_browser(looker: Client):
    assert looker.post("/account/reading", data={"units": "us+metric", "light": "lamp"}).status_code == 303
    page = looker.get("/help").text
    assert 'data-light="lamp"' in page
    assert "psi (bar)" in page
    refused = looker.post("/account/reading", data={"units": "cubits", "light": "lamp"})
    assert refused.status_code == 422
    assert "Write one of" in refused.text


@pytest.mark.parametrize("cookie", ["x", "%00|x", "us|<script>", "metric%7Cdisco", "m" * 3000])
def test_a_strange_cookie_of_reading_is_the_usual_one(looker: Client, cookie: str):
    page = looker.get("/help", headers={"cookie": f"reading={cookie}"})
    assert page.status_code == 200
    assert "data-light" not in page.text


@pytest.mark.parametrize(
    "body",
    [
        '{"units": true}',
        '{"units": 5}',
        '{"light": "disco"}',
        '{"x": 1}',
        "[]",
        "{",
        '{"units": NaN}',
        "null",
    ],
)
def test_data_of_the_wrong_kind_is_refused_with_the_field(looker: Client, body: str):
    found = looker.post(
        "/account/reading",
        content=body,
        headers={"content-type": "application/json", "accept": "application/json"},
    )
    assert found.status_code == 422
    assert found.json()["problems"]


def test_another_kind_of_content_is_refused(looker: Client):
    found = looker.post("/account/reading", content="units: us", headers={"content-type": "application/yaml"})
    assert found.status_code == 415
