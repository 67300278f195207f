"""Which expressions are read at all: every branch is looked at, taken or not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeGuard

from steadyhead.errors import InputError

DEEPEST = 40
"""Deepest nesting read. Own estimate: predicates of plans reach 6."""
LARGEST = 1e300
"""Largest number read. Own estimate: far beyond any reading, short of what a double holds."""
Name = str | Sequence[str]
ANY_STEP = "*"
"""Stands for any step in a pair of step and input."""
OVER_ENTRIES = ("count", "first", "last", "least", "most", "begun")
"""Operators that go over all entries of a name."""
NO_READING = ("@action", "@choice", "@position", "@photo", "@note")
"""Inputs by which entries go that are no readings."""
INSTRUMENT_KEYS = ("name", "low", "high", "class", "division", "zero", "error", "due")
"""What is known of the instrument of a reading; ``error`` is class × span, ``due`` a day since 1970-01-01.

``name`` stands without regard to case and blanks: by it two readings tell whether one instrument gave both.
"""


def is_number(value: Any) -> TypeGuard[float]:
    """Return whether a value is a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def check(expression: Any, where: str = "expression") -> None:
    """Refuse an expression outside the grammar, in every branch, taken or not.

    Raises
    ------
    InputError
        The place, what stands there, and what may stand there.
    """
    _check(expression, where, 0)


def names(expression: Any) -> frozenset[str | tuple[str, str]]:
    """Return every input an expression reads: a name of this step, or a pair (step, input)."""
    found: set[str | tuple[str, str]] = set()
    if isinstance(expression, Mapping):
        for operator, argument in expression.items():
            if operator in ("value", "given", "time", "order"):
                found.add(_key(argument))
            elif operator in ("carried", "instrument") and not isinstance(argument, str):
                found.add(_key(argument[0]))
            elif operator == "expect":
                found.add(str(argument[0]))
            elif operator in OVER_ENTRIES:
                found.add(_key(argument["of"]))
                found |= names(argument.get("where"))
            elif operator == "table":
                found |= names(argument["x"])
            elif operator not in ("entry", "limit", "instrument"):
                found |= names(argument)
    elif isinstance(expression, list | tuple):
        for part in expression:
            found |= names(part)
    return frozenset(found)


def banded(expression: Any) -> frozenset[str]:
    """Return every input of this step that an expression holds against its expected band."""
    if isinstance(expression, list | tuple):
        return frozenset().union(*(banded(part) for part in expression))
    if not isinstance(expression, Mapping):
        return frozenset()
    edge = expression.get("expect")
    if isinstance(edge, list | tuple) and len(expression) == 1:
        return frozenset((str(edge[0]),))
    return frozenset().union(*(banded(part) for part in expression.values()))


def limits(expression: Any) -> frozenset[str]:
    """Return the name of every limit of the plan an expression looks at."""
    if isinstance(expression, list | tuple):
        return frozenset().union(*(limits(part) for part in expression))
    if not isinstance(expression, Mapping):
        return frozenset()
    if isinstance(expression.get("limit"), str) and len(expression) == 1:
        return frozenset((expression["limit"],))
    return frozenset().union(*(limits(part) for part in expression.values()))


def _key(name: Name) -> str | tuple[str, str]:
    return name if isinstance(name, str) else (name[0], name[1])


def _refuse(where: str, problem: str, remedy: str) -> InputError:
    return InputError(where, problem, remedy)


def _single(expression: Mapping[str, Any], where: str) -> tuple[str, Any]:
    if len(expression) != 1:
        raise _refuse(where, f"got {len(expression)} keys.", "Write one operator as the only key.")
    operator, argument = next(iter(expression.items()))
    if operator not in _SHAPES:
        raise _refuse(
            where, f"got the operator {operator!r:.60}.", f"Use one of: {', '.join(sorted(_SHAPES))}."
        )
    return operator, argument


def _check(expression: Any, where: str, depth: int) -> None:
    if depth > DEEPEST:
        raise _refuse(where, f"is nested deeper than {DEEPEST}.", "Split it into several predicates.")
    if expression is None or isinstance(expression, bool | str):
        return
    if isinstance(expression, int | float):
        if not abs(expression) <= LARGEST:
            raise _refuse(where, "got a number that is too large.", f"Write a number within ±{LARGEST:g}.")
        return
    if not isinstance(expression, Mapping):
        raise _refuse(where, f"got {type(expression).__name__}.", "Write a value or a map with one operator.")
    operator, argument = _single(expression, where)
    _SHAPES[operator](argument, f"{where}.{operator}", depth + 1)


def _many(least: int, most: int | None = None) -> Callable[[Any, str, int], None]:
    def shape(argument: Any, where: str, depth: int) -> None:
        if not isinstance(argument, list | tuple) or len(argument) < least or (most and len(argument) > most):
            wanted = f"a list of {least}" if most == least else f"a list of {least} or more"
            raise _refuse(where, f"got {argument!r:.60}.", f"Write {wanted}.")
        for index, part in enumerate(argument):
            _check(part, f"{where}[{index}]", depth)

    return shape


def _name(argument: Any, where: str, depth: int) -> None:
    pair = (
        isinstance(argument, list | tuple)
        and len(argument) == 2
        and all(isinstance(a, str) for a in argument)
    )
    if not (pair or (isinstance(argument, str) and argument)):
        raise _refuse(
            where, f"got {argument!r:.60}.", "Write the name of an input, or a pair of step and input."
        )


def _edge(argument: Any, where: str, depth: int) -> None:
    fine = isinstance(argument, list | tuple) and len(argument) == 2 and isinstance(argument[0], str)
    if not fine or argument[1] not in ("low", "high", "nominal"):
        raise _refuse(where, f"got {argument!r:.60}.", "Write an input and one of: low, high, nominal.")


def _entry(argument: Any, where: str, depth: int) -> None:
    if not isinstance(argument, str) or not argument:
        raise _refuse(
            where, f"got {argument!r:.60}.", "Write value, time, order, day or a key of the payload."
        )


def _limit(argument: Any, where: str, depth: int) -> None:
    if not isinstance(argument, str) or not argument:
        raise _refuse(where, f"got {argument!r:.60}.", "Write the name of a limit of the plan.")


def _carried(argument: Any, where: str, depth: int) -> None:
    pair = isinstance(argument, list | tuple) and len(argument) == 2 and isinstance(argument[1], str)
    if not pair or not argument[1]:
        raise _refuse(where, f"got {argument!r:.60}.", "Write a pair: the name of an input, and a key.")
    _name(argument[0], f"{where}[0]", depth)


def _instrument(argument: Any, where: str, depth: int) -> None:
    key = argument
    if not isinstance(argument, str):
        _carried(argument, where, depth)
        key = argument[1]
    if key not in INSTRUMENT_KEYS:
        raise _refuse(where, f"got {key!r:.60}.", f"Use one of: {', '.join(INSTRUMENT_KEYS)}.")


def _table(argument: Any, where: str, depth: int) -> None:
    if not isinstance(argument, Mapping) or set(argument) != {"x", "at", "give"}:
        raise _refuse(where, "is no table.", "Write x, at and give.")
    _check(argument["x"], f"{where}.x", depth)
    rows = [argument["at"], argument["give"]]
    numbers = all(isinstance(row, list | tuple) and all(is_number(v) for v in row) for row in rows)
    if not numbers or len(rows[0]) != len(rows[1]) or len(rows[0]) < 2:
        raise _refuse(
            where, "has rows that do not match.", "Write two or more numbers in at and as many in give."
        )
    if any(b <= a for a, b in zip(rows[0], rows[0][1:], strict=False)):
        raise _refuse(f"{where}.at", "does not rise.", "Write the rows in rising order.")


def _entries(argument: Any, where: str, depth: int) -> None:
    known = {"of", "where", "back"} if where.endswith(("first", "last")) else {"of", "where"}
    if not isinstance(argument, Mapping) or "of" not in argument or not set(argument) <= known:
        raise _refuse(
            where, "does not say which entries.", f"Write of, and where needed: {', '.join(sorted(known))}."
        )
    _name(argument["of"], f"{where}.of", depth)
    _check(argument.get("where"), f"{where}.where", depth)
    back = argument.get("back", 0)
    if isinstance(back, bool) or not isinstance(back, int) or back < 0:
        raise _refuse(f"{where}.back", f"got {back!r:.60}.", "Write a whole number, 0 or more.")


def _one(argument: Any, where: str, depth: int) -> None:
    _check(argument, where, depth)


_SHAPES: dict[str, Callable[[Any, str, int], None]] = {
    **dict.fromkeys(("lt", "le", "gt", "ge", "eq", "ne", "sub", "div", "says"), _many(2, 2)),
    **dict.fromkeys(("all", "any", "add", "mul", "min", "max"), _many(1)),
    **dict.fromkeys(("not", "abs"), _one),
    **dict.fromkeys(("value", "given", "time", "order"), _name),
    **dict.fromkeys(OVER_ENTRIES, _entries),
    "if": _many(3, 3), "expect": _edge, "entry": _entry, "table": _table, "limit": _limit,
    "carried": _carried, "instrument": _instrument,
}  # fmt: skip
