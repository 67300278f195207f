"""Whether a line can be solved at all: taps downstream, coefficients above nothing, numbers finite."""

from __future__ import annotations

from math import isfinite, isnan

from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    BAND,
    CLOSING,
    DEMAND,
    DENSITY,
    DIAMETER,
    DIRECT,
    DRAIN,
    DRAWN,
    EXPONENT,
    FEED,
    FIRST_END,
    FIRST_START,
    FLOOR,
    FLOW_FORCE,
    FULL,
    LENGTH,
    LIFT,
    LOSS,
    PARALLEL,
    PIPE,
    RECOVERY,
    REDUCER,
    REFERENCE,
    REFUSED_BRANCH,
    REFUSED_TAP,
    REFUSED_VALUE,
    RELIEF,
    SECOND_END,
    SECOND_START,
    SOLVED,
    SPRING_RISE,
    SUPPLY,
    TAP,
    TRAPPED,
    VALVE,
    VISCOSITY,
)
from steadyhead.laws.compiling import Floats, FloatTable, Integers, IntegerTable, kernel


@kernel
def value_is_usable(kind: int, value: Floats) -> bool:
    """Return whether the values of one element allow a solve: nothing divides by 0, all are finite."""
    if kind == PIPE:
        return value[DIAMETER] > 0.0 and value[LENGTH] >= 0.0
    if kind == LOSS:
        return 0.0 < value[FULL] < 1e300
    if kind == DRAIN or kind == RELIEF:
        return 0.0 <= value[FULL] < 1e300
    if kind == VALVE or kind == REDUCER or kind == DIRECT:
        if not (0.0 < value[FULL] < 1e300 and value[FLOOR] > 0.0 and value[RECOVERY] > 0.0):
            return False
    if kind == VALVE:
        return not isnan(value[LIFT])
    if kind == DIRECT:
        return isfinite(value[CLOSING]) and value[BAND] > 0.0
    if kind == REDUCER:
        return (
            isfinite(value[CLOSING])
            and value[BAND] > 0.0
            and value[FEED] > 0.0
            and value[FLOW_FORCE] >= 0.0
            and value[SPRING_RISE] >= 0.0
            and value[FLOW_FORCE] + value[SPRING_RISE] > 0.0
        )
    return True


@kernel
def conditions_are_usable(conditions: Floats) -> bool:
    """Return whether the conditions of a solve are finite and positive where they must be."""
    for column in range(len(conditions)):
        if column != DRAWN and not isfinite(conditions[column]):
            return False
    drawn = conditions[DRAWN]
    return (
        conditions[DENSITY] > 0.0
        and conditions[VISCOSITY] > 0.0
        and conditions[ATMOSPHERE] > 0.0
        and conditions[SUPPLY] + conditions[ATMOSPHERE] >= 0.0
        and conditions[DEMAND] >= 0.0
        and conditions[EXPONENT] > 0.0
        and conditions[REFERENCE] > 0.0
        and (isnan(drawn) or (drawn >= 0.0 and isfinite(drawn)))
    )


@kernel
def taps_are_downstream(
    start: int, end: int, joint: int, kinds: Integers, links: IntegerTable, values: FloatTable
) -> bool:
    """Return whether every reducer of a stretch senses a node that the march has passed before it.

    `joint` is the outlet node of the parallel group the stretch is a branch of; for the main line the
    first node itself.
    """
    for row in range(start, end):
        if kinds[row] != REDUCER and kinds[row] != DIRECT:
            continue
        if not isnan(values[row][TRAPPED]):
            continue
        tap = links[row][TAP]
        if tap < 0 or tap > row or joint < tap < start:
            return False
    return True


@kernel
def branch_is_covered(start: int, end: int, kinds: Integers, values: FloatTable) -> bool:
    """Return whether a branch is a plain series: no group inside, no drain or relief valve that is open."""
    for row in range(start, end):
        if kinds[row] == PARALLEL:
            return False
        if (kinds[row] == DRAIN or kinds[row] == RELIEF) and values[row][FULL] > 0.0:
            return False
    return True


@kernel
def check_line(
    end: int, kinds: Integers, links: IntegerTable, values: FloatTable, conditions: Floats
) -> int:
    """Return SOLVED if the line can be solved, otherwise why not; an index of ENDINGS."""
    if not conditions_are_usable(conditions):
        return REFUSED_VALUE
    for row in range(len(kinds)):
        if not value_is_usable(kinds[row], values[row]):
            return REFUSED_VALUE
    if not taps_are_downstream(0, end, 0, kinds, links, values):
        return REFUSED_TAP
    for row in range(end):
        if kinds[row] == PARALLEL:
            link = links[row]
            if not branch_is_covered(link[FIRST_START], link[FIRST_END], kinds, values):
                return REFUSED_BRANCH
            if not branch_is_covered(link[SECOND_START], link[SECOND_END], kinds, values):
                return REFUSED_BRANCH
            first = taps_are_downstream(link[FIRST_START], link[FIRST_END], row, kinds, links, values)
            second = taps_are_downstream(link[SECOND_START], link[SECOND_END], row, kinds, links, values)
            if not (first and second):
                return REFUSED_TAP
    return SOLVED
