"""Doubts of a reading as questions with names, and answers put into what the reading is told."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.logger import Column, Context, Doubt, Quantity, ReadFiles, Reading
from steadyhead.watch.reading.asking import ASKED_UNITS
from steadyhead.watch.reading.clock_set import ANSWERS as SET_RIGHT
from steadyhead.watch.reading.evidence import UNITS
from steadyhead.watch.reading.headings import KIND_OF
from steadyhead.watch.reading.symbols import TIMES, symbol
from steadyhead.watch.reading.zones import rule_of

CHANGES = {"followed": "clock changes followed", "standard": "standard time all year"}
"""Answers to whether stamps follow the changes of the clocks, in the words that the reading knows."""
PASSES = {"first": False, "second": True}
ORDERS = ("dmy", "mdy", "ymd")
DAYS_FROM = ("1900", "1904")
NAMES = (
    "zone",
    "zone stated",
    "clock changes",
    "hour twice",
    "date order",
    "decimal mark",
    "days from",
    "clock set",
    "start",
    "unit",
    "quantity",
)
"""What can be answered; of several questions of a name the second one is ``unit 2``, and so on."""
REMEMBERED = ("zone", "zone stated", "clock changes", "date order", "decimal mark", "days from")
"""Answers that hold for the next file of a source, too; units and quantities lie in its columns."""


@dataclass(frozen=True, slots=True)
class Question:
    """A doubt with the name it is answered by."""

    name: str
    doubt: Doubt


class Open(InputErrors):
    """Questions without an assumed answer stand; nothing was taken in.

    Parameters
    ----------
    questions
        All of them.
    """

    def __init__(self, questions: Sequence[Question]) -> None:
        self.questions = tuple(questions)
        super().__init__(
            [InputError(one.name, f"is open: {one.doubt.question}", _ways(one)) for one in questions]
        )


def _ways(one: Question) -> str:
    if one.name == "start":
        return "Answer it: start=2027-03-01T00:00:00, on the clock of the stamps' zone."
    choices = "; ".join(f"{one.name}={each.value}: {each.words}" for each in one.doubt.choices)
    return f"Answer it. {choices}."


def questions_of(found: ReadFiles) -> list[Question]:
    """Return the doubts of a reading under the names they are answered by."""
    out: list[Question] = []
    for doubt in found.doubts:
        name = _name(doubt)
        same = sum(one.name.partition(" #")[0] == name for one in out)
        out.append(Question(name if not same else f"{name} #{same + 1}", doubt))
    return out


def _name(doubt: Doubt) -> str:
    values = {one.value for one in doubt.choices}
    if doubt.field == "zone" and values == set(CHANGES):
        return "clock changes"
    if doubt.field == "zone" and values == set(PASSES):
        return "hour twice"
    return doubt.field


def check_answers(answers: Mapping[str, str]) -> None:
    """Refuse answers to what is never asked, and values that no question takes.

    Raises
    ------
    InputErrors
        Each of them.
    """
    problems = []
    for name, value in answers.items():
        base = name.partition(" #")[0]
        try:
            if base not in NAMES:
                raise InputError(name[:40], "is no question.", f"Questions are: {', '.join(NAMES)}.")
            _check(base, value)
        except InputError as problem:
            problems.append(problem)
    if problems:
        raise InputErrors(problems)


def _check(name: str, value: str) -> None:
    choices: dict[str, Sequence[str]] = {
        "clock changes": tuple(CHANGES), "hour twice": tuple(PASSES), "date order": ORDERS,
        "decimal mark": (",", "."), "days from": DAYS_FROM,
        "clock set": SET_RIGHT,
    }  # fmt: skip
    if name in choices and value not in choices[name]:
        raise InputError(name, f"got {value!r:.40}.", f"Answer one of: {' '.join(choices[name])}")
    if name in ("zone", "zone stated") and rule_of(value, "") is None:
        raise InputError(name, f"got {value!r:.40}, which is no zone.", "Write UTC, UTC+1 or Europe/Berlin.")
    if name == "start":
        _moment(value, Context())
    if name in ("unit", "quantity"):
        _meant(name, value)


def _meant(name: str, value: str) -> tuple[Quantity, str]:
    told, _, unit = (one.strip() for one in value.rpartition(","))
    quantity: Quantity | None = next((one for one in KIND_OF if one == told), None)
    units = [] if quantity is None else [one for one, _ in UNITS.get(KIND_OF[quantity], ())]
    units += ASKED_UNITS.get(quantity, ()) if quantity is not None else ()
    bare, scale, factor = unit.replace(" x ", TIMES).partition(TIMES)
    known = symbol(bare)
    if (
        known is not None
        and quantity is not None
        and (known.kind == KIND_OF[quantity] or quantity == "other")
    ):
        bare = known.name
        units.append(bare)
    if quantity is None or bare not in units or (scale and not _is_factor(factor)):
        remedy = f"Write what it measures and the unit: outlet pressure, {' | '.join(units or ['bar'])}."
        raise InputError(name, f"got {value!r:.60}.", remedy)
    return quantity, bare + scale + factor


def _is_factor(text: str) -> bool:
    """Return whether numbers can be multiplied by what is written: ``0.1``, ``100``."""
    try:
        return 0 < float(text) < float("inf")
    except ValueError:
        return False


def _moment(value: str, context: Context) -> datetime:
    """Return a time that was typed; without an offset it is on the clock of the stamps' zone."""
    try:
        when = datetime.fromisoformat(value)
    except ValueError:
        remedy = "Write a time like 2027-03-01T00:00:00."
        raise InputError("start", f"got {value!r:.40}, which is no time.", remedy) from None
    if when.tzinfo is not None:
        return when
    rule = rule_of(context.zone, context.zone_note)
    if rule is None:
        return when.replace(tzinfo=UTC)
    if isinstance(rule.info, ZoneInfo):
        return when.replace(tzinfo=rule.info).astimezone(UTC)
    return datetime.fromtimestamp(when.replace(tzinfo=UTC).timestamp() - rule.offset, UTC)


def told_before(context: Context, answers: Mapping[str, str]) -> Context:
    """Return what a reading is told with the answers that need no look at the file."""
    if zone := answers.get("zone stated") or answers.get("zone"):
        context = replace(context, zone=zone, is_zone_answered="zone stated" in answers)
    if (changes := answers.get("clock changes")) is not None:
        context = replace(context, zone_note=CHANGES[changes])
    if (which := answers.get("hour twice")) is not None:
        context = replace(context, second_pass=PASSES[which])
    if (order := answers.get("date order")) in ("dmy", "mdy"):
        context = replace(context, month_first=order == "mdy")
    if (days := answers.get("days from")) is not None:
        context = replace(context, from_1904=days == "1904")
    if (right := answers.get("clock set")) is not None:
        context = replace(context, clock_set=right)
    if (start := answers.get("start")) is not None:
        context = replace(context, start=_moment(start, context))
    return context


def told_after(
    context: Context, answers: Mapping[str, str], found: ReadFiles, asked: Sequence[Question]
) -> Context:
    """Return what a reading is told with the answers that change how its columns are taken.

    Raises
    ------
    InputError
        Columns without a heading cannot be told apart by an answer.
    """
    profile = profile_of(found)
    for one in asked:
        value = answers.get(one.name)
        if value is None or profile is None:
            continue
        if one.doubt.field in ("unit", "quantity"):
            profile = _with_meaning(profile, one, *_meant(one.doubt.field, value))
        elif one.name == "decimal mark":
            profile = replace(profile, decimal=value)
        elif one.name == "date order":
            profile = replace(profile, time=replace(profile.time, order=value))
    return replace(context, profile=profile)


def _with_meaning(profile: Reading, one: Question, quantity: Quantity, unit: str) -> Reading:
    about = [
        each for each in profile.columns
        if each.use == "value" and (repr(each.heading) if each.heading else "without heading")
        in one.doubt.question
    ]  # fmt: skip
    if len(about) != 1:
        raise InputError(
            one.name, "is about a column whose heading others have, too, or that has none.",
            "Give each column a heading of its own in the file; the file here stays as it is.",
        )  # fmt: skip
    columns = (
        replace(each, quantity=quantity, unit=unit) if each is about[0] else each for each in profile.columns
    )
    return replace(profile, columns=tuple(columns))


def profile_of(found: ReadFiles) -> Reading | None:
    """Return one profile for all files of a reading: the first one's, with the others' further columns."""
    readings = [one for one in found.readings if one is not None]
    if not readings:
        return None
    columns: list[Column] = list(readings[0].columns)
    headings = {one.heading for one in columns if one.use == "value"}
    for one in itertools.chain.from_iterable(each.columns for each in readings[1:]):
        if one.use == "value" and one.heading not in headings:
            headings.add(one.heading)
            columns.append(one)
    forms = tuple(dict.fromkeys(form for each in readings for form in each.time.forms))
    return replace(readings[0], columns=tuple(columns), time=replace(readings[0].time, forms=forms))
