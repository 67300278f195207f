"""A team at an empty register: signing in, people, roles, one's own account, pages with nothing on them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from steadyhead.register import open_register
from steadyhead.register.accounts import Role
from steadyhead.services import accounts as team
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.web.browser.conftest import opening, served
from tests.web.browser.hands import Keyboard
from tests.web.browser.looks import shows_well

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
WORDS, OTHER = "wet spanner quiet lane", "seven gauges under rain"
PEOPLE: tuple[tuple[str, Role], ...] = (
    ("Ilse Marrow", "administer"), ("Tom Pell", "record"), ("Ada Fen", "look"),
)  # fmt: skip
CHIEF, HAND, LOOKER = (name for name, _ in PEOPLE)
EMPTY = (
    "/stations",
    "/stations/import",
    "/visits",
    "/upkeep",
    "/upkeep/pieces",
    "/library",
    "/jobs",
    "/archive",
)
PARTS = (
    "",
    "/surge",
    "/design",
    "/revisions",
    "/plans",
    "/runs",
    "/records",
    "/upkeep",
    "/history",
)
TRIES = ("/pressures", "/fields", "/file")
"""Parts where anybody may try what is not saved."""
CHANGES = "main form[method=post]"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a register with people and without stations."""
    found: Path = tmp_path_factory.mktemp("team") / "register"
    register = open_register(found)
    for name, role in PEOPLE:
        team.set_password(register, team.add(register, name, role, "this machine"), WORDS)
    register.close()
    return found


@pytest.fixture(scope="module")
def door(folder: Path) -> Iterator[str]:
    """The address of its app."""
    with served(folder) as address:
        yield address


@pytest.fixture
def opens(door: str, browser: Any) -> Iterator[Callable[..., Any]]:
    """Return what opens a fresh page at an address, of nobody."""
    with opening(door, browser) as opened:
        yield opened


@pytest.fixture
def enters(opens: Callable[..., Any]) -> Callable[..., Any]:
    """Return what opens an address as a person who signs in on the way, by keyboard."""

    def entered(path: str, name: str, **more: Any) -> Any:
        page = opens(path, **more)
        page.wait_for_url("**/sign-in?**")
        _sign_in(page, name, WORDS)
        page.wait_for_url(lambda at: at.endswith(path) and "sign-in" not in at)
        return page

    return entered


def _sign_in(page: Any, name: str, password: str) -> None:
    hands = Keyboard(page)
    hands.write("#f-name", name)
    hands.write("#f-password", password)
    hands.press("Sign in")


def test_a_wrong_password_is_told_and_the_page_shows_to_everybody(opens):
    page = opens("/stations", misses=(401,))
    _sign_in(page, CHIEF, "not the right one")
    page.wait_for_selector(".problem")
    assert page.input_value("#f-name") == CHIEF
    shows_well(page)


@pytest.mark.parametrize("path", [pytest.param(path, marks=pytest.mark.share(3)) for path in EMPTY])
def test_a_page_with_nothing_on_it_says_what_to_do_next(enters, path):
    page = enters(path, CHIEF)
    assert page.locator("main p").count() >= 1
    shows_well(page)


def test_a_person_is_added_and_sets_a_password_by_the_link(enters, opens):
    page = enters("/people", CHIEF)
    hands = Keyboard(page)
    hands.write("#f-name", "Brae Moss")
    hands.press("Add the person")
    page.wait_for_selector("code")
    link = page.inner_text("[role=status] code")
    shows_well(page)
    guest = opens(link.partition("//")[2].partition("/")[2].join(("/", "")), misses=(422,))
    _set(guest, "short")
    guest.wait_for_selector("#f-password[aria-invalid]")
    shows_well(guest)
    guest.emulate_media(media="screen")
    _set(guest, OTHER)
    guest.wait_for_url(lambda at: at.endswith("/stations") and "sign-in" not in at)


def _set(page: Any, password: str) -> None:
    hands = Keyboard(page)
    hands.write("#f-password", password)
    hands.press("Set the password")


def test_ones_own_account_tells_what_is_wrong_beside_its_field(enters):
    page = enters("/account", HAND, misses=(422,))
    hands = Keyboard(page)
    hands.write("#f-old", "not the right one")
    hands.write("#f-new", OTHER)
    hands.press("Change the password")
    page.wait_for_selector("#f-old[aria-invalid]")
    assert page.locator("#f-old-problem").is_visible()
    shows_well(page)


def test_who_may_not_look_after_people_is_told_who_may(enters):
    page = enters("/people", HAND, misses=(403,))
    assert "Ask a person with the right to administer." in page.inner_text("main")
    shows_well(page)


def test_who_only_looks_is_offered_nothing_to_change(folder, enters):
    register = open_register(folder)
    key = save(register, read("quillenby-row"), CHIEF).key
    register.close()
    page = enters("/stations", LOOKER)
    assert page.locator("text=Add a station").count() == 0
    for part in (*PARTS, *TRIES):
        page.goto(page.url.partition("/stations")[0] + f"/stations/{key}{part}")
        offered = page.locator(CHANGES).count() if part not in TRIES else 0
        assert (part, offered, page.locator("main button", has_text="Save").count()) == (part, 0, 0)
