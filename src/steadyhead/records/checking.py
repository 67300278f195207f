"""What text fields of the station file have in common: refusals with a remedy, dates, words filled in."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated

from pydantic import AfterValidator, StringConstraints, WithJsonSchema
from pydantic_core import PydanticCustomError

FIRST_YEAR, LAST_YEAR = 1900, 2099
"""Years a date of a station file may lie in. Own estimate: typing slips fall outside."""

NOT_FILLED_IN = "not filled in."
_DAY = re.compile(r"^(\d{4})-(\d{2})-(\d{2})$")
_PART_OF_A_DATE = re.compile(r"^(\d{4})(?:-(\d{2}))?$")
_LETTER = re.compile(r"\w")


def bad(problem: str, remedy: str) -> PydanticCustomError:
    """Return a validation error that carries problem and remedy apart."""
    return PydanticCustomError("steadyhead", "{problem} {remedy}", {"problem": problem, "remedy": remedy})


def not_a_day(text: str) -> str:
    """Return why a text is no day: written otherwise than year first, or a day the calendar has not.

    Examples
    --------
    >>> not_a_day("30.06.2027"), not_a_day("2027-02-30")
    ('which is no day written year first.', 'which is no day of the calendar.')
    """
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
        return "which is no day of the calendar."
    return "which is no day written year first."


def day(text: str) -> str:
    """Return a day as typed where the calendar has it, year first (ISO 8601); empty text stays empty.

    Examples
    --------
    >>> day("2027-06-30")
    '2027-06-30'
    """
    stripped = text.strip()
    if stripped and not _is_date(stripped, _DAY):
        raise bad(f"got {text[:40]!r}, {not_a_day(stripped)}", "Write it as 2027-06-30.")
    return stripped


def when(text: str) -> str:
    """Return a day, a month or a year as typed, year first (ISO 8601); empty text stays empty.

    Examples
    --------
    >>> when("2026-08")
    '2026-08'
    """
    stripped = text.strip()
    if stripped and not _is_date(stripped, _DAY) and not _is_date(stripped, _PART_OF_A_DATE):
        remedy = "Write it as 2026-03-02, or as 2026-03 or 2026 where the day is not known."
        raise bad(f"got {text[:40]!r}, which is no date of the calendar.", remedy)
    return stripped


def filled(text: str) -> str:
    """Return text that says something; dots, dashes and question marks alone say nothing."""
    if not _LETTER.search(text) or text.strip("_ ") == "":
        raise bad(NOT_FILLED_IN, "Write it in words.")
    return text


def _is_date(text: str, shape: re.Pattern[str]) -> bool:
    found = shape.match(text)
    if not found:
        return False
    year, month, number = (int(got) for got in (*found.groups(default="1"), "1")[:3])
    try:
        date(year, month, number)
    except ValueError:
        return False
    return FIRST_YEAR <= year <= LAST_YEAR


Day = Annotated[str, AfterValidator(day), WithJsonSchema({"type": "string", "format": "date"})]
Date = Annotated[str, AfterValidator(when), WithJsonSchema({"type": "string"})]
Name = Annotated[str, StringConstraints(max_length=60), AfterValidator(filled)]
ShortText = Annotated[str, StringConstraints(max_length=120)]
Component = Annotated[str, StringConstraints(max_length=80), AfterValidator(filled)]
Filled = Annotated[str, StringConstraints(max_length=400), AfterValidator(filled)]
FilledWords = Annotated[str, StringConstraints(max_length=4000), AfterValidator(filled)]
