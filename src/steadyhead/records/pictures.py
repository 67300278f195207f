"""What a drawing shows, as plain facts: the station strip, the pressure ladder, the capacity map.

Everything is SI: pressures in Pa gauge carried to the station datum, flows in m³/s, elevations and lengths
in m. Shares run from 0 to 1. The display units travel with the picture, so that one picture gives one
drawing whatever palette it is drawn in.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from steadyhead.records.capacity import CapacityMap
from steadyhead.records.surge import SurgeRun
from steadyhead.units import METRIC, UnitSet

PartKind = Literal[
    "tap",
    "isolating",
    "strainer",
    "flow_meter",
    "reducer",
    "shut_off",
    "check_valve",
    "drain",
    "vent",
    "relief",
    "expansion_vessel",
]
PipeState = Literal["full", "vented", "unknown"]
PressureSource = Literal["read", "worked out"]
LimitKind = Literal["fault", "normal", "trip", "alarm", "duty"]
RungKind = Literal[
    "fault_limit",
    "normal_limit",
    "trip_upper",
    "trip",
    "trip_lower",
    "relief",
    "alarm",
    "heated",
    "highest_normal",
    "lockup",
    "duty",
    "lowest_normal",
    "needed",
    "reset",
]
StackingKind = Literal["worst_case", "root_sum_square"]
ComponentLimitKind = Literal["fault", "normal", "both"]


@dataclass(frozen=True, slots=True)
class SensingLine:
    """Where a pilot senses the pressure.

    Two pilots whose lines name the same `root` hang on one root cock; the strip then draws one root.

    Parameters
    ----------
    tap
        Name of the tap it senses, e.g. ``T3``.
    root
        Id of the root cock on the pipe.
    cock_open
        State of the root cock; None where not known.
    """

    tap: str
    root: str
    cock_open: bool | None = True


@dataclass(frozen=True, slots=True)
class StripPart:
    """One part of the station, in the order the water meets it.

    Only the states that belong to the kind are read: a strainer has no screw.

    Parameters
    ----------
    kind
        What it is; decides the symbol.
    id
        Stable id; for a tap its tag, e.g. ``T3``.
    name
        Words printed under it; empty for none.
    words
        Further short lines, each printed on a line of its own.
    open_share
        Isolating valve: share of full lift. [0 to 1], None where not known.
    tripped
        Shut-off: True across the pipe, False ready, None not known.
    travel
        Reducer: share of full travel. [0 to 1], None where not known.
    direct_acting
        Reducer: held by its own spring, without a pilot.
    lifting
        Relief valve: True while it lets water off, None not known.
    screw_turns
        Pilot screw, turns from its stated zero. [turns]
    fouling
        Strainer: loss factor now over clean, 1 when clean. [-]
    cock_open
        Tap, drain and vent: state of the cock; None where not known.
    sensing
        Reducer and shut-off: where the pilot senses.
    loss
        Pressure lost across the part now, where worked out. [Pa]
    pipe_after
        The pipe from here to the next part: full, proved vented, or not known.
    """

    kind: PartKind
    id: str
    name: str = ""
    words: tuple[str, ...] = ()
    open_share: float | None = 1.0
    tripped: bool | None = False
    travel: float | None = 0.5
    screw_turns: float | None = None
    fouling: float = 1.0
    cock_open: bool | None = True
    sensing: SensingLine | None = None
    loss: float | None = None
    pipe_after: PipeState = "full"
    direct_acting: bool = False
    lifting: bool | None = False


@dataclass(frozen=True, slots=True)
class StripBranch:
    """A parallel length below the axis it leaves, such as a manual bypass or a standby stream.

    Parameters
    ----------
    id, name, words
        As for a part; printed under the branch.
    after, before
        Ids of the parts on the axis above between which it leaves and returns: it leaves just after `after`
        and returns just before `before`; empty for the ends of that axis.
    parts
        The parts on it, in the order of flow.
    group
        Id of the parallel group; branches of one group share their joints. Empty for a bypass of one part.
    branches
        What leaves this branch in turn.
    inlet_pipe
        State of the pipe before its first part.
    """

    id: str
    name: str
    after: str
    before: str
    parts: tuple[StripPart, ...]
    words: tuple[str, ...] = ()
    group: str = ""
    branches: tuple[StripBranch, ...] = ()
    inlet_pipe: PipeState = "full"


@dataclass(frozen=True, slots=True)
class StripSpan:
    """A length of an axis with a name of its own: the stream that others lie beside.

    Parameters
    ----------
    group
        The parallel group whose joints bound it.
    name, words
        Printed under it.
    """

    group: str
    name: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TapPressure:
    """The pressure at one tap.

    Parameters
    ----------
    tap
        Tag of the tap.
    now
        Pressure carried to datum; None where there is none. [Pa]
    tolerance
        Half-width the reading may be off. [Pa]
    source
        Read on a gauge, or worked out.
    at_no_flow
        The same tap with the station at zero flow. [Pa]
    why_missing
        Said in place of the figure where `now` is None, e.g. ``no gauge``.
    """

    tap: str
    now: float | None
    tolerance: float | None = None
    source: PressureSource = "worked out"
    at_no_flow: float | None = None
    why_missing: str = ""


@dataclass(frozen=True, slots=True)
class StripLimit:
    """A pressure drawn as a line over part of the station.

    Parameters
    ----------
    kind
        Fault limit, normal limit, trip, alarm or duty.
    pressure
        At datum. [Pa]
    label
        What it belongs to, e.g. ``old spur``; the kind is said by the drawing.
    after
        Id of the part behind which it holds; empty for the consumer side, behind the last valve that acts.
    before
        Id of the part in front of which it ends; empty for the end of the strip.
    """

    kind: LimitKind
    pressure: float
    label: str = ""
    after: str = ""
    before: str = ""


@dataclass(frozen=True, slots=True)
class StripPicture:
    """Everything the station strip shows.

    Parameters
    ----------
    name
        Station, said in title and text equivalent.
    datum_m
        Elevation of the station datum. [m]
    parts
        Parts and taps in the order of flow.
    pressures
        One per tap.
    flow
        Flow through the station; None where not known. [m³/s]
    limits, branches
        Lines over the strip; parallel lengths below it.
    spans
        Names of the lengths that lie between the joints of a group, on the main axis or on a branch.
    outlet_name
        Where the water goes.
    moment
        When and in what state, e.g. ``as left, 14 Apr 2027 14:58``.
    inlet_pipe
        State of the pipe before the first part.
    units
        Display units.
    """

    name: str
    datum_m: float
    parts: tuple[StripPart, ...]
    pressures: tuple[TapPressure, ...]
    flow: float | None = None
    limits: tuple[StripLimit, ...] = ()
    branches: tuple[StripBranch, ...] = ()
    outlet_name: str = ""
    moment: str = ""
    inlet_pipe: PipeState = "full"
    units: UnitSet = METRIC
    spans: tuple[StripSpan, ...] = ()


@dataclass(frozen=True, slots=True)
class LadderRung:
    """One pressure of the ladder.

    Parameters
    ----------
    kind
        Which rung; decides line and colour.
    pressure
        At datum. [Pa]
    label
        Words behind the kind, e.g. ``old spur, Tannery Row``.
    note
        A second, smaller line, e.g. ``after 60 s``.
    """

    kind: RungKind
    pressure: float
    label: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class LadderBlock:
    """One thing stacked on another: a gap, a tolerance, the overshoot.

    Parameters
    ----------
    label
        Short name.
    size
        Height, never negative. [Pa]
    both_ways
        True for a tolerance, printed with ±.
    """

    label: str
    size: float
    both_ways: bool = False


@dataclass(frozen=True, slots=True)
class Stacking:
    """One way of adding the tolerances, and the trip window it leaves.

    Parameters
    ----------
    kind
        Worst case or root-sum-square.
    base
        Highest normal, from which `below` is stacked upwards. [Pa]
    roof
        Fault limit, from which `above` is stacked downwards. [Pa]
    below, above
        The blocks in the order they are stacked.
    lowest, highest
        Ends of the window; it is empty where lowest > highest. [Pa]
    label
        Whose window it is, where the station has several; empty for the one trip.
    of
        What is to lie in the window: a trip, or the pressure at which a relief valve starts to lift.
    chosen
        What was chosen to lie there; None where it is the trip among the rungs. [Pa]
    """

    kind: StackingKind
    base: float
    roof: float
    below: tuple[LadderBlock, ...]
    above: tuple[LadderBlock, ...]
    lowest: float
    highest: float
    label: str = ""
    of: Literal["trip", "crack"] = "trip"
    chosen: float | None = None


@dataclass(frozen=True, slots=True)
class FailurePeak:
    """The highest pressure in one failure.

    Parameters
    ----------
    label
        The failure in a few words, e.g. ``reducer drifts open in 2 min, at night``.
    pressure
        Peak at datum. [Pa]
    credited
        True where the shut-off is credited for it, False where it is not covered.
    """

    label: str
    pressure: float
    credited: bool


@dataclass(frozen=True, slots=True)
class ComponentLimit:
    """What one component may bear, at its own place and carried to datum.

    Parameters
    ----------
    name
        Component.
    limit
        At its own place. [Pa]
    elevation
        Of the component. [m]
    at_datum
        The same limit carried to datum. [Pa]
    kind
        Limit of normal running, of a fault, or both.
    """

    name: str
    limit: float
    elevation: float
    at_datum: float
    kind: ComponentLimitKind = "fault"


@dataclass(frozen=True, slots=True)
class LadderPicture:
    """Everything the pressure ladder shows.

    Parameters
    ----------
    name
        Station.
    datum_m
        Elevation of the station datum. [m]
    rungs
        In any order; drawn by pressure.
    stackings
        Worst case and root-sum-square, side by side.
    build_up
        From the `lockup` rung up to the highest normal.
    peaks
        One per failure looked at.
    peaks_note
        What they rest on, e.g. ``shut-off closing in 5.6 s``.
    components
        What the consumer side may bear; the weakest decides.
    inlet_lowest, inlet_highest
        Range of the supply, named off the scale. [Pa]
    moment
        Revision or date.
    units
        Display units.
    """

    name: str
    datum_m: float
    rungs: tuple[LadderRung, ...]
    stackings: tuple[Stacking, ...]
    build_up: tuple[LadderBlock, ...] = ()
    peaks: tuple[FailurePeak, ...] = ()
    peaks_note: str = ""
    components: tuple[ComponentLimit, ...] = ()
    inlet_lowest: float | None = None
    inlet_highest: float | None = None
    moment: str = ""
    units: UnitSet = field(default=METRIC)


@dataclass(frozen=True, slots=True)
class CapacityPicture:
    """Everything the capacity map shows.

    Parameters
    ----------
    name
        Station.
    datum_m
        Elevation of the station datum. [m]
    shown
        Zones, borders and design points of one reducer.
    moment
        Revision or date.
    units
        Display units.
    """

    name: str
    datum_m: float
    shown: CapacityMap
    moment: str = ""
    units: UnitSet = METRIC


@dataclass(frozen=True, slots=True)
class SurgePicture:
    """Everything the surge trace shows.

    Parameters
    ----------
    name
        Station.
    datum_m
        Elevation of the station datum. [m]
    run
        One event in time.
    moment
        Revision or date.
    units
        Display units.
    """

    name: str
    datum_m: float
    run: SurgeRun
    moment: str = ""
    units: UnitSet = METRIC
