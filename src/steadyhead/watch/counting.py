"""Numbers of things in words: one of them is said as one, and a sign is a sign."""

from __future__ import annotations


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
