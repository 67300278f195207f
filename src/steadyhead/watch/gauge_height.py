"""That a limit of the station datum was carried to a logger's gauge, in words."""

from __future__ import annotations


def height_words(height: float) -> str:
    """Return where a gauge stands [m over the datum]; empty where it stands at it, to the centimetre.

    Examples
    --------
    >>> height_words(3.0), height_words(-0.25), height_words(0.001)
    ('3.0 m above the datum', '0.25 m below the datum', '')
    """
    figure = f"{abs(height):.2f}"
    if not float(figure):
        return ""
    figure = figure.removesuffix("0")
    return f"{figure} m {'above' if height > 0.0 else 'below'} the datum"


def at_gauge(height: float) -> str:
    """Return what stands behind a limit that was carried to a gauge; empty at the datum.

    Examples
    --------
    >>> at_gauge(3.0), at_gauge(0.0)
    (' at the gauge, 3.0 m above the datum', '')
    """
    words = height_words(height)
    return f" at the gauge, {words}" if words else ""


def carried(height: float) -> tuple[str, ...]:
    """Return the assumption of a measure whose limits were carried to its gauge; none at the datum.

    Examples
    --------
    >>> carried(3.0)
    ('limits carried to the gauge, 3.0 m above the datum',)
    """
    words = height_words(height)
    return (f"limits carried to the gauge, {words}",) if words else ()
