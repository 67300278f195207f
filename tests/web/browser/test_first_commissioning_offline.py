"""The whole first commissioning of station A on a telephone without a signal, from the office to the paper.

An inadvertent closure while the shut-off is set, a night in between, and a second person with a tablet.
Nothing but figures is typed; everything else is touched on the screen. Set STEADYHEAD_WALK_PICTURES to a
folder to see each screen.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.expression import Taken
from steadyhead.procedure.graph import order
from steadyhead.procedure.ledger import dump
from steadyhead.records.procedure import Procedure
from steadyhead.register import open_register
from steadyhead.services.example_year.clean_visit import clean_visit
from steadyhead.services.example_year.device import Device
from steadyhead.services.field.pack import field_pack
from steadyhead.services.plan_files import plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.services.signing import NAME, load, public_pem
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.station.examples import read
from tests.conftest import BROWSERS
from tests.web.browser.conftest import PATIENCE, SWITCHES, served
from tests.web.browser.walking_there import CLOCK, Album, Hours, Person

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(12)]
STATION, KEY, RUN = "quernhollow-lane", "QHL-01", "first-commissioning"
ENGINEER, TECHNICIAN = "Ilse Marrow", "Tam Oduya"
PEOPLE = ((ENGINEER, "engineer"), (TECHNICIAN, "technician"))
WAY = {"E0.SO": "set", "E0.RV": "fits", "E0.LB": "fits"}
HERE = f"/stations/{KEY}/runs/{RUN}"
PHONE, TABLET = (390, 844), (800, 1280)
ELSEWHERE = ("A3", "B6", "G5")
"""Steps that the second person does on the tablet, in the van and at the desk's end of the line."""
CLOSES = ("ES3.SO", "shut_off_open")
LOOKED_AT_LATER = "K2"
"""The second look follows the signature, a night and a week later: it is not this visit's to do yet."""
LAST_OF_DAY = "F5.SO"
"""After this step the day ends."""
PROGRAM = """
import datetime as days, sys, time
from pathlib import Path
shift, clock = Path(sys.argv[2]), time.time
time.time = lambda: clock() + float(shift.read_text())
real = days.datetime
class Shown(real):
    @classmethod
    def now(cls, tz=None):
        return real.fromtimestamp(time.time(), tz)
import steadyhead.register.core, steadyhead.services.accounts, steadyhead.services.entering.service
import steadyhead.services.entering.making, steadyhead.services.field.syncing
import steadyhead.services.field.issuing
import steadyhead.services.ports, steadyhead.services.stations.days, steadyhead.services.visits_kept.judged
import steadyhead.services.visits_kept.run_gist
import steadyhead.services.visits_kept.showing
from steadyhead.web.serving import Terms, opened, serve
for name, module in list(sys.modules.items()):
    if name.startswith("steadyhead.") and getattr(module, "datetime", None) is real:
        module.datetime = Shown
terms = Terms(sys.argv[1], port=0, browser=False, worker=False)
with opened(terms) as register:
    serve(register, terms, lambda line: print(line, flush=True))
"""
"""The app as it is served, whose clock shows the hour on site."""


@dataclass(frozen=True)
class Place:
    """Where it is walked. pack: what a device takes along."""

    address: str
    procedure: Procedure
    pack: dict[str, Any]
    hours: Hours
    folder: Path


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """The app with the station, its plan, and the visit begun in the office two days ago."""
    folder: Path = tmp_path_factory.mktemp("station a")
    morning = datetime.combine(datetime.now(UTC).date() - timedelta(days=2), time(7, 30), UTC)
    hours = Hours.at(folder / "hours", morning)
    made = make_plan(read(STATION), "first")
    assert made.procedure is not None
    content = plan_file(made.procedure)
    plan = read_plan_file(content)
    register = open_register(folder / "register")
    at = f"{morning.date() - timedelta(days=1)}T15:00:00.000Z"
    day = morning.date()
    save(register, read(STATION), ENGINEER, "first", day=day - timedelta(days=1))
    record = plans.take_plan(register, KEY, content, ENGINEER, at)
    office = Device("office", RUN, ENGINEER, morning - timedelta(minutes=10))
    entries = clean_visit(plan.procedure, WAY, office, PEOPLE, plan=plan.sha256, purpose="commissioning")
    begun = [one for one in entries if not one.node]
    runs.begin_from(register, KEY, dump(begun), ENGINEER, record.id, day=day)
    pack = json.loads(field_pack(register, KEY, RUN).model_dump_json())
    register.close()
    with served(folder / "register", PROGRAM, str(hours.file)) as address:
        yield Place(address, plan.procedure, pack, hours, folder)


def owners_key(folder: Path) -> Path:
    """Return the public key of the owner, as anybody gets it who proves a paper."""
    found = folder / "owner.pem"
    found.write_bytes(public_pem(load(folder / "register" / NAME).public))
    return found


def steadyhead(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command line."""
    return subprocess.run(
        [sys.executable, "-m", "steadyhead", *words], capture_output=True, text=True, check=False
    )


def opened(driver: Any, place: Place, name: str, size: tuple[int, int], program: str, told: list[str]) -> Any:
    """Open the browser of a device, whose clock shows the hour on site."""
    context = driver.chromium.launch_persistent_context(
        str(place.folder / name), executable_path=program, args=list(SWITCHES), has_touch=True,
        viewport={"width": size[0], "height": size[1]}, reduced_motion="reduce", accept_downloads=True,
        timezone_id="Europe/London",
    )  # fmt: skip
    context.set_default_timeout(1e3 * PATIENCE)
    context.add_init_script("delete globalThis.showSaveFilePicker")  # no dialog of the browser
    context.add_init_script(CLOCK % round(1e3 * place.hours.shift))
    context.on("weberror", lambda one: told.append(f"{name}: {one.error}"))
    return context


class Walk:
    """Both devices, and what was answered so far."""

    def __init__(self, place: Place, driver: Any) -> None:
        self.place, self.driver, self.album = place, driver, Album.asked()
        self.told: list[str] = []
        self.seen = [Taken(choice, "@choice", option) for choice, option in WAY.items()]
        self.program = next(path for path in map(shutil.which, BROWSERS) if path)
        self.steps = list(order(place.procedure, WAY))

    def open(self, name: str, size: tuple[int, int]) -> Person:
        """Open the browser of a device."""
        context = opened(self.driver, self.place, name, size, self.program, self.told)
        page = context.pages[0]
        plan, table = self.place.procedure, self.place.pack["units"]
        return Person(page, self.place.hours, self.album, plan, WAY, table, device=name)

    def take_along(self, person: Person, who: str) -> None:
        """From the page of the visit to the first step, through everything that stands before it."""
        page = person.page
        page.goto(f"{self.place.address}{HERE}")
        page.get_by_role("link", name="Take along").tap()
        person.words("read back from this device just now")
        told = page.inner_text("main")
        for what in ("Plan", "Storage", "Script and pictures", "Without a signal", "Lettering", "Causes"):
            assert f"✓ {what}:" in told, told
        page.context.set_offline(True)
        page.reload()
        person.words("taken along")
        page.locator(".choice button").first.tap()
        person.words("read back from this device just now")
        for _ in range(20):
            if "Who works with this device?" in person.see()["all"]:
                break
            person.key("right")
            page.wait_for_timeout(50)
        person.choose(who)
        person.words("· step ")

    def closes(self, person: Person) -> None:
        """The shut-off closes before its time: what the page says, and the way back from it."""
        step, name = CLOSES
        node = self.place.procedure.node(step)
        person.step(node, self.seen, {CLOSES: False})
        shown = person.see()
        assert shown["title"] == "" or "Stop." in shown["alarm"], shown["all"]
        assert "more" not in shown["names"], "the next step stays hidden"
        person.key("left")
        assert "Back out" in person.see()["title"]
        person.read_on()
        person.key("right")
        person.read_on()
        person.key("right")
        person.words("What did you see?")
        causes = person.page.locator("main .choice button", has_text="seen, and to be put right")
        assert causes.count() > 0, person.see()["all"]
        causes.first.tap()
        person.words("Who agreed to go on?")
        person.choose(ENGINEER)
        person.until(lambda seen: "more" in seen["names"], "the step")
        for _ in range(2):
            self.raises(person)
        person.read_on()
        person.key("more")
        person.choose("Answer again")
        person.again(step, self.seen, (name,))
        for reading in ("T1", "T2", "T3"):
            person.read_on()
            person.key("more")
            person.choose("Answer again")
            person.again(step, self.seen, (reading,))
        person.read_on()
        assert person.see()["alarm"] == ""

    def raises(self, person: Person) -> None:
        """Raise the screw of the shut-off by one turn, beside the plan; what falls with it is read first."""
        person.read_on()
        person.key("more")
        person.choose("Something was done", "Touch a screw or part", "raise", "SO", "setting", "1 turn")
        person.until(lambda seen: "falls with it" in seen["title"], "what falls with it")
        person.read_on()
        person.key("right")
        person.words("· step ")

    def night(self, person: Person, size: tuple[int, int], moment: datetime) -> Person:
        """Close the browser of a device; open it again next morning, still without a signal."""
        person.page.context.close()
        if self.place.hours.now < moment:
            self.place.hours.set(moment)
        again = self.open(person.device, size)
        again.page.context.set_offline(True)
        again.page.goto(f"{self.place.address}/field")
        again.words("taken along")
        again.page.locator(".choice button").first.tap()
        again.words("A night lies between")
        again.read_on()
        again.key("right")
        again.words("Does each stand as it was left?")
        again.read_on()
        again.key("right")
        again.words("Again today")
        return again

    def once_more(self, person: Person, who: str) -> None:
        """Do again what does not hold over a night."""
        listed: list[str] = []
        while True:
            shown = person.see()
            small = person.page.locator("main .choice button small").all_inner_texts()
            listed += [one.split(",")[0] for one in small]
            if not shown["right"].startswith("Read on"):
                break
            person.key("right")
        for at, step in enumerate(listed):
            if at:
                person.read_on()
                person.key("more")
                person.choose("Again today")
            while person.page.locator('[data-key="before"]').count():
                person.key("before")
            person.choose_beside(f"{step},")
            person.again(step, self.seen)
            person.read_on()
        person.read_on()
        person.key("more")
        person.choose("Again today")
        done = 0
        for _ in range(len(listed) + 1):
            shown = person.see()
            done += shown["all"].count("done today")
            if not shown["right"].startswith("Read on"):
                break
            person.key("right")
        assert done == len(listed), shown["all"]
        person.key("right")
        person.choose(who)
        person.words("· step ")

    def sent(self, person: Person) -> None:
        """Come back to where there is a signal."""
        person.page.context.set_offline(False)
        person.words("Everything is sent.")


def test_the_first_commissioning_goes_from_the_office_to_a_proved_certificate(place: Place):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        walk = Walk(place, driver)
        phone = walk.open("phone", PHONE)
        walk.take_along(phone, TECHNICIAN)
        tablet = walk.open("tablet", TABLET)
        walk.take_along(tablet, ENGINEER)
        for step in walk.steps:
            if step == LOOKED_AT_LATER:
                continue
            if step == CLOSES[0]:
                walk.closes(phone)
            (tablet if step in ELSEWHERE else phone).walk([step], walk.seen)
            if step == LAST_OF_DAY:
                morning = datetime.combine(place.hours.now.date() + timedelta(days=1), time(7, 5), UTC)
                phone = walk.night(phone, PHONE, morning)
                walk.once_more(phone, TECHNICIAN)
                tablet = walk.night(tablet, TABLET, morning)
                walk.once_more(tablet, ENGINEER)
        assert phone.read_on()["right"] == "Next step"
        walk.sent(tablet)
        walk.sent(phone)
        phone.until(lambda seen: phone.read_on()["right"] == "Final", "Final")
        phone.key("right")
        phone.words("Nothing stands against final.")
        phone.key("right")
        phone.words("Sign as final")
        phone.key("right")
        phone.words("Hand over")
        phone.words("Everything is sent.")
        phone.choose("Certificate")
        phone.until(lambda seen: seen["right"] == "Issue", "Issue")
        phone.key("right")
        phone.words("The paper is on this device.")
        phone.read_on()
        with phone.page.expect_download() as found:
            phone.choose("Save the paper")
        paper = place.folder / "certificate.pdf"
        found.value.save_as(paper)
        assert phone.over + tablet.over == []
        assert walk.told == []
        for person in (phone, tablet):
            person.page.context.close()
    told = steadyhead("verify", str(paper), "--key", str(owners_key(place.folder)))
    assert told.returncode == 0, told.stdout + told.stderr
