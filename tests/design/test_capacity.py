from __future__ import annotations

from itertools import pairwise
from math import inf, isnan, pi

import pytest

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map, ground_of
from steadyhead.design.capacity_borders import Test
from steadyhead.design.capacity_points import flow_at, gravel, inlet_at
from steadyhead.design.required import required_kvs
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.hydraulics.cavitation import known_limits
from steadyhead.hydraulics.reach import reach
from steadyhead.records.capacity import BorderKind, CapacityMap
from steadyhead.records.valve import ValveSheet
from steadyhead.station.mechanics import reducer_twin
from tests.design.stations import ALONE, EXAMPLES, SERIES, UPSTREAM, part, section, station_of

LIMITS = {
    "index": "sigma 1",
    "source": "invented sheet",
    "limits": [
        {"lift": "5 %", "incipient": "2.4", "constant": "2.1", "damage": "1.95"},
        {"lift": "100 %", "incipient": "3.2", "constant": "2.6", "damage": "2.0"},
    ],
}
WORDS = {"wide open": "cannot hold", "low flow": "low flow", "holds": "holds", "choked": "choked"}


def basis_of(name: str, *edits) -> tuple[Basis, SteadyTwin]:
    station = station_of(name, *edits)
    twin = SteadyTwin(station)
    return Basis(station, twin), twin


def map_of(name: str, *edits, reducer: str = "") -> CapacityMap:
    basis, twin = basis_of(name, *edits)
    return capacity_map(basis, twin.model, reducer or basis.layout.reducers[0].id)


@pytest.mark.source(
    kind="independent", ref="the map's zones against the kernel's verdicts, x_Fz alone, no losses ahead"
)
@pytest.mark.parametrize("name", EXAMPLES)
def test_zones_are_the_verdicts_of_the_valve_alone(name: str):
    basis, twin = basis_of(name)
    reducer = basis.layout.reducers[0]
    ground = ground_of(basis, twin.model, reducer)
    flows = [1e-4, 5e-4, 2e-3, 8e-3, 2e-2, 6e-2, 0.2]
    inlets = [2e5, 4.1e5, 5e5, 7e5, 9e5, 12e5, 30e5]
    for point in reach(twin.model, reducer.id, flows, inlets, least_lift=ground.least_lift):
        assert WORDS.get(ground.zone(point), "cavitating") == point.verdict


@pytest.mark.parametrize("edits", [(), (part("RV", cavitation=LIMITS),)], ids=["x_Fz", "table"])
def test_every_border_is_right_to_one_per_cent_also_between_its_places(edits):
    basis, twin = basis_of(UPSTREAM, *edits)
    reducer = basis.layout.reducers[0]
    found = capacity_map(basis, twin.model, reducer.id)
    ground = ground_of(basis, twin.model, reducer)
    tests: dict[BorderKind, Test] = {"wide open": lambda p: p.verdict != "cannot hold"}
    tests |= {degree: ground.reaches(degree) for degree in found.degrees}
    for kind, test in tests.items():
        border = found.border(kind)
        if border is None:
            continue
        for (q0, p0), (q1, p1) in pairwise(border.points):
            flow, inlet = 0.5 * (q0 + q1), 0.5 * (p0 + p1)
            below, above = ground.at([(flow, inlet * 0.99), (flow, inlet * 1.01)])
            assert not test(below), (kind, flow)
            assert test(above), (kind, flow)


def test_borders_of_low_flow_are_right_to_one_per_cent_also_between_their_places():
    basis, twin = basis_of(UPSTREAM)
    found = capacity_map(basis, twin.model, "RV")
    ground = ground_of(basis, twin.model, basis.layout.reducers[0])
    border = found.border("low flow, least lift")
    assert border is not None
    for (q0, p0), (q1, p1) in list(pairwise(border.points))[1:]:
        flow, inlet = 0.5 * (q0 + q1), 0.5 * (p0 + p1)
        below, above = ground.at([(flow * 0.99, inlet), (flow * 1.01, inlet)])
        assert below.lift < d.LOWEST_LIFT.si <= above.lift


def test_worse_cavitation_lies_above_milder():
    found = map_of(UPSTREAM, part("RV", cavitation=LIMITS))
    assert found.degrees == ("incipient", "constant", "damage", "choked")
    for flow in (1e-3, 5e-3, 2e-2):
        edges = [
            edge
            for kind in ("wide open", "incipient", "constant", "damage")
            if (edge := inlet_at(found, kind, flow)) is not None
        ]
        assert len(edges) == 4
        assert all(a < b for a, b in pairwise(edges))


def test_low_flow_is_a_band():
    found = map_of(UPSTREAM)
    good, lift, plain = (
        flow_at(found, kind, 8e5)
        for kind in ("low flow, good valve", "low flow, least lift", "low flow, plain valve")
    )
    assert None not in (good, lift, plain)
    assert (good or 0.0) < (lift or 0.0) < (plain or 0.0)
    by_case = {point.words: point for point in found.points}
    assert by_case["night inlet pressure, night flow"].low_flow == "in the band"
    trickle = map_of(UPSTREAM, section("demand", night="0.1 L/s"))
    assert trickle.points[0].low_flow == "below it"


@pytest.mark.source(
    kind="analytic", ref="margin of a design point: inlet less border; v = 4 Q/(π d²) by hand"
)
def test_design_points_stand_on_the_map_with_their_margins():
    found = map_of(UPSTREAM)
    fire = found.points[-1]
    assert fire.flow_case == "fire"
    assert fire.zone == "holds"
    assert fire.velocity == pytest.approx(0.03 / (pi * found.size**2 / 4), rel=1e-6)
    assert fire.velocity_limit == d.BORE_VELOCITY_FIRE.si
    edge = inlet_at(found, "wide open", 0.03)
    assert edge is not None
    assert fire.to_spare == pytest.approx(fire.inlet - edge)
    assert fire.sigma_1 is not None
    assert fire.sigma_2 == pytest.approx(fire.sigma_1 - 1.0)
    assert fire.next_degree == "incipient"
    assert fire.gravel == "not expected"
    assert fire.gravel_from is not None
    assert fire.gravel_from > fire.inlet


def test_points_agree_with_the_steady_twin_of_the_whole_station():
    basis, twin = basis_of(UPSTREAM)
    for point in capacity_map(basis, twin.model, "RV").points:
        reading = twin.steady(point.flow_case, point.inlet_case).valves["RV"]
        assert point.travel == pytest.approx(reading.lift, rel=0.03, abs=1e-3)
        assert point.sigma_1 == pytest.approx(reading.sigma_1, rel=0.02)


def test_second_reducer_starts_at_the_outlet_of_the_first():
    found = map_of(SERIES, reducer="RV2")
    assert found.place == "outlet of RV1"
    first = map_of(SERIES, reducer="RV1")
    assert first.place == "inlet of the station"
    assert found.points[0].inlet < first.points[0].inlet


def test_a_map_without_fire_flow_has_no_fire_border():
    assert map_of(ALONE).border("too fast in a fire") is None


def test_fast_fire_flow_has_a_border_of_its_own():
    found = map_of(UPSTREAM, section("demand", fire="90 L/s"))
    border = found.border("too fast in a fire")
    assert border is not None
    assert border.limit == d.BORE_VELOCITY_FIRE.si
    assert found.border("wide open") is not None


def test_what_nobody_stated_is_not_made_up_and_is_told():
    told = " ".join(map_of(UPSTREAM).not_known)
    assert "steady cavitation and cavitation damage" in told
    assert "x_Fz" in told
    with_damage = map_of(UPSTREAM, part("RV", sigma_damage="1.9"))
    assert with_damage.degrees == ("incipient", "damage", "choked")
    assert "damage" not in with_damage.not_known[0]
    full = " ".join(map_of(UPSTREAM, part("RV", cavitation=LIMITS)).not_known)
    assert "No limit" not in full


def test_a_reducer_that_is_not_there_is_refused():
    with pytest.raises(InputError, match="reducers of this station: RV"):
        map_of(UPSTREAM, reducer="XX")


def test_limits_are_straight_between_lifts_and_constant_outside():
    basis, _ = basis_of(UPSTREAM, part("RV", cavitation=LIMITS))
    reducer = basis.layout.reducers[0]
    limits = known_limits(reducer, reducer_twin(reducer), vapour_abs=1228.0)
    assert limits.sigma("incipient", 0.0, 9e5) == 2.4
    assert limits.sigma("incipient", 1.0, 9e5) == 3.2
    assert limits.sigma("incipient", 0.525, 9e5) == pytest.approx(2.8)


@pytest.mark.source(
    kind="analytic", ref="σ_v = (σ_R SSE − 1) PSE + 1 by hand: size twice, exponent 1, same pressure"
)
def test_limits_are_carried_to_this_size_with_the_suppliers_exponents():
    stated = LIMITS | {
        "measured_at": {"size": "DN 50", "inlet": "8 bar"},
        "scaling": {"size_exponent": "1", "pressure_exponent": "0.5", "source": "supplier"},
    }
    edit = part("RV", size="DN 100", cavitation=stated)
    basis, _ = basis_of(UPSTREAM, edit)
    reducer = basis.layout.reducers[0]
    limits = known_limits(reducer, reducer_twin(reducer), vapour_abs=1228.0)
    assert limits.sigma("incipient", 0.0, 8e5 + 101325.0) == pytest.approx(4.8)
    assert "exponents of supplier" in limits.sources["incipient"]
    border = map_of(UPSTREAM, edit).border("incipient")
    assert border is not None
    assert border.limit is None


@pytest.mark.parametrize(
    ("degree", "word"), [(None, "not expected"), ("incipient", "possible"), ("constant", "expected")]
)
def test_gravel_is_told_from_the_degree_alone(degree, word):
    assert gravel(degree) == word


def test_a_lift_table_moves_the_low_flow_band():
    table = [[0.0, 0.0], [0.5, 0.04], [1.0, 1.0]]
    found = map_of(UPSTREAM, part("RV", mechanics={"curve": table}))
    good, lift = flow_at(found, "low flow, good valve", 8e5), flow_at(found, "low flow, least lift", 8e5)
    assert good is not None
    assert lift is not None
    assert lift < good


def test_required_coefficients_of_several_sizes_stand_side_by_side():
    basis, _ = basis_of(UPSTREAM)
    found = required_kvs(basis, basis.layout.reducers[0])
    fitted = next(c for c in found.columns if c.name == "RV")
    sizes = [c.size for c in found.columns]
    assert all(a < b for a, b in pairwise(sizes))
    assert sizes[0] < fitted.size == basis.layout.reducers[0].size.si < sizes[-1]
    assert fitted.available_kv is not None
    peak = [c.required_kv[2] for c in found.columns]
    assert all(a >= b for a, b in pairwise(peak))
    assert all(not isnan(kv) for c in found.columns for kv in c.required_kv)


def test_sheets_of_reducers_join_the_comparison_and_others_do_not():
    basis, _ = basis_of(UPSTREAM)
    text = {"format": "steadyhead/valve/1", "source": "sheet 3", "size": "DN 80", "kv": "Kv 90"}
    sheets = [
        ValveSheet.model_validate({**text, "name": "a", "valve": "reducer", "pressure_recovery": "0.9"}),
        ValveSheet.model_validate({**text, "name": "b", "valve": "reducer", "style_modifier": "0.3"}),
        ValveSheet.model_validate({**text, "name": "c", "valve": "shut-off"}),
    ]
    found = required_kvs(basis, basis.layout.reducers[0], sheets)
    assert [c.name for c in found.columns if c.available_kv is not None] == ["RV", "a", "b"]


def test_no_size_serves_a_flow_that_arrives_below_duty():
    basis, _ = basis_of(UPSTREAM, part("RV", duty={"pressure": "8 bar", "flow": "5 L/s"}, lockup="8.2 bar"))
    found = required_kvs(basis, basis.layout.reducers[0])
    assert found.columns[0].required_kv[2] == inf


def test_no_flow_needs_no_coefficient_and_a_trickle_is_not_turbulent():
    basis, _ = basis_of(UPSTREAM, section("demand", night="0 L/s"))
    assert required_kvs(basis, basis.layout.reducers[0]).columns[0].required_kv[0] == 0.0
    trickle, _ = basis_of(UPSTREAM, section("demand", night="1 mL/min"))
    assert required_kvs(trickle, trickle.layout.reducers[0]).columns[0].required_kv[0] > 0.0


def test_damage_over_lift_makes_the_damage_finding():
    from steadyhead.design.sheet import judge

    codes = {f.code for f in judge(station_of(UPSTREAM, part("RV", cavitation=LIMITS))).findings}
    assert "SIZ-09" in codes
    assert "SIZ-09" not in {f.code for f in judge(station_of(UPSTREAM)).findings}


def test_an_inlet_below_what_the_duty_needs_leaves_the_map_without_low_flow():
    low = dict.fromkeys(("min", "typical", "night", "static"), "2 bar")
    found = map_of(
        UPSTREAM, section("supply", **low), part("RV", duty={"pressure": "6.9 bar", "flow": "5 L/s"})
    )
    assert {point.zone for point in found.points} == {"wide open"}
    assert all(point.to_spare is None or point.to_spare < 0.0 for point in found.points)


@pytest.mark.source(
    kind="analytic", ref="p1 − p2 = F_L² (p1 + p_a − F_F p_v) with F_L 0.5, p2 4.05 bar, by hand"
)
def test_choking_within_the_map_has_a_border():
    mechanics = {"pressure_recovery": "0.5", "incipient_ratio": "0.2"}
    found = map_of(UPSTREAM, part("RV", mechanics=mechanics))
    border = found.border("choked")
    assert border is not None
    assert border.words == "F_L 0.50"
    edge = inlet_at(found, "choked", 0.01)
    assert edge is not None
    assert edge / 1e5 == pytest.approx((4.05 + 0.25 * 1.01) / 0.75, rel=0.02)


def test_friction_of_the_main_stands_ahead_of_the_map():
    here = map_of(UPSTREAM).points[-1]
    far = map_of(UPSTREAM, section("supply", stated_at="head of main")).points[-1]
    assert far.inlet < here.inlet


def test_a_size_too_small_for_a_flow_is_infinite():
    basis, _ = basis_of(UPSTREAM, section("demand", fire="150 L/s"), section("supply", min="7.2 bar"))
    assert required_kvs(basis, basis.layout.reducers[0]).columns[0].required_kv[3] == inf


def test_a_border_that_is_not_there_has_no_place():
    bare = map_of(ALONE)
    assert inlet_at(bare, "damage", 1e-3) is None
    assert flow_at(bare, "damage", 5e5) is None
    assert inlet_at(bare, "wide open", 9.0) is None
    assert flow_at(bare, "low flow, plain valve", 9e9) is None


def test_a_station_with_hardly_any_pressure_or_flow_still_has_a_map():
    none = dict.fromkeys(("min", "typical", "night", "static"), "0 bar")
    nothing = {"night": "0 L/s", "average": "0 L/s", "peak": "1 mL/min", "fire": None}
    found = map_of(
        UPSTREAM,
        section("supply", **none),
        section("demand", **nothing),
        part("RV", duty={"pressure": "0.1 bar", "flow": "1 L/s"}, lockup="0.1 bar"),
    )
    assert found.highest_inlet > found.lowest_inlet
    assert found.highest_flow > found.lowest_flow
