"""A capacity map as data: where one reducer holds over flow and inlet pressure, and where it does not. SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.records.cavitation import Degree
from steadyhead.records.design import FlowCase, Gravel, InletCase

Zone = Literal["wide open", "choked", "damage", "constant", "incipient", "low flow", "holds"]
"""What a reducer does at a point; the first that applies in this order."""
BorderKind = Literal[
    "wide open",
    "incipient",
    "constant",
    "damage",
    "choked",
    "low flow, good valve",
    "low flow, least lift",
    "low flow, plain valve",
    "quiet at best",
    "quiet at worst",
    "too fast",
    "too fast in a fire",
]
LowFlow = Literal["", "in the band", "below it"]


@dataclass(frozen=True, slots=True)
class Border:
    """One border of a zone: where it runs, what makes it, and how well that is known.

    Parameters
    ----------
    kind
        Which border.
    points
        Flow [m³/s] and inlet pressure [Pa at datum], in order along the border.
    words
        The limit in words, e.g. ``σ1 2.2``.
    source
        Where the limit comes from.
    limit
        The bare limit: σ₁ [1], share of full flow coefficient [1] or velocity [m/s]; None: no one figure.
    """

    kind: BorderKind
    points: tuple[tuple[float, float], ...]
    words: str
    source: str
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class QuietSweep:
    """Over what the quick check of a reducer's loop is swept; least and most, alike where one is known.

    Parameters
    ----------
    bands
        Proportional band. [Pa]
    lags
        Of the sensing line. [s]
    band_source, lag_source
        Where they come from.
    """

    bands: tuple[float, float]
    lags: tuple[float, float]
    band_source: str
    lag_source: str


@dataclass(frozen=True, slots=True)
class DesignPoint:
    """One case of the design on the map, with its margins.

    Parameters
    ----------
    flow_case, inlet_case, flow, inlet
        Which case; flow [m³/s], inlet pressure at the map's place [Pa at datum].
    zone
        What the reducer does there.
    travel
        Lift. [1]
    sigma_1
        None where there is no difference. [1]
    to_spare
        Inlet pressure above the border to wide open; negative: below it. [Pa]
    next_degree, next_limit
        The mildest degree of cavitation not yet reached and its σ₁ here; None: none is known.
    velocity, velocity_limit
        In the valve's bore. [m/s]
    low_flow
        ``in the band`` and ``below it``: no promise that it holds smoothly; empty: above the band.
    gravel
        Whether gravel range is expected, from the index alone.
    gravel_from
        Inlet pressure at this flow from which it is at least possible; None: not on this map. [Pa]
    quiet
        Smallest quiet flow by the quick check of the loop at this inlet: at best, as usual, at worst. [m³/s];
        None: the duty is not reached there.
    helped_by
        Reducers of other streams that hold the outlet in this case, by id.
    """

    flow_case: FlowCase
    inlet_case: InletCase
    flow: float
    inlet: float
    zone: Zone
    travel: float
    sigma_1: float | None
    to_spare: float | None
    next_degree: Degree | None
    next_limit: float | None
    velocity: float
    velocity_limit: float
    low_flow: LowFlow
    gravel: Gravel
    gravel_from: float | None
    quiet: tuple[float, float, float] | None = None
    helped_by: tuple[str, ...] = ()

    @property
    def sigma_2(self) -> float | None:
        """σ₂ = σ₁ − 1. [1]"""
        return None if self.sigma_1 is None else self.sigma_1 - 1.0

    @property
    def words(self) -> str:
        """The case in words."""
        return f"{self.inlet_case} inlet pressure, {self.flow_case} flow"


@dataclass(frozen=True, slots=True)
class CapacityMap:
    """Zones of one reducer in its station over flow and inlet pressure.

    Parameters
    ----------
    reducer
        Its id.
    place
        Where the inlet pressure of the map stands, in words.
    size
        Nominal size. [m]
    duty
        duty_pressure. [Pa]
    lowest_flow, highest_flow, lowest_inlet, highest_inlet
        Frame of the map. [m³/s] [Pa at datum]
    borders
        Each to 1 % along its axis.
    points
        Cases of the design.
    degrees
        Degrees of cavitation for which a limit is known, in order.
    not_known
        What the map cannot say, in sentences.
    sweep
        What its smallest quiet flows are swept over.
    """

    reducer: str
    place: str
    size: float
    duty: float
    lowest_flow: float
    highest_flow: float
    lowest_inlet: float
    highest_inlet: float
    borders: tuple[Border, ...]
    points: tuple[DesignPoint, ...]
    degrees: tuple[Degree, ...]
    not_known: tuple[str, ...]
    sweep: QuietSweep | None = None

    @property
    def helped_by(self) -> tuple[str, ...]:
        """Reducers of other streams that hold the outlet wherever this one stands wide open in the design."""
        short = [point.helped_by for point in self.points if point.zone == "wide open"]
        return tuple(name for name in short[0] if all(name in one for one in short)) if short else ()

    def border(self, kind: BorderKind) -> Border | None:
        """Return one border; None where it does not run on this map."""
        return next((border for border in self.borders if border.kind == kind), None)


@dataclass(frozen=True, slots=True)
class RequiredCase:
    """Flow [m³/s] and pressures before and after the reducer [Pa at datum] that a valve must serve."""

    flow_case: FlowCase
    inlet_case: InletCase
    flow: float
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class SizeColumn:
    """What a valve of one size needs.

    Parameters
    ----------
    size
        [m]
    required_kv
        One for each case, reducers beside the valve included; inf: no valve of this size passes it.
    velocities
        In the bore, one for each case. [m/s]
    name
        Whose flow coefficient `available_kv` is; empty: a size without a valve.
    available_kv
        Fully open [m³/h at 1 bar]; None: not known.
    source
        Where it comes from.
    curve
        Required at each of the flows of the comparison. [m³/h at 1 bar]
    """

    size: float
    required_kv: tuple[float, ...]
    velocities: tuple[float, ...]
    name: str = ""
    available_kv: float | None = None
    source: str = ""
    curve: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class RequiredKv:
    """Required flow coefficients of several sizes side by side.

    Parameters
    ----------
    reducer
        Its id.
    inlet_pipe, outlet_pipe
        [m]
    cases
        What a valve must serve.
    columns
        One for each size, then one for each data sheet.
    flows
        Of the curves, at the lowest inlet pressure. [m³/s]
    """

    reducer: str
    inlet_pipe: float
    outlet_pipe: float
    cases: tuple[RequiredCase, ...]
    columns: tuple[SizeColumn, ...]
    flows: tuple[float, ...] = ()
