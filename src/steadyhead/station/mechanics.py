"""Fill the inside of a valve: what the file states, else a default by size with its evidence (A4)."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi

from steadyhead.records.parts import (
    CheckValve,
    Drain,
    FlowMeter,
    IsolatingValve,
    PilotSpring,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.values import Default, Evidence, Origin, Value
from steadyhead.station import defaults as d


@dataclass(frozen=True, slots=True)
class ValveTwin:
    """What reducer and shut-off have in common, every value with provenance; SI.

    kv in m³/h at 1 bar, stroke m, diaphragm_area m², springs Pa, lag s, per_turn Pa/turn.
    """

    kv: Value
    curve_shape: Value
    curve: tuple[tuple[float, float], ...] | None
    stroke: Value
    diaphragm_area: Value
    seat_ratio: Value
    flow_force: Value
    spring_shut: Value
    spring_rise: Value
    pressure_recovery: Value
    incipient_ratio: Value
    seat_tightness: Value
    sense_lag: Value
    turns_free: Value
    per_turn: Value

    def values(self) -> dict[str, Value]:
        """Return every value by name."""
        return {f.name: got for f in fields(self) if isinstance(got := getattr(self, f.name), Value)}


@dataclass(frozen=True, slots=True)
class ReducerTwin(ValveTwin):
    """Inside of a reducer; `None` means not fitted or (band) to be derived from the lock-up rise."""

    feed_kv: Value
    pilot_kv: Value
    opening_needle_kv: Value | None
    filter_kv: Value | None
    proportional_band: Value | None
    seat_leak_kv: Value | None
    play: Value
    pilot_friction: Value | None
    stem_friction: Value | None
    dead_volume: Value


@dataclass(frozen=True, slots=True)
class ShutOffTwin(ValveTwin):
    """Inside of a shut-off."""

    closing_needle_kv: Value
    opening_kv: Value


def reducer_twin(part: Reducer) -> ReducerTwin:
    """Return the inside of a reducer, stated values first, defaults by size for the rest."""
    m, bore = part.mechanics, part.size.si
    feed = m.feed_kv or _by_size(d.FEED_KV_BY_SIZE, bore, "flow_coefficient", "Kv", "by size, own estimate")
    pilot = m.pilot_kv or _derived(
        d.PILOT_OVER_FEED.si * feed.si, "flow_coefficient", "Kv", d.PILOT_OVER_FEED.source
    )
    seat_ratio = m.seat_ratio or d.SEAT_RATIO.value()
    return ReducerTwin(
        kv=part.kv or _kv(d.VALVE_LOSS, bore),
        curve_shape=m.curve_shape or d.CURVE_SHAPE.value(),
        curve=m.curve,
        stroke=m.stroke or _stroke(bore),
        diaphragm_area=m.diaphragm_area or _diaphragm(bore, seat_ratio.si),
        seat_ratio=seat_ratio,
        flow_force=m.flow_force or d.FLOW_FORCE.value(),
        spring_shut=m.spring_shut or d.REDUCER_SPRING_SHUT.value(),
        spring_rise=m.spring_rise or d.REDUCER_SPRING_RISE.value(),
        pressure_recovery=m.pressure_recovery or d.PRESSURE_RECOVERY.value(),
        incipient_ratio=m.incipient_ratio or d.INCIPIENT_RATIO.value(),
        seat_tightness=m.seat_tightness or d.SEAT_FLOOR.value(),
        turns_free=m.turns_free or d.TURNS_FREE.value(),
        per_turn=pressure_per_turn(part.pilot),
        sense_lag=m.sense_lag or d.REDUCER_SENSE_LAG.value(),
        feed_kv=feed,
        pilot_kv=pilot,
        opening_needle_kv=m.opening_needle_kv,
        filter_kv=m.filter_kv,
        proportional_band=m.proportional_band or _direct_band(part),
        seat_leak_kv=m.seat_leak_kv,
        play=m.play or d.SCREW_PLAY.value(),
        pilot_friction=m.pilot_friction,
        stem_friction=m.stem_friction,
        dead_volume=m.dead_volume or d.DEAD_VOLUME.value(),
    )


def _direct_band(part: Reducer) -> Value | None:
    """Return the band of a direct-acting reducer of which neither band nor lock-up is stated. [Pa]"""
    if part.kind != "direct-acting" or part.lockup is not None:
        return None
    band = d.DIRECT_BAND.si * part.duty.pressure.si
    spread = None if d.DIRECT_BAND.spread is None else d.DIRECT_BAND.spread * part.duty.pressure.si
    return Value(
        band, "pressure", f"{band / 1e5:.3g} bar", Origin.DEFAULT, d.DIRECT_BAND.evidence,
        f"{d.DIRECT_BAND.name} {d.DIRECT_BAND.text}; {d.DIRECT_BAND.source}", spread=spread,
    )  # fmt: skip


def shut_off_twin(part: ShutOff) -> ShutOffTwin:
    """Return the inside of a shut-off, stated values first, defaults by size for the rest."""
    m, bore = part.mechanics, part.size.si
    kv = part.kv or _kv(d.VALVE_LOSS, bore)
    seat_ratio = m.seat_ratio or d.SEAT_RATIO.value()
    return ShutOffTwin(
        kv=kv,
        curve_shape=m.curve_shape or d.CURVE_SHAPE.value(),
        curve=m.curve,
        stroke=m.stroke or _stroke(bore),
        diaphragm_area=m.diaphragm_area or _diaphragm(bore, seat_ratio.si),
        seat_ratio=seat_ratio,
        flow_force=m.flow_force or d.FLOW_FORCE.value(),
        spring_shut=m.spring_shut or d.SHUT_OFF_SPRING_SHUT.value(),
        spring_rise=m.spring_rise or d.SHUT_OFF_SPRING_RISE.value(),
        pressure_recovery=m.pressure_recovery or d.PRESSURE_RECOVERY.value(),
        incipient_ratio=m.incipient_ratio or d.INCIPIENT_RATIO.value(),
        seat_tightness=m.seat_tightness or d.SEAT_FLOOR.value(),
        turns_free=m.turns_free or d.TURNS_FREE.value(),
        per_turn=pressure_per_turn(part.pilot),
        sense_lag=m.sense_lag or d.SHUT_OFF_SENSE_LAG.value(),
        closing_needle_kv=m.closing_needle_kv
        or _derived(
            d.CLOSING_NEEDLE_SHARE.si * kv.si, "flow_coefficient", "Kv", d.CLOSING_NEEDLE_SHARE.source
        ),
        opening_kv=m.opening_kv
        or _derived(d.OPENING_SHARE.si * kv.si, "flow_coefficient", "Kv", d.OPENING_SHARE.source),
    )


def _stroke(bore: float) -> Value:
    return _derived(bore / 4, "length", "m", "a quarter of the bore, own estimate")


def _diaphragm(bore: float, seat_ratio: float) -> Value:
    return _derived(pi / 4 * bore**2 / seat_ratio, "area", "m²", "seat area over r0, own estimate")


def pressure_per_turn(pilot: PilotSpring) -> Value:
    """Return what one full turn of the pilot screw moves [Pa/turn]; spring range / 8 where not stated."""
    if pilot.per_turn is not None:
        return pilot.per_turn
    rate = (pilot.spring_high.si - pilot.spring_low.si) / d.TURNS_PER_RANGE.si
    return Value(
        rate, "pressure_per_turn", f"{rate / 1e5:.3g} bar/turn", Origin.DEFAULT, Evidence.PRACTICE,
        f"spring range / 8; {d.TURNS_PER_RANGE.source}", spread=0.4 * rate,
    )  # fmt: skip


def isolating_kv(part: IsolatingValve) -> Value:
    """Return Kv of an open isolating valve."""
    return part.kv or _kv(d.ISOLATING_LOSS, part.size.si)


def strainer_kv(part: Strainer) -> Value:
    """Return Kv of the clean strainer."""
    return part.kv_clean or _per_area(d.STRAINER_FACTOR, part.size.si)


def meter_kv(part: FlowMeter) -> Value:
    """Return Kv of the flow meter."""
    return part.kv or _per_area(d.METER_FACTOR, part.size.si)


def drain_kv(part: Drain) -> Value:
    """Return Kv of the open drain, its hose included."""
    return part.kv or _per_area(d.DRAIN_FACTOR, part.size.si)


def relief_kv(part: Relief) -> Value:
    """Return Kv of the relief valve wide open, its outlet pipe included."""
    return part.kv or _per_area(d.RELIEF_FACTOR, part.size.si)


def relief_full(part: Relief) -> Value:
    """Return the pressure at which a relief valve stands wide open. [Pa]"""
    if part.full is not None:
        return part.full
    full = part.crack.si * (1.0 + d.RELIEF_RISE.si)
    return Value(
        full,
        "pressure",
        f"{full / 1e5:.3g} bar",
        Origin.DEFAULT,
        d.RELIEF_RISE.evidence,
        d.RELIEF_RISE.source,
    )


def check_valve_kv(part: CheckValve) -> Value:
    """Return Kv of the open check valve."""
    return part.kv or _kv(d.CHECK_LOSS, part.size.si)


def _kv(loss: Default, bore: float) -> Value:
    kv = d.kv_from_loss(loss.si, bore)
    return Value(
        kv, "flow_coefficient", f"Kv {kv:.3g}", Origin.DEFAULT, Evidence.ESTIMATE,
        f"{loss.name} {loss.text}", spread=d.VALVE_LOSS_BAND * kv,
    )  # fmt: skip


def _per_area(factor: Default, bore: float) -> Value:
    kv = factor.si * (bore * 1e3) ** 2
    spread = None if factor.spread is None else factor.spread * (bore * 1e3) ** 2
    return Value(
        kv,
        "flow_coefficient",
        f"Kv {kv:.3g}",
        Origin.DEFAULT,
        factor.evidence,
        f"{factor.name}: {factor.source}",
        spread=spread,
    )


def _by_size(table: tuple[tuple[float, float], ...], bore: float, kind: str, unit: str, source: str) -> Value:
    got = d.by_size(table, bore)
    return Value(got, kind, f"{unit} {got:.3g}", Origin.DEFAULT, Evidence.ESTIMATE, source)


def _derived(si: float, kind: str, unit: str, source: str) -> Value:
    text = f"{unit} {si:.3g}" if unit == "Kv" else f"{si:.3g} {unit}"
    return Value(si, kind, text, Origin.DEFAULT, Evidence.ESTIMATE, source)
