"""The uncalibrated band of a reducer held against what was seen of it on site."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead import surge
from steadyhead.cli.stability_text import stability_text
from steadyhead.errors import InputErrors
from steadyhead.findings import Severity, tell
from steadyhead.hydraulics import case
from steadyhead.records.parts import Reducer
from steadyhead.services.stability import run_stability, stability_data
from steadyhead.station.load import load
from steadyhead.surge.bands import stability_band
from steadyhead.surge.from_station import draft
from steadyhead.surge.quiet import Point, unstable_roots
from steadyhead.surge.schedule import Schedule, Straight
from steadyhead.surge.uncalibrated import BAND, FEED, PILOT, moved
from steadyhead.units import METRIC
from tests.surge.files import text, way

pytestmark = pytest.mark.by_turns(4)

PILOT_LINE = b"pilot: {spring_low: 1 bar, spring_high: 9 bar}\n    mechanics: {proportional_band: 0.8 bar}\n"
BARE = text(night=5.0).replace(PILOT_LINE, PILOT_LINE.partition(b"    mechanics")[0])
LOCKUP = b"    lockup: 4.5 bar\n    senses: T2\n"
KNOWN = BARE.replace(b"    senses: T2\n", LOCKUP, 1)
FLOWS = {"night": 5.0 / 3600.0, "peak": 55.997 / 3600.0}


def seen(*lines: str, source: bytes = BARE) -> bytes:
    """Return a station file with observations of its reducer."""
    marker = b"pilot: {spring_low: 1 bar, spring_high: 9 bar}\n"
    found = "".join(f"      - {{{line}}}\n" for line in lines).encode()
    return source.replace(marker, marker + b"    observed:\n" + found, 1)


def read(pressure: float) -> str:
    return f"{{value: {pressure / 1e5:.3f} bar, plus_minus: 0.01 bar}}"


def drafted(source: bytes):
    _, model = way(source)
    return draft(model, case(model.station, "typical", "average"))


def row_of(one) -> surge.ReducerRow:
    return next(part for part in one.plan.station if isinstance(part, surge.ReducerRow))


def member_at(here, values, flow, more=0.0):
    """Return one member at a flow [m³/s]: the truth that observations are made of."""
    plan = moved(here.plan, "RV", values)
    plant = surge.compile_plan(plan)
    (end,) = [j for j in plan.joints if isinstance(j, surge.Consumers)]
    held = next(j for j in plan.joints if not isinstance(j, surge.Consumers))
    k = end.coefficient * flow / here.before.consumer_flow
    schedule = Schedule(
        (
            Straight(end.id, "demand", ((0.0, k),)),
            Straight(held.id, "supply pressure", ((0.0, held.pressure + more),)),
        )
    )
    rest = surge.steady_rest(plant, schedule)
    band = next(part for part in plan.station if isinstance(part, surge.ReducerRow)).band
    return 4.5e5 - band * rest.pilots["RV"], int(unstable_roots([Point(plant, rest, "RV")])[0]) > 0


@pytest.fixture(scope="module")
def truth():
    """Return observations at three flows of a member with a narrow band and half the feed."""
    here, values = drafted(KNOWN), {BAND: 0.6, FEED: 0.5, PILOT: 1.2}
    lines = []
    for flow in (3.0, 20.0, 55.0):
        outlet, hunts = member_at(here, values, flow / 3600.0)
        stands = "hunts" if hunts else "still"
        lines.append(f"flow: {flow} m³/h, outlet: {read(outlet)}, stands: {stands}")
    return values, lines


@pytest.mark.source(kind="analytic", ref="observations made of one member: the band left holds that member")
def test_the_band_that_is_left_holds_the_valve_that_was_seen_and_is_narrower(truth):
    values, lines = truth
    here = drafted(seen(*lines, source=KNOWN))
    free = stability_band(*_asked(KNOWN), FLOWS, members=24)
    found = stability_band(here, row_of(here), FLOWS, members=24)
    assert free is not None
    assert found is not None
    assert free.fit is None
    fit = found.fit
    assert fit is not None
    assert fit.is_used
    assert fit.seen == 6
    assert 8 <= found.members <= fit.kept < fit.tried
    narrowed = {one.name: one for one in found.bands}
    band, low_high = narrowed[BAND], narrowed[BAND].fitted
    assert low_high is not None
    assert low_high[0] <= 1.15 * values[BAND]
    assert low_high[1] >= 0.85 * values[BAND]
    assert low_high[1] - low_high[0] < 0.5 * (band.high - band.low)
    assert BAND not in fit.not_determined
    assert "diaphragm_area" in fit.not_determined
    by_flow = {one.flow_case: one.hunting for one in found.at}
    assert abs(by_flow["night"] - by_flow["peak"]) == pytest.approx(1.0, abs=0.35)


def test_what_contradicts_itself_leaves_the_whole_band_and_is_told():
    source = seen(
        "flow: 5 m³/h, outlet: 4.00 bar",
        "flow: 50 m³/h, outlet: 4.60 bar, stands: still",
    )
    answer = run_stability(source, "a.yaml", members=6)
    (one,) = answer.bands.reducers
    assert one.fit is not None
    assert not one.fit.is_used
    assert one.members == 6
    assert all(band.fitted is None for band in one.bands)
    by_code = {finding.code: finding for finding in answer.bands.findings}
    assert by_code["SUR-52"].severity is Severity.HEED
    assert by_code["SUR-39"].severity is Severity.NOTE
    assert "4.00 bar at 5 m³/h and 4.60 bar at 50 m³/h" in tell(by_code["SUR-52"]).statement
    assert "too few" in stability_text(answer, METRIC)


def test_a_reducer_seen_to_hunt_is_heeded_and_one_seen_still_is_a_note():
    hunts = run_stability(seen("flow: 5 m³/h, stands: hunts"), "a.yaml", members=8)
    (told,) = [one for one in hunts.bands.findings if one.code == "SUR-51"]
    assert told.severity is Severity.HEED
    assert told.params["hunting"] == "100 %"
    assert "SUR-39" not in {one.code for one in hunts.bands.findings}
    said = " ".join(stability_text(hunts, METRIC).split())
    assert "Held against what was seen" in said
    assert "eight of ten that agree with what was seen" in said
    data = stability_data(hunts)["reducers"][0]
    assert data["fit"]["used"]
    assert data["fit"]["held_against"][0]["seen"] == "hunts at 5 m³/h"
    assert any(value["fitted"] for value in data["moved"])
    quiet = text(night=25.0).replace(PILOT_LINE, PILOT_LINE.partition(b"    mechanics")[0])
    flows = ("flow: 25 m³/h, stands: still", "flow: 55 m³/h, stands: still")
    still = run_stability(seen(*flows, source=quiet), "a.yaml", members=8)
    (told,) = [one for one in still.bands.findings if one.code in ("SUR-51", "SUR-52")]
    assert told.code == "SUR-51"
    assert told.severity is Severity.NOTE


def test_an_outlet_is_seen_at_its_own_inlet_pressure():
    here = drafted(BARE)
    outlet, _ = member_at(here, {}, 30.0 / 3600.0)
    sagging, _ = member_at(here, {}, 30.0 / 3600.0, more=-4.2e5)
    assert outlet - sagging > 0.03e5
    lines = [
        f"flow: 30 m³/h, outlet: {read(outlet)}",
        f"flow: 30.1 m³/h, outlet: {read(sagging)}",
    ]
    told = f"{lines[1]}, inlet: 4.8 bar"
    low = stability_band(*_asked(seen(lines[0], told)), FLOWS, members=12)
    same = stability_band(*_asked(seen(*lines)), FLOWS, members=12)
    assert low is not None
    assert same is not None
    assert low.fit is not None
    assert same.fit is not None
    assert low.fit.kept > same.fit.kept


def _asked(source: bytes) -> tuple[Any, Any]:
    here = drafted(source)
    return here, row_of(here)


def test_a_look_at_observations_can_be_stopped():
    here, row = _asked(seen("flow: 5 m³/h, stands: hunts"))
    assert stability_band(here, row, FLOWS, members=2, cancel=lambda: True) is None


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("flow: 5 m³/h", "neither outlet nor stands"),
        ("flow: 5 m³/h, stands: trembles", "stands"),
        ("flow: 0 m³/h, stands: still", "flow"),
    ],
)
def test_an_observation_that_says_nothing_is_refused(line, words):
    with pytest.raises(InputErrors, match=words):
        load(seen(line))


def test_observations_are_kept_as_typed():
    station = load(seen("flow: 5 m³/h, outlet: 4.4 bar, stands: still, date: 2026-08-20")).station
    (reducer,) = [part for part in station.parts() if isinstance(part, Reducer) and part.observed]
    (one,) = reducer.observed
    assert (one.flow.text, one.stands, one.date) == ("5 m³/h", "still", "2026-08-20")
    assert one.outlet is not None
    assert replace(one.outlet, text="").si == pytest.approx(4.4e5)
