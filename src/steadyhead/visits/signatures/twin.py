"""The twin with something wrong in it: a drawn station whose parts, settings or valves are changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from steadyhead.hydraulics.kernel import layout
from steadyhead.laws.compiling import Floats
from steadyhead.visits.trial import State, Trial


@dataclass(frozen=True, slots=True)
class Held:
    """A pilot that cannot go below one opening or above another. [1]"""

    reducer: str
    least: float = 0.0
    most: float = 1.0


@dataclass(frozen=True, slots=True)
class Change:
    """What a cause changes in the twin.

    Parameters
    ----------
    columns
        Part, column of the kernel's table, number, whether it is a factor on what stands there.
    lockup
        What a pilot stands higher, by reducer id. [Pa]
    swirl
        What a pilot stands higher at peak flow, growing with the square of the flow, by reducer id. [Pa]
    lift
        Lift of a reducer or shut-off that cannot move, by id. [1]
    throttled
        Factor on the opening share of isolating valves, by id.
    stands
        Opening share of isolating valves whatever the step asks for, by id.
    supply
        What the inlet lacks, as a share of it. [1]
    pilot
        A pilot that is bound.
    leak
        Kv through which a shut reducer passes, for the rise of a section at no flow; 0: not, or at once.
    """

    columns: tuple[tuple[str, int, float, bool], ...] = ()
    lockup: Mapping[str, float] = field(default_factory=dict)
    swirl: Mapping[str, float] = field(default_factory=dict)
    lift: Mapping[str, float] = field(default_factory=dict)
    throttled: Mapping[str, float] = field(default_factory=dict)
    stands: Mapping[str, float] = field(default_factory=dict)
    supply: float = 0.0
    pilot: Held | None = None
    leak: float = 0.0


SOUND = Change()
"""Nothing is wrong."""


class Changed(Trial):
    """A drawn station that is asked with one change after another; see `Trial`."""

    def seen(
        self,
        change: Change,
        *,
        lockup: Mapping[str, float],
        flow: float = 0.0,
        openings: Mapping[str, float] | None = None,
        drains: Mapping[str, float] | None = None,
        lift: Mapping[str, float] | None = None,
        passing: float | None = None,
    ) -> State:
        """Return what stands at the taps with a change made; nothing of it is left behind.

        Parameters
        ----------
        change
            What is wrong.
        lockup, flow, openings, drains, lift, passing
            As `Trial.at`.
        """
        kept = [self._put(*column) for column in change.columns]
        stands = self._standing(change, lockup, flow)
        opened = self._opened(change, openings or {})
        held = {**(lift or {}), **change.lift}
        supply = self.supply * (1.0 - change.supply)
        state = self.at(
            flow=flow, openings=opened, lockup=stands, drains=drains, lift=held, supply=supply,
            passing=passing,
        )  # fmt: skip
        if change.pilot is not None and state.solved:
            state = self._bound(change.pilot, state)
        for row, column, number in reversed(kept):
            row[column] = number
        return state

    def _put(self, part: str, column: int, number: float, is_factor: bool) -> tuple[Floats, int, float]:
        row = self._row(part)
        before = float(row[column])
        row[column] = before * number if is_factor else number
        return row, column, before

    def _standing(self, change: Change, lockup: Mapping[str, float], flow: float) -> dict[str, float]:
        peak = self._model.station.demand.peak.si
        share = (flow / peak) ** 2 if peak > 0.0 else 0.0
        return {
            name: at + change.lockup.get(name, 0.0) + change.swirl.get(name, 0.0) * share
            for name, at in lockup.items()
        }

    def _opened(self, change: Change, openings: Mapping[str, float]) -> dict[str, float]:
        found = dict(openings)
        for name, factor in change.throttled.items():
            found[name] = min(found.get(name, 1.0) * factor, 1.0)
        found.update(change.stands)
        return found

    def _bound(self, pilot: Held, free: State) -> State:
        opening = free.pilots[pilot.reducer]
        if not isfinite(opening) or pilot.least <= opening <= pilot.most:
            return free
        row = self._row(pilot.reducer)
        row[layout.STUCK] = min(max(opening, pilot.least), pilot.most)
        state = self._solve()
        row[layout.STUCK] = float("nan")
        return state
