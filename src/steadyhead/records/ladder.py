"""The pressure ladder and its trip window, as data (handbook 2.4, 2.5). All pressures Pa gauge at datum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["open", "empty", "not known", "no shut-off"]


@dataclass(frozen=True, slots=True)
class Contribution:
    """One block of a stack: what it is, how high, where the number comes from."""

    label: str
    size: float
    provenance: str = ""


@dataclass(frozen=True, slots=True)
class LadderInputs:
    """Everything the ladder's arithmetic needs; every field Pa gauge at datum unless said.

    Parameters
    ----------
    duty, lockup
        duty_pressure, and lockup_pressure of the stream that leads at zero flow.
    highest_normal_adds
        Repeatability, drift, tolerated hunting, setting error: added to lockup.
    lowest_normal_takes
        Droop to peak, shut-off loss where it lies after the tap, repeatability, drift: taken from duty.
    needed
        Lowest outlet pressure that serves every critical point; None: not stated.
    gap
        Least gap between highest normal and the trip's lower edge.
    trip
        Chosen trip_pressure; None: not chosen.
    trip_tolerances
        Repeatability, drift, gauge: what can move a trip; of the chosen one where it lies in the window, else
        of the window's middle.
    gauge_offset_cancels
        True where both pilots are set with one gauge on one tap: the gauge leaves the low side.
    overshoot
        Rise above the upper edge in the credited failure, at the same trip as `trip_tolerances`; None: not
        known.
    normal_limit, fault_limit
        Weakest component; None: not known.
    alarm, alarm_error
        High alarm and ± of its transmitter; None: no alarm.
    reset
        Reset pressure of a self-resetting shut-off; None otherwise.
    relief_crack, relief_error
        Rising pressure at which a relief valve on the outlet starts to lift, and its ±; None: no relief.
    has_shut_off
        False where nothing can trip: the stackings then carry no edges.
    """

    duty: float
    lockup: float
    highest_normal_adds: tuple[Contribution, ...]
    lowest_normal_takes: tuple[Contribution, ...]
    gap: float
    trip: float | None
    trip_tolerances: tuple[Contribution, ...]
    gauge_label: str = "gauge"
    gauge_offset_cancels: bool = True
    overshoot: float | None = None
    normal_limit: float | None = None
    fault_limit: float | None = None
    needed: float | None = None
    alarm: float | None = None
    alarm_error: float = 0.0
    reset: float | None = None
    relief_crack: float | None = None
    relief_error: float = 0.0
    has_shut_off: bool = True


@dataclass(frozen=True, slots=True)
class Stacking:
    """One way of adding tolerances, and the window it leaves for the trip.

    tolerance_low / tolerance_up: combined. lowest / highest: edges of the window (None: not known).
    width: highest − lowest; negative means the edges cross. trip_lower_edge, trip_upper_edge, peak: of the
    chosen trip with its own tolerances, wherever it lies; peak: of the highest credited failure, whether it
    reaches the trip or not. trip_inside: the chosen trip lies in the window.
    """

    name: Literal["worst case", "root-sum-square"]
    tolerance_low: float
    tolerance_up: float
    lowest: float
    highest: float | None
    width: float | None
    verdict: Verdict
    trip_lower_edge: float | None
    trip_upper_edge: float | None
    peak: float | None
    trip_inside: bool | None

    @property
    def passes_trip(self) -> bool:
        """Whether the highest credited failure reaches at least the upper edge of the trip."""
        edge = self.trip_upper_edge
        return self.peak is not None and edge is not None and self.peak >= edge


@dataclass(frozen=True, slots=True)
class ComponentLimit:
    """One component's limits carried to the datum, derating applied."""

    component: str
    level: float
    normal_local: float | None
    fault_local: float | None
    normal_at_datum: float | None
    fault_at_datum: float | None
    side: str
    source: str


@dataclass(frozen=True, slots=True)
class FailurePeak:
    """A failure of the reducer and the pressure it reaches with the shut-off acting.

    overshoot: above the trip [Pa]; peak: at datum, from the trip's upper edge; covered: peak within the fault
    limit; credited: the design claims it; proved: overshoot and peak are those of the protection proof,
    closing time, flow (`at`) and inlet pressure those of its worst case, not those of the lumped zone.
    """

    label: str
    within: float
    at: str
    closing_time: float
    overshoot: float
    peak: float | None
    covered: bool | None
    credited: bool
    proved: bool = False
    inlet: str = ""


@dataclass(frozen=True, slots=True)
class Ladder:
    """The ladder of one station.

    covers_slower_than: the shut-off keeps the peak within the fault limit where the reducer takes longer
    than this to go fully open [s], at night and at average flow; None: at no speed looked at, or not known.
    heated: highest normal with all hot water heated once while nobody draws, at most the upper edge of a
    relief valve; None: no heated water, or nothing that takes it up is known.
    """

    inputs: LadderInputs
    highest_normal: float
    lowest_normal: float
    worst_case: Stacking
    root_sum_square: Stacking
    components: tuple[ComponentLimit, ...] = ()
    weakest_normal: ComponentLimit | None = None
    weakest_fault: ComponentLimit | None = None
    peaks: tuple[FailurePeak, ...] = ()
    not_covered: tuple[str, ...] = ()
    common_causes: tuple[str, ...] = ()
    covers_slower_than: float | None = None
    heated: float | None = None

    @property
    def overshoot(self) -> float | None:
        """Rise of the credited failure above the upper edge of the chosen trip, else of the window. [Pa]

        None: not known.
        """
        peak, edge = self.worst_case.peak, self.worst_case.trip_upper_edge
        return self.inputs.overshoot if peak is None or edge is None else max(peak - edge, 0.0)

    def is_lumped(self, peak: FailurePeak) -> bool:
        """Whether a peak is still that of the lumped zone beside others of the protection proof."""
        return not peak.proved and any(one.proved for one in self.peaks)
