"""Questions about likely slips on known files; the rates over many files are a campaign of their own."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.findings import Severity, forbids_release, tell
from steadyhead.station.examples import names
from steadyhead.station.load import from_data, load
from steadyhead.station.slips import ask
from steadyhead.station.slips.defaults import FAULT_LIMIT_TO_TRIP, MOST_QUESTIONS
from steadyhead.units import US
from tests.design.way_stations import plant_room
from tests.station.files import example, refused


def questions(*changes, name="quillenby-row"):
    loaded = load(example(name, *changes))
    return ask(loaded.station, loaded.data)


@pytest.mark.parametrize("name", names())
def test_the_examples_raise_no_question(name):
    assert questions(name=name) == ()


@pytest.mark.source(
    kind="analytic", ref="139 psi = 9.58 bar, 18 L/s = 64.8 m³/h, 315 ft = 96.0 m, by definition"
)
@pytest.mark.parametrize(
    ("old", "new", "code", "subject", "words"),
    [
        ("value: 9.6 bar", "value: 139 bar", "SLIP-01", "supply.static", "139 psi (9.58 bar)"),
        ("trip: 5.2 bar", "trip: 75 bar", "SLIP-01", "SO: trip", "75 psi (5.17 bar)"),
        ("pressure: 4.75 bar", "pressure: 69 bar", "SLIP-01", "alarm.pressure", "69 psi (4.76 bar)"),
        ("normal: 7.5 bar", "normal: 110 bar", "SLIP-01", "limits lowest draw-off: normal", "(7.58 bar)"),
        (
            "{pressure: 4.0 bar",
            "{pressure: 400 bar",
            "SLIP-02",
            "RV: duty.pressure",
            "400 kPa (4.00 bar)",
        ),
        ("peak: 18 L/s", "peak: 64.8 L/s", "SLIP-03", "demand.peak", "64.8 m³/h (18.00 L/s)"),
        ("average: 7 L/s", "average: 25 L/s", "SLIP-03", "demand.average", "25 m³/h (6.94 L/s)"),
        ("peak: 18 L/s", "peak: 18 m³/h", "SLIP-03", "demand.peak", "18 L/s (18.00 L/s)"),
        ("trip: 5.2 bar", "trip: 6.3 bar", "SLIP-04", "SO: trip", "6.3 bar a (5.30 bar gauge)"),
        ("lockup: 4.2 bar", "lockup: 5.2 bar", "SLIP-04", "RV: lockup", "5.2 bar a (4.20 bar gauge)"),
        ("typical: 8.6 bar", "typical: 9.7 bar", "SLIP-04", "supply.typical", "9.7 bar a (8.70 bar gauge)"),
        ("typical: 8.6 bar", "typical: 8.6 bar a", "SLIP-04", "supply.typical", "8.6 bar (8.60 bar gauge)"),
        ("value: 96.0 m", "value: 315 m", "SLIP-05", "station.datum", "315 ft (96.0 m)"),
        (
            "level: 104 m, f",
            "level: 341 m, f",
            "SLIP-05",
            "needs top of Ashlow Rise: level",
            "341 ft (103.9 m)",
        ),
    ],
)
def test_a_planted_slip_is_asked_about_with_its_other_reading(old, new, code, subject, words):
    (finding,) = questions((old, new))
    assert (finding.code, finding.subject, finding.severity) == (code, subject, Severity.ASK)
    told = tell(finding)
    assert words in told.statement
    assert "Beside it stands" in told.statement
    assert forbids_release([finding])


def test_a_psi_gauge_read_into_all_supply_fields_gives_one_question():
    (finding,) = questions(
        ("min: {value: 7.2 bar", "min: {value: 104 bar"),
        ("typical: 8.6 bar", "typical: 125 bar"),
        ("night: 9.1 bar", "night: 132 bar"),
        ("static: {value: 9.6 bar", "static: {value: 139 bar"),
    )
    assert (finding.code, finding.subject) == ("SLIP-01", "supply")
    assert tell(finding).statement.startswith("supply.static 139 bar and 3 more: is it 139 psi (9.58 bar)?")
    assert [(one.label, one.amount, one.provenance) for one in finding.inputs] == [
        ("supply.min", "104 bar", "would be 104 psi"),
        ("supply.typical", "125 bar", "would be 125 psi"),
        ("supply.night", "132 bar", "would be 132 psi"),
        ("supply.static", "139 bar", "would be 139 psi"),
    ]


def test_a_value_beyond_anything_usable_is_refused_with_the_likely_reading():
    (refusal,) = refused(example("quillenby-row", ("trip: 5.2 bar", "trip: 520 bar")))
    assert "Is it 520 kPa, which is 5.2 bar?" in str(refusal)
    (refusal,) = refused(example("quillenby-row", ("trip: 5.2 bar", "trip: 90000 bar")))
    assert "Is it" not in str(refusal)


def test_a_question_is_told_in_the_readers_units():
    (finding,) = questions(("value: 9.6 bar", "value: 139 bar"))
    assert "139 psi (139.0 psi)" in tell(finding, US).statement


def test_the_same_station_asked_without_its_data_gives_the_same_question():
    loaded = load(example("quillenby-row", ("value: 9.6 bar", "value: 139 bar")))
    with_names = ask(loaded.station, loaded.data)
    assert ask(loaded.station) == with_names


def test_a_file_of_nonsense_gets_a_bounded_number_of_questions():
    found = questions(
        ("trip: 5.2 bar", "trip: 75 bar"),
        ("peak: 18 L/s", "peak: 64.8 L/s"),
        ("value: 96.0 m", "value: 315 m"),
        ("normal: 7.5 bar", "normal: 110 bar"),
        ("typical: 8.6 bar", "typical: 124 bar"),
        ("pressure: 4.75 bar", "pressure: 69 bar"),
        ("lockup: 4.2 bar", "lockup: 61 bar"),
    )
    assert 3 <= len(found) <= MOST_QUESTIONS


def test_an_expectation_is_flat_inside_and_never_certain_outside():
    assert FAULT_LIMIT_TO_TRIP.log_usual(0.5) == pytest.approx(0.0)
    assert FAULT_LIMIT_TO_TRIP.log_usual(-50.0) == pytest.approx(FAULT_LIMIT_TO_TRIP.log_usual(float("-inf")))


@pytest.mark.parametrize(
    ("old", "new", "code", "subject", "words"),
    [
        ("lowest: 70 m", "lowest: -70 m", "SLIP-06", "zone.lowest", "zone.lowest -70 m: is it right?"),
        ("highest: 104 m", "highest: 14 m", "SLIP-06", "zone.highest", "zone.highest 14 m: is it right?"),
        ("trip: 5.2 bar", "trip: 0.52 bar", "SLIP-06", "SO: trip", "SO: trip 0.52 bar: is it right?"),
        ("trip: 5.2 bar", "trip: 5.2 psi", "SLIP-01", "SO: trip", "is it 5.2 bar"),
        ("{pressure: 4.0 bar", "{pressure: 4.0 psi", "SLIP-01", "RV: duty.pressure", "is it 4 bar"),
        ("night: 9.1 bar", "night: 9.1 psi", "SLIP-01", "supply.night", "is it 9.1 bar"),
        ("value: 96.0 m", "value: 96 ft", "SLIP-05", "station.datum", "is it 96 m"),
    ],
)
def test_one_odd_value_is_asked_about_and_not_its_neighbours(old, new, code, subject, words):
    (finding,) = questions((old, new))
    assert (finding.code, finding.subject, finding.severity) == (code, subject, Severity.ASK)
    assert words in tell(finding).statement
    assert [one.label for one in finding.inputs] == [subject]


def test_a_question_about_an_odd_value_is_answered_like_any_other():
    (finding,) = questions(("lowest: 70 m", "lowest: -70 m"))
    text = example("quillenby-row", ("lowest: 70 m", "lowest: -70 m"))
    answer = f"{{to: SLIP-06, at: zone.lowest, value: '{finding.value_hash}', answer: a pit, by: Ada}}"
    (note,) = ask(load(f"{text}answers: [{answer}]\n").station)
    assert note.severity is Severity.NOTE


def test_a_level_in_feet_among_metres_is_found_in_a_file_of_metres_alone():
    assert [f.code for f in questions(("level: 104 m, f", "level: 341 m, f"))] == ["SLIP-05"]


ANSWER = (
    "answers:\n  - {{to: SLIP-01, at: supply.static, value: {value}, answer: a mine column, by: M. Farrow}}\n"
)


def answered_file(value, static="139 bar"):
    text = example("quillenby-row", ("value: 9.6 bar", f"value: {static}"))
    return load(text + ANSWER.format(value=value)).station


def test_an_answered_question_becomes_a_note_that_carries_the_answer():
    (finding,) = questions(("value: 9.6 bar", "value: 139 bar"))
    (note,) = ask(answered_file(finding.value_hash))
    assert note.severity is Severity.NOTE
    assert (note.inputs[-1].amount, note.inputs[-1].provenance) == ("a mine column", "M. Farrow")
    assert note.value_hash == finding.value_hash
    assert not forbids_release([note])


def test_an_answer_falls_away_when_the_value_changes():
    (finding,) = questions(("value: 9.6 bar", "value: 139 bar"))
    (question,) = ask(answered_file(finding.value_hash, static="145 bar"))
    assert question.severity is Severity.ASK


def test_an_answer_stays_when_another_value_changes():
    (before,) = questions(("value: 9.6 bar", "value: 139 bar"))
    (after,) = questions(("value: 9.6 bar", "value: 139 bar"), ("night: 9.1 bar", "night: 9.2 bar"))
    assert before.value_hash == after.value_hash


GROUP = """  - part: parallel
    id: PG
    branches:
      - id: A
        line:
          - part: reducer
            id: RV
            size: DN 100
            duty: {pressure: 4.0 bar, flow: 5 L/s}
            senses: T3
            pilot: {spring_low: 1.5 bar, spring_high: 7 bar}
      - id: BY
        role: manual bypass
        line: [{part: isolating_valve, id: BV, size: DN 80}]
"""


def with_parallel(duty):
    head, _, rest = example().partition("  - part: reducer\n")
    tail = rest[rest.index("  - {part: tap, id: T3}") :]
    return load(head + GROUP.replace("4.0 bar", duty) + tail)


def test_valves_inside_branches_are_looked_at_too():
    assert ask(with_parallel("4.0 bar").station) == ()
    loaded = with_parallel("58 bar")
    (finding,) = ask(loaded.station, loaded.data)
    assert finding.subject == "RV: duty.pressure"
    assert "58 psi (4.00 bar)" in tell(finding).statement


def test_a_sparse_file_with_levels_only_at_its_limits_is_asked_about_them():
    text = example("quillenby-row", ("  level: 84 m\n  lowest: 70 m\n  highest: 104 m\n", ""))
    assert ask(load(text).station) == ()
    loaded = load(text.replace("level: 70 m, source", "level: 600 m, source"))
    assert [finding.code for finding in ask(loaded.station, loaded.data)] == ["SLIP-05"]


def test_a_row_of_standby_streams_set_a_tenth_apart_is_not_taken_for_a_slip():
    data = plant_room()
    group = next(part for part in data["line"] if part["id"] == "PG")
    duty = group["branches"][0]
    group["branches"] = [
        {
            "id": f"s{k}",
            "role": "standby" if k else "duty",
            "line": [_of_stream(part, k) for part in duty["line"]],
        }
        for k in range(6)
    ]
    assert ask(from_data(data).station) == ()


def _of_stream(part: dict[str, Any], k: int) -> dict[str, Any]:
    moved = {**part, "id": f"{part['id']}{k}"}
    if "senses" in part:
        moved["senses"] = f"{part['senses']}{k}"
    if part["part"] == "shut_off":
        moved["trip"] = f"{5.55 + 0.05 * k:.2f} bar"
    if part["part"] == "reducer":
        moved |= {"duty": {"pressure": f"{4.8 - 0.1 * k:.1f} bar", "flow": "0.4 L/s"}, "lockup": None}
        del moved["lockup"]
    return moved
