"""Every address that can be looked at: page and JSON of one view, described as it comes, guarded, whole."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape
from typing import Any
from urllib.parse import parse_qsl

import pytest
from jsonschema import Draft202012Validator

from steadyhead.register import open_register
from steadyhead.services import accounts
from steadyhead.services.example_year.teller import picture
from steadyhead.services.page_words import dated
from steadyhead.station.canonical import sha256
from steadyhead.web import answering
from steadyhead.web.app import make_app
from steadyhead.web.guarding import HEADERS, POLICY
from tests.web.filled import WHO, Client
from tests.web.whole import KEY, SHEET, Facts, copied, made_once

WORK, LINK, DESK = "{work}", "{link}", "{desk}"
LID = picture("lid")
PHOTO = sha256(LID)
FILES = {
    "/archive/tables/{name}.{kind}": lambda f: "/archive/tables/stations.csv",
    "/archive/archive.zip": lambda f: "/archive/archive.zip",
    "/stations/{key}/records/{record}/handover": lambda f: (
        f"/stations/{f.yard}/records/{f.certificate}/handover"
    ),
    "/stations/{key}/card": lambda f: f"/stations/{f.yard}/card",
    "/stations/{key}/releases/{number}": lambda f: f"/stations/{f.key}/releases/1",
    "/stations/{key}/runs/{run}/entries.jsonl": lambda f: f"/stations/{f.yard}/runs/{f.run}/entries.jsonl",
    "/stations/{key}/runs/{run}/field-pack": lambda f: f"/stations/{f.yard}/runs/{f.run}/field-pack",
    "/stations/{key}/runs/{run}/job-file": lambda f: f"/stations/{f.yard}/runs/{f.run}/job-file",
    "/stations/{key}/runs/{run}/photos/{sha256}": lambda f: f"/stations/{f.yard}/runs/{f.run}/photos/{PHOTO}",
    "/stations/{key}/runs/{run}/plan": lambda f: f"/stations/{f.yard}/runs/{f.run}/plan",
    "/stations/{key}/logs/{number}/files/{place}": lambda f: f"/stations/{f.yard}/logs/1/files/0",
    "/stations/{key}/logs/example": lambda f: "/stations/DMB-01/logs/example",
    "/stations/{key}/logs/window": lambda f: f"/stations/{f.yard}/logs/window?most=100",
    "/stations/{key}/logs/moment": lambda f: f"/stations/{f.yard}/logs/moment?at={f.event}",
    "/stations/{key}/logs/export": lambda f: f"/stations/{f.yard}/logs/export?start={f.event}",
    "/stations/{key}/plans/{plan}": lambda f: f"/stations/{f.yard}/plans/{f.plan}",
    "/upkeep.ics": lambda f: "/upkeep.ics",
    "/upkeep/paper": lambda f: "/upkeep/paper",
    "/assets/{version}/{name}": lambda f: "/stations",
}
"""Addresses that give a file."""
VIEWS = {
    "/stations": lambda f: "/stations",
    "/stations/new": lambda f: "/stations/new",
    "/stations/import": lambda f: "/stations/import",
    "/stations/import/{work}": lambda f: WORK,
    "/stations/{key}": lambda f: f"/stations/{f.key}",
    "/stations/{key}/fields": lambda f: f"/stations/{f.key}/fields",
    "/stations/{key}/file": lambda f: f"/stations/{f.key}/file",
    "/stations/{key}/pressures": lambda f: f"/stations/{f.key}/pressures",
    "/stations/{key}/capacity": lambda f: f"/stations/{f.key}/capacity",
    "/stations/{key}/surge": lambda f: f"/stations/{f.key}/surge",
    "/stations/{key}/surge/{study}": lambda f: f"/stations/{f.key}/surge/{f.study}",
    "/stations/{key}/design": lambda f: f"/stations/{f.key}/design",
    "/stations/{key}/revisions": lambda f: f"/stations/{f.key}/revisions?one=1&other=2",
    "/stations/{key}/plans": lambda f: f"/stations/{f.yard}/plans",
    "/stations/{key}/runs": lambda f: f"/stations/{f.yard}/runs",
    "/stations/{key}/runs/{run}": lambda f: f"/stations/{f.yard}/runs/{f.run}",
    "/stations/{key}/runs/{run}/entries": lambda f: f"/stations/{f.yard}/runs/{f.run}/entries",
    "/stations/{key}/runs/{run}/hand-over": lambda f: f"/stations/{f.yard}/runs/{f.run}/hand-over",
    "/stations/{key}/runs/{run}/paper": lambda f: f"/stations/{f.yard}/runs/{f.run}/paper",
    "/stations/{key}/records": lambda f: f"/stations/{f.yard}/records",
    "/stations/{key}/records/{record}": lambda f: f"/stations/{f.yard}/records/{f.certificate}",
    "/stations/{key}/upkeep": lambda f: f"/stations/{f.key}/upkeep",
    "/stations/{key}/logs": lambda f: f"/stations/{f.yard}/logs",
    "/stations/{key}/logs/desk/{desk}": lambda f: DESK,
    "/stations/{key}/logs/event": lambda f: f"/stations/{f.yard}/logs/event?at={f.event}",
    "/stations/{key}/logs/{number}": lambda f: f"/stations/{f.yard}/logs/1",
    "/stations/{key}/logs/see": lambda f: f"/stations/{f.yard}/logs/see",
    "/stations/{key}/logs/year": lambda f: f"/stations/{f.yard}/logs/year",
    "/stations/{key}/logs/rows": lambda f: f"/stations/{f.yard}/logs/rows?start={f.event}",
    "/stations/{key}/logs/judged/{judgement}": lambda f: f"/stations/{f.yard}/logs/judged/{f.judgement}",
    "/stations/{key}/history": lambda f: f"/stations/{f.key}/history",
    "/visits": lambda f: "/visits",
    "/upkeep": lambda f: "/upkeep",
    "/upkeep/pieces": lambda f: "/upkeep/pieces",
    "/upkeep/pieces/{name}": lambda f: f"/upkeep/pieces/{f.piece}",
    "/library": lambda f: "/library",
    "/jobs": lambda f: "/jobs",
    "/jobs/{job_id}": lambda f: f"/jobs/{f.waiting}",
    "/archive": lambda f: "/archive",
    "/account": lambda f: "/account",
    "/account/begin": lambda f: LINK,
    "/people": lambda f: "/people",
    "/sign-in": lambda f: "/sign-in",
    "/help": lambda f: "/help",
    "/help/api": lambda f: "/help/api",
    "/help/{topic}": lambda f: "/help/rights",
}
"""Addresses that give a view, as page and as JSON."""
UNITS = (
    "bar|psi|kPa|MPa|m head|ft head|L/s|m³/h|gpm|m³|mm|min|ft|in|m|L|s|h|%|°C|°F|turns?|days?|weeks?|months?|"
    "years?|steps?|entries|entry|findings?|things?|(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) \\d{4}"
)
COUNTED = ("step", "steps", "entry", "entries", "finding", "findings", "thing", "things")
"""What a page counts: the number alone stands in JSON, or a list of as many."""
FIGURE = re.compile(rf"(?<![\w.#-])-?\d[\d.]*\u00a0? ?(?:{UNITS})(?![\w/])")
"""A number with its unit, or a day, as pages write them."""
OTHER_FORM = re.compile(
    r"(?<![\w.-])(?:\d{4}-\d\d-\d\d(?![\w.:-]*\.\w|-)|\d{1,2}\s(?:January|February|March|April|June|July|"
    r"August|September|October|November|December)\b|\d{1,2}\s[A-Z][a-z]{2} \d{4} \d\d:)"
)
"""A day or a moment in another form than that of the pages; the name of a file may hold one."""
AS_TYPED = re.compile(r"\b[Aa]s $|e\.g\. [^|]*$")
"""What stands before an example of what is typed into a field."""
LINK_ASKS = re.compile(r'href="(/[^"]*\?[^"]*)"')
EXAMPLES = {
    "/stations/new": {"4.0 bar"},
    "/stations/{key}/surge": {"1 s"},
    "/stations/{key}/runs/{run}": {"5.12 bar", "5.17 bar", "0.6 %", "60 s", "0 bar", "16 bar"},
}
"""Figures of pages that show how something is written in a field: no facts."""
GIVEN_IN_JSON_ALONE = {"body", "ladder", "form"}
"""Fields of a view that a page has as prepared text instead."""


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Client, Facts]]:
    """A client of a register with something in every room."""
    folder, facts = made_once(tmp_path_factory)
    register = open_register(copied(folder, tmp_path_factory, "every"))
    client = Client(make_app(register))
    address = f"/stations/{facts.yard}/runs/{facts.run}/photos/{PHOTO}"
    assert client.ask("PUT", address, content=LID, headers={"content-type": "image/png"}).status_code == 200
    yield client, facts
    register.close()


@pytest.fixture(scope="module")
def described(room: tuple[Client, Facts]) -> dict[str, Any]:
    """The description of the interface."""
    found: dict[str, Any] = room[0].get("/openapi.json").json()
    return found


@pytest.fixture(scope="module")
def begun(room: tuple[Client, Facts]) -> dict[str, str]:
    """Addresses of what is under way: an import, a link to set a password, files of a logger on the desk."""
    client = room[0]
    sent = client.post("/stations/import", data={"template": KEY}, files={"sheet": ("a.csv", SHEET.encode())})
    assert sent.status_code == 303, sent.text
    state = client.app.state
    link = state.sessions.link(accounts.add(state.register, "Tam Oduya", "record", WHO))
    files = [("files", ("seconds.csv", b"Elapsed (s),P inlet [bar]\n0,9.0\n10,9.1\n20,9.0\n30,9.2\n"))]
    laid = client.post(f"/stations/{KEY}/logs", data={"source": "kiosk"}, files=files)
    assert laid.status_code == 303, laid.text
    return {WORK: sent.headers["location"], LINK: link, DESK: laid.headers["location"]}


def _at(path: str, facts: Facts, begun: dict[str, str]) -> str:
    found: str = VIEWS[path](facts)
    return begun.get(found, found)


def _figures(page: str) -> set[str]:
    """Return every number with its unit, and every day, in the main part of a page as a person reads it."""
    main = page.partition("<main")[2].partition("</main>")[0]
    main = re.sub(r"(?s)<(svg|nav|textarea|select|progress)\b.*?</\1>", " | ", main)
    main = re.sub(r"</?(?:span|b|i|a|s|small|sub|sup)\b[^>]*>", "", main)
    text = " ".join(unescape(re.sub(r"<[^>]+>", " | ", main)).split())
    return {found.group() for found in FIGURE.finditer(text)}


def _is_known(link: str, described: dict[str, Any]) -> bool:
    """Return whether the address a link leads to knows every name behind the question mark."""
    path, _, query = link.partition("#")[0].partition("?")
    fits = [one for one in described["paths"] if re.fullmatch(re.sub(r"\{[^}]*\}", "[^/]+", one), path)]
    way = described["paths"][min(fits, key=lambda one: one.count("{"))]["get"]
    known = {one["name"] for one in way.get("parameters", ()) if one["in"] == "query"}
    return {name for name, _ in parse_qsl(query, keep_blank_values=True)} <= known | {"as"}


def _said(told: Any) -> tuple[str, set[str]]:
    """Return all words of a view in one line with its days as a person reads them, and its whole numbers."""
    found = list(_leaves(told))
    days = [dated(one) for one in found if isinstance(one, str)]
    words = " ".join(" ".join([*(one for one in found if isinstance(one, str)), *days]).split())
    return words, {f"{one} {noun}" for one in found if type(one) is int for noun in COUNTED}


def _leaves(told: Any) -> Iterator[Any]:
    if isinstance(told, dict | list):
        yield len(told)
        for one in told.values() if isinstance(told, dict) else told:
            yield from _leaves(one)
    else:
        yield told


def test_every_address_of_the_interface_is_looked_at_here(described):
    looked = {path for path, ways in described["paths"].items() if "get" in ways}
    told = {path.replace(":path}", "}") for path in looked}
    assert told - {"/assets/{version}/{name}"} == set(VIEWS) | set(FILES) - {"/assets/{version}/{name}"}


@pytest.mark.parametrize("path", VIEWS)
def test_a_page_and_its_twin_show_one_view_as_described(room, described, begun, path, monkeypatch):
    client, facts = room
    address = _at(path, facts, begun)
    shown: list[Any] = []
    render = vars(answering)["render"]

    def watched(request: Any, template: str, **given: Any) -> str:
        shown.append(given["view"])
        return str(render(request, template, **given))

    monkeypatch.setattr(answering, "render", watched)
    page = client.get(address, headers={"accept": "text/html"})
    twin = client.get(address, headers={"accept": "application/json"})
    assert (page.status_code, twin.status_code) == (200, 200), page.text[:2000] + twin.text[:2000]
    assert page.headers["content-type"].startswith("text/html")
    assert twin.headers["content-type"] == "application/json"
    for one in (page, twin):
        assert one.headers["content-security-policy"] == POLICY
        assert {name: one.headers.get(name) for name in HEADERS} == HEADERS
        assert "Traceback" not in one.text
    assert "style=" not in page.text
    assert "<script>" not in page.text
    told = twin.json()
    schema = described["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    Draft202012Validator(schema | {"components": described["components"]}).validate(told)
    on_page = json.loads(shown[-1].model_dump_json())
    words, counts = _said(told)
    lacking = {one for one in _figures(page.text) if one not in words and one not in counts}
    assert lacking <= EXAMPLES.get(path, set())
    assert [link for link in LINK_ASKS.findall(page.text) if not _is_known(unescape(link), described)] == []
    for name in GIVEN_IN_JSON_ALONE & on_page.keys():
        if on_page[name] is None or on_page[name].get("groups") == []:
            del on_page[name], told[name]
    assert on_page == told


@pytest.mark.parametrize("path", VIEWS)
def test_days_and_moments_have_one_form_on_every_page(room, begun, path):
    page = room[0].get(_at(path, room[1], begun), headers={"accept": "text/html"}).text
    page = re.sub(r"(?s)<(script|style|textarea|code|pre)\b.*?</\1>", " | ", page)
    text = " ".join(unescape(re.sub(r"<[^>]+>", " | ", page)).split())
    others = [one for one in OTHER_FORM.finditer(text) if not AS_TYPED.search(text[: one.start()])]
    assert [text[max(one.start() - 60, 0) : one.end() + 30] for one in others] == []


@pytest.mark.parametrize("path", [*VIEWS, *FILES])
def test_the_head_of_an_address_is_that_of_its_page(room, begun, path):
    client, facts = room
    address = FILES[path](facts) if path in FILES else _at(path, facts, begun)
    head = client.ask("HEAD", address)
    full = client.get(address)
    assert (head.status_code, full.status_code) == (200, 200), full.text[:2000]
    assert head.content == b""
    assert full.content
    assert head.headers["content-type"] == full.headers["content-type"]
    assert "content-security-policy" in head.headers
