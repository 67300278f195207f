"""How quiet a reducer is at its station, as a band over what of it nobody has measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steadyhead.findings import Finding


@dataclass(frozen=True, slots=True)
class UncalibratedValue:
    """One value that is not calibrated: its name, what it is now, and its band; `is_held`: by the file.

    Factors of the default, but [s] for a lag and a count for mains; `words` says where the band comes from;
    `fitted`: where nine tenths less one tenth of the members lie that agree with what was seen; None: not
    fitted.
    """

    name: str
    now: float
    low: float
    high: float
    words: str
    is_held: bool = False
    fitted: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """The members of a band that agree with what was seen on site.

    Parameters
    ----------
    seen
        How many things were held against each member: outlets, still or hunting.
    tried, kept
        Members drawn, and those that agree with all of them.
    is_used
        Whether the figures are those of the members that agree; else too few do.
    not_determined
        What the observations leave as open as it was.
    misses
        For each thing seen, in words, the share of the members left by those before that it takes out. [1]
    """

    seen: int
    tried: int
    kept: int
    is_used: bool
    not_determined: tuple[str, ...]
    misses: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """10, 50 and 90 of a hundred members lie below these."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class FlowStability:
    """A reducer at one flow.

    Parameters
    ----------
    flow_case, flow
        Name of the flow, and the flow. [m³/s]
    lift
        Share of lift of the member that has every default. [1]
    hunting
        Share of the members that hunt. [1]
    gain_margin, phase_margin
        As `steadyhead.surge.stability` has them; below 1 and 0° they hunt. [1], [degrees]
    """

    flow_case: str
    flow: float
    lift: float
    hunting: float
    gain_margin: Spread
    phase_margin: Spread


@dataclass(frozen=True, slots=True)
class ReducerStability:
    """How quiet one reducer is.

    Parameters
    ----------
    reducer, way
        Its id, and the way through the station it stands on.
    inlet_case
        Inlet pressure it is looked at.
    at
        Night, average and peak flow.
    quiet_from
        Smallest flow from which on members are quiet up to `looked_to`; infinite: hunts up there. [m³/s]
    looked_from, looked_to
        Flows looked at. [m³/s]
    members, seed
        How many members, and the seed they were drawn with.
    bands
        What was moved.
    fit
        Held against what was seen on site; None: nothing is stated.
    """

    reducer: str
    way: str
    inlet_case: str
    at: tuple[FlowStability, ...]
    quiet_from: Spread
    looked_from: float
    looked_to: float
    members: int
    seed: int
    bands: tuple[UncalibratedValue, ...]
    fit: Fit | None = None

    @property
    def is_idle(self) -> bool:
        """Whether it stands on a stop at every flow looked at, as a monitor does in service."""
        return all(one.lift <= 0.0 or one.lift >= 1.0 for one in self.at)


@dataclass(frozen=True, slots=True)
class AirBand:
    """What air in the chamber of a reducer does at average flow.

    Parameters
    ----------
    effects
        (volume [m³], swing of its outlet [Pa], period [s] or None where it comes to rest).
    runs_away_from
        Volume from which on only the pilot keeps the stem from running away. [m³]
    """

    reducer: str
    effects: tuple[tuple[float, float, float | None], ...]
    runs_away_from: float


@dataclass(frozen=True, slots=True)
class StabilityBands:
    """All reducers of a station, and what is told of them; `settled` by way: what event runs move."""

    reducers: tuple[ReducerStability, ...]
    air: tuple[AirBand, ...]
    settled: Mapping[str, str]
    findings: tuple[Finding, ...]
