"""A question that is not the owner's to decide is settled only with the authority and its day."""

from __future__ import annotations

import pytest

from steadyhead.findings import CATALOGUE, Finding, Severity
from steadyhead.findings.telling import answer_line
from steadyhead.records.station import Answer
from steadyhead.station.answers import answered, unmatched

ASKED = Finding("LAY-26", "station.fire_water", Severity.ASK, {"shut_off": "SO"})
GRANTED = {
    "authority": "Ostrevale fire service, letter 12",
    "decided": "2026-03-02",
    "shut_off": "allowed",
}


def answer(**more: str) -> Answer:
    return Answer(
        to="LAY-26", at="station.fire_water", value=ASKED.value_hash, answer="allowed", by="I. Marrow", **more
    )


def test_an_answer_with_authority_and_day_settles_the_fire_question_and_carries_both():
    (note,) = answered([ASKED], [answer(**GRANTED)])
    assert note.severity is Severity.NOTE
    assert note.inputs[-1].provenance == (
        "I. Marrow, decided by Ostrevale fire service, letter 12, on 2026-03-02"
    )
    assert unmatched([ASKED], [answer(**GRANTED)]) == ()


@pytest.mark.parametrize("missing", ["authority", "decided", "shut_off"])
def test_an_answer_that_lacks_one_of_them_leaves_the_question_open_and_is_told(missing):
    given = answer(**{name: text for name, text in GRANTED.items() if name != missing})
    assert answered([ASKED], [given]) == (ASKED,)
    (told,) = unmatched([ASKED], [given])
    assert told.code == "STN-13"
    assert told.params["lacks"] == missing


def test_a_shut_off_that_the_authority_forbids_is_a_stop_while_it_stands_in_the_line():
    given = answer(**GRANTED | {"shut_off": "forbidden"})
    (told,) = answered([ASKED], [given])
    assert told.severity is Severity.STOP
    assert str(told.inputs[-1].amount).startswith("Shut-off forbidden.")
    assert unmatched([ASKED], [given]) == ()
    (note,) = answered([ASKED], [answer(**GRANTED | {"shut_off": "required"})])
    assert note.severity is Severity.NOTE


@pytest.mark.parametrize(
    ("said", "weight"),
    [("forbidden", Severity.NOTE), ("allowed", Severity.NOTE), ("required", Severity.STOP)],
)
def test_a_fire_main_without_a_shut_off_stops_only_where_the_authority_requires_one(said, weight):
    asked = Finding("LAY-43", "station.fire_water", Severity.ASK)
    given = Answer(
        to="LAY-43", at=asked.subject, value=asked.value_hash, answer="see the letter", by="I. Marrow",
        **GRANTED | {"shut_off": said},
    )  # fmt: skip
    assert answered([asked], [given])[0].severity is weight


def test_the_line_to_fill_in_asks_for_both_where_the_finding_does():
    assert CATALOGUE["LAY-26"].needs_authority
    assert "authority" in answer_line(ASKED)
    assert '"shut_off": ' not in answer_line(Finding("LAD-05", "stacking", Severity.ASK))
    assert "shut_off: " in answer_line(ASKED)
    assert "authority" not in answer_line(Finding("LAD-05", "stacking", Severity.ASK))
