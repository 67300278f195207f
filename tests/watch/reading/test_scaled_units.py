"""A factor beside a unit in a heading: asked about, with every meaning among the choices."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose
from steadyhead.watch.reading.scaled import factor_of, scaled, unit_beside
from steadyhead.watch.reading.symbols import named

KNOWN = Known(inlet=8e5, flow=0.01)
FIRST = datetime(2027, 3, 4)
CASES = [
    # heading, what its cells hold of inlet in bar, flow in m³/h or the other in its unit; quantity, SI of 1
    ("Inlet bar x100", lambda k: f"{800 + k % 7}", "inlet pressure", 1e3),
    ("Inlet [1/10 bar]", lambda k: f"{80 + k % 7}", "inlet pressure", 1e4),
    ("Inlet bar x0.01", lambda k: f"{800 + k % 7}", "inlet pressure", 1e3),
    ("Flow m3/h x10", lambda k: f"{3.6 + k % 7 / 10:.1f}", "flow", 10 / 3600),
    ("Flow m3/h x10", lambda k: f"{360 + k % 7}", "flow", 0.1 / 3600),
    ("Flow m3/h (x10)", lambda k: f"{36 + k % 7}", "flow", 1 / 3600),
    ("Flow 10^-3 m3/h", lambda k: f"{36000 + k % 7}", "flow", 1e-3 / 3600),
    ("Outlet kgf/cm2 x10", lambda k: f"{41 + k % 7}", "outlet pressure", 9806.65),
    ("Chamber level [m] x100", lambda k: f"{45 + k % 7}", "chamber level", 0.01),
]


def _read(folder, heading, cell, profile=None):
    lines = [f"Time;{heading}"]
    lines += [f"{FIRST + timedelta(minutes=15 * k):%Y-%m-%d %H:%M};{cell(k)}" for k in range(300)]
    path = folder / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return propose([path], Context(zone="UTC", known=KNOWN, profile=profile))


@pytest.mark.parametrize(("heading", "cell", "quantity", "one"), CASES)
def test_the_likeliest_meaning_of_a_factor_is_taken_and_asked_about(heading, cell, quantity, one, tmp_path):
    found = _read(tmp_path, heading, cell)
    ((channel, frame),) = found.channels
    assert channel.quantity == quantity
    assert frame.collect()["v"].to_list() == pytest.approx([float(cell(k)) * one for k in range(300)])
    (doubt,) = [each for each in found.doubts if each.field in ("unit", "quantity")]
    assert len({each.value for each in doubt.choices}) == len(doubt.choices) == 3
    assert doubt.taken in {each.value for each in doubt.choices}


@pytest.mark.parametrize("name", ["m³/h", "m³/h × 10", "m³/h × 0.1"])
def test_every_meaning_can_be_answered(name, tmp_path):
    def cell(k):
        return f"{36 + k % 7}"

    found = _read(tmp_path, "Flow m3/h x10", cell)
    (doubt,) = found.doubts
    assert f"flow, {name}" in {each.value for each in doubt.choices}
    profile = found.readings[0]
    assert profile is not None
    columns = [replace(one, unit=name) if one.quantity == "flow" else one for one in profile.columns]
    ((_, frame),) = _read(tmp_path, "Flow m3/h x10", cell, replace(profile, columns=tuple(columns))).channels
    assert frame.collect()["v"][0] == pytest.approx(36 * named("flow", name).factor)


def test_a_warm_water_in_tenths_of_a_degree_is_asked_about(tmp_path):
    found = _read(tmp_path, "Water temp [°C x10]", lambda k: f"{115 + k % 7}")
    ((channel, frame),) = found.channels
    assert (channel.quantity, frame.collect()["v"][0]) == ("temperature", pytest.approx(273.15 + 11.5))
    assert [one.taken for one in found.doubts] == ["temperature, °C × 0.1"]


def test_a_counter_of_tens_is_read_by_the_known_flow(tmp_path):
    found = _read(tmp_path, "Meter index m3 x10", lambda k: f"{1000 + 0.9 * k:.1f}")
    ((_, frame),) = found.channels
    assert frame.collect()["v"][0] == pytest.approx(1e4)
    assert [one.taken for one in found.doubts] == ["meter index, m³ × 10"]


def test_a_unit_with_a_factor_is_a_unit_of_its_own():
    assert [one.name for one in scaled(named("pressure", "bar"), 100)] == ["bar", "bar × 100", "bar × 0.01"]
    assert named("pressure", "bar × 0.01").factor == pytest.approx(1e3)
    assert named("temperature", "°C × 0.1").offset == 273.15
    assert factor_of("Q x2,5 m3/h") == 2.5
    assert unit_beside("Druck [1/10 bar]") == unit_beside("Druck bar (x10)") == named("pressure", "bar")
