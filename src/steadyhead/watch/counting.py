"""Numbers of things in words: one of them is said as one, and a sign is a sign."""

from __future__ import annotations

from decimal import Decimal


def counted(number: int, thing: str) -> str:
    """Return a number of things.

    Examples
    --------
    >>> counted(1, "row"), counted(3, "row")
    ('1 row', '3 rows')
    """
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def often(number: int) -> str:
    """Return how often.

    Examples
    --------
    >>> often(1), often(2), often(7)
    ('once', 'twice', '7 times')
    """
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def two_figures(number: float) -> str:
    """Return a number with two figures and no exponent.

    Examples
    --------
    >>> two_figures(7.5e-4), two_figures(2.44e-6), two_figures(-0.031)
    ('0.00075', '0.0000024', '−0.031')
    """
    return signed(f"{Decimal(f'{number:.2g}'):f}")


def signed(figure: str) -> str:
    """Return a figure as people read it: a minus for a hyphen, and no sign before nothing.

    Examples
    --------
    >>> signed("-0.00"), signed("-0.31"), signed("+0.00"), signed("4.20")
    ('0.00', '−0.31', '0.00', '4.20')
    """
    if figure[:1] in "+-" and not any(one in "123456789" for one in figure):
        return figure[1:]
    return figure.replace("-", "−", 1) if figure.startswith("-") else figure
