"""Lists and help pages say things as a person does: events, places and days in words, no table cut off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from steadyhead import __version__
from steadyhead.register import Register
from steadyhead.services import page_words
from steadyhead.services.studies.asked import StudyAsk
from steadyhead.services.studies.page import ask_study
from steadyhead.services.upkeep.pieces import put_in_new
from steadyhead.surge.events import EVENTS
from steadyhead.web import static
from tests.web.filled import WHO, Client

KEY = "QHL-01"
RAW_DAY = re.compile(r">[^<]*\b\d{4}-\d\d-\d\d\b")
BASE = Path(static.__file__).parent / "assets" / "base.css"


def test_jobs_name_an_event_in_words_and_their_day_as_nobody_can_misread_it(filled: Register, client: Client):
    ask_study(filled, KEY, StudyAsk(kind="surge", event="fails-open", within="5 s"), WHO)
    page = client.get("/jobs").text
    assert "a reducer fails open, within 5 s" in page
    one = client.json("/jobs")["jobs"][0]
    assert one["ask"] == "fails-open, within 5 s"
    for text in (page, client.get(one["href"]).text):
        assert "fails-open" not in text
        assert not RAW_DAY.search(text)


@pytest.mark.parametrize("event", EVENTS)
def test_every_event_of_a_study_has_words(event: str):
    assert page_words.as_asked(f"{event}, within 5 s") != f"{event}, within 5 s"


def test_a_piece_is_told_by_its_station_and_its_valve(filled: Register, client: Client):
    made = put_in_new(
        filled, KEY, WHO, place="SO.pilot", serial="P-1", on="2026-04-20", why="leaked", words="4 bar"
    )
    for page in (client.get("/upkeep/pieces").text, client.get(f"/upkeep/pieces/{made.id}").text):
        assert "pilot of SO" in page
        assert "Quernhollow Lane" in page
        assert "20\u00a0Apr 2026" in page
        assert not RAW_DAY.search(page)
    assert client.json("/upkeep/pieces")["rows"][0]["station_name"] == "Quernhollow Lane"


def test_addresses_are_told_without_marks_of_emphasis(client: Client):
    told = client.json("/help/api")["addresses"]
    assert not [one for one in told if re.search(r"[*`]", one["words"])]


@pytest.mark.parametrize("topic", ["", "/api", "/rights", "/words"])
def test_help_says_which_program_it_is_and_what_it_does_not_authorise(client: Client, topic: str):
    page = client.get(f"/help{topic}").text
    assert f"steadyhead {__version__}" in page
    assert "Does not authorise work" in page


def test_a_command_breaks_between_its_words_alone(client: Client):
    page = client.get("/help/rights").text
    assert "<span>steadyhead</span> <span>serve</span> <span>--administrator</span>" in page
    assert ".command span { white-space: nowrap; }" in BASE.read_text(encoding="utf-8")


def test_the_library_shows_an_empty_sheet_and_names_no_command_for_it(client: Client):
    page = client.get("/library").text
    assert "format: steadyhead/valve/1" in page
    assert "steadyhead new" not in page


@pytest.mark.parametrize("page", ["/help/api", "/people", "/library", "/upkeep/pieces"])
def test_a_wide_table_is_stacked_on_a_narrow_page(page: str):
    template = {"/help/api": "help/addresses", "/people": "people/people", "/library": "library/library"}
    name = template.get(page, "upkeep/pieces")
    text = (BASE.parents[1] / "templates" / f"{name}.html").read_text(encoding="utf-8")
    assert re.search(r'<table class="[^"]*\bstacked\b', text)


@pytest.mark.parametrize(
    ("show", "said"),
    [("work", "things to do"), ("all", "things due"), ("looks", "things to look at or read")],
)
def test_upkeep_says_what_its_number_counts(client: Client, show: str, said: str):
    assert said in client.get(f"/upkeep?show={show}&until=2060-01-01").text
