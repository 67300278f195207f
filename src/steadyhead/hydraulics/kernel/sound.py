"""Whether a line can be solved at all: taps downstream, coefficients above nothing, numbers finite."""

from __future__ import annotations

from math import isfinite, isnan

from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    BAND,
    CHECK,
    CLOSING,
    DEMAND,
    DENSITY,
    DIAMETER,
    DIRECT,
    DRAIN,
    DRAWN,
    EXPONENT,
    FEED,
    FLOOR,
    FLOW_FORCE,
    FULL,
    LENGTH,
    LIFT,
    LOSS,
    PIPE,
    RECOVERY,
    REDUCER,
    REFERENCE,
    REFUSED_TAP,
    REFUSED_VALUE,
    RELIEF,
    SOLVED,
    SPRING_RISE,
    SUPPLY,
    TAP,
    TRAPPED,
    VALVE,
    VISCOSITY,
    Elements,
)
from steadyhead.laws.compiling import Floats, inner_kernel, kernel


@inner_kernel
def value_is_usable(kind: int, value: Floats) -> bool:
    """Return whether the values of one element allow a solve: nothing divides by 0, all are finite."""
    if kind == PIPE:
        return value[DIAMETER] > 0.0 and value[LENGTH] >= 0.0
    if kind == LOSS:
        return 0.0 < value[FULL] < 1e300
    if kind == CHECK:
        return 0.0 < value[FULL] < 1e300 and value[FLOOR] > 0.0
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


@inner_kernel
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


@inner_kernel
def taps_are_downstream(end: int, line: Elements) -> bool:
    """Return whether every reducer of a plain line senses a node at or below its own outlet."""
    for row in range(end):
        if line.kinds[row] != REDUCER and line.kinds[row] != DIRECT:
            continue
        if not isnan(line.values[row][TRAPPED]):
            continue
        tap = line.links[row][TAP]
        if tap < 0 or tap > row:
            return False
    return True


@kernel
def values_are_usable(line: Elements, conditions: Floats) -> bool:
    """Return whether conditions and all elements allow a solve."""
    if not conditions_are_usable(conditions):
        return False
    for row in range(len(line.kinds)):  # noqa: SIM110 (kernels know no generators)
        if not value_is_usable(line.kinds[row], line.values[row]):
            return False
    return True


@inner_kernel
def check_line(end: int, line: Elements, conditions: Floats) -> int:
    """Return SOLVED if a plain line can be solved, otherwise why not; an index of ENDINGS."""
    if not values_are_usable(line, conditions):
        return REFUSED_VALUE
    return SOLVED if taps_are_downstream(end, line) else REFUSED_TAP
