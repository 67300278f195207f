"""A plan kept as a file, the entries of a visit, and what they amount to."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.findings import Severity, tell
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.plan_files import plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.services.running import against_final, judge_run, judged_data, time_of, worth_knowing
from steadyhead.services.running_words import CLOCK, STRAY, TOOL, UNFIT, Speaker
from steadyhead.station import examples
from steadyhead.station.canonical import sha256
from tests.conftest import SEED
from tests.procedure.walking import Device, clean_ways, walk

NOW = time_of("2027-04-16T00:00:00+01:00")


@pytest.fixture(scope="module")
def plan() -> Procedure:
    made = make_plan(examples.read("quillenby-row"), "first")
    assert made.procedure is not None
    return read_plan_file(plan_file(made.procedure)).procedure


@pytest.fixture
def visit(plan: Procedure) -> list[Entry]:
    return walk(plan, {"E0.SO": "set", "E0.RV": "fits"})


def judged(plan: Procedure, entries: list[Entry], more: bytes = b"") -> Any:
    return judge_run(plan_file(plan), dump(entries) + more, NOW)


def codes(run: Any) -> list[tuple[str, str]]:
    return [(finding.code, finding.subject.partition(" ")[0]) for finding, by in against_final(run) if not by]


def test_a_clean_visit_of_every_example_is_final_and_nothing_is_told():
    """By which of its ways is drawn anew for each run of the tests."""
    for name in ("quillenby-row", "quernhollow-lane", "veldany-house"):
        for kind in ("first", "yearly", "return-to-service"):
            made = make_plan(examples.read(name), kind)
            assert made.procedure is not None
            procedure = read_plan_file(plan_file(made.procedure)).procedure
            way = random.Random(f"{SEED}/{name}/{kind}").choice(clean_ways(procedure))
            run = judged(procedure, walk(procedure, way))
            assert codes(run) == [], (name, kind, way)
            assert run.is_final
            assert [f.code for f in worth_knowing(run) if f.severity is not Severity.NOTE] == []


def test_a_plan_file_gives_the_plan_back_and_its_hash_is_over_the_stored_bytes(plan: Procedure) -> None:
    content = plan_file(plan)
    stored = read_plan_file(content)
    assert plan_file(stored.procedure) == content
    head, line, rest = content.split(b"\n")
    assert rest == b""
    assert json.loads(head)["sha256"] == stored.sha256 == sha256(line)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        pytest.param(lambda c: c.replace(b"plan-file/1", b"plan-file/2", 1), "plan-file/2", id="newer"),
        pytest.param(
            lambda c: c.replace(b'"kind":"first"', b'"kind":"yearly"', 1), "was changed", id="changed"
        ),
        pytest.param(lambda c: c[: len(c) // 2], "was changed", id="cut off"),
        pytest.param(lambda c: b"# a station\n" + c, "is no plan file", id="another file"),
        pytest.param(lambda c: b"", "is no plan file", id="empty"),
        pytest.param(lambda c: b"[" * 900 + b"\n" + c, "is no plan file", id="nested"),
    ],
)
def test_a_plan_file_that_cannot_be_used_is_refused_with_a_remedy(
    plan: Procedure, change: Any, told: str
) -> None:
    with pytest.raises(InputError, match=told) as refused:
        read_plan_file(change(plan_file(plan)), "NAME.plan")
    assert "steadyhead plan FILE" in refused.value.remedy


@pytest.mark.parametrize(("number", "told"), [("1", "Write it again"), ("3", "newer program")])
def test_a_plan_of_another_format_is_refused_with_a_remedy(plan: Procedure, number: str, told: str) -> None:
    _, stored, _ = plan_file(plan).split(b"\n")
    other = stored.replace(b"steadyhead/plan/2", b"steadyhead/plan/" + number.encode())
    head = json.dumps({"format": "steadyhead/plan-file/1", "sha256": sha256(other)}).encode()
    with pytest.raises(InputError, match=f"steadyhead/plan/{number}") as refused:
        read_plan_file(head + b"\n" + other + b"\n")
    assert told in refused.value.remedy


def test_a_plan_that_cannot_be_followed_is_refused(plan: Procedure) -> None:
    with pytest.raises(InputError, match="cannot be followed: A2 needs Z9"):
        read_plan_file(
            plan_file(replace(plan, nodes=(plan.nodes[0], replace(plan.nodes[1], needs={"all": ["Z9"]}))))
        )


def test_a_screw_turned_after_the_last_run_makes_the_proofs_of_the_trip_stale(
    plan: Procedure, visit: list[Entry]
) -> None:
    device = Device("tab-2", start=36 * 3600.0)
    turned = device.make("action", {"do": "turn", "thing": "SO", "detail": "a quarter out"}, who="Tam Oduya")
    run = judged(plan, [*visit, turned])
    stale = {proof.name for proof in run.judgement.proofs if proof.state == "stale"}
    assert stale == {"SO.acts", "SO.closing", "SO.trip", "SO.accepted", "SO.told"}
    assert {code for code, _ in codes(run)} == {"RUN-12"}
    text = tell(against_final(run)[0][0]).statement
    assert "Tam Oduya" in text
    assert "SO.setting" in text


def test_water_at_the_lock_up_refuses_it(plan: Procedure, visit: list[Entry]) -> None:
    run = judged(plan, [_with(entry, "H2.RV", "dry", value=False) for entry in visit])
    assert codes(run) == [("RUN-08", "H2.RV")]
    assert run.judgement.proof("RV.lockup").state == "refused"


def test_a_screw_turned_between_two_runs_of_one_step_spoils_the_trip(
    plan: Procedure, visit: list[Entry]
) -> None:
    place = next(i for i, e in enumerate(visit) if e.node == "F3.SO" and e.payload.get("input") == "hold.3")
    turn = replace(visit[place], id="turn", kind="action", payload={"do": "turn", "thing": "SO.setting"})
    run = judged(plan, [*visit[:place], replace(turn, device="tab-2", device_seq=1), *visit[place:]])
    assert run.judgement.proof("SO.trip").state == "stale"


def test_an_instrument_past_its_date_proves_nothing_and_one_not_used_does_not_matter(
    plan: Procedure, visit: list[Entry]
) -> None:
    late = [_instrument(entry, due="2027-04-13") for entry in visit]
    assert {code for code, _ in codes(judged(plan, late))} >= {"RUN-06"}
    spare = Device("tab-2").make("instrument", {"name": "TG-9", "due": "2020-01-01", "low": 0.0, "high": 1e6})
    assert judged(plan, [*visit, spare]).is_final
    assert judged(plan, [_instrument(entry, due="2027-04-14") for entry in visit]).is_final


def test_no_deviation_makes_good_what_protects_and_one_that_is_whole_accepts_the_rest(
    plan: Procedure, visit: list[Entry]
) -> None:
    device = Device("tab-2", start=30 * 3600.0)
    whole = {"what": "w", "risk": "r", "measure": "m", "owner": "o", "due": "2027-06-01", "accepted_by": "b"}

    def without(step: str, about: str) -> Any:
        left = [entry for entry in visit if entry.node != step]
        return judged(plan, [*left, device.make("deviation", {"about": about, **whole})])

    assert without("H6", "H6").is_final
    assert without("G3.SO", "SO.fails_loud").is_final
    for step, about in (("G1.SO", "G1.SO"), ("A4", "A4"), ("J5", "alarm_test"), ("F5.SO", "SO.out_of_way")):
        run = without(step, about)
        assert not run.is_final, step
        assert any(f.severity is Severity.STOP for f, _ in against_final(run)), step


def test_a_run_made_with_another_plan_is_not_final(plan: Procedure, visit: list[Entry]) -> None:
    other = [replace(visit[0], payload={"plan": "0" * 64}), *visit[1:]]
    run = judged(plan, other)
    assert codes(run) == [("RUN-05", "run")]
    assert not run.is_final


def test_lines_that_cannot_be_read_stand_against_final_by_their_number(
    plan: Procedure, visit: list[Entry]
) -> None:
    run = judged(plan, visit, b'{"id": NaN}\n{"id"')
    assert codes(run) == [("RUN-01", f"entries:{len(visit) + 2}"), ("RUN-01", f"entries:{len(visit) + 3}")]
    assert len(run.judgement.steps) == len(plan.nodes)


def test_entries_of_ten_megabytes_in_one_line_are_named_and_the_rest_is_judged(
    plan: Procedure, visit: list[Entry]
) -> None:
    run = judged(plan, visit, b'{"id": "' + b"x" * 10_000_000 + b'"}\n')
    assert [code for code, _ in codes(run)] == ["RUN-01"]
    assert run.judgement.is_final is False


def test_every_remark_of_the_judge_has_words(plan: Procedure, visit: list[Entry]) -> None:
    device = Device("tab-2", start=9 * 3600.0)
    strange = [
        device.make("weather", {"sky": "grey"}),
        device.make("reading", {"input": "act", "value": True}, "F1.SO"),
        device.make("reading", {"input": "hold", "value": 5e5, "swing": {"mean": 5e5}}, "F1.SO"),
        device.make("observation", {"input": "dry", "value": False}, "H2.RV"),
        device.make("choice", {"choice": "E0.SO", "option": "perhaps"}),
        device.make("void", {"reason": "x"}, replaces="none"),
        device.make("deviation", {"about": "SO.trip"}),
        device.make("deviation", {"about": "H6"}),
        device.make("sign", {"asks": "perfect"}),
        device.make("person", {"name": "Ilse Marrow", "authorised_until": "2026-01-01"}),
    ]
    for left_out in ("D2", "F2.SO", "J4"):
        entries = [entry for entry in visit if entry.node != left_out]
        run = judged(plan, [*entries, *strange])
        for finding in (*(f for f, _ in against_final(run)), *worth_knowing(run)):
            told = tell(finding)
            assert "{" not in told.statement + told.cure
        assert judged_data(run)["is_final"] is False


def test_a_clock_that_lies_days_ahead_is_told_in_days(plan: Procedure) -> None:
    from steadyhead.procedure.ledger import Ledger
    from steadyhead.records.run import Remark

    speaker = Speaker(plan, Ledger())
    for by, words in ((3 * 86400.0 + 60.0, "3 days ahead"), (1800.0, "30 min ahead")):
        found = speaker.finding(Remark("RUN-03", "tab-1", (), {"why": "ahead", "by": by}), Severity.HEED)
        assert words in tell(found).statement


def test_every_reason_has_words_that_its_parameters_fill(plan: Procedure) -> None:
    from steadyhead.procedure.ledger import Ledger
    from steadyhead.records.run import Remark

    speaker = Speaker(plan, Ledger())
    params: dict[str, Any] = {
        "input": "hold", "got": "T1", "asked": "T3", "key": "flow", "instrument": "TG-1", "days": 3,
        "error": 6e3, "limit": 5e3, "value": 5e5, "low": 0.0, "high": 1e6, "held": 30.0, "within": 9e3,
        "by": 61.0, "count": 2.0, "zero": 3e4, "read": 2.5e4,
    }  # fmt: skip
    for code, reasons in (("RUN-06", UNFIT), ("RUN-05", STRAY), ("RUN-03", CLOCK), ("RUN-91", TOOL)):
        for why in reasons:
            finding = speaker.finding(Remark(code, "F1.SO", (), {**params, "why": why}), Severity.HEED)
            assert tell(finding).statement


def test_a_time_without_its_offset_is_refused() -> None:
    with pytest.raises(InputError, match="2027-04-14"):
        time_of("2027-04-14T08:00:00")
    with pytest.raises(InputError, match="noon"):
        time_of("noon")


def _with(entry: Entry, node: str, name: str, **keys: Any) -> Entry:
    if entry.node == node and entry.payload.get("input") == name:
        return replace(entry, payload={**entry.payload, **keys})
    return entry


def _instrument(entry: Entry, **keys: Any) -> Entry:
    return replace(entry, payload={**entry.payload, **keys}) if entry.kind == "instrument" else entry
