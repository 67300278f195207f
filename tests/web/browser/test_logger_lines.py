"""What loggers saw beyond a limit, as a person sees it: the station's page, what is due, the next plan."""

from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader

from steadyhead.register import open_register
from steadyhead.services.logs import judging
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import doings
from steadyhead.station.examples import read
from tests.services.logs.test_crossed import UNTIL, measure, strainer, view
from tests.web.browser.conftest import opening, served

pytestmark = pytest.mark.browser
KEY, WHO = "DMB-01", "Ilse Marrow"
HERE = f"/stations/{KEY}"
WIDTHS = (390, 820, 1400)
SEEN = "Strainer coefficient 2.4 × that of its cleanest days"
"""The first letter stands as a heading has it."""


@pytest.fixture(scope="module")
def seen_there(tmp_path_factory):
    """Serve a station of which loggers saw two limits crossed; give its address and the judgement."""
    folder = tmp_path_factory.mktemp("lines") / "register"
    register = open_register(folder)
    save(register, read("dunmarrow-bottom"), WHO)
    doings.into_service(register, KEY, WHO, on=f"{today() - timedelta(days=90)}")
    swings = measure("hunting", 9e3, details={"period": 11.0, "days": 9, "of_days": 30})
    made = judging.keep_judgement(register, view(strainer(2.4), swings), WHO)
    register.close()
    with served(folder) as address:
        yield address, made.id


@pytest.fixture
def sees(seen_there, browser):
    """Return what opens a fresh page of it."""
    with opening(seen_there[0], browser) as opened:
        yield opened


def plain(page) -> str:
    return " ".join(page.locator("main").inner_text().replace("\u00a0", " ").split())


def days() -> str:
    """Return what a line rests on, as pages say it."""
    judged, until = (f"{day.day} {day:%b %Y}" for day in (today(), UNTIL))
    return f"as judged on {judged} of data until {until}"


def fits(page) -> None:
    """Nothing is wider than the page, and the words of the state leave the name its room."""
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    name = page.locator("h1").bounding_box()
    state = page.locator(".title .state").bounding_box()
    size = page.evaluate("parseFloat(getComputedStyle(document.querySelector('h1')).fontSize)")
    assert name["height"] < 1.9 * size, "the name stands on one line"
    below = state["y"] >= name["y"] + name["height"]
    assert below or state["x"] >= name["x"] + name["width"], "beside or below, never over it"


@pytest.mark.parametrize("width", WIDTHS)
def test_the_stations_page_says_what_loggers_saw_and_leads_to_the_judgement(sees, seen_there, width):
    page = sees(HERE, width)
    fits(page)
    words = plain(page)
    assert SEEN in words or SEEN.lower() in words.lower()
    assert days() in words
    assert not re.search(r"\d{4}-\d\d-\d\d", words), "days as pages write them"
    need = page.locator("section[aria-labelledby=needs-head] li", has_text="trainer coefficient")
    assert "Open and clean." in need.inner_text()
    need.get_by_role("link").click()
    page.wait_for_url(f"**/logs/judged/{seen_there[1]}")
    assert "Crossed: strainer coefficient 2.4 ×" in plain(page)
    assert "Crossed: outlet swings by 0.09 bar" in plain(page)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize("where", ["/upkeep", f"{HERE}/upkeep"])
@pytest.mark.parametrize("width", WIDTHS)
def test_what_is_due_begins_with_it_and_links_its_rows(sees, width, where):
    page = sees(where, width)
    line = page.locator("li:has(> .due-why)", has_text=SEEN)
    assert line.count() == 1
    words = " ".join(line.inner_text().replace("\u00a0", " ").split())
    assert words.startswith(SEEN)
    assert days() in words
    assert "Open and clean" in words
    rows = line.get_by_role("link", name="Rows of the loggers")
    assert rows.get_attribute("href").startswith(f"{HERE}/logs/rows?channel=outlet")
    box = rows.bounding_box()
    assert box["x"] + box["width"] <= width
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_the_list_finds_the_station_by_it(sees):
    page = sees("/stations?q=strainer+coefficient+2.4")
    assert "Dunmarrow Bottom" in plain(page)


def test_the_next_plan_names_both_first_and_at_their_steps_on_page_and_paper(sees):
    page = sees(f"{HERE}/plans")
    fits(page)
    page.select_option("select[name=visit]", "yearly")
    page.get_by_role("button", name="Make the plan").click()
    paper = page.get_by_role("link", name="Paper, PDF")
    paper.wait_for()
    got = page.context.request.get(
        page.evaluate("address => new URL(address, location).href", paper.get_attribute("href"))
    )
    paged = " ".join(one.extract_text() for one in PdfReader(BytesIO(got.body())).pages)
    text = " ".join(paged.replace("\u200b", "").split())
    assert "Seen by loggers: strainer coefficient 2.4 ×" in text
    assert "Seen by loggers: outlet swings by 0.09 bar" in text
    assert text.index("Seen by loggers") < text.index("This plan helps to prepare")
    assert text.count("Loggers say: strainer coefficient 2.4 ×") == 1
    page.locator("input[name=person]").fill(WHO)
    page.get_by_role("button", name="Begin a visit").click()
    page.wait_for_url("**/runs/*")
    page.goto(f"{page.url.partition('?')[0].partition('#')[0]}?step=Y5.ST")
    words = plain(page)
    assert "Loggers say: strainer coefficient 2.4 ×" in words
    assert days() in words
    assert words.index("Loggers say") < words.index("Last cleaned")
