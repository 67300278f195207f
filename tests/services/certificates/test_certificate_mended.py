"""What a certificate says in full: answers, heights, intervals, failures, changes, signatures that count."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import count
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.records.certificate import Certificate
from steadyhead.reports.certificate import pdf, standing_against
from steadyhead.reports.certificate_rows import _instrument as instrument_words
from steadyhead.reports.certificate_rows import expected, value_words
from steadyhead.services.certificates.making import NotCertified, make, record_of
from steadyhead.units import METRIC
from steadyhead.visits.certifying.answers import forbidden, wanted
from tests.procedure.walking import Device
from tests.services.certificates.visits import (
    BAR,
    KEY,
    TOUCHED,
    certified,
    judged,
    plan,
    sheet,
    station,
    text_of,
    visit,
)
from tests.there import there


def made(entries: list, kind: str = "first") -> Certificate:
    run = judged(entries, kind)
    return record_of(run, loaded=station()[0], source=station()[1], sheet=sheet())


def paper(record: Certificate) -> str:
    return text_of(pdf(record, record_sha256="0" * 64, finger="0" * 32, day=station_day(record)))


def station_day(record: Certificate) -> Any:
    from datetime import date

    return date.fromisoformat(record.day)


TURN = count(1)


def later(kind: str, payload: dict, **more: Any) -> Any:
    """Return an entry of the next day, each a minute after the one made before it, by a device of its own."""
    turn = next(TURN)
    return Device(start=30 * 3600.0 + 60.0 * turn, name=f"late-{turn}").make(kind, payload, **more)


def of(entries: list, step: str, name: str) -> Any:
    return next(one for one in entries if one.node == step and one.payload.get("input") == name)


@pytest.mark.parametrize("what", ["correction", "void", "deviation", "instrument", "person", "note", "photo"])
def test_whatever_is_entered_after_the_signature_takes_it_back(what):
    entries = visit()
    reading = of(entries, "H2.RV", "last")
    more = {
        "correction": later(
            "correction", {"reason": "misread", "payload": {"value": 4.1e5}}, replaces=reading.id
        ),
        "void": later("void", {"reason": "no"}, replaces=reading.id),
        "deviation": later("deviation", {"about": "filters.clean", "what": "not opened"}),
        "instrument": later("instrument", {"name": "TG-1", "due": "2029-01-01"}),
        "person": later("person", {"name": "Tam Oduya", "authorised_until": "2030-01-01"}),
        "note": later("note", {"text": "turned the screw a little"}),
        "photo": later("photo", {"of": "plate", "name": "p.jpg", "sha256": "ab" * 32}),
    }
    with pytest.raises(NotCertified) as refused:
        made([*entries, more[what]])
    assert "RUN-72" in [one.code for one in refused.value.findings]
    assert made([*entries, more[what], later("sign", {"asks": "provisional"})]).standing == "provisional"


def test_what_the_plan_puts_after_signing_takes_no_signature_back():
    procedure, _ = plan()
    assert "K2" in procedure.after
    entries = [*visit(), later("observation", {"input": "agreed", "value": True}, node="K2")]
    assert made(entries).standing == "final"


def test_an_earlier_signature_is_marked_as_not_counting():
    entries = visit(asks="provisional", more=TOUCHED)
    note, again = later("note", {"text": "looked again"}), later("sign", {"asks": "provisional"})
    record = made([*entries, note, again])
    assert [one.later for one in record.signatures] == [1, 0]
    assert "does not count: an entry followed it" in paper(record)


def test_what_failed_at_an_earlier_signature_is_listed_with_how_it_stands_now():
    entries = visit(asks="final", more=TOUCHED)
    record = made([*entries, later("note", {"text": "x"}), later("sign", {"asks": "provisional"})])
    told = {one.what.partition(" ")[0]: one.now for one in record.earlier}
    assert told["SO.trip"] == "still stands"
    assert len(told) == len(record.earlier)


def test_expected_is_the_answer_that_lets_the_step_stand_and_else_blank():
    record = certified().record
    lines = {(step.step, line.input): line for step in record.tests for line in step.lines}
    assert expected(lines["H2.RV", "dry"], METRIC) == "yes"
    assert expected(lines["H2.RV", "saw"], METRIC) == "no"
    assert expected(lines["J4", "twice"], METRIC) == "yes"
    answers = [line for line in lines.values() if line.quantity == "yes_no" and line.noted is not None]
    assert answers
    for line in answers:
        assert line.answer is None or there(line.noted).value is line.answer
        assert line.result == ("noted" if line.answer is None else "pass")


@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_the_answer_that_stops_a_step_is_read_off_the_plan(kind):
    nodes = {node.id: node for node in plan(kind)[0].nodes}
    for node in nodes.values():
        for one in node.inputs:
            stops = forbidden(node, one.name)
            assert stops is None or wanted(node, one.name) is not stops
    assert wanted(nodes["J4" if kind == "first" else "Y8"], "twice") in (True, None)


def test_screw_heights_are_told_in_millimetres():
    told = text_of(certified().pdf)
    assert "24 mm" in told
    assert "0.0 m " not in told


def test_a_screw_height_keeps_its_half_millimetre_and_what_was_used_is_called_used():
    height = there(certified().record.setting("SO.trip")).height
    assert value_words(replace(there(height), value=0.0315), METRIC) == "31.5 mm"
    record = certified().record
    gauge = record.instruments[0]
    clock = replace(gauge, quantity="time", taps=())
    assert instrument_words(clock, METRIC)[-1] == "used, at no tap"
    assert instrument_words(replace(clock, days=()), METRIC)[-1] == "not used"
    valve = dict(next(rows for name, rows in record.equipment if name.startswith("RV")))
    assert "from where it stood" not in valve["Needle"]


def test_a_comparison_of_two_gauges_names_no_tap_that_nobody_named():
    found = [noted for label, noted in certified().record.as_found if label.startswith("A6")]
    assert found
    assert {one.tap for one in found} == {""}


def test_a_screw_height_noted_before_the_last_turn_is_not_as_left():
    touched = made(visit(asks="provisional", more=TOUCHED))
    assert there(touched.setting("SO.trip")).height is None
    assert there(certified().record.setting("SO.trip")).height is not None


def test_a_height_in_words_counts_where_the_valve_stands_before_it():
    entries = visit("yearly", change={("Y1", "height"): "SO 24 mm, RV screw 31,5 mm, LB sealed"})
    record = made(entries, "yearly")
    heights = {one.key: one.height for one in record.settings if one.height is not None}
    assert heights["SO.trip"].value == pytest.approx(0.024)


def test_an_impairment_that_came_twice_has_two_intervals():
    entries = visit(asks="")
    second = Device(start=28 * 3600.0, name="tab-2")
    asked = {name: of(entries, "A3", name).payload for name in ("told", "answered")}
    again = [
        second.make("observation", asked["told"], "A3"),
        second.make("observation", asked["answered"], "A3"),
    ]
    again += [second.make("observation", of(entries, "J5", "told").payload, "J5")]
    again += [second.make("action", {"do": "tick"}, "J5"), second.make("sign", {"asks": "provisional"})]
    record = made([*entries, *again])
    cover = [one for one in record.restored if one.name == "fire_cover"]
    assert len(cover) == 2
    assert cover[0].restored < cover[1].opened < cover[1].restored
    assert {one.state for one in cover} == {"restored"}


def test_an_interval_begins_with_the_first_entry_that_took_it_out():
    raised = next(one for one in certified().record.restored if one.name == "RV.raised")
    entries = visit()
    first = min(
        one.clock.isoformat(timespec="seconds")
        for one in entries
        if one.node.partition(".")[0] in ("ES3", "F1", "F3", "G4") and one.payload.get("input")
    )
    assert raised.opened <= first


def test_a_reading_that_failed_and_was_taken_again_is_marked_and_listed():
    entries = visit(asks="")
    good = of(entries, "H2.RV", "last")
    bad = Device(start=1.0, name="tab-2")
    wrong = bad.make("reading", {**good.payload, "value": 9.0 * BAR}, "H2.RV")
    record = made([*entries, wrong, later("sign", {"asks": "provisional"})])
    failed = [one for one in record.failures if one.step == "H2.RV"]
    assert [there(one.noted).value for one in failed] == [9.0 * BAR]
    line = next(
        line for step in record.tests if step.step == "H2.RV" for line in step.lines if line.input == "last"
    )
    assert line.again == (1 if there(line.noted).value != 9.0 * BAR else 0)
    assert "Failures found, and what was done" in paper(record)


def test_a_change_of_setting_says_before_after_by_whom_and_by_whose_leave():
    record = made(visit("yearly", asks="provisional", more=TOUCHED), "yearly")
    changed = {one.what: one for one in record.changed}
    trip = changed["SO trip, rising"]
    assert trip.before is not None
    assert any("raise SO.setting" in words for words in trip.turned)
    assert "CR-118" in trip.authorised
    told = paper(record)
    for words in ("Changes of setting: before, after, by whose leave", "CR-118", "raise setting of SO"):
        assert words in told


def test_as_found_duty_is_told_with_its_flow_beside_the_flow_of_the_design():
    record = made(visit("yearly"), "yearly")
    duty = there(record.setting("RV.duty"))
    assert duty.as_found is not None
    assert duty.as_found.flow is not None
    assert duty.design_flow is not None
    assert there(record.setting("RV.lockup")).as_found is not None
    assert re.search(r"bar at \d\.\d\d L/s", paper(record))


def test_a_run_shows_the_pressures_its_stroke_began_with():
    record = certified().record
    first = record.trips[0].runs[0]
    assert first.inlet is not None
    assert first.flow is not None


def test_the_band_of_a_trip_is_the_one_its_steps_are_judged_by():
    record = certified().record
    bands = {
        (line.low, line.high)
        for step in record.tests
        if step.step in ("F1.SO", "F3.SO")
        for line in step.lines
        if line.input.startswith("mid") and line.low is not None
    }
    assert (record.trips[0].low, record.trips[0].high) in bands
    windows = {
        (line.low, line.high)
        for step in record.tests
        if step.step in ("F2.SO", "F3.SO")
        for line in step.lines
        if line.input.startswith("closing")
    }
    assert windows == {record.trips[0].window}


def test_one_closing_window_stands_on_the_paper():
    told = text_of(certified().pdf)
    found = set(re.findall(r"(?:Closing time accepted: |Accepted, start to shut )([\d.]+ to [\d.]+)", told))
    assert len(found) == 1


def test_the_words_on_the_screen_and_who_read_them_stand_on_the_certificate():
    change = {("G1.SO", "words"): "QUILLENBY ROW SHUT-OFF LEFT OPEN", ("G1.SO", "operator"): "Hanna Brill"}
    record = made(visit(change=change))
    alarm = next(one for one in record.alarms if one.name == "SO.told")
    assert (alarm.words, alarm.operator) == ("QUILLENBY ROW SHUT-OFF LEFT OPEN", "Hanna Brill")
    told = paper(record)
    assert "QUILLENBY ROW SHUT-OFF LEFT OPEN" in told
    assert "Hanna Brill at the desk" in told


def test_what_comes_after_signing_is_not_called_open_on_a_final_certificate():
    states = {step.step: step.state for step in certified().record.tests}
    assert states["K2"] in ("comes after signing", "done")


def test_many_steps_not_done_are_told_as_one_behind_the_readings_that_matter():
    entries = [
        one for one in visit(asks="") if one.node.partition(".")[0] not in ("H4", "H5", "J1", "J2", "J3")
    ]
    entries = [one for one in entries if not one.node.startswith("J")]
    record = made([*entries, later("sign", {"asks": "provisional"})])
    said = standing_against(record)
    assert said[-1].startswith(f"{sum(one.code == 'RUN-07' for one in record.against)} steps are not done")
    assert len(said) < len(record.against)


def test_letters_the_paper_cannot_show_are_said_to_be_in_the_record():
    run = judged(visit(sign={"statement": "合格"}))
    told = text_of(make(run, plan()[1], KEY).pdf)
    assert "stands for a letter the faces of this paper do not have" in told
    assert "stands for a letter" not in text_of(certified().pdf)


def test_the_last_proof_before_this_one_and_the_next_are_said_to_be_not_known():
    told = text_of(certified().pdf)
    assert "Last proof before this one not known to this record" in told
    assert "Next proof due not known to this record" in told


def test_a_run_that_cannot_be_fitted_is_certified_all_the_same(monkeypatch):
    def fails(*_: object) -> None:
        raise InputError("supply", "no steady state.", "Check.")

    monkeypatch.setattr("steadyhead.services.certificates.making.fit_run", fails)
    assert made(visit()).per_turn == ()


def test_peaks_without_a_proof_are_called_lumped():
    record = certified().record
    assert record.design is not None
    if not record.design.by_proof:
        assert all("lumped" in words for words in record.design.credited)
        assert "no proof" in text_of(certified().pdf)


def test_a_number_typed_as_it_is_shown_is_not_shown_twice():
    from steadyhead.reports.certificate_rows import _says_as_much

    same = (("50 psi", "50.0 psi"), ("1.5 turns", "1.50 turns"), ("5.2 bar", "5.2 bar"))
    assert all(_says_as_much(typed, shown) for typed, shown in same)
    other = (
        ("345 kPa", "50.0 psi"),
        ("50.04 psi", "50.0 psi"),
        ("6.3 gpm", "6.30 US gpm"),
        ("a bit", "50.0 psi"),
    )
    assert not any(_says_as_much(typed, shown) for typed, shown in other)
