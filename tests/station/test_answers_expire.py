from __future__ import annotations

from datetime import date

import pytest

from steadyhead.errors import InputErrors
from steadyhead.services.judging import judge_file
from steadyhead.station import examples
from steadyhead.station.answers import without_expired
from steadyhead.station.load import load

TEXT = examples.read("quillenby-row").decode("utf-8").partition("\nanswers:\n")[0] + "\n"


def with_answer(until: str) -> bytes:
    finding = next(f for f in judge_file(TEXT.encode()).sheet.findings if f.severity.value == "heed")
    return (
        TEXT + f"answers:\n  - {{to: {finding.code}, at: '{finding.subject}', value: '{finding.value_hash}', "
        f"answer: agreed at the design review, by: Ilse Marrow, until: '{until}'}}\n"
    ).encode()


def codes(source: bytes, day: date) -> dict[str, str]:
    return {f.code: f.severity.value for f in judge_file(source, day=day).sheet.findings}


def test_an_answer_holds_to_its_last_day_and_not_a_day_longer() -> None:
    source = with_answer("2027-06-30")
    before, after = codes(source, date(2027, 6, 30)), codes(source, date(2027, 7, 1))
    assert "STN-02" not in before
    assert after["STN-02"] == "heed"
    assert sum(s == "heed" for s in before.values()) < sum(s == "heed" for s in after.values())


def test_a_day_that_cannot_be_read_settles_nothing() -> None:
    station = load(with_answer("2027-06-30")).station
    unread = station.answers[0].model_copy(update={"until": "soon"})
    kept, told = without_expired(station.model_copy(update={"answers": (unread,)}), date(2026, 1, 1))
    assert kept.answers == ()
    assert [f.code for f in told] == ["STN-02"]


@pytest.mark.parametrize("until", ["soon", "30.06.2027", "2026-02-31", "2026-06", "3026-01-01"])
def test_an_answer_that_holds_until_no_day_of_the_calendar_is_refused(until: str) -> None:
    with pytest.raises(InputErrors, match="Write it as 2027-06-30"):
        load(with_answer(until))
