from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead import surge
from steadyhead.findings import Severity
from steadyhead.findings.telling import tell
from steadyhead.hydraulics import case
from steadyhead.surge.bands import stability_band
from steadyhead.surge.events import studies
from steadyhead.surge.from_station import draft
from steadyhead.surge.hunting import hunting_of, settle
from steadyhead.surge.study import run_study
from steadyhead.surge.uncalibrated import BAND, FEED, LAG, MAINS, PILOT, between, moved, uncalibrated
from tests.surge.files import HELD, text, way

pytestmark = pytest.mark.by_turns(4)

PLASTIC = "main: {length: 800 m, bore: 150 mm, material: PVC-U}, volume: 60 m³, material: PVC-U"


def drafted(source: bytes):
    _, model = way(source)
    return draft(model, case(model.station, "typical", "average"))


def row_of(one) -> surge.ReducerRow:
    return next(part for part in one.plan.station if isinstance(part, surge.ReducerRow))


def test_a_reducer_that_hunts_on_its_defaults_is_run_with_a_quiet_member_and_read_in_full():
    here = drafted(text(zone=PLASTIC))
    assert hunting_of(here).growth > 0.0
    settled = settle([here])
    assert settled.values["RV"][MAINS] == 1.0
    assert not settled.still
    quiet = replace(here, plan=settled.plan(here.plan))
    assert hunting_of(quiet).growth == 0.0


def test_it_is_told_once_for_a_station_and_not_for_each_event():
    view, model = way(text(zone=PLASTIC))
    found, missed = studies(view, model)
    told = [finding for finding in missed if finding.code == "SUR-35"]
    assert [(finding.subject, finding.severity) for finding in told] == [("RV", Severity.NOTE)]
    assert "main" in tell(told[0]).statement
    falls = next(study for study in found if study.event == "demand-falls")
    assert "SUR-19" not in {finding.code for finding in falls.drafted.findings}
    assert falls.until > 60.0
    run = run_study(falls)
    assert run is not None
    assert run.swing < 0.2e5


def test_what_the_file_states_is_never_moved():
    here = drafted(text(zone=PLASTIC).replace(*HELD))
    settled = settle([here])
    assert set(settled.values.get("RV", {})) <= {MAINS}
    assert all(
        one.is_held and one.low == one.high for one in uncalibrated(here, row_of(here)) if one.name != MAINS
    )


def test_a_stated_tolerance_narrows_the_band_to_itself():
    known = b"feed_kv: {value: Kv 0.06, plus_minus: Kv 0.012}"
    here = drafted(text().replace(*HELD).replace(b"feed_kv: Kv 0.06", known))
    feed = next(one for one in uncalibrated(here, row_of(here)) if one.name == FEED)
    assert (feed.low, feed.high) == pytest.approx((0.8, 1.2))


def test_a_reducer_that_fails_in_the_run_keeps_its_defaults():
    here = drafted(text(zone=PLASTIC))
    settled = replace(settle([here]), values={"RV": {FEED: 0.25, LAG: 0.3, MAINS: 1.0}})
    row = row_of(here)
    failing = row_of(replace(here, plan=settled.plan(here.plan, failing="RV")))
    assert (failing.feed, failing.lag) == (row.feed, row.lag)
    regulating = row_of(replace(here, plan=settled.plan(here.plan)))
    assert (regulating.feed, regulating.pilot) == pytest.approx((0.25 * row.feed, 0.25 * row.pilot))


def test_where_every_member_hunts_it_says_so_and_reads_less():
    view, model = way(text(night=1.0).replace(*HELD))
    (study,), missed = studies(view, model, "demand-rises")
    assert "SUR-35" not in {finding.code for finding in missed}
    hunts = next(finding for finding in study.drafted.findings if finding.code == "SUR-19")
    assert "whatever" in tell(hunts).statement
    assert study.until < 60.0


def test_members_lie_inside_their_bands_and_meet_them_at_both_ends():
    here = drafted(text(zone=PLASTIC))
    for one in uncalibrated(here, row_of(here)):
        assert between(one, 0.0) == pytest.approx(one.low)
        assert between(one, 1.0) == pytest.approx(one.high)
        assert one.low <= between(one, 0.5) <= one.high
        assert one.words


def test_a_member_moves_what_it_is_told_and_nothing_else():
    here = drafted(text())
    row = row_of(here)
    plan = moved(here.plan, "RV", {PILOT: 1.5, BAND: 0.5})
    changed = row_of(replace(here, plan=plan))
    assert changed == replace(row, pilot=1.5 * row.pilot, band=0.5 * row.band)


@pytest.mark.source(
    kind="independent",
    ref="physics specification of the project: unstable below about 19 m³/h on the default station; 5 %",
)
def test_with_everything_stated_the_smallest_quiet_flow_is_one_figure():
    here = drafted(text(night=5.0, peak=55.997).replace(*HELD))
    flows = {"night": 5.0 / 3600.0, "peak": 55.997 / 3600.0}
    found = stability_band(here, row_of(here), flows, members=4)
    assert found is not None
    quiet = found.quiet_from
    assert quiet.low == quiet.high
    assert 3600.0 * quiet.middle == pytest.approx(19.0, rel=0.05)
    assert [one.hunting for one in found.at] == [1.0, 0.0]
    assert found.at[1].gain_margin.low == found.at[1].gain_margin.high > 1.0


def test_with_nothing_stated_it_is_a_band_that_the_seed_gives_again():
    here = drafted(text(night=5.0))
    flows = {"peak": 55.997 / 3600.0}
    once, again = (stability_band(here, row_of(here), flows, members=8, seed=2) for _ in range(2))
    assert once == again
    assert once is not None
    assert once.quiet_from.low < once.quiet_from.high
    other = stability_band(here, row_of(here), flows, members=8, seed=3)
    assert other is not None
    assert other.at != once.at


def test_the_look_can_be_stopped_and_tells_how_far_it_is():
    here = drafted(text())
    told = []
    found = stability_band(
        here, row_of(here), {"peak": 0.015}, members=2,
        progress=lambda done, total, what: told.append((done, total)), cancel=lambda: len(told) > 1,
    )  # fmt: skip
    assert found is None
    assert told[0][1] > told[0][0]
