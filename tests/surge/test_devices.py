"""Vessels and relief valves at the ends of reaches, ahead of the station and behind it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from steadyhead import surge
from steadyhead.errors import InputError, InputErrors
from steadyhead.hydraulics import case
from steadyhead.services.surge import run_surge
from steadyhead.station.load import load
from steadyhead.station.streams import views
from steadyhead.surge.devices import air_of, without_uncredited
from steadyhead.surge.from_station import draft
from steadyhead.surge.lines import impedance_above, line
from steadyhead.surge.path import path_of
from steadyhead.surge.proof import without_reliefs
from steadyhead.surge.stability import stability
from tests.surge.files import text, way

pytestmark = pytest.mark.by_turns(4)

PIPE = "bore: 150 mm, material: ductile iron, roughness: 0.1 mm, wave_speed: 1150 m/s"


def source(*, hill: str = "", lane: str = "", end: str = "", extra: str = "") -> bytes:
    """Return the station of the specification with a supply main of two reaches and a zone main of two."""
    supply = f"reaches: [{{id: hill, length: 250 m, {PIPE}{hill}}}, {{id: street, length: 250 m, {PIPE}}}]"
    zone = f"reaches: [{{id: lane, length: 400 m, {PIPE}{lane}}}, {{id: rise, length: 400 m, {PIPE}{end}}}]"
    return text(main=supply, zone=zone, extra=extra)


def drafted(content: bytes, inlet: Any = "typical", flow: Any = "average"):
    _, model = way(content)
    return draft(model, case(model.station, inlet, flow))


def event(content: bytes, name: str = "pilot-stuck"):
    (run,) = run_surge(content, "a.yaml", name).runs
    return run


def test_a_vessel_ahead_of_the_station_takes_surge_out_of_the_supply_main_and_the_run_begins_at_rest():
    bare, held = event(source()), event(source(hill=", vessel: {volume: 2 m³, precharge: 5 bar}"))
    assert held.supply.highest < bare.supply.highest - 0.5e5
    assert held.mass_error < 1e-3


def test_a_relief_valve_at_the_end_of_the_zone_lets_the_peak_off():
    bare = event(source())
    held = event(source(end=", relief: {kv: Kv 120, crack: 5.6 bar, full: 6 bar, credited: yes}"))
    assert bare.consumer.highest > 6.3e5
    assert held.consumer.highest < bare.consumer.highest - 0.3e5


def test_a_vessel_between_two_reaches_of_the_zone_slows_the_rise():
    bare, held = event(source()), event(source(lane=", vessel: {volume: 1 m³, precharge: 2 bar}"))
    assert held.shut_offs[0].trip > bare.shut_offs[0].trip


@pytest.mark.source(kind="analytic", ref="Boyle: V (p_0 + p_a)/(p + p_a); the whole vessel below its charge")
def test_gas_of_a_vessel_by_its_charge():
    assert air_of(2.0, 4.0e5, 8.0e5, 1.0e5) == pytest.approx(2.0 * 5.0 / 9.0)
    assert air_of(2.0, 4.0e5, 3.0e5, 1.0e5) == 2.0
    here = drafted(source(hill=", vessel: {volume: 2 m³, precharge: 5 bar}"))
    joint = next(one for one in here.plan.joints if one.id == "end of hill")
    assert joint.vessel.air == pytest.approx(air_of(2.0, 5e5, 9e5, 101325.0), rel=0.01)


@pytest.mark.source(
    kind="analytic", ref="a very large vessel is a held head: the reach behind it alone is left"
)
def test_a_very_large_vessel_ahead_looks_like_a_reservoir_where_it_stands():
    plan = drafted(source(hill=", vessel: {volume: 1000000 m³, precharge: 9 bar}")).plan
    s = np.array([1.0j, 4.0j, 11.0j])
    found = impedance_above(path_of(plan), 0.01, plan.water, s)
    street = next(pipe for pipe in plan.pipes if pipe.id == "reach street")
    impedance, bend = line(street, 0.01, plan.water, s)
    assert found == pytest.approx(impedance * bend, rel=1e-3)


def test_stability_knows_a_vessel_ahead_of_the_station():
    plan = drafted(source(hill=", vessel: {volume: 2 m³, precharge: 5 bar}")).plan
    bare = drafted(source()).plan
    found = []
    for one in (plan, bare):
        plant = surge.compile_plan(one)
        found.append(stability(plant, surge.steady_rest(plant), "RV"))
    assert found[0].gain_margin != pytest.approx(found[1].gain_margin, rel=1e-3)


def test_a_relief_valve_nobody_credits_is_left_out_of_the_proof():
    behind, ahead = ", relief: {kv: Kv 120, crack: 8.8 bar", ", relief: {kv: Kv 120, crack: 12 bar"
    kept = without_reliefs(load(source(end=f"{behind}}}", hill=f"{ahead}, credited: yes}}")).station)
    assert [reach.relief is None for reach in kept.zone.reaches] == [True, True]
    assert kept.supply.reaches[0].relief is not None
    bare = load(source()).station
    assert without_uncredited(bare) is bare
    assert without_reliefs(load(source(hill=f"{ahead}}}")).station).supply.reaches[0].relief is None


def test_a_relief_valve_that_stands_open_before_anything_happens_is_told():
    with pytest.raises(InputError, match="end of lane stands open"):
        drafted(source(lane=", relief: {kv: Kv 10, crack: 2 bar}"))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"end": ", relief: {kv: Kv 10, crack: 6 bar, full: 5 bar}"}, "is not above crack"),
        ({"end": ", relief: {kv: Kv 10, crack: 6 bar, reseat: 7 bar}"}, "is above crack"),
        ({"end": ", vessel: {volume: 1 m³}"}, "precharge"),
    ],
)
def test_devices_that_contradict_themselves_are_refused(changed, words):
    with pytest.raises(InputErrors, match=words):
        load(source(**changed))


def test_the_last_reach_of_the_supply_main_ends_at_the_station():
    vessel = "vessel: {volume: 1 m³, precharge: 2 bar}".encode()
    content = source().replace(b"{id: street,", b"{id: street, " + vessel + b",")
    with pytest.raises(InputErrors, match="into the line, ahead of the first valve"):
        load(content)


def test_a_check_valve_and_a_relief_valve_move_in_their_stated_time():
    extra = (
        "  - {part: check_valve, id: CV, size: DN 100, closes_in: 0.4 s}\n"
        "  - {part: relief, id: RL, size: DN 50, kv: Kv 20, crack: 6.5 bar, strokes_in: 0.8 s}\n"
    )
    plan = drafted(text(extra=extra)).plan
    check = next(part for part in plan.station if isinstance(part, surge.CheckRow))
    assert check.close_time == pytest.approx(0.4)
    relief = next(part.relief for part in plan.station if getattr(part, "relief", None))
    assert relief.stroke_time == pytest.approx(0.8)
    assert replace(relief, stroke_time=0.0).coefficient > 0.0


def test_reaches_with_devices_are_in_the_schema():
    from steadyhead.station.schema import schema

    said = json.dumps(schema())
    for word in ("ReachVessel", "ReachRelief", "closes_in", "strokes_in", "Observed"):
        assert word in said
    assert views(load(source(lane=", vessel: {volume: 1 m³, precharge: 2 bar}")).station)


def test_a_vessel_between_the_valves_is_told_to_be_left_out():
    vessel = b"  - {part: expansion_vessel, id: EV, volume: 100 L, precharge: 2 bar}\n"
    between = text().replace(b"  - {part: tap, id: T2}\n", b"  - {part: tap, id: T2}\n" + vessel)
    ahead = text().replace(b"  - {part: tap, id: T1}\n", b"  - {part: tap, id: T1}\n" + vessel)
    behind = text(extra=vessel.decode())
    told = [finding.subject for finding in drafted(between).findings if finding.code == "SUR-53"]
    assert told == ["EV"]
    assert not any(joint.id.startswith("vessel") for joint in drafted(between).plan.joints)
    for content, side in ((ahead, "supply"), (behind, "consumer")):
        plan = drafted(content).plan
        (joint,) = [one for one in plan.joints if getattr(one, "vessel", None)]
        assert {pipe.side for pipe in plan.pipes if joint.id in (pipe.above, pipe.below)} == {side}
        assert "SUR-53" not in {finding.code for finding in drafted(content).findings}
