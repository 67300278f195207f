"""What the register knows of a station that helps to read and judge its loggers' files, and to measure by."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from steadyhead.errors import InputErrors
from steadyhead.records.baseline import Baseline
from steadyhead.records.cavitation import TO_SIGMA_1
from steadyhead.records.logger import Known
from steadyhead.records.parts import (
    Drain,
    FlowMeter,
    IsolatingValve,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file
from steadyhead.services.visits_kept.twin import chosen_baseline
from steadyhead.station.mechanics import isolating_kv, meter_kv
from steadyhead.upkeep.days import told
from steadyhead.watch.measures.defaults import OPENED_AT
from steadyhead.watch.measures.strainer import LossLimit

BAR, AN_HOUR = 1e5, 3600.0


@dataclass(frozen=True, slots=True)
class Bounds:
    """What measures are held against, by the station's file; None: not stated there.

    Parameters
    ----------
    low, high
        Band of normal running of the outlet. [Pa]
    trip
        Lower edge of the trip. [Pa]
    cavitation
        Limit of σ₁ of the one reducer, the highest over the lifts, and the degree it belongs to: constant
        cavitation, else incipient, else damage, whichever is stated.
    shut_off
        Resistance of the shut-off fully open, by the chosen baseline, else by the file. [Pa s²/m⁶]
    strainer
        Loss coefficient from T0 to T1 at which the strainer between them is opened.
    height, trip_height
        Of the gauge over the station datum to which the band was carried, and the trip; see `heights`. [m]
    """

    low: float | None = None
    high: float | None = None
    trip: float | None = None
    cavitation: tuple[float, str] | None = None
    shut_off: float | None = None
    strainer: LossLimit | None = None
    height: float = 0.0
    trip_height: float = 0.0


def known_of(register: Register, key: str, day: date | None = None) -> Known:
    """Return lock-up, trip, inlet and mean flow by the station's file; unknown where it cannot be judged.

    All pressures at the station datum; `heights` carries them to gauges.

    Raises
    ------
    NotKept
        No such station.
    """
    return all_known(register, key, day)[0]


def all_known(register: Register, key: str, day: date | None = None) -> tuple[Known, Bounds]:
    """Return what is known of a station, and what its measures are held against; see `known_of`."""
    head = head_file(register, key)
    with register.reading() as connection:
        baseline = chosen_baseline(connection, key)
    try:
        judged = judge_at(head.source, day or today())
    except InputErrors:
        return Known(), Bounds()
    station, ladder = judged.loaded.station, judged.sheet.ladder
    inputs = None if ladder is None else ladder.inputs
    known = Known(
        lockup=None if inputs is None else inputs.lockup,
        trip=None if inputs is None else inputs.trip,
        trip_upper=None if ladder is None else ladder.worst_case.trip_upper_edge,
        inlet=station.supply.typical.si,
        flow=station.demand.average.si,
    )
    bounds = Bounds(
        cavitation=_cavitation(station), shut_off=_shut_off(station, baseline),
        strainer=strainer_limit(station, baseline),
    )  # fmt: skip
    if ladder is None:
        return known, bounds
    return known, replace(
        bounds, low=ladder.lowest_normal, high=ladder.highest_normal, trip=ladder.worst_case.trip_lower_edge
    )


def _cavitation(station: Station) -> tuple[float, str] | None:
    """Return the limit of the index and its degree; None for two reducers, and where it is scaled."""
    reducers = [one for one in station.parts() if isinstance(one, Reducer)]
    if len(reducers) != 1 or (limits := reducers[0].cavitation) is None or limits.scaling is not None:
        return None
    for degree in ("constant", "incipient", "damage"):
        stated = [one.si for row in limits.limits if (one := getattr(row, degree)) is not None]
        if stated:
            return max(TO_SIGMA_1[limits.index](one) for one in stated), degree
    return None


def _shut_off(station: Station, baseline: Baseline | None) -> float | None:
    """Return the resistance of the one shut-off fully open: as the baseline fitted it, else as stated."""
    found = [one for one in station.parts() if isinstance(one, ShutOff)]
    if len(found) != 1:
        return None
    stated = found[0].kv.si if found[0].kv is not None else 0.0
    fitted = _fitted(baseline, found[0].id, "kv")
    kv = stated if fitted is None else fitted
    return _resistance(kv) if kv > 0.0 else None


def _fitted(baseline: Baseline | None, part: str, name: str) -> float | None:
    values = (
        [one.value for one in baseline.fitted if (one.part, one.name) == (part, name)] if baseline else []
    )
    return values[0] if values else None


def strainer_limit(station: Station, baseline: Baseline | None = None) -> LossLimit | None:
    """Return the coefficient from T0 to T1 at which the strainer between them is opened; None: not stated.

    Clean is what the baseline fitted, else what the station's file states; what stands beside the strainer
    keeps its own loss. Nothing is taken for granted: a strainer of which neither is known has no limit here.
    """
    line = station.line
    taps = {part.id: at for at, part in enumerate(line) if isinstance(part, Tap)}
    if not {"T0", "T1"} <= taps.keys():
        return None
    between = line[taps["T0"] + 1 : taps["T1"]]
    strainers = [part for part in between if isinstance(part, Strainer)]
    others = [part for part in between if not isinstance(part, Strainer | Tap | Drain | Vent)]
    if len(strainers) != 1 or not all(isinstance(part, IsolatingValve | FlowMeter) for part in others):
        return None
    clean, source = _clean(strainers[0], baseline)
    if clean is None:
        return None
    beside = sum(
        _resistance(isolating_kv(part).si if isinstance(part, IsolatingValve) else meter_kv(part).si)
        for part in others
        if isinstance(part, IsolatingValve | FlowMeter)
    )
    return LossLimit(OPENED_AT.si * _resistance(clean) + beside, source)


def _clean(strainer: Strainer, baseline: Baseline | None) -> tuple[float | None, str]:
    """Return Kv of a clean strainer, and whose figure that is."""
    fitted = _fitted(baseline, strainer.id, "kv_clean")
    if fitted is not None and baseline is not None:
        return fitted, f"baseline of {told(date.fromisoformat(baseline.day))}"
    return (strainer.kv_clean.si if strainer.kv_clean is not None else None), "station file"


def _resistance(kv: float) -> float:
    """Return loss over flow squared [Pa s²/m⁶] of a Kv [m³/h at 1 bar]."""
    return BAR / (kv / AN_HOUR) ** 2
