"""What stands beside a printed window while its proof has open questions, and figures beside their limit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from steadyhead.cli.check_text import check_text
from steadyhead.design.window_checks import caveat
from steadyhead.findings import Finding, Severity
from steadyhead.records.protection import NeedleWindow, ProofSheet, SidePeak, Stroke
from steadyhead.reports import card
from steadyhead.reports.design_tables import failures
from steadyhead.reports.protection_tables import sections
from steadyhead.services.judging import judge_file
from steadyhead.station import examples
from steadyhead.units import METRIC, US
from tests.reports import reading
from tests.reports.example_plan import STOP_RULES
from tests.services.test_plan_window import proof

SOURCE = examples.read("dunmarrow-bottom")
ASKED = Finding("SUR-28", "supply main", Severity.ASK)
UNSTATED = Finding("SUR-63", "supply.main", Severity.ASK)


def sheet(*, parts: bool = False, findings: tuple[Finding, ...] = ()):
    """Return the station and its sheet with a window from 1 to 9 s and these findings alone."""
    (way,) = proof(fastest=1.0, slowest=9.0).ways
    judged = judge_file(SOURCE, proof=ProofSheet((replace(way, window=replace(way.window, parts=parts)),)))
    return judged.loaded.station, replace(judged.sheet, findings=findings)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"parts": True}, "at each of these times a water column parts, which is not judged:"),
        ({"findings": (ASKED,)}, "open in the proof: a water column that parts:"),
        ({"findings": (ASKED, UNSTATED)}, "parts; no supply main stated, how fast it may close not known:"),
        (
            {"parts": True, "findings": (ASKED, UNSTATED)},
            "not judged; open in the proof: no supply main stated, how fast it may close not known:",
        ),
    ],
)
def test_the_card_prints_no_window_without_what_the_proof_asks(given, words):
    station, found = sheet(**given)
    told = card.content(station, sheet=found)["stopwatch"]
    assert "Window of the protection proof" in told
    assert told.endswith(words)


def test_an_answered_question_leaves_the_card_as_it_is():
    answered = replace(ASKED, severity=Severity.NOTE)
    for findings in ((), (answered,)):
        station, found = sheet(findings=findings)
        assert card.content(station, sheet=found)["stopwatch"].endswith("behind:")


def test_each_stream_of_a_card_has_its_caveat():
    source = examples.read("quernhollow-lane")
    bare = judge_file(source)
    (way,) = proof(fastest=1.0, slowest=9.0).ways
    window = replace(way.window, parts=True)
    shut_offs = [part.id for part in bare.loaded.station.parts() if part.part == "shut_off"]
    ways = tuple(replace(way, shut_off=name, window=window) for name in shut_offs)
    found = replace(bare.sheet, protection=ways, findings=())
    told = [
        row[1] for row in card.content(bare.loaded.station, sheet=found)["watches"] if row[0] in shut_offs
    ]
    assert told
    assert all("a water column parts" in one for one in told)


def test_a_window_without_a_question_has_no_caveat():
    window = NeedleWindow("open", True, None, None, 1.0, 4.0, Stroke(5e5, 5e5, 1e-4, is_stated=True))
    assert caveat(window, ()) == ""


def passed_by(pascal: float):
    """Return a sheet whose proof has one side over its limit by so little."""
    (way,) = proof(slowest=9.0).ways
    judged = judge_file(SOURCE)
    assert judged.sheet.ladder is not None
    limit = judged.sheet.ladder.inputs.fault_limit
    assert limit is not None
    peak = SidePeak(
        "consumer", limit + pascal, limit + pascal, 4e5, "T3", 0.0, "house fittings", limit, "over"
    )
    case = _case(peak)
    return limit, judge_file(SOURCE, proof=ProofSheet((replace(way, cases=(case,)),)))


def _case(peak: SidePeak):
    from steadyhead.records.protection import Failure, Low, ProofCase

    low = Low(1e5, "consumer main at the station", 0.0, 0.0, False)
    failure = Failure("RV", "drifts open", 120.0, credited=True)
    return ProofCase(
        failure=failure, inlet="lowest", flow="peak", closing="slow", trip_after=60.0, switch_after=0.1,
        shut_after=5.0, until=80.0, peaks=(peak,), consumers=low, supply=low, has_fallen_in=False,
    )  # fmt: skip


@pytest.mark.parametrize("units", [METRIC, US])
def test_a_limit_that_is_passed_never_reads_as_equal(units):
    _, judged = passed_by(200.0)
    (row,) = (row for section in sections(judged.sheet, units) for row in section["rows"])
    _, _, seen, thrown, bears, verdict, *_ = row
    assert verdict == "EXCEEDED"
    assert seen != bears.partition(",")[0]
    assert thrown != bears.partition(",")[0]


def test_check_and_sheet_label_a_credited_failure_with_the_case_that_decides():
    _, judged = passed_by(200.0)
    told = next(one for one in judged.sheet.findings if one.code == "LAD-08")
    assert (told.case, told.params["at"]) == ("peak flow", "peak flow")
    assert any(one.label == "lowest inlet pressure" for one in told.inputs)
    credited = [peak for peak in judged.sheet.ladder.peaks if peak.credited]
    assert [(one.at, one.inlet) for one in credited] == [("peak flow", "lowest")]
    said = " ".join(check_text(judged, METRIC).split())
    assert "peak flow: credited, NOT covered, peak 6.677 bar" in said
    assert "6.677 bar peak after a trip" in said
    rows = [row for row in failures(judged.sheet, METRIC) if row[-1] == "credited"]
    assert all("peak flow" in row[0] for row in rows)


@pytest.mark.parametrize(("name", "pages"), [("dunmarrow-bottom", 2), ("veldany-house", 3)])
def test_a_card_with_its_caveats_keeps_its_sides(name, pages):
    bare = judge_file(examples.read(name))
    (way,) = proof(fastest=1.0, slowest=9.0).ways
    window = replace(way.window, parts=True)
    shut_offs = [part.id for part in bare.loaded.station.parts() if part.part == "shut_off"]
    ways = tuple(replace(way, shut_off=one, window=window) for one in shut_offs)
    paper = card.pdf(
        bare.loaded.station,
        day=date(2026, 9, 14),
        station_hash="5e21c0ffee" * 6,
        engine_version="0.1.0",
        stop_rules=STOP_RULES,
        units=US,
        sheet=replace(bare.sheet, protection=ways),
    )
    told = reading.pages(paper)
    assert len(told) == pages
    assert "a water column parts" in " ".join(" ".join(told).split())
