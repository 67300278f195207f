"""Pages tell what to do on pages: no remedy names a command of the command line."""

from __future__ import annotations

import ast
import inspect
import re
from types import ModuleType
from typing import Any

import pytest

from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.station import Station
from steadyhead.services.page_words import on_page
from steadyhead.services.stations.entry_model import fields_of
from steadyhead.services.studies.surge_words import CURES
from steadyhead.surge import causes, doubts
from steadyhead.web.templating import ENVIRONMENT
from tests.web.filled import Client

COMMAND = re.compile(r"steadyhead [a-z]|(?<!\w)--[a-z]|\brun (?:enter|show|fit|begin)\b")
ENTRY = re.compile(r"\bto=N\b|position THING=")
"""A line of an entry with a place to be filled in."""


def test_no_finding_names_a_command_on_a_page():
    told = [
        (code, getattr(entry, part))
        for code, entry in CATALOGUE.items()
        for part in ("statement", "why", "cure")
    ]
    left = {code: on_page(words) for code, words in told if COMMAND.search(on_page(words))}
    assert not left
    assert sum(on_page(words) != words for _, words in told) >= 5


def test_what_is_plain_stays_as_it_is():
    for entry in CATALOGUE.values():
        if not COMMAND.search(entry.cure) and not ENTRY.search(entry.cure):
            assert on_page(entry.cure) == entry.cure


@pytest.mark.parametrize("module", [causes, doubts])
def test_cures_of_the_transient_twin_name_the_page(module: ModuleType):
    told = [
        one.value for one in ast.walk(ast.parse(inspect.getsource(module))) if isinstance(one, ast.Constant)
    ]
    named = [words for words in told if isinstance(words, str) and "steadyhead prove" in words]
    assert named
    assert not [words for words in named if COMMAND.search(on_page(words))]


def test_words_of_a_study_name_no_option():
    assert not [words for words in CURES.values() if COMMAND.search(on_page(words))]


@pytest.mark.parametrize(
    ("sent", "field"), [({"visit": "after-repair", "item": "xx"}, "item"), ({"visit": "nonsense"}, "visit")]
)
def test_a_wrong_item_is_told_beside_its_field(looker: Client, sent: dict[str, str], field: str):
    page = looker.post("/stations/QHL-01/plans", data=sent)
    assert page.status_code == 422
    assert f'id="f-{field}-problem"' in page.text
    assert "--for" not in page.text
    assert "ITEM" not in page.text


def test_a_file_that_is_no_plan_is_refused_without_a_command(looker: Client):
    page = looker.post("/stations/QHL-01/plans", files={"plan": ("a.plan", b"no plan")})
    assert "Make the plan again on the page of the plans." in page.text
    assert "steadyhead plan" not in page.text


def _of(template: str, macro: str, given: Any) -> str:
    return str(getattr(ENVIRONMENT.get_template(template).module, macro)(given))


def test_where_a_finding_stands_and_what_is_not_taken_is_said_in_words_of_the_entry():
    found = {"code": "LAD-18", "severity": "heed", "subject": "alarm.pressure", "title": "Alarm overlaps",
             "statement": "State feed_kv.", "why": "", "cure": "", "case": "", "answer": ""}  # fmt: skip
    told = _of("parts/finding.html", "finding", found)
    assert "LAD-18 · high alarm: pressure" in told
    assert "feed Kv" in told
    problem = {"field": "without_proof", "problem": "got 'x'.", "remedy": "It takes true or false."}
    listed = _of("parts/field.html", "problems", [problem])
    assert '<a href="#f-without_proof">without proof</a>: got' in listed


def test_no_field_of_the_entry_is_explained_by_a_name_of_the_code():
    fields = [one for model in (Station, Reducer, ShutOff) for one in fields_of(model)]
    told = [one.purpose for one in fields]
    assert told
    assert not [words for words in told if "`" in words or re.search(r"[a-z]_[a-z]", words)]


@pytest.mark.parametrize("page", ["/stations/QHL-01/file", "/stations/new?template=duty-standby"])
def test_the_text_of_a_file_is_on_paper_as_a_whole(looker: Client, page: str):
    text = looker.get(page).text
    shown = text.split('<pre class="on-paper" aria-hidden="true">', 1)[1].split("</pre>", 1)[0]
    assert "station:" in shown
    assert shown.strip() in text.split("<textarea", 1)[1].split("</textarea>", 1)[0]


def test_the_events_of_a_study_are_named_in_words(looker: Client):
    page = looker.get("/stations/QHL-01/surge").text
    assert "fails open: a reducer is driven wide open" in page
    assert ">fails-open" not in page


def test_an_answer_that_is_refused_names_its_field_as_the_form_does(looker: Client):
    found = looker.json("/stations/QHL-01/design")["body"]["findings"][0]["finding"]
    sent = {"to": found["code"], "at": found["subject"], "value": found["value_hash"], "answer": "It is so.",
            "by": "Ilse Marrow", "decided": "2027-99-01", "shut_off": "allowed"}  # fmt: skip
    page = looker.post("/stations/QHL-01/answers", data=sent)
    assert page.status_code == 422
    assert '<a href="#f-decided">decided</a>' in page.text
    assert "answers[" not in page.text
    assert 'name="based_on" value=""' in page.text


def test_a_form_that_cannot_be_read_is_refused_in_words(looker: Client):
    page = looker.post("/stations/QHL-01/design", data={"by": "x", "without_proof": "perhaps", "again": "so"})
    assert page.status_code == 422
    assert "<b>without proof</b>" in page.text
