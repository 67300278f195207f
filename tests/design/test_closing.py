from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.closing import closing_time, failure_time, needle_of
from steadyhead.design.twin import SteadyTwin
from steadyhead.laws.coefficients import k_of_kv, kv_of_k
from steadyhead.records.parts import ShutOff
from tests.design.stations import UPSTREAM, part, section, station_of
from tests.design.test_overshoot import handbook_case

INLET = section("supply", min="8.4 bar", typical="10.6 bar", night="11.4 bar", static="11.8 bar")


def basis_and_shut_off(*edits) -> tuple[Basis, ShutOff]:
    station = station_of(UPSTREAM, *edits)
    basis = Basis(station, SteadyTwin(station))
    assert basis.layout.shut_off is not None
    return basis, basis.layout.shut_off


def test_a_stated_closing_time_is_taken_as_it_stands():
    basis, shut_off = basis_and_shut_off()
    assert closing_time(basis, shut_off).text == "6 s"


@pytest.mark.source(
    kind="independent",
    ref="design handbook 2.4a: 5.6 s at a trickle is 3.5 s in a sudden failure, lumped run",
)
def test_a_needle_timed_at_a_trickle_shuts_faster_with_the_reducer_fully_open():
    closing = part("SO", kv="Kv 400", closing={"time": "5.6 s", "flow": "0.4 L/s"})
    basis, shut_off = basis_and_shut_off(INLET, closing)
    case = replace(
        handbook_case(within=2.0, demand=1.8e-3, dead=0.5, closing=5.6),
        shut_off_full=k_of_kv(400.0, basis.density),
    )
    assert failure_time(basis, case, needle_of(basis, shut_off)) == pytest.approx(3.5, rel=0.1)


@pytest.mark.source(
    kind="independent",
    ref="physics specification 3: needle Kv 0.15 takes 20.3 s at 1 m³/h, DN 100, inlet 9 bar",
)
def test_a_closing_time_at_a_trickle_tells_the_needle():
    basis, shut_off = basis_and_shut_off(
        part(
            "SO",
            size="DN 100",
            kv=None,
            closing={"time": "20.3 s", "flow": "1 m³/h", "inlet_pressure": "9 bar"},
        )
    )
    assert kv_of_k(needle_of(basis, shut_off), basis.density) == pytest.approx(0.15, rel=0.03)


def test_an_unknown_closing_time_comes_from_a_needle_of_usual_size():
    basis, shut_off = basis_and_shut_off(part("SO", closing=None))
    found = closing_time(basis, shut_off)
    assert 5.0 < found.si < 60.0
    assert "needle" in found.provenance


def test_a_table_of_the_lift_characteristic_is_used():
    curve = {"mechanics": {"curve": [[0, 0], [0.2, 0.6], [1, 1]]}}
    basis, shut_off = basis_and_shut_off(part("SO", closing=None, **curve))
    plain, _ = basis_and_shut_off(part("SO", closing=None))
    assert closing_time(basis, shut_off).si != closing_time(plain, plain.layout.shut_off).si  # type: ignore[arg-type]
