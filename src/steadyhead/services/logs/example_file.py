"""A logger's file of one example station, to try reading, judging and telling with: invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from math import exp, pi, sin
from random import Random

NAME = "kiosk.csv"
STATION = "DMB-01"
SUMMARY = "Two weeks of a logger in Dunmarrow Bottom (DMB-01), for `steadyhead logs read`."
FIRST = datetime(2026, 2, 9)
DAYS = 14
TRIP, RESET = datetime(2026, 2, 20, 2, 41), datetime(2026, 2, 20, 6, 22)
"""When the shut-off closes, and when somebody opens it again; on the clock of the place, as all stamps."""
GONE, BACK = datetime(2026, 2, 13, 9, 10), datetime(2026, 2, 13, 11, 40)
"""Without samples: the battery is changed."""
_HEADS = "Zeit;Eingangsdruck T1 [bar];Ausgangsdruck T3 [bar];Durchfluss [l/s];Absperrventil geschlossen"
_LOCKUP, _TRIP = 3.6, 4.75


def example_file() -> str:
    """Return two weeks of Dunmarrow Bottom, a row a minute, as loggers of German-speaking offices write it.

    Semicolons, decimal commas, lines ahead, two rows of words, a gap. The lock-up pressure creeps up over the
    nights; in one the reducer fails open and the shut-off closes.
    """
    lines = [
        "Gerät;Kiosk am Weg",
        f"Messstelle;{STATION}",
        "Zeitangaben;Winterzeit (UTC+1)",
        "",
        _HEADS,
        *_rows(),
    ]
    return "\n".join(lines) + "\n"


def _rows() -> Iterator[str]:
    chance = Random(41)
    supply = draw = 0.0
    for minute in range(DAYS * 1440):
        when = FIRST + timedelta(minutes=minute)
        supply = 0.98 * supply + chance.gauss(0, 0.006)
        draw = 0.9 * draw + chance.gauss(0, 0.12)
        if GONE <= when < BACK:
            if when in (GONE, BACK - timedelta(minutes=1)):
                yield f"{when:%d.%m.%Y %H:%M};{'Batterie schwach' if when == GONE else 'Batterie gewechselt'}"
            continue
        flow = max(0.35, _usual(when) * (1 + 0.25 * draw))
        outlet = _LOCKUP - 0.2 * (flow / 2.5) ** 0.6 + _creep(when) * exp(-flow / 0.8)
        closed = TRIP <= when < RESET
        if closed:
            flow, outlet = 0.0, max(0.9, 4.6 * exp(-(when - TRIP) / timedelta(minutes=55)))
        elif timedelta() < TRIP - when <= timedelta(minutes=3):
            outlet = _TRIP - 0.28 * (TRIP - when) / timedelta(minutes=1)
        inlet = 8.5 - 1.3 * (flow / 9.5) ** 1.85 + supply
        cells = (f"{inlet:.2f}", f"{outlet + chance.gauss(0, 0.006):.3f}", f"{flow:.2f}")
        yield f"{when:%d.%m.%Y %H:%M};{';'.join(cells).replace('.', ',')};{int(closed)}"


def _usual(when: datetime) -> float:
    """Return the draw at a time of day: two humps, a quiet night, more on a Sunday. [L/s]"""
    hour = when.hour + when.minute / 60
    humps = 5.2 * exp(-(((hour - 7.6) / 1.7) ** 2)) + 3.6 * exp(-(((hour - 19.0) / 2.4) ** 2))
    return 0.55 + (humps + 1.6 * max(0.0, sin(pi * (hour - 6) / 16))) * (1.15 if when.weekday() == 6 else 1.0)


def _creep(when: datetime) -> float:
    """Return how far the lock-up pressure has crept up. [bar]"""
    days = (when - FIRST) / timedelta(days=1)
    return 0.035 * max(0.0, days - 3.0) if when < RESET else 0.0
