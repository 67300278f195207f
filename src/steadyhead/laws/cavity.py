"""Gas cavities at the nodes of a pipe: no switch between liquid and cavity, never below vapour pressure."""

from __future__ import annotations

from math import sqrt

from steadyhead.laws.compiling import kernel


@kernel
def head_over_gas(slope: float, offset: float, gas: float) -> float:
    """Return the absolute head above vapour pressure at a node with a little free gas. [m]

    Isothermal gas at the partial pressure left above vapour; a fixed small amount stays at each node.

    Parameters
    ----------
    slope
        S: gas volume lost for a metre of head in one time step, above 0. [m²]
    offset
        T: gas volume that would remain at no head. [m³]
    gas
        M: gas volume times absolute head above vapour, above 0. [m⁴]

    Notes
    -----
    Positive root of S h² + T h − M = 0 without cancellation, the discrete gas cavity of E.B. Wylie,
    J. Fluids Eng. 106, 1984 (from memory).

    Examples
    --------
    >>> head_over_gas(1.0, -1.0, 2.0), head_over_gas(1.0, 1.0, 2.0)
    (2.0, 1.0)
    """
    root = sqrt(offset * offset + 4.0 * slope * gas)
    if offset >= 0.0:
        return 2.0 * gas / (offset + root)
    return (root - offset) / (2.0 * slope)
