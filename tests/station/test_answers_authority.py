"""A question that is not the owner's to decide is settled only with the authority and its day."""

from __future__ import annotations

import pytest

from steadyhead.findings import CATALOGUE, Finding, Severity
from steadyhead.findings.telling import answer_line
from steadyhead.records.station import Answer
from steadyhead.station.answers import answered, unmatched

ASKED = Finding("LAY-26", "station.fire_water", Severity.ASK, {"shut_off": "SO"})
GRANTED = {"authority": "Ostrevale fire service, letter 12", "decided": "2026-03-02"}


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


@pytest.mark.parametrize("missing", ["authority", "decided"])
def test_an_answer_that_lacks_one_of_them_leaves_the_question_open_and_is_told(missing):
    given = answer(**{name: text for name, text in GRANTED.items() if name != missing})
    assert answered([ASKED], [given]) == (ASKED,)
    (told,) = unmatched([ASKED], [given])
    assert told.code == "STN-13"


def test_the_line_to_fill_in_asks_for_both_where_the_finding_does():
    assert CATALOGUE["LAY-26"].needs_authority
    assert "authority" in answer_line(ASKED)
    assert "authority" not in answer_line(Finding("LAD-05", "stacking", Severity.ASK))
