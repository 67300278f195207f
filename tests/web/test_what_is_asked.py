"""What an address is asked for that it does not know; pages without a twin; what the help says in JSON."""

from __future__ import annotations

import importlib
import pkgutil

import pytest

from steadyhead.web import pages
from steadyhead.web.unasked import MOST
from tests.web.test_every_page import FILES, VIEWS

BESIDE = {"/", "/openapi.json"}
"""Described nowhere: the way to the list, and the description. The page of the device, not in `pages`, holds
nothing of the register."""
LISTS = ("/stations", "/visits", "/upkeep", "/upkeep/pieces", "/library", "/jobs", "/people")


@pytest.mark.parametrize("path", LISTS)
def test_a_name_an_address_does_not_know_is_refused_with_those_it_knows(looker, path):
    page = looker.get(f"{path}?sortt=name", headers={"accept": "text/html"})
    twin = looker.get(f"{path}?sortt=name&as=json")
    assert (page.status_code, twin.status_code) == (422, 422)
    assert "sortt: not known here." in page.text
    (problem,) = twin.json()["problems"]
    assert (problem["field"], problem["problem"]) == ("sortt", "not known here.")
    assert problem["remedy"].startswith(("Known here are ", "This page is asked for"))
    assert looker.get(f"{path}?as=json").status_code == 200


def test_the_list_of_stations_names_all_it_can_be_asked_for(looker):
    (problem,) = looker.get("/stations?sort=name&as=json").json()["problems"]
    assert problem["remedy"] == "Known here are q, show, by, from, to."


def test_of_many_unknown_names_the_first_are_told_and_long_ones_cut(looker):
    query = "&".join(f"{'x' * 80}{number}=1" for number in range(40))
    found = looker.get(f"/visits?{query}&as=json").json()["problems"]
    assert len(found) == MOST
    assert all(len(one["field"]) < 70 for one in found)


def test_a_calendar_program_gives_its_key_with_the_address(looker):
    assert looker.get("/upkeep.ics?key=abc&station=QHL-01").status_code == 200


def test_the_page_of_the_device_reads_its_address_itself(looker):
    assert looker.get("/field?take=QHL-01/run").status_code == 200


def test_every_page_has_a_twin_but_that_of_the_device():
    shown = set()
    for one in pkgutil.iter_modules(pages.__path__):
        router = importlib.import_module(f"{pages.__name__}.{one.name}").router
        shown |= {route.path for route in router.routes if "GET" in getattr(route, "methods", ())}
    told = {path.replace(":path}", "}") for path in shown}
    assert told - set(VIEWS) - set(FILES) == BESIDE


def test_the_twin_of_a_topic_of_the_help_says_what_its_page_says(looker):
    assert any("11.8 bar" in one for one in looker.json("/help/first-hour")["text"])
    keys = looker.json("/help/keys")["text"]
    assert "/ Goes to the field that finds a station" in keys
    assert not any("<" in one for one in keys)


def test_a_change_asked_with_a_name_its_address_does_not_know_is_refused(looker):
    path = "/stations/QHL-01/file?based_on=1&wy=reason"
    found = looker.put(path, content=b"{}", headers={"accept": "application/json"})
    assert [one["field"] for one in found.json()["problems"]] == ["wy"]
    assert found.status_code == 422


@pytest.mark.parametrize("page", ["fields", "pressures", "try"])
@pytest.mark.parametrize(
    ("sent", "field"), [({"supply.typical": "8.9 bar"}, "supply.typical"), ({"do": "savee"}, "do")]
)
def test_a_form_of_entry_with_a_name_or_button_that_none_has_is_refused(looker, page, sent, field):
    found = looker.post(
        f"/stations/QHL-01/{page}",
        data={"based_on": "1", "do": "save"} | sent,
        headers={"accept": "application/json"},
    )
    assert (found.status_code, [one["field"] for one in found.json()["problems"]]) == (422, [field])


def test_a_number_with_an_underscore_in_a_form_is_no_number(looker):
    sent = {"act": "interval", "activity": "trip_proof", "place": "SO", "months": "1_2", "reason": "x"}
    found = looker.post("/stations/QHL-01/upkeep", data=sent, headers={"accept": "application/json"})
    assert (found.status_code, [one["field"] for one in found.json()["problems"]]) == (422, ["months"])


@pytest.mark.parametrize("path", ["/jobs?from=1_0", "/visits?from=1_0", "/stations/QHL-01/revisions?one=1_0"])
def test_a_number_with_an_underscore_behind_the_question_mark_is_refused(looker, path):
    answer = looker.get(f"{path}&as=json")
    (problem,) = answer.json()["problems"]
    assert (answer.status_code, problem["problem"]) == (422, "got '1_0'.")
