"""The design sheet of one station as data: what `steadyhead.design.sheet.judge` hands back. SI throughout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.findings import Finding, Input
from steadyhead.records.cavitation import Degree
from steadyhead.records.ladder import Ladder
from steadyhead.records.protection import Protection
from steadyhead.records.steady import Steady

FlowCase = Literal["night", "average", "peak", "fire"]
InletCase = Literal["lowest", "typical", "night", "static"]
Gravel = Literal["not expected", "possible", "expected"]


@dataclass(frozen=True, slots=True)
class DesignCase:
    """One steady situation the design was judged in; `steady` None: the twin has no answer."""

    flow_case: FlowCase
    inlet_case: InletCase
    flow: float
    supply_pressure: float
    steady: Steady | None
    problem: str = ""

    @property
    def words(self) -> str:
        """The case in words, as findings carry it."""
        return f"{self.inlet_case} inlet pressure, {self.flow_case} flow"


@dataclass(frozen=True, slots=True)
class ReducerCase:
    """One reducer in one case: what it needs, and how the twin finds it.

    required_kv [m³/h at 1 bar] holds duty_pressure at this flow; inf: no valve can. travel 0…1; velocity in
    the valve's bore [m/s]; sigma_1 = (p1 − pv)/Δp and sigma_2 = sigma_1 − 1; pressure_ratio x_F = 1/sigma_1;
    damage_sigma, onset_sigma: σ₁ at which damage and first bubbles start here, where a limit is known;
    degree: worst degree of cavitation reached; gravel: whether gravel range is expected, from the degree
    alone; piping_factor: F_P of the reducers beside the valve; turbulent: whether the valve's Reynolds number
    says so. Flow is what this reducer takes. Fields of the twin are None where it has no answer.
    """

    flow_case: FlowCase
    inlet_case: InletCase
    flow: float
    required_kv: float
    velocity: float
    inlet_pressure: float | None = None
    outlet_pressure: float | None = None
    travel: float | None = None
    state: str = ""
    sigma_1: float | None = None
    sigma_2: float | None = None
    pressure_ratio: float | None = None
    choked: bool | None = None
    incipient: bool | None = None
    damage_sigma: float | None = None
    onset_sigma: float | None = None
    degree: Degree | None = None
    gravel: Gravel | None = None
    piping_factor: float = 1.0
    turbulent: bool = True


@dataclass(frozen=True, slots=True)
class ReducerSizing:
    """Sizing of one reducer.

    available_kv [m³/h at 1 bar] and its half-width; lowest_flow: at 3 % lift, with the band of the 1 to 5 %
    rule [m³/s]; lockup as the twin has it; spring_reach: what the spring must reach for a live proof [Pa];
    inlet_pipe, outlet_pipe: bores beside it [m]; quiet_band: smallest quiet flow at night by the quick check
    of the loop, at best and at worst [m³/s]; grounds: what the sizing rests on, with evidence; stream: the
    stream it stands in, empty on the one way.
    """

    reducer: str
    size: float
    available_kv: float
    available_kv_spread: float | None
    available_kv_provenance: str
    lockup: float
    lockup_provenance: str
    lowest_flow: float
    lowest_flow_band: tuple[float, float]
    spring_low: float
    spring_high: float
    spring_reach: float | None
    cases: tuple[ReducerCase, ...]
    stream: str = ""
    inlet_pipe: float | None = None
    outlet_pipe: float | None = None
    quiet_band: tuple[float, float] | None = None
    grounds: tuple[Input, ...] = ()


@dataclass(frozen=True, slots=True)
class LossSizing:
    """Loss of a strainer or shut-off when clean, at peak flow [Pa], beside its usual limit and its evidence.

    fire_loss: at fire flow, where one is stated; flow: what runs through it at the peak [m³/s].
    """

    part: str
    kind: Literal["strainer", "shut-off"]
    kv: float
    loss: float
    limit: float
    source: str = ""
    fire_loss: float | None = None
    flow: float | None = None


@dataclass(frozen=True, slots=True)
class PipeSizing:
    """Velocity in a connected pipe at peak flow and, where one is stated, at fire flow [m/s]."""

    place: str
    bore: float
    velocity: float
    limit: float
    source: str = ""
    fire_velocity: float | None = None


@dataclass(frozen=True, slots=True)
class GaugeSizing:
    """A gauge beside this station's window.

    error: ± anywhere on the dial [Pa]; good_enough: error within `error_allowed` and span beyond the trip's
    upper edge; bears_inlet: span at or above the highest static inlet; working_share: trip over span.
    """

    gauge: str
    span: float
    error: float
    error_allowed: float | None
    good_enough: bool | None
    bears_inlet: bool
    working_share: float | None


@dataclass(frozen=True, slots=True)
class Patch:
    """One change of the station file: `value` as the file writes it; None takes the entry out."""

    path: tuple[str | int, ...]
    value: str | dict[str, str] | list[dict[str, str]] | None


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would open an empty window; applied alone to the file it does.

    Parameters
    ----------
    kinds
        What is changed, one word each; two where no single change opens the window.
    patches
        Changes of the station file, to be applied together.
    words
        What to do, in a sentence.
    caution
        What to look at first; empty where there is nothing.
    lowest, highest
        Edges of the window afterwards, in the stacking the station then has. [Pa at datum]
    gain
        Width gained. [Pa]
    """

    kinds: tuple[str, ...]
    patches: tuple[Patch, ...]
    words: str
    caution: str
    lowest: float
    highest: float
    gain: float


@dataclass(frozen=True, slots=True)
class StreamDesign:
    """The ladder of one way through a station of several, the others isolated.

    stream, role, words: as `steadyhead.station.streams.View` has them; reducers, shut_off: ids on this way,
    shut_off empty without one; remedies: what would open its window.
    """

    stream: str
    role: str
    words: str
    reducers: tuple[str, ...]
    shut_off: str
    ladder: Ladder
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True, slots=True)
class ReliefSizing:
    """A relief valve against the flow it must let off. Pressures Pa gauge at datum, flows m³/s.

    crack, full, reseat: as used; failed_open_flow: what a reducer stuck wide open brings at `peak`;
    passes: what the relief lets off at `allowed`, the fault limit; peak: pressure at which inflow, demand at
    night and relief balance; latest_crack, latest_peak: upper edge of the crack by its tolerance, the peak
    there; holds: whether that peak stays within the fault limit, None: no limit stated; highest_crack,
    its_rise: of one in place of a shut-off, the highest crack that still holds at its upper edge and how far
    the outlet then rises above that edge; None: not worked out, or there is none.
    """

    relief: str
    place: Literal["beside the shut-off", "in place of the shut-off"]
    crack: float
    full: float
    reseat: float
    kv: float
    kv_provenance: str
    failed_open_flow: float
    passes: float | None
    peak: float
    latest_crack: float
    latest_peak: float
    holds: bool | None
    highest_crack: float | None = None
    its_rise: float | None = None


@dataclass(frozen=True, slots=True)
class Handover:
    """A flow [m³/s] at which another reducer starts to carry water, and the outlet there [Pa at datum].

    carry: reducers that carry at least a hundredth of the flow just above it, the leading one first.
    """

    flow: float
    outlet: float
    carry: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UsedDefault:
    """A value nobody stated: where it was used, what it is and how good the evidence is."""

    where: str
    what: str
    text: str
    kind: str
    si: float
    provenance: str


@dataclass(frozen=True, slots=True)
class DesignSheet:
    """Everything `check` knows about a station; deterministic, holds no time and no machine.

    ladder: the station's, of several streams the one with the narrowest window; streams: all of them, empty
    where the station has one way; handovers: rising in flow, at typical inlet pressure; protection: the proof
    of each way with a shut-off, empty where none was asked for.
    """

    station: str
    name: str
    layout: str
    stacking: str
    ladder: Ladder | None
    reducers: tuple[ReducerSizing, ...]
    losses: tuple[LossSizing, ...]
    pipes: tuple[PipeSizing, ...]
    gauges: tuple[GaugeSizing, ...]
    cases: tuple[DesignCase, ...]
    remedies: tuple[Remedy, ...]
    findings: tuple[Finding, ...]
    defaults: tuple[UsedDefault, ...]
    engine_version: str
    streams: tuple[StreamDesign, ...] = ()
    reliefs: tuple[ReliefSizing, ...] = ()
    handovers: tuple[Handover, ...] = ()
    protection: tuple[Protection, ...] = ()

    @property
    def releasable(self) -> bool:
        """Whether no finding forbids a release."""
        return not any(f.severity.value in ("stop", "ask") for f in self.findings)
