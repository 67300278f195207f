"""Whether a reading is fit to prove something: what it carries, its instrument, and that it stood still."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

from steadyhead.procedure.expression import Scalar
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.record import BLANKS, SOFT, TIME_OF_DAY, Record, Row
from steadyhead.records.procedure import Input
from steadyhead.records.run import Plain

ROUNDING = 1e-9
"""Share by which two numbers that were written down and read back may differ. Analytic: RFC 8785 keeps 15."""
READ_TO = 0.25
"""Share of a division to which a pointer is read. Own estimate."""
Descriptions = tuple[tuple[int, Mapping[str, Scalar]], ...]
SETTING = "setting gauge"
"""Instrument of an input whose value counts by itself, not against another reading of the same gauge."""
WORDS = (*SOFT, "time_of_day")
"""Kinds of input that are answered in words."""


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why a reading proves nothing.

    tells: it says something of the place all the same (it swings there), so that no older one stands for it.
    """

    why: str
    params: Mapping[str, Plain] = field(default_factory=dict)
    tells: bool = False


def is_answer(one: Input, row: Row) -> bool:
    """Return whether the value of an entry is of the kind an input asks for."""
    value = row.entry.payload.get("value")
    if one.quantity == "yes_no":
        return isinstance(value, bool)
    if one.quantity == "time_of_day":
        return isinstance(value, str) and TIME_OF_DAY.fullmatch(value.strip(BLANKS)) is not None
    if one.quantity in WORDS:
        return isinstance(value, str) and bool(value.strip(BLANKS))
    return is_number(value)


def is_of(one: Input, row: Row) -> bool:
    """Return whether a number is of the quantity an input asks for; an answer in words, or none named, is."""
    told = row.entry.payload.get("quantity")
    return one.quantity == "yes_no" or one.quantity in WORDS or told in (None, "") or told == one.quantity


def other(one: Input, row: Row) -> dict[str, Plain]:
    """Return the quantity a reading is of, and the one that is asked for."""
    return {"got": row.text("quantity") or "thing without a name", "asked": one.quantity}


def unfit(one: Input, row: Row, record: Record, beside: Collection[str]) -> tuple[Unfit, ...]:
    """Return everything that makes a reading unfit for a proof; nothing for a sound one.

    Parameters
    ----------
    one
        The input it answers.
    row
        The reading, its value of the right kind.
    record
        Plan and entries.
    beside
        Quantities read at the same step.
    """
    if one.quantity == "yes_no" or one.quantity in WORDS:
        return ()
    found = [*_place(one, row, beside), *_instrument(one, row, record), *_stillness(one, row)]
    return tuple(found)


MISLEADS = (
    "no instrument", "not described", "class not known", "too coarse", "division too coarse", "no due date",
    "overdue", "zero off", "measures another quantity", "beyond its range",
)  # fmt: skip
"""What makes a gauge one that no turn is worked out from: its error is not the one taken off the limit."""


def misled_now(record: Record, name: str) -> tuple[str, ...]:
    """Return the tap whose newest reading came by a gauge that no turn of a step may be worked out from."""
    taps = {aim.tap for aim in record.procedure.advice.aims if aim.step == name}
    asked = {(node.id, one.name): one for node in record.procedure.nodes for one in node.inputs}
    for row in reversed(record.rows):
        one = asked.get((row.entry.node, row.text("input")))
        if row.entry.kind == "reading" and one is not None and one.tap in taps and row.text("tap") == one.tap:
            found = [each for each in _instrument(one, row, record) if each.why in MISLEADS]
            return (f"{one.tap} read by a gauge in date and true enough",) if found else ()
    return ()


def _place(one: Input, row: Row, beside: Collection[str]) -> list[Unfit]:
    found = []
    tap = row.text("tap")
    if one.tap and not tap:
        found.append(Unfit("no tap"))
    elif one.tap and tap != one.tap:
        found.append(Unfit("other tap", {"got": tap, "asked": one.tap}))
    if not is_of(one, row):
        found.append(Unfit("other quantity", other(one, row)))
    for key in one.carries:
        if row.entry.payload.get(key) is None and key not in beside:
            found.append(Unfit("lacks", {"key": key}))
    return found


def _instrument(one: Input, row: Row, record: Record) -> list[Unfit]:
    if not one.traced and one.error_most <= 0.0:
        return []
    name = row.text("instrument")
    if not name:
        return [Unfit("no instrument")]
    told = record.described.get(name)
    if told is None:
        return [Unfit("not described", {"instrument": name})]
    return list(_by(one, row, [known for _, known in told[_in_force(told, row.at) :]]))


def _in_force(told: Descriptions, at: int) -> int:
    """Return which description held when a reading was taken; the first where none had been given yet."""
    return max(bisect_right(told, at, key=lambda each: each[0]) - 1, 0)


def _by(one: Input, row: Row, descriptions: list[Mapping[str, Scalar]]) -> Iterator[Unfit]:
    """Yield what is against a reading by the description of its instrument at that time, and by later ones.

    What was found of an instrument afterwards holds for what it read before.
    """
    said: set[str] = set()
    for known in descriptions:
        for found in (*_dated(one, row, known), *_true(one, row, known)):
            if found.why not in said:
                said.add(found.why)
                yield found


def _dated(one: Input, row: Row, known: Mapping[str, Scalar]) -> Iterator[Unfit]:
    name, due = row.text("instrument"), known["due"]
    if not is_number(due):
        yield Unfit("no due date", {"instrument": name})
    elif row.day > due:
        yield Unfit("overdue", {"instrument": name, "days": row.day - due})
    if known["quantity"] and known["quantity"] != one.quantity:
        yield Unfit("measures another quantity", {"instrument": name, "got": known["quantity"]})


def _true(one: Input, row: Row, known: Mapping[str, Scalar]) -> Iterator[Unfit]:
    name = row.text("instrument")
    error, low, high = (known[key] for key in ("error", "low", "high"))
    if one.error_most > 0.0 and not is_number(error):
        yield Unfit("class not known", {"instrument": name})
    elif is_number(error) and 0.0 < one.error_most * (1.0 + ROUNDING) < error:
        yield Unfit("too coarse", {"instrument": name, "error": error, "limit": one.error_most})
    margin = error if is_number(error) else 0.0
    division = known["division"] if is_number(known["division"]) else 0.0
    read_to = READ_TO * division
    if 0.0 < one.error_most * (1.0 + ROUNDING) < read_to:
        yield Unfit("division too coarse", {"instrument": name, "read": read_to, "limit": one.error_most})
    if (one.error_most > 0.0 or one.instrument == SETTING) and is_number(known["zero"]):
        limit = margin if is_number(error) else 0.5 * division
        off = known["zero"] + (row.number("corrected_by") or 0.0)
        if abs(off) > limit * (1.0 + ROUNDING):
            yield Unfit("zero off", {"instrument": name, "zero": off, "limit": limit})
    value = row.number("value")
    if value is not None and is_number(low) and is_number(high) and not low - margin <= value <= high:
        yield Unfit("beyond its range", {"instrument": name, "value": value, "low": low, "high": high})


def _stillness(one: Input, row: Row) -> list[Unfit]:
    if isinstance(row.entry.payload.get("swing"), Mapping):
        return [Unfit("swings", tells=True)]
    if one.stable_for <= 0.0:
        return []
    held, within = row.number("steady_for"), row.number("steady_within")
    if held is None or within is None:
        return [Unfit("not said how still")]
    if held < one.stable_for * (1.0 - ROUNDING):
        return [Unfit("held too short", {"held": held, "limit": one.stable_for}, tells=True)]
    if within > one.stable_within * (1.0 + ROUNDING):
        return [Unfit("moved too much", {"within": within, "limit": one.stable_within}, tells=True)]
    return []
