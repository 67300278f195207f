"""Things that go together: done under one isolation, and pulled in where their day is near enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from steadyhead.upkeep.places import is_within


@dataclass(frozen=True, slots=True)
class Line:
    """A thing due, as far as grouping asks: where, isolation, when, from when it may be pulled in."""

    key: str
    station: str
    isolation: str
    acts_on: date
    pull_from: date


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of one station and one isolation: those that are due, and those worth doing with them."""

    station: str
    isolation: str
    due: tuple[str, ...]
    pulled: tuple[str, ...]


def group(due: Sequence[Line], others: Sequence[Line], day: date) -> tuple[Group, ...]:
    """Return what is due in groups, in the order their first lines stand.

    Parameters
    ----------
    due
        Lines in the chosen span, in the order they are shown.
    others
        Lines of the same stations that may be pulled in: due later, within their share of the interval.
    day
        Today; the visit is taken to be on the later of today and the day the group's first line comes up.
    """
    heads: dict[tuple[str, str], list[Line]] = {}
    for line in due:
        heads.setdefault((line.station, line.isolation), []).append(line)
    shown = {line.key for line in due}
    taken: set[str] = set()
    groups = []
    for (station, isolation), lines in heads.items():
        visit = max(day, min(line.acts_on for line in lines))
        pulled = [
            other.key
            for other in others
            if other.station == station
            and other.key not in shown | taken
            and isolation
            and other.isolation
            and is_within(other.isolation, isolation)
            and other.pull_from <= visit
        ]
        taken |= set(pulled)
        groups.append(Group(station, isolation, tuple(line.key for line in lines), tuple(pulled)))
    return tuple(groups)
