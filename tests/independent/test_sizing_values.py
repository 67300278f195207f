"""Shared reference values that concern sizing, each by its id; the file lies beside the checkout."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from steadyhead.laws import cavitation, coefficients, friction, loop, sizing, valves
from steadyhead.units import to_si
from steadyhead.water import properties
from steadyhead.water.atmosphere import pressure_abs
from steadyhead.water.library import properties_by_library

VALUES_FILE = Path(
    os.environ.get("STEADYHEAD_VALUES", Path(__file__).parents[3] / "shared" / "checks" / "refs_shared.json")
)
KPA, HOUR, MM, PSI = 1e3, 3600.0, 1e-3, 6894.757293168
GPM = 231 * 0.0254**3 / 60
KELVIN = 273.15
Values = Mapping[str, Any]


def _throat(vapour: float, critical: float) -> float:
    return vapour * valves.critical_pressure_factor(vapour, critical)


def _required(v: Values) -> dict[str, Any]:
    throat = _throat(v["Pv_kPa_abs"] * KPA, v["Pc_kPa_abs"] * KPA)
    inlet, outlet = v["P1_kPa_abs"] * KPA, v["P2_kPa_abs"] * KPA
    kv = sizing.required_kv_with_fittings(
        flow=v["Q_m3_per_h"] / HOUR, inlet_abs=inlet, outlet_abs=outlet, density=v["rho_kg_per_m3"],
        recovery=v["FL"], throat_abs=throat, valve_size=v["d_mm"] * MM, inlet_pipe=v["D1_mm"] * MM,
        outlet_pipe=v["D2_mm"] * MM,
    )  # fmt: skip
    most = valves.choked_differential(inlet, v["FL"], 0.0, throat)
    factor = valves.critical_pressure_factor(v["Pv_kPa_abs"], v["Pc_kPa_abs"])
    return {"Kv": kv, "FF": factor, "dp_choked_kPa": most / KPA, "choked": inlet - outlet >= most}


def _between_reducers(v: Values) -> dict[str, Any]:
    throat = _throat(v["Pv_psia"] * PSI, v["Pc_psia"] * PSI)
    pipe = v["D_in"] * 0.0254
    kv = sizing.required_kv_with_fittings(
        flow=v["Q_US_gpm"] * GPM, inlet_abs=v["P1_psia"] * PSI, outlet_abs=v["P2_psia"] * PSI,
        density=v["rho_lb_per_ft3"] * 16.018463, recovery=v["FL"], throat_abs=throat,
        valve_size=v["d_in"] * 0.0254, inlet_pipe=pipe, outlet_pipe=pipe,
    )  # fmt: skip
    most = valves.choked_differential(v["P1_psia"] * PSI, v["FL"], 0.0, throat)
    choked = (v["P1_psia"] - v["P2_psia"]) * PSI >= most
    return {"Cv": kv * 1.1560992284, "choked": choked}


def _reynolds(v: Values) -> dict[str, Any]:
    number = sizing.valve_reynolds(
        flow=v["Q_m3_per_h"] / HOUR, viscosity=v["nu_m2_per_s"], valve_size=v["d_mm"] * MM,
        recovery=v["FL"], style=v["Fd"], kv=v["Kv"],
    )  # fmt: skip
    return {"Rev": number}


def _choking_outlet(v: Values) -> dict[str, Any]:
    throat = _throat(v["Pv_kPa_abs"] * KPA, v["Pc_kPa_abs"] * KPA)
    inlet = v["P1_kPa_abs"] * KPA
    return {"P2_choke_kPa_abs": (inlet - valves.choked_differential(inlet, v["FL"], 0.0, throat)) / KPA}


def _loss_of_kv(v: Values) -> dict[str, Any]:
    loss = coefficients.loss_coefficient_of_kv(v["Kv"], v["D_m"])
    ratio = loss / v["f_T"]
    return {"K": loss, "L_over_D": ratio, "L_m": ratio * v["D_m"]}


def _gain(v: Values) -> dict[str, Any]:
    head, coefficient, source = v["h_set_m"], v["Cv_m2p5_per_s"], v["H_source_m"]
    square = (source - head) / (v["R_up_s2_per_m5"] + coefficient**-2)
    ahead = v["R_up_s2_per_m5"] * square
    gain = loop.static_gain(source - ahead - head, head, ahead)
    return {"q_m3_per_s": square**0.5, "dh_dCv_m_per_unit": gain / coefficient}


def _smooth_pipe(v: Values) -> dict[str, Any]:
    water = properties(v["t_degC"] + KELVIN, 101325.0)
    flow = v["Q_L_per_min"] / 60e3
    number = friction.reynolds_number(flow, v["D_m"], water.kinematic_viscosity)
    return {"Re": number, "f": friction.churchill(number, v["eps_m"] / v["D_m"])}


def _water_at(v: Values) -> Any:
    return properties(v["t_degC"] + KELVIN, 101325.0)


CHECKS: dict[str, Callable[[Values], dict[str, Any]]] = {
    "S-V-01": _required,
    "S-V-02": _required,
    "S-V-03": _reynolds,
    "S-V-04": lambda v: {"sumK": sizing.fitting_losses(v["d_mm"] * MM, v["D1_mm"] * MM, v["D2_mm"] * MM)},
    "S-V-05": lambda v: {"FF": valves.critical_pressure_factor(v["Pv_kPa"], v["Pc_kPa"])},
    "S-V-06": _choking_outlet,
    "S-V-07": lambda v: {"K": coefficients.loss_coefficient_of_kv(v["Kv"], v["d_mm"] * MM)},
    "S-V-08": lambda v: {
        "sigma": cavitation.sigma_inlet(v["P1_Pa_abs"], v["P2_Pa_abs"], 0.0, v["Pv_Pa_abs"])
    },
    "S-C-01": _smooth_pipe,
    "S-C-02": _loss_of_kv,
    "S-C-03": _between_reducers,
    "S-P-04": _gain,
    "S-U-05": lambda v: {"Cv_US": v["Kv_m3_per_h"] / to_si(1.0, "flow_coefficient", "Cv")},
    "S-W-03": lambda v: {"": properties_by_library(v["T_K"], 3e6).vapour_pressure_abs / 1e6},
    "S-W-07": lambda v: {"rho_kg_per_m3": _water_at(v).density},
    "S-W-08": lambda v: {"rho_kg_per_m3": _water_at(v).density},
    "S-W-09": lambda v: {"pv_kPa": _water_at(v).vapour_pressure_abs / KPA},
    "S-W-10": lambda v: {"pv_kPa": _water_at(v).vapour_pressure_abs / KPA},
    "S-W-12": lambda v: {"nu_mm2_per_s": _water_at(v).kinematic_viscosity * 1e6},
    "S-W-13": lambda v: {"p_Pa": pressure_abs(v["z_m"])},
    "S-W-14": lambda v: {"p_Pa": pressure_abs(v["z_m"])},
}
"""What the product gives for each id: valves, cavitation, loss ahead, water, air."""

NOT_COVERED = {
    "S-V-09": "a level of noise: no decibels are ever told",
    "S-V-10": "scope of standards only, no number; quoted as such in the manual",
}
"""Ids about valve sizing that nothing is tested against, and why."""


def records() -> dict[str, dict[str, Any]]:
    if not VALUES_FILE.is_file():
        return {}
    return {record["id"]: record for record in json.loads(VALUES_FILE.read_text("utf-8"))}


RECORDS = records()
pytestmark = pytest.mark.skipif(not RECORDS, reason="the reference values are not beside this checkout")


IEC = "IEC 60534-2-1:2011 / ANSI/ISA-75.01.01-2007"
MEMORY = "from memory; recomputed"
SOURCES: dict[str, tuple[str, str, str]] = {
    "S-V-01": ("published", f"{IEC}, example 1: Kv, F_F, choked difference", ""),
    "S-V-02": ("published", f"{IEC}, example 2, choked: Kv", ""),
    "S-V-03": ("published", f"{IEC}, example 1: valve Reynolds number", ""),
    "S-V-04": ("independent", f"{IEC}, sum of fitting losses, 50 between 80 and 100 mm", ""),
    "S-V-05": ("published", f"{IEC}, F_F = 0.96 − 0.28 √(p_v/p_crit)", ""),
    "S-V-06": ("independent", f"{IEC}, outlet at which choking starts", ""),
    "S-V-07": ("published", f"{IEC}, constant N2: loss coefficient of Kv 2.312, 15 mm", ""),
    "S-V-08": ("published", "ISA-RP75.23-1995, definition of sigma", ""),
    "S-C-01": ("published", "Crane TP 410M (2009), example 7.1: smooth pipe, 30 °C", ""),
    "S-C-02": ("published", "Crane TP 410M (2009), example 7.2: K, L/D, equivalent length", ""),
    "S-C-03": ("published", "Crane TP 410M (2009), example 7.27: valve between reducers", ""),
    "S-P-04": ("analytic", "static gain of pipe, reducer and draw-off, against a central difference", ""),
    "S-U-05": ("published", "IEC 60534-1:2005, Kv and Cv", ""),
    "S-W-03": ("published", "IAPWS R7-97(2012), Table 35", MEMORY),
    "S-W-07": ("published", "Tanaka and others, Metrologia 38 (2001), water at 20 °C", ""),
    "S-W-08": ("published", "Tanaka and others, Metrologia 38 (2001), water at 15 °C", ""),
    "S-W-09": ("published", "IAPWS R7-97, vapour pressure at 20 °C", MEMORY),
    "S-W-10": ("published", "IAPWS R7-97, vapour pressure at 5 °C", MEMORY),
    "S-W-12": ("published", "ISO/TR 3666:1998, viscosity at 20 °C", MEMORY),
    "S-W-13": ("published", "U.S. Standard Atmosphere 1976, sea level", MEMORY),
    "S-W-14": ("published", "U.S. Standard Atmosphere 1976, 1000 m", MEMORY),
}
"""Kind, reference and note of each, for the manual's table."""


def _marked(identity: str) -> Any:
    kind, ref, note = SOURCES[identity]
    told = f"tolerance as given with the value{'; ' + note if note else ''}"
    return pytest.param(identity, marks=pytest.mark.source(kind=kind, ref=f"{identity}: {ref}", note=told))


@pytest.mark.parametrize("identity", [_marked(identity) for identity in CHECKS])
def test_shared_value_is_met(identity: str):
    record = RECORDS[identity]
    found, expected, tolerance = CHECKS[identity](record["inputs"]), record["expected"], record["tol"]
    for name, value in (expected if isinstance(expected, dict) else {"": expected}).items():
        if isinstance(value, bool):
            assert found[name] is value
        elif tolerance["kind"] == "rel":
            assert found[name] == pytest.approx(value, rel=tolerance["value"])
        else:
            assert found[name] == pytest.approx(value, abs=tolerance["value"], rel=0.0)


def test_every_shared_value_about_valve_sizing_is_covered_or_says_why_not():
    topics = ("valve sizing", "cavitation", "valve noise", "standards map", "worked valve problems")
    wanted = {identity for identity, record in RECORDS.items() if record["topic"] in topics}
    assert wanted <= set(CHECKS) | set(NOT_COVERED)
