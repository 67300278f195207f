"""What a run's certificate says, and when there is none."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.findings import tell
from steadyhead.procedure.ledger import dump
from steadyhead.services.baselines import fit_run
from steadyhead.services.certificates.making import (
    NotCertified,
    make,
    plain_record,
    read_record,
    record_of,
    stored_record,
)
from steadyhead.services.running import judge_run
from steadyhead.station.canonical import canonical, sha256
from steadyhead.units import US
from steadyhead.visits.certifying.statement import NO_TRIP, NOT_PROVED
from tests.procedure.walking import Device
from tests.services.certificates.visits import (
    BAR,
    KEY,
    TOUCHED,
    certified,
    judged,
    later_by,
    plan,
    sheet,
    station,
    text_of,
    texts_of,
    visit,
)

pytestmark = pytest.mark.by_turns(2)


def record(kind: str = "first", **more: Any) -> Any:
    return record_of(
        judged(visit(kind, **more), kind), loaded=station()[0], source=station()[1], sheet=sheet()
    )


def codes(refused: pytest.ExceptionInfo[NotCertified]) -> list[str]:
    return [finding.code for finding in refused.value.findings]


def test_a_clean_run_signed_as_final_is_final():
    made = certified().record
    assert made.standing == "final"
    assert made.against == ()
    assert made.signatures[-1].asks == "final"


def test_a_run_nobody_signed_gets_no_certificate():
    with pytest.raises(NotCertified) as refused:
        record(asks="")
    assert codes(refused) == ["RUN-70"]


def test_a_run_signed_as_final_with_a_stale_proof_gets_none_and_the_list_of_what_blocks():
    with pytest.raises(NotCertified) as refused:
        record(more=TOUCHED)
    assert codes(refused)[0] == "RUN-71"
    assert "RUN-12" in codes(refused)
    assert refused.value.findings[0].params["count"] == len(refused.value.findings) - 1
    many = len(refused.value.findings) - 1
    said = f"{many} thing stands" if many == 1 else f"{many} things stand"
    assert tell(refused.value.findings[0]).statement == f"Signed as final; {said} against that."


def test_the_same_run_signed_as_provisional_gets_one_that_says_what_is_stale():
    made = certified(way="touched").record
    assert made.standing == "provisional"
    trip = made.setting("SO.trip")
    assert trip.state == "stale"
    assert trip.as_left is None
    assert "setting of SO" in trip.because
    assert any("not shown as proved" in words for words in made.statement)


def test_entries_after_the_signature_ask_for_a_new_one():
    entries = visit()
    late = Device(start=20 * 3600.0, name="tab-2")
    turned = late.make("action", {"do": "raise", "thing": "SO.setting"}, "F3.SO")
    with pytest.raises(NotCertified) as refused:
        record_of(judged([*entries, turned]))
    assert codes(refused) == ["RUN-72"]
    assert tell(refused.value.findings[0]).statement.startswith("1 entry was made after the last signature")
    again = late.make("sign", {"asks": "provisional"})
    assert record_of(judged([*entries, turned, again])).standing == "provisional"


def test_a_figure_signed_as_left_that_is_not_shown_is_refused():
    procedure, _ = plan()
    trip = procedure.limits["trip"]
    fits = {"as_left": {"SO.trip": trip + 0.03 * BAR}}
    assert record(sign=fits).standing == "final"
    with pytest.raises(NotCertified) as refused:
        record(sign={"as_left": {"SO.trip": trip + 0.2 * BAR}})
    assert codes(refused) == ["RUN-73"]
    with pytest.raises(NotCertified) as refused:
        record(asks="provisional", more=TOUCHED, sign={"as_left": {"SO.closing": 99.0}})
    assert codes(refused) == ["RUN-73"]


def test_a_station_file_the_plan_was_not_made_from_is_refused():
    with pytest.raises(NotCertified) as refused:
        record_of(judged(visit()), loaded=station("dunmarrow-bottom")[0])
    assert codes(refused) == ["RUN-74"]


def test_three_rising_runs_stand_as_intervals_with_the_first_kept_apart():
    trip = certified().record.trips[0]
    assert [run.number for run in trip.runs] == [1, 2, 3]
    assert all(run.inside for run in trip.runs)
    middles = [run.middle / BAR for run in trip.runs]
    procedure, _ = plan()
    assert middles == pytest.approx([procedure.limits["trip"] / BAR + shift for shift in (0.03, 0.01, 0.0)])
    assert trip.method == "rising pressure on the line"
    assert trip.runs[0].peak is not None
    assert trip.state == "valid"


def test_as_left_is_the_last_run_and_not_an_average():
    made = certified().record
    procedure, _ = plan()
    assert made.setting("SO.trip").as_left.value == pytest.approx(procedure.limits["trip"])
    assert len(made.setting("SO.trip").runs) == 3


def test_a_yearly_proof_has_as_found_values_from_before_the_first_touch():
    made = certified("yearly").record
    trip, duty = made.setting("SO.trip"), made.setting("RV.duty")
    procedure, _ = plan("yearly")
    assert trip.as_found.value == pytest.approx(procedure.limits["trip"] + 0.03 * BAR)
    assert duty.as_found.value == pytest.approx(procedure.limits["trickle"] + 500.0)
    assert made.trips[0].runs[0].as_found
    assert not made.trips[0].runs[-1].as_found


def test_a_first_commissioning_has_no_as_found_trip():
    assert certified().record.setting("SO.trip").as_found is None


def test_the_alarm_loop_is_told_with_its_time_from_end_to_end():
    alarm = certified().record.alarms[0]
    assert alarm.right is True
    assert alarm.delay > 0.0
    assert later_by(int(alarm.delay))(alarm.here) == alarm.there


def test_a_message_past_midnight_takes_seconds_and_not_a_day():
    late = {("G1.SO", "here"): "23:59:50", ("G1.SO", "there"): "00:00:20"}
    made = record(asks="provisional", change=late)
    assert made.alarms[0].delay == 30.0


@pytest.mark.source(
    kind="independent",
    ref="design handbook 10.2, table of H4: k strainer ≈ 7.5·10⁻⁴, k SO ≈ 3·10⁻⁴ bar/(L/s)²",
)
def test_losses_of_the_flow_test_are_those_the_handbook_prints():
    table = [
        (0.4, 11.40, 11.40, 11.40, 4.20), (2, 11.38, 11.38, 11.38, 4.17), (5, 11.33, 11.31, 11.30, 4.03),
        (10, 11.24, 11.16, 11.13, 3.99), (16, 11.10, 10.91, 10.83, 3.95), (22, 10.92, 10.56, 10.41, 3.90),
    ]  # fmt: skip
    change = {}
    for number, (flow, *taps) in enumerate(table, 1):
        change["H4", f"flow.{number}"] = flow * 1e-3
        for tap, value in zip(("T0", "T1", "T2", "T3"), taps, strict=True):
            change["H4", f"{tap}.{number}"] = value * BAR
    made = record(asks="provisional", change=change)
    test = made.flows[0]
    per = BAR / 1e-6
    assert test.k_strainer / per == pytest.approx(7.5e-4, abs=0.1e-4)
    assert test.k_shut_off / per == pytest.approx(3e-4, abs=0.2e-4)
    assert test.droop_up / BAR == pytest.approx(0.30)


def test_instruments_say_whether_they_were_in_date_on_the_day():
    made = certified().record
    gauge = made.instruments[0]
    assert (gauge.name, gauge.due, gauge.certificate, gauge.in_date) == ("TG-1", "2027-09-30", "K-4471", True)
    assert gauge.days == ("2027-04-14",)


def test_people_say_whether_they_were_authorised_on_the_day():
    people = {one.name: one for one in certified().record.people}
    assert people["Ilse Marrow"].authorised is True
    assert people["Ilse Marrow"].role == "commissioning engineer"


def test_impairments_have_a_beginning_and_an_end():
    items = {one.name: one for one in certified().record.restored}
    assert items["fire_cover"].opened < items["fire_cover"].restored
    assert items["alarm_test"].state == "restored"


def test_a_correction_is_a_revision_of_its_entry_with_what_stood_before():
    entries = visit(asks="")
    last = next(entry for entry in entries if entry.payload.get("input") == "last" and entry.node == "H2.RV")
    late = Device(start=18 * 3600.0, name="tab-2")
    fixed = late.make(
        "correction", {"reason": "slip", "payload": {"value": last.payload["value"] - 1000.0}}, "H2.RV",
        replaces=last.id,
    )  # fmt: skip
    made: Any = record_of(judged([*entries, fixed, late.make("sign", {"asks": "final"})]))
    assert made.amended[0].reason == "slip"
    assert made.amended[0].was.endswith("value 4.18 bar")
    assert made.amended[0].now == "value 4.17 bar"
    assert made.setting("RV.lockup").as_left.corrected


def test_the_record_is_canonical_and_read_back_as_it_was():
    made = certified()
    again = read_record(made.stored)
    assert canonical(again) == made.stored
    assert again["format"] == "steadyhead/certificate/1"
    assert again["entries_sha256"] == sha256(dump(judged(visit()).ledger.entries))


def test_nothing_in_a_record_has_more_than_nine_digits():
    def numbers(value: object) -> list[float]:
        if isinstance(value, dict):
            return [n for one in value.values() for n in numbers(one)]
        if isinstance(value, list | tuple):
            return [n for one in value for n in numbers(one)]
        return [value] if isinstance(value, float) else []

    for value in numbers(plain_record(certified().record)["trips"]):
        assert float(f"{value:.9g}") == value


@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_the_same_entries_give_the_same_bytes_whatever_order_they_come_in(kind):
    entries = visit(kind)
    shuffled = judge_run(plan(kind)[1], dump(reversed(entries)))
    again = make(shuffled, plan(kind)[1], KEY, loaded=station()[0], source=station()[1], sheet=sheet())
    assert again.pdf == certified(kind).pdf
    assert again.signature == certified(kind).signature


def test_the_clock_of_the_machine_is_not_asked(monkeypatch):
    import datetime as clock

    class Stopped(clock.datetime):
        @classmethod
        def now(cls, tz=None):
            raise AssertionError("the clock was asked")

    monkeypatch.setattr("steadyhead.services.certificates.making.datetime", Stopped)
    assert stored_record(record()) == certified().stored


def test_a_revision_keeps_the_number_names_the_old_one_and_says_what_changed():
    old = certified(way="touched")
    entries = visit(asks="provisional", more=TOUCHED)
    late = Device(start=20 * 3600.0, name="tab-2")
    more = [late.make("note", {"text": "desk agreed"}), late.make("sign", {"asks": "provisional"})]
    run = judged([*entries, *more])
    made: Any = record_of(
        run,
        loaded=station()[0],
        source=station()[1],
        sheet=sheet(),
        old=read_record(old.stored),
        old_sha256="ab" * 32,
    )
    assert (made.number, made.revision) == (old.record.number, 2)
    assert made.replaces.record_sha256 == "ab" * 32
    assert any(words.endswith(f"before {old.record.entries}") for words in made.replaces.changes)


def test_a_revision_in_which_nothing_changed_is_refused():
    old = certified()
    with pytest.raises(NotCertified) as refused:
        record_of(
            judged(visit()),
            loaded=station()[0],
            source=station()[1],
            sheet=sheet(),
            old=read_record(old.stored),
            old_sha256="",
        )
    assert codes(refused) == ["RUN-75"]


def test_a_revision_of_another_run_is_refused():
    with pytest.raises(NotCertified) as refused:
        record_of(judged(visit("yearly"), "yearly"), old=read_record(certified().stored), old_sha256="")
    assert codes(refused) == ["RUN-75"]


def test_two_persons_who_sign_for_different_things_make_it_provisional():
    entries = visit()
    late = Device(start=20 * 3600.0, name="tab-2")
    other = replace(late.make("sign", {"asks": "provisional"}), who="Tam Oduya")
    assert record_of(judged([*entries, other])).standing == "provisional"


QUESTIONS = {
    "which assets are protected, how ranked": ("Protects", "cast-iron spur to the mill", "Criticality"),
    "when last proved, result, method": (
        "proved on 14 Apr 2027", "rising pressure on the line", "full stroke of the main valve", "SO trip",
    ),
    "what if overdue": ("Deviations and deferrals", "No deferral of a proof is recorded"),
    "instruments traceable and in date on the day": ("K-4471", "2 Oct 2026", "In date on the day"),
    "who was competent": ("Ilse Marrow", "commissioning engineer", "31 Dec 2027", "Valid on the day"),
    "what was done about failures": (
        "Failures found, and what was done", "What stands against final", "Deviations",
    ),
    "changes of setting authorised, before and after": (
        "Changes of setting: before, after, by whose leave", "change record CR-118", "zone engineer",
    ),
    "record integrity": ("Record sha-256", "Key fingerprint", "Entries sha-256"),
    "fire impairments, from when to when": ("fire cover impaired", "14 Apr 2027", "fire service 08:04"),
    "the proof before this one, the next one": ("Last proof before this one", "Next proof due"),
}  # fmt: skip


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_stranger_with_the_paper_alone_can_answer(question):
    told = text_of(certified().pdf)
    for words in QUESTIONS[question]:
        assert words in told, (question, words)


def test_the_paper_prints_the_whole_hash_of_its_record_and_of_the_key():
    made = certified()
    told = text_of(made.pdf).replace(" ", "")
    assert sha256(made.stored) in told
    assert made.finger.replace(" ", "") in told
    assert made.record.entries_sha256 in told


def test_every_block_of_the_handbook_stands_on_the_paper():
    told = text_of(certified(way="touched").pdf)
    for head in (
        "Identity", "Design", "Equipment", "Instruments", "Conditions, permits", "As found, before anything",
        "Tests, step by step", "Trip proof, SO", "Alarm, end to end", "Lock-up", "Flow test", "As left",
        "Deviations and deferrals", "Statement", "Signatures", "Photographs", "Corrections",
    ):  # fmt: skip
        assert head in told, head


@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_what_follows_the_ladder_of_settings_fills_the_sheet_before_it_and_tables_stay_whole(kind: str):
    pages = [" ".join(text.split()) for text in texts_of(certified(kind).pdf)]
    (drawn,) = [text for text in pages if "As found and as left on the ladder" in text]
    assert "Failures not covered" in drawn
    assert "Equipment" in drawn
    (ladder,) = [text for text in pages if "Ladder, at datum" in text]
    rungs = ladder.partition("Ladder, at datum")[2]
    assert "fault limit" in rungs
    assert "needed" in rungs
    assert "Record sha-256" in pages[-1].partition("Record integrity")[2]


def test_a_provisional_certificate_says_so_on_every_sheet_and_never_final():
    made = certified(way="touched")
    told = text_of(made.pdf)
    assert "Provisional. " in told
    assert "Final." not in told
    assert f"{made.record.number}, record revision 1, provisional" in told
    assert "stale: setting of SO was touched" in told


def test_the_paper_says_days_as_pages_do_and_things_by_what_a_person_calls_them():
    told = text_of(certified(way="touched").pdf)
    behind = told.partition("Record integrity")[0]
    assert re.findall(r"(?<![-\w])2027-\d\d-\d\d(?!\w)", behind) == []
    assert re.findall(r"\b(?:SO|RV)\.[a-z]+\b", behind) == []
    assert "trip of SO" in told
    assert "signed as provisional, 14 Apr 2027, " in told


def test_a_signature_typed_in_from_paper_says_by_whom_and_when():
    entries = visit()
    more = {"typed_by": "Bo Lind", "typed_at": "2027-04-15T07:10:00+01:00"}
    typed = [replace(one, more={**one.more, **more}) if one.kind == "sign" else one for one in entries]
    run = judged(typed)
    made: Any = make(run, plan()[1], KEY)
    (one,) = made.record.signatures
    assert (one.typed_by, one.typed_at) == ("Bo Lind", "2027-04-15T07:10:00+01:00")
    assert "; typed in by Bo Lind, 15 Apr 2027, 07:10:00 +01:00" in text_of(made.pdf)
    plain = certified()
    assert "typed in" not in text_of(plain.pdf)
    assert b"typed_by" not in plain.stored, "a record without it stays what it was"


def test_without_a_station_file_the_certificate_says_what_it_lacks():
    run = judged(visit())
    made: Any = make(run, plan()[1], KEY)
    told = text_of(made.pdf)
    assert "its file was not at hand" in told
    assert made.record.design is None


ODD = '#import "x"; ] $ * _ <script> 中文 \u202e \x07 = [[[ ' + "W" * 300


def test_whatever_a_person_wrote_is_printed_as_text_and_breaks_nothing():
    more = (("note", {"text": ODD}, "G1.SO"), ("action", {"do": "seal", "thing": ODD, "detail": ODD}, "J4"))
    entries = visit(more=more, sign={"statement": ODD})
    made: Any = make(judged(entries), plan()[1], KEY, loaded=station()[0], source=station()[1], sheet=sheet())
    told = text_of(made.pdf)
    assert '#import "x"; ] $ * _ <script> [U+4E2D][U+6587]' in told
    assert "[U+202E]" in told


def test_a_reader_of_psi_has_every_figure_in_psi_and_the_same_numbers_in_the_record():
    run = judged(visit())
    made: Any = make(run, plan()[1], KEY, loaded=station()[0], source=station()[1], sheet=sheet(), units=US)
    metric, us = (read_record(stored) for stored in (certified().stored, made.stored))
    assert us["words_in"] == "us"
    assert [one["as_left"]["value"] for one in us["settings"]] == [
        one["as_left"]["value"] for one in metric["settings"]
    ]
    told = text_of(made.pdf)
    assert "psi" in told
    assert " bar" not in told.replace("bar per turn", "")


def test_a_deviation_stands_on_the_certificate_with_owner_day_and_who_accepted_it():
    told = text_of(certified(way="deviation").pdf)
    for words in ("filter of RV not opened", "Zone engineer, by 30 Jun 2027", "Ada Thorn"):
        assert words in told


@pytest.mark.parametrize(
    ("step", "answer"),
    [(("G1.SO", "right"), False), (("D2", "T4.last"), 9.0 * BAR), (("F2.SO", "closing"), 30.0)],
)
def test_protection_is_shown_as_proved_only_where_all_it_rests_on_stands(step, answer):
    made = record(asks="provisional", change={step: answer})
    assert made.against
    assert NOT_PROVED in made.statement
    assert not any(words.startswith("Protection shown as proved") for words in made.statement)


def test_a_run_without_a_trip_says_that_none_belongs_to_it():
    made = record_of(judged(visit("return_to_service", way={}), "return_to_service"))
    assert NO_TRIP in made.statement


def test_the_change_per_turn_is_the_one_fitted_to_the_run_with_its_uncertainty():
    made = certified().record
    turn = next(one for one in made.per_turn if one.valve == "RV")
    fitted = fit_run(judged(visit()), station()[1]).baseline.value("RV.per_turn")
    assert (turn.value, turn.within) == (pytest.approx(fitted.value), pytest.approx(fitted.within))
    assert "0.72 bar/turn ± 0.07 bar/turn, fitted to" in text_of(certified().pdf)
