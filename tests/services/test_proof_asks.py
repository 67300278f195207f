"""What a proof asks before it calls anything held: what the inlet side bears, mains that fit their zone."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.design.protection import prove_station
from steadyhead.findings import Severity
from steadyhead.records.protection import ProofSheet
from steadyhead.reports.protection_tables import edges, sections
from steadyhead.services.judging import judge_file
from steadyhead.services.protection import is_proved
from steadyhead.services.surge import run_surge
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.from_station import overfull
from steadyhead.surge.proof import is_ahead_limited
from steadyhead.units import METRIC
from tests.there import there

SOURCE = examples.read("dunmarrow-bottom")


def without_inlet_limit(source: bytes) -> bytes:
    return b"\n".join(line for line in source.split(b"\n") if b"side: inlet" not in line)


def proved(source: bytes) -> Any:
    return judge_file(source, proof=ProofSheet(there(prove_station(load(source).station)).ways))


@pytest.fixture(scope="module")
def proofs() -> dict[str, Any]:
    bare = without_inlet_limit(SOURCE)
    return {"whole": proved(SOURCE), "bare": proved(bare)}


def test_a_supply_main_whose_limit_nobody_states_is_asked_about_and_not_called_proved(proofs):
    told = {one.code: one for one in proofs["bare"].sheet.findings}
    assert told["SUR-65"].severity is Severity.ASK
    assert not is_proved(proofs["bare"].sheet.findings)
    assert "SUR-65" not in {one.code for one in proofs["whole"].sheet.findings}
    assert is_proved(proofs["whole"].sheet.findings)


def test_without_an_inlet_limit_no_print_says_how_fast_the_shut_off_may_close(proofs):
    (section,) = sections(proofs["bare"].sheet, METRIC)
    assert "Fastest: not known, no limit of the inlet side is stated." in section["window"]
    assert all("not judged: no limit stated" in row for row in section["rows"] if row[1] == "Supply main")
    way = proofs["bare"].sheet.protection[0]
    assert edges(replace(way.window, fastest=None))[0] == "not known"
    assert not is_ahead_limited(way.cases)


@pytest.mark.source(kind="analytic", ref="π/4 D² L of the main against the volume of its zone")
def test_a_main_that_holds_more_than_its_zone_is_asked_about_by_proof_check_and_surge():
    zone = load(SOURCE).station.zone
    assert not overfull(zone)
    wide = SOURCE.replace(b"volume: 95 m", b"volume: 1 m")
    (asked,) = overfull(load(wide).station.zone)
    assert (asked.code, asked.severity) == ("SUR-41", Severity.ASK)
    answer = run_surge(wide, event="demand-falls")
    assert [one.severity for one in answer.findings if one.code == "SUR-41"] == [Severity.ASK]
    assert not answer.is_inside
    judged = proved(wide)
    assert "SUR-41" in {one.code for one in judged.sheet.findings if one.severity is Severity.ASK}
    assert not is_proved(judged.sheet.findings)


def test_a_piece_of_main_of_a_centimetre_beside_a_long_one_runs_and_is_told():
    assert b"length: 1100 m" in SOURCE
    short = SOURCE.replace(b"length: 1100 m", b"length: 0.01 m")
    answer = run_surge(short, event="demand-falls")
    assert "SUR-64" in {one.code for one in answer.findings}
    assert "SUR-12" not in {one.code for one in answer.findings}


def test_an_isolating_valve_is_shut_at_average_and_at_peak_flow_in_one_event():
    answer = run_surge(SOURCE, event="inlet-valve-closed")
    assert [run.event for run in answer.runs] == ["inlet-valve-closed-average", "inlet-valve-closed-peak"]
    average, peak = (run.supply.highest for run in answer.runs)
    assert peak > average
