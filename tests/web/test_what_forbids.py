"""What forbids a release or a plan is said in one wording, on the page with what to do."""

from __future__ import annotations

import pytest

from steadyhead.findings import what_forbids
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read

PAGE, DATA = {"accept": "text/html"}, {"accept": "application/json"}


@pytest.fixture
def home(filled) -> str:
    """Keep the example that must not be built; return its address."""
    save(filled, read("hobble-end"), "local", "as an example")
    return "/stations/HOB-9"


def test_a_plan_that_findings_forbid_is_told_with_its_remedies(client, home):
    page = client.get(f"{home}/design?as=plan", headers=PAGE)
    assert page.status_code == 200
    assert "No test plan can be made yet: what forbids it" in page.text
    assert "Fit a drain between the valves" in page.text
    assert f'href="{home}/fields"' in page.text
    for asked in (
        client.get(f"{home}/design?as=plan", headers=DATA),
        client.post(f"{home}/plans", json={"visit": "first"}, headers=DATA),
    ):
        assert asked.status_code == 422
        told = asked.json()["problems"]
        assert any("drain" in one["problem"] and "Fit a drain" in one["remedy"] for one in told)


def test_screen_and_entry_count_what_forbids_alike(client, home):
    sheet = client.json(f"{home}/design")
    counts = sheet["body"]["counts"]
    words = what_forbids(counts["stop"], counts["ask"])
    assert sheet["standing"] == f"not releasable: {words}"
    assert (
        "forbid" not in client.get(f"{home}/design", headers=PAGE).text.split("<main")[1].split("Findings")[0]
    )
