"""The steady twin as the design asks it: each design case once, and what a reducer locks up at."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import Model, build, build_plain, case, design_lockup, solve
from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.records.values import Evidence, Origin, Value
from steadyhead.station.defaults import LOCKUP_RISE
from steadyhead.water import WaterProperties


class SteadyTwin:
    """The twin of one station; answers are kept, so that every judgement sees the same ones.

    `problem` says why the design settings could not be worked out; lock-up is then what the file states or
    duty and the usual rise.
    """

    def __init__(self, station: Station) -> None:
        self.problem = ""
        self._station = station
        self._answers: dict[tuple[FlowCase, InletCase], Steady | NotConverged | InputError] = {}
        try:
            self.model: Model = build(station)
        except (NotConverged, InputError) as error:
            self.problem = str(error)
            self.model = build_plain(station)

    @property
    def water(self) -> WaterProperties:
        """Properties of the water at the station's usual temperature."""
        return self.model.water

    @property
    def atmosphere_abs(self) -> float:
        """Atmosphere at the station. [Pa abs]"""
        return self.model.atmosphere

    def lockup(self, reducer: str) -> Value:
        """Return lockup_pressure of a reducer with its provenance. [Pa at datum]"""
        if not self.problem:
            return design_lockup(self.model, reducer)
        part = next(r for r in self.model.reducers if r.id == reducer)
        if part.lockup is not None:
            return part.lockup
        si = part.duty.pressure.si + LOCKUP_RISE.si
        return Value(
            si,
            "pressure",
            f"{si / 1e5:.2f} bar",
            Origin.DEFAULT,
            Evidence.PRACTICE,
            f"duty plus {LOCKUP_RISE.text} ({LOCKUP_RISE.source})",
            spread=LOCKUP_RISE.spread,
        )

    def failed_open(self, reducer: str) -> Steady | None:
        """Return what a reducer stuck wide open gives; None: the twin has no answer.

        Highest static inlet; the night draw as a demand that grows with the pressure at the consumers' end,
        none where the file says that demand may be zero.
        Shut-offs stand open, relief valves let off.
        """
        try:
            night = self.steady("night", "static")
            at = case(self._station, "static", "night").conditions
            end = max(night.consumer_end, 1.0) / 1e5
            drawn = 0.0 if self._station.demand.zero_possible else at.consumer_flow or 0.0
            kv = 3600.0 * drawn / end**at.demand_exponent
            return solve(
                self.model, replace(at, consumer_flow=None, consumer_kv=kv, forced_lift={reducer: 1.0})
            )
        except (NotConverged, InputError):
            return None

    def steady(self, flow_case: FlowCase, inlet_case: InletCase) -> Steady:
        """Return the steady answer of a design case.

        Raises
        ------
        NotConverged, InputError
            The twin has no answer there.
        """
        key = (flow_case, inlet_case)
        if key not in self._answers:
            try:
                self._answers[key] = solve(self.model, case(self._station, inlet_case, flow_case).conditions)
            except (NotConverged, InputError) as error:
                self._answers[key] = error
        found = self._answers[key]
        if isinstance(found, Exception):
            raise found
        return found
