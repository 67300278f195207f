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
    Elements,
)
from steadyhead.laws.compiling import Floats, kernel


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
def taps_are_downstream(start: int, end: int, joint: int, line: Elements) -> bool:
    """Return whether every reducer of a stretch senses a node that the march has passed before it.

    `joint` is the outlet node of the parallel group the stretch is a branch of; for the main line the
    first node itself.
    """
    for row in range(start, end):
        if line.kinds[row] != REDUCER and line.kinds[row] != DIRECT:
            continue
        if not isnan(line.values[row][TRAPPED]):
            continue
        tap = line.links[row][TAP]
        if tap < 0 or tap > row or joint < tap < start:
            return False
    return True


@kernel
def branch_is_covered(start: int, end: int, line: Elements) -> bool:
    """Return whether a branch is a plain series: no group inside, no drain or relief valve that is open."""
    for row in range(start, end):
        if line.kinds[row] == PARALLEL:
            return False
        if (line.kinds[row] == DRAIN or line.kinds[row] == RELIEF) and line.values[row][FULL] > 0.0:
            return False
    return True


@kernel
def check_line(end: int, line: Elements, conditions: Floats) -> int:
    """Return SOLVED if the line can be solved, otherwise why not; an index of ENDINGS."""
    if not conditions_are_usable(conditions):
        return REFUSED_VALUE
    for row in range(len(line.kinds)):
        if not value_is_usable(line.kinds[row], line.values[row]):
            return REFUSED_VALUE
    if not taps_are_downstream(0, end, 0, line):
        return REFUSED_TAP
    for row in range(end):
        if line.kinds[row] == PARALLEL:
            link = line.links[row]
            if not branch_is_covered(link[FIRST_START], link[FIRST_END], line):
                return REFUSED_BRANCH
            if not branch_is_covered(link[SECOND_START], link[SECOND_END], line):
                return REFUSED_BRANCH
            first = taps_are_downstream(link[FIRST_START], link[FIRST_END], row, line)
            second = taps_are_downstream(link[SECOND_START], link[SECOND_END], row, line)
            if not (first and second):
                return REFUSED_TAP
    return SOLVED
