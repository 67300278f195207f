"""Studies with their results as they show: proof, closing times, stability, chances, one event."""

from __future__ import annotations

import pytest

from steadyhead.register import Register, open_register
from steadyhead.services.jobs.working import Queue
from steadyhead.services.stations.saving import save
from steadyhead.services.studies.asked import StudyAsk
from steadyhead.services.studies.page import ask_study
from steadyhead.station.examples import read
from tests.web.browser.looks import shows_well
from tests.web.filled import WHO

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(8)]
KEY = "DMB-11"
STUDIES = {
    "proof": StudyAsk(kind="proof"),
    "closing": StudyAsk(kind="closing"),
    "stability": StudyAsk(kind="stability", members=8),
    "chances": StudyAsk(kind="chances", event="fails-open", runs=16),
    "surge": StudyAsk(kind="surge", event="fails-open", within="5 s"),
}


@pytest.fixture(scope="module")
def studied(whole, home) -> dict[str, str]:
    """Work out every kind of study beside the app, as its process for long ones does; return their pages."""
    register = open_register(whole[0])
    try:
        save(register, read("dunmarrow-bottom").replace(b"DMB-01", KEY.encode()), WHO)
        return {kind: _studied(register, asked) for kind, asked in STUDIES.items()}
    finally:
        register.close()


def _studied(register: Register, asked: StudyAsk) -> str:
    ask_study(register, KEY, asked, WHO)
    while Queue(register, "a worker", "studies").once():
        pass
    done = ask_study(register, KEY, asked, WHO)
    assert done.study
    return done.href


@pytest.mark.parametrize("kind", STUDIES)
def test_a_study_and_its_result_show_to_everybody(opens, studied, kind):
    page = opens(studied[kind])
    assert page.locator("main .state").count() >= 1, "a verdict in words"
    if kind in ("closing", "surge"):
        assert page.locator("figure.draw .desk svg").first.is_visible()
    shows_well(page)


def test_the_surge_page_leads_to_each_study(opens, studied):
    page = opens(f"/stations/{KEY}/surge")
    listed = {one.get_attribute("href") for one in page.locator("table.studies th a").all()}
    assert set(studied.values()) <= listed
    shows_well(page)
