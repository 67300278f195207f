"""What every rule of the audit is given."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, Final

from steadyhead.records.job import Job
from steadyhead.units import from_si
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.follow import Followed, State
from steadyhead.visits.audit.model import Moment, Read, Story

_DECIMALS: Final = {"bar": 2, "kPa": 0, "mbar": 0, "MPa": 3, "psi": 1, "m head": 1}
TRIP_STEPS: Final = ("F1", "F2", "F3", "F4", "F5", "Y4", "Y6", "DS6", "R8")
RAISED_STEPS: Final = ("ES3", "F1", "F3", "DS3", "DS6", "Y4", "Y6", "G4")
"""Steps at which the outlet is raised above duty."""


STANDBY: Final = re.compile(r"\b(?:stand-?by|stby|sby)\b", re.IGNORECASE)
_WORKED: Final = ("raise", "lower", "adjust", "trip", "reset")
"""Acts by whose thing a moment without a word of it shows its stream."""
_OF_DUTY: Final = re.compile(
    r"\bduty (?:stream|shut-?off|so|side|valve|reducer|pilot|line|and standby)\b|\bstandby (?:\w+ )?"
    r"(?:isolated|shut(?![- ]?off)|closed)\b|\bboth streams\b"
)
"""Words by which a moment that names the standby stream speaks of the other one, too."""


@dataclass(frozen=True, slots=True)
class Case:
    """One record with its job and the station followed through it; `kept`: what rules worked out once."""

    job: Job
    story: Story
    followed: Followed
    kept: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)

    def told(self, pressure: float) -> str:
        """Return a pressure in the job's unit."""
        unit = self.job.unit
        try:
            value = from_si(pressure, "pressure", unit)
        except KeyError:
            unit, value = "bar", pressure / 1e5
        return f"{value:.{_DECIMALS.get(unit, 2)}f} {unit}"

    def before(self, moment: Moment) -> State:
        """Return the state in which a moment began."""
        return self.followed.at[moment.index]

    def after(self, moment: Moment) -> State:
        """Return the state in which a moment ended."""
        later = self.followed.at[moment.index + 1 :]
        return later[0] if later else self.followed.end

    def trip_of(self, moment: Moment) -> float | None:
        """Return the trip pressure that a run of this moment is held against. [Pa]

        On a visit that changes the setting the old one holds until a hand is on it.
        """
        standby = self.job.standby_trip is not None and stream_of(moment) == "standby"
        trip = self.job.standby_trip if standby else self.job.trip
        left = self.job.last_left.get("standby_trip" if standby else "trip")
        if trip is None or left is None or self.job.kind != "yearly" or self._set_before(moment, "shut-off"):
            return trip
        band, told = self.job.tolerance_up or 0.0, moment.expected.get("trip")
        old = isinstance(told, float) and abs(told - trip) > abs(told - left)
        if not old and abs(left - trip) <= band:
            return trip
        return told if isinstance(told, float) and old else left

    def trickle_asked(self, moment: Moment) -> float | None:
        """Return the trickle reading that holds at a moment, by the duty that is set then. [Pa]"""
        asked, left, duty = self.job.trickle_reading, self.job.last_left.get("duty"), self.job.duty
        if asked is None or left is None or duty is None or self.job.kind != "yearly":
            return asked
        set_anew = any(m.index < moment.index for m in self.story.of("H1", "Y7", "ES1", "DS5"))
        return asked if set_anew else asked + left - duty

    def _set_before(self, moment: Moment, what: str) -> bool:
        """Return whether a setting was moved before a moment."""
        return any(
            step.moment.index < moment.index
            and step.act.do in ("raise", "lower", "adjust", "turn", "set", "defeat")
            and what in step.act.words
            and not re.search(r"cock|sensing|line|relief", step.act.thing)
            for step in self.followed.steps
        )

    def raises(self) -> tuple[Moment, ...]:
        """Return the moments at which the line is raised above duty by the reducer."""
        return tuple(m for m in self.story.moments if self.is_raise(m))

    def is_raise(self, moment: Moment) -> bool:
        """Return whether the line is raised above duty by the reducer at this moment."""
        if self.is_injection(moment):
            return False
        if moment.step in RAISED_STEPS and (moment.reads or moment.done("raise", "trip")):
            return bool(moment.done("raise", "adjust", "trip") or moment.trips or self._above(moment))
        return moment.step not in ("C1", "D2", "H1", "Y7") and any(
            "reducer" in act.words and self._above(moment) for act in moment.done("raise")
        )

    def _above(self, moment: Moment) -> bool:
        top = self.job.lockup_highest or self.job.duty
        return top is not None and any((r.value or 0.0) > top for r in moment.at_tap("T3"))

    def is_injection(self, moment: Moment) -> bool:
        """Return whether a run was made by pump at the sensing line, not by raising the line."""
        if moment.done("inject"):
            return True
        return bool(moment.trips) and self.job.layout == "injection" and not moment.done("raise")

    @property
    def is_injection_job(self) -> bool:
        """Return whether any run was made by pump at the sensing line."""
        return self.job.layout == "injection" or any(m.done("inject") for m in self.story.moments)

    @property
    def has_shut_off(self) -> bool:
        """Whether the job speaks of a shut-off to be proved."""
        return self.job.trip is not None and not (
            self.job.layout == "relief" and self.job.repeatability is None
        )


def stream_of(moment: Moment) -> str:
    """Return the stream a moment speaks of, empty where the station has one or it names none."""
    if "." in moment.node:
        return moment.node.split(".", 1)[1]
    if STANDBY.search(moment.words):
        return "" if _OF_DUTY.search(moment.words) else "standby"
    return "standby" if any(STANDBY.search(a.thing) for a in moment.done(*_WORKED)) else ""


def breach(
    code: str,
    rule: str,
    level: Level,
    moment: Moment,
    seen: str,
    remedy: str,
    *,
    accepts: bool = False,
    absent: bool = False,
) -> Breach:
    """Return a breach without figures."""
    return Breach(code, rule, level, moment, seen, remedy, accepts=accepts, absent=absent)


def value_at(reads: tuple[Read, ...], last: bool = True) -> float | None:
    """Return the last (first) value of readings."""
    values = [r.value for r in reads if r.value is not None]
    return (values[-1] if last else values[0]) if values else None
