"""A closed expression language for predicates of steps (agreement A9): data, never program text.

Grammar
-------
An expression is JSON: a number, text, ``true``, ``false``, ``null``, or a map with ONE operator as its key::

    {"value": "T3"}                      newest value of an input of this step
    {"value": ["F1.SO", "T3"]}           newest value of an input of another step
    {"given": NAME}                      has such a value been taken
    {"expect": ["T3", "low"]}            edge of the expected band of this step: low, high or nominal
    {"lt": [a, b]}                       numbers: lt le gt ge; any one type: eq ne
    {"all": [...]}  {"any": [...]}  {"not": a}
    {"add": [...]}  {"mul": [...]}  {"min": [...]}  {"max": [...]}
    {"sub": [a, b]}  {"div": [a, b]}  {"abs": a}  {"if": [condition, a, b]}
    {"table": {"x": a, "at": [...], "give": [...]}}     straight lines between rows, nothing beyond them
    {"count": {"of": NAME, "where": p}}                 how many entries of that name fulfil p
    {"last": {"of": NAME, "where": p, "back": 0}}       the newest such value, or the one ``back`` before it
    {"first": {"of": NAME, "where": p, "back": 0}}      the oldest such value, or the one ``back`` after it
    {"least": {"of": NAME, "where": p}}  {"most": …}    smallest and largest of such values that are numbers
    {"begun": {"of": NAME, "where": p}}                 place in the order of judging of the oldest such entry
    {"time": NAME}  {"order": NAME}      corrected time [s] and place in the order of judging of the newest
    {"carried": [NAME, KEY]}             what else the newest carried: a key of its payload, ``who``,
                                         ``day``, how much ``early`` and ``late`` its clock leaves open [s]
    {"instrument": [NAME, KEY]}          of the instrument it was read with: `grammar.INSTRUMENT_KEYS`
    {"limit": NAME}                      a number of the plan
    {"entry": KEY}                       inside ``where``, of the entry looked at: ``value``, ``time``,
                                         ``order``, ``step``, or what it carried
    {"instrument": KEY}                  inside ``where``: of the instrument it was read with

    {"says": [a, b]}                     does text a bear text b, letters and figures alone, in any case

``where`` and ``back`` may be left out. ``NAME`` is an input of this step or a pair [step, input]; the step
``*`` is any step. What is no reading goes by these inputs: ``@action`` (value: what was done), ``@choice``
(option), ``@position`` (where it stands), ``@photo`` (of what), ``@note`` (text); entries without a step have
the step ``""``.

Meaning
-------
``null`` is *not known*. Arithmetic and comparison with anything not known, or of the wrong type, is
not known; so is a division by zero, a result that is not finite, and a table asked beyond its rows.
``all`` is false as soon as one part is false, else not known as soon as one part is not known; ``any``
the other way round.
A predicate holds only where it is ``true``: what is not known never counts as fine and never as a fault.
All numbers are IEEE doubles; sums and products run from left to right.
"""

from __future__ import annotations

import math
import operator as op
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from steadyhead.procedure.grammar import ANY_STEP, OVER_ENTRIES, Name, check, is_number, names
from steadyhead.procedure.naming import plainly

__all__ = ["Context", "Entries", "Scalar", "Taken", "check", "evaluate", "holds", "names"]

Scalar = float | str | bool | None


_NOTHING: Mapping[str, Scalar] = {}
_NO_EDGES: Mapping[str, float | None] = {}


@dataclass(frozen=True, slots=True)
class Taken:
    """One thing somebody took down.

    Parameters
    ----------
    node, input, value
        Step, input, and its value in SI.
    time
        Corrected time. [s]
    order
        Place in the order of judging.
    keys
        What else it carried: keys of its payload, ``who``, ``day``.
    """

    node: str
    input: str
    value: Scalar
    time: float | None = None
    order: float | None = None
    keys: Mapping[str, Scalar] = field(default_factory=dict)


class Entries:
    """Values in the order they were taken, found by step and input without going through all of them."""

    def __init__(self, taken: Iterable[Taken] = ()) -> None:
        self._of: dict[tuple[str, str], list[Taken]] = {}
        for one in taken:
            self.append(one)

    def append(self, taken: Taken) -> None:
        """Add one behind the others."""
        for node in {taken.node, ANY_STEP}:
            self._of.setdefault((node, taken.input), []).append(taken)

    def of(self, node: str, name: str) -> Sequence[Taken]:
        """Return the values of an input of a step; step ``*``: of any."""
        return self._of.get((node, name), ())


@dataclass(frozen=True, slots=True)
class Context:
    """What an expression may look at.

    Parameters
    ----------
    node
        Step whose inputs are meant where none is named.
    entries
        Values taken so far, in the order of judging.
    bands
        Expected low, high and nominal by input of this step; None: no such edge. [SI]
    limits
        Numbers of the plan by name. [SI]
    instruments
        What is known of each instrument, by its name.
    """

    node: str = ""
    entries: Sequence[Taken] | Entries = ()
    bands: Mapping[str, Mapping[str, float | None]] = field(default_factory=dict)
    limits: Mapping[str, float] = field(default_factory=dict)
    instruments: Mapping[str, Mapping[str, Scalar]] = field(default_factory=dict)


def evaluate(expression: Any, context: Context | None = None) -> Scalar:
    """Return the value of an expression; ``None`` is *not known*.

    Raises
    ------
    InputError
        An expression outside the grammar, with the place in it.

    Examples
    --------
    >>> evaluate({"gt": [{"value": "T3"}, 5e5]}, Context("F1.SO", [Taken("F1.SO", "T3", 5.2e5)]))
    True
    >>> evaluate({"gt": [{"value": "T3"}, 5e5]}) is None
    True
    """
    check(expression)
    return _value(expression, context or Context(), None)


def holds(expression: Any, context: Context | None = None) -> bool:
    """Return whether a predicate is true; false and not known both give ``False``."""
    return evaluate(expression, context) is True


def _value(expression: Any, context: Context, looked_at: Taken | None) -> Scalar:
    if not isinstance(expression, Mapping):
        return _plain(expression)
    operator, argument = next(iter(expression.items()))

    def part(inner: Any) -> Scalar:
        return _value(inner, context, looked_at)

    if operator in ("value", "given", "time", "order", "carried"):
        return _newest(operator, argument, context)
    if operator in ("entry", "instrument"):
        return _of_entry(operator, argument, context, looked_at)
    if operator == "expect":
        return _plain(context.bands.get(argument[0], _NO_EDGES).get(argument[1]))
    if operator == "limit":
        return _plain(context.limits.get(argument))
    if operator in OVER_ENTRIES:
        return _over_entries(operator, argument, context)
    if operator == "table":
        return _look_up(part(argument["x"]), argument["at"], argument["give"])
    if operator == "if":
        condition = part(argument[0])
        return part(argument[1]) if condition is True else part(argument[2]) if condition is False else None
    if operator in ("not", "abs"):
        return _unary(operator, part(argument))
    return _combined(operator, [part(inner) for inner in argument])


def _found(context: Context, name: Name) -> Sequence[Taken]:
    node, wanted = (context.node, name) if isinstance(name, str) else (name[0], name[1])
    if isinstance(context.entries, Entries):
        return context.entries.of(node, wanted)
    return [taken for taken in context.entries if taken.input == wanted and (node in (taken.node, ANY_STEP))]


def _newest(operator: str, argument: Any, context: Context) -> Scalar:
    found = _found(context, argument[0] if operator == "carried" else argument)
    if operator == "given":
        return bool(found)
    if not found:
        return None
    return _key_of(found[-1], argument[1] if operator == "carried" else operator)


def _of_entry(operator: str, argument: Any, context: Context, looked_at: Taken | None) -> Scalar:
    """Return a key of the entry looked at, or of its instrument, or of the instrument of the newest."""
    if operator == "entry":
        return None if looked_at is None else _key_of(looked_at, argument)
    key, taken = argument, looked_at
    if not isinstance(argument, str):
        found = _found(context, argument[0])
        key, taken = argument[1], found[-1] if found else None
    name = None if taken is None else taken.keys.get("instrument")
    return _plain(context.instruments.get(name, _NOTHING).get(key)) if isinstance(name, str) else None


def _key_of(taken: Taken, key: str) -> Scalar:
    if key in ("value", "time", "order"):
        return _plain({"value": taken.value, "time": taken.time, "order": taken.order}[key])
    return taken.node if key == "step" else _plain(taken.keys.get(key))


def _over_entries(operator: str, argument: Mapping[str, Any], context: Context) -> Scalar:
    wanted = argument.get("where", True)
    found = [taken for taken in _found(context, argument["of"]) if _value(wanted, context, taken) is True]
    if operator == "count":
        return float(len(found))
    if operator in ("least", "most"):
        numbers = [float(taken.value) for taken in found if is_number(taken.value)]
        return (min if operator == "least" else max)(numbers, default=None)
    if operator == "begun":
        return _key_of(found[0], "order") if found else None
    back = argument.get("back", 0)
    if back >= len(found):
        return None
    return _plain(found[back if operator == "first" else -1 - back].value)


def _look_up(x: Scalar, at: Sequence[float], give: Sequence[float]) -> Scalar:
    if not is_number(x) or x < at[0] or x > at[-1]:
        return None
    last = next(index for index in range(1, len(at)) if x <= at[index])
    share = (x - at[last - 1]) / (at[last] - at[last - 1])
    return float(give[last - 1] + (give[last] - give[last - 1]) * share)


def _unary(operator: str, value: Scalar) -> Scalar:
    if operator == "not":
        return (not value) if isinstance(value, bool) else None
    return abs(value) if is_number(value) else None


def _combined(operator: str, values: list[Scalar]) -> Scalar:
    if operator in ("all", "any"):
        settles = operator == "any"
        if any(value is settles for value in values):
            return settles
        return (not settles) if all(value is (not settles) for value in values) else None
    if operator in ("eq", "ne"):
        first, second = values
        if first is None or second is None or type(first) is not type(second):
            return None
        return (first == second) is (operator == "eq")
    if operator == "says":
        return _says(values[0], values[1])
    numbers = [value for value in values if is_number(value)]
    if len(numbers) < len(values):
        return None
    if operator in _COMPARE:
        return _COMPARE[operator](numbers[0], numbers[1])
    return _arithmetic(operator, numbers)


def _says(text: Scalar, wanted: Scalar) -> bool | None:
    """Return whether one text bears another, by letters and figures alone; none of these: not known."""
    if not isinstance(text, str) or not isinstance(wanted, str) or not plainly(wanted):
        return None
    return plainly(wanted) in plainly(text)


_COMPARE: dict[str, Callable[[float, float], bool]] = {"lt": op.lt, "le": op.le, "gt": op.gt, "ge": op.ge}
_ARITHMETIC: dict[str, Callable[[float, float], float]] = {
    "add": op.add, "sub": op.sub, "mul": op.mul, "div": op.truediv, "min": min, "max": max,
}  # fmt: skip


def _arithmetic(operator: str, numbers: list[float]) -> float | None:
    result = numbers[0]
    for number in numbers[1:]:
        if operator == "div" and number == 0.0:
            return None
        result = _ARITHMETIC[operator](result, number)
    return result if math.isfinite(result) else None


def _plain(value: Scalar) -> Scalar:
    return float(value) if is_number(value) else value
