"""Limits of cavitation over lift: one truth for twin, valve alone, findings and map."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map
from steadyhead.design.sizing import design_cases, size_reducer
from steadyhead.design.sizing_checks import reducer_findings
from steadyhead.design.twin import SteadyTwin
from steadyhead.hydraulics.cavitation import known_limits
from steadyhead.hydraulics.reach import reach
from steadyhead.station.mechanics import reducer_twin
from tests.design.stations import UPSTREAM, part, station_of

TABLES: dict[str, dict[str, Any]] = {
    "x_F": {
        "index": "x_F", "source": "invented sheet",
        "limits": [{"lift": "5 %", "incipient": "0.30"}, {"lift": "50 %", "incipient": "0.60"}],
    },
    "sigma 1": {
        "index": "sigma 1", "source": "invented sheet",
        "limits": [{"lift": "0 %", "incipient": "1.6"}, {"lift": "40 %", "incipient": "2.8"}],
    },
    "scaled": {
        "index": "sigma 2", "source": "invented sheet",
        "limits": [{"lift": "10 %", "incipient": "0.7", "constant": "0.5"}],
        "measured_at": {"size": "DN 50", "inlet": "5 bar"},
        "scaling": {"size_exponent": "0.2", "pressure_exponent": "0.1", "source": "supplier"},
    },
    "choked only": {
        "index": "sigma 1", "source": "invented sheet",
        "limits": [{"lift": "50 %", "choked": "2.0"}],
    },
}  # fmt: skip


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_twin_valve_alone_sizing_and_map_say_the_same(table: dict[str, Any]):
    station = station_of(UPSTREAM, part("RV", cavitation=table))
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    sizing = size_reducer(basis, basis.layout.reducers[0], design_cases(basis), None)
    points = {(p.flow_case, p.inlet_case): p for p in capacity_map(basis, twin.model, "RV").points}
    for case in sizing.cases:
        reading = twin.steady(case.flow_case, case.inlet_case).valves["RV"]
        assert reading.incipient is (case.degree is not None)
        alone = reach(twin.model, "RV", [max(reading.flow, 1e-6)], [reading.inlet_pressure])[0]
        assert alone.degree == case.degree
        if alone.verdict not in ("cannot hold", "choked"):
            assert (alone.verdict == "cavitating") is (case.degree is not None)
        if point := points.get((case.flow_case, case.inlet_case)):
            assert point.gravel == case.gravel
            assert point.zone in ("holds", "low flow", "wide open", case.degree)


def test_the_finding_names_the_limit_at_the_lift_of_its_case():
    station = station_of(UPSTREAM, part("RV", cavitation=TABLES["x_F"]))
    basis = Basis(station, SteadyTwin(station))
    sizing = size_reducer(basis, basis.layout.reducers[0], design_cases(basis), None)
    told = next(f for f in reducer_findings(basis, sizing) if f.code == "SIZ-11")
    case = next(c for c in sizing.cases if f"{c.inlet_case} inlet pressure, {c.flow_case} flow" == told.case)
    assert case.onset_sigma is not None
    assert told.params["limit_ratio"] == f"{1.0 / case.onset_sigma:.2f}"
    assert 0.30 <= 1.0 / case.onset_sigma <= 0.60
    assert "invented sheet" in told.inputs[-1].provenance


@pytest.mark.source(kind="analytic", ref="halfway between two rows the index as given is the mean of both")
@pytest.mark.parametrize(
    ("index", "first", "second", "sigma"),
    [("x_F", "0.30", "0.60", 1 / 0.45), ("sigma 1", "2.0", "3.0", 2.5), ("sigma 2", "1.0", "2.0", 2.5)],
)
def test_a_limit_is_straight_over_lift_in_the_index_it_is_given_in(index, first, second, sigma):
    rows = [{"lift": "0 %", "incipient": first}, {"lift": "100 %", "incipient": second}]
    station = station_of(UPSTREAM, part("RV", cavitation={"index": index, "source": "s", "limits": rows}))
    reducer = Basis(station, SteadyTwin(station)).layout.reducers[0]
    limits = known_limits(reducer, reducer_twin(reducer), vapour_abs=1228.0)
    assert limits.sigma("incipient", 0.5, 9e5) == pytest.approx(sigma, rel=1e-12)
