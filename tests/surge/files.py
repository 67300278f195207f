"""Station files for the tests of the transient twin: the one of the physics specification, and variants."""

from __future__ import annotations

from steadyhead.hydraulics import Model, build
from steadyhead.station.load import load
from steadyhead.station.streams import View, views

REDUCER = """  - part: reducer
    id: RV
    size: DN 100
    kv: Kv 170
    duty: {pressure: 4.0311 bar, flow: 55.997 m³/h}
    senses: SENSES
    pilot: {spring_low: 1 bar, spring_high: 9 bar}
    mechanics: {proportional_band: 0.8 bar}
"""
SHUT_OFF = """  - part: shut_off
    id: SO
    size: DN 100
    kv: Kv 170
    trip: 5.5 bar
    senses: T3
    resets: by hand
    closes_by: CLOSES
    closing: {time: 5 s, flow: 1 m³/h, inlet_pressure: 4.5 bar}
    pilot: {spring_low: 1 bar, spring_high: 9 bar}
"""
STATION = """format: steadyhead/station/1
station: {id: TST-1, name: Tarn Lodge, datum: 0 m}
water: {temperature: 10 °C}
supply: {min: 9 bar, typical: 9 bar, static: 9 bar, stated_at: head of main, MAIN}
demand: {night: NIGHT m³/h, average: 30 m³/h, peak: PEAK m³/h}
zone: {ZONE}
limits:
  - {component: distribution pipes, normal: 7 bar, fault: 7 bar, level: 0 m, source: class of the pipe}
  - {component: inlet pipework, normal: 16 bar, fault: 16 bar, level: 0 m, side: inlet, source: class}
EVENTSline:
  - {part: tap, id: T0}
  - {part: isolating_valve, id: IV1, size: DN 100, turns: 20 turns}
  - {part: strainer, id: ST, size: DN 100}
  - {part: tap, id: T1}
FIRST  - {part: tap, id: T2}
SECOND  - {part: tap, id: T3}
EXTRA  - {part: isolating_valve, id: IV2, size: DN 100}
  - {part: tap, id: T4}
"""
HELD = (
    b"proportional_band: 0.8 bar",
    b"proportional_band: 0.8 bar, feed_kv: Kv 0.06, pilot_kv: Kv 0.12, sense_lag: 0.05 s, "
    b"diaphragm_area: 0.01745 m\xc2\xb2",
)
"""What to replace so that nothing of the reducer is left to its band."""
SUPPLY_MAIN = (
    "main: {length: 500 m, bore: 150 mm, material: ductile iron, roughness: 0.1 mm, wave_speed: 1150 m/s}"
)
ZONE_MAIN = (
    "main: {length: 800 m, bore: 150 mm, material: ductile iron, roughness: 0.1 mm, wave_speed: 1150 m/s}"
)


def text(
    *,
    night: float = 38.0,
    peak: float = 55.997,
    first: str = "reducer",
    closes: str = "spring",
    main: str = SUPPLY_MAIN,
    zone: str = ZONE_MAIN,
    extra: str = "",
    events: str = "",
) -> bytes:
    """Return the default station of the physics specification as a station file, or a variant of it."""
    parts = [REDUCER, SHUT_OFF] if first == "reducer" else [SHUT_OFF, REDUCER]
    found = (
        STATION.replace("FIRST", parts[0])
        .replace("SECOND", parts[1])
        .replace("EXTRA", extra)
        .replace("EVENTS", events)
    )
    found = found.replace("SENSES", "T2" if first == "reducer" else "T3").replace("CLOSES", closes)
    found = found.replace(", MAIN", f", {main}" if main else "").replace("ZONE", zone)
    return found.replace("NIGHT", f"{night:.6g}").replace("PEAK", f"{peak:.6g}").encode()


def way(source: bytes) -> tuple[View, Model]:
    """Return the one way through a station file and its steady twin."""
    (view,) = views(load(source).station)
    return view, build(view.station)
