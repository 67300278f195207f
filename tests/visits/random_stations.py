"""Random stations as somebody might write them down, from ranges of the trade; knows nothing of bands.

Ranges: bores and velocities of the design handbook 2.3 (common practice), pressures of towns and buildings,
tolerances now stated and now left out. Every station can be tested: the inlet stays above the trip.
"""

from __future__ import annotations

from typing import Any

import numpy as np

LAYOUTS = ("alone", "upstream", "downstream", "pair")
BORES = (50, 65, 80, 100, 125, 150, 200, 250)
Random = np.random.Generator


def bar(value: float) -> str:
    return f"{value:.3f} bar"


def litres(value: float) -> str:
    return f"{value:.3f} L/s"


def random_station(rng: Random) -> dict[str, Any]:
    """Return the data of one random station file."""
    layout = str(rng.choice(LAYOUTS))
    size = int(rng.integers(1, len(BORES)))
    line_bore, bore = BORES[size], BORES[size - int(rng.integers(0, 2))]
    peak = rng.uniform(1.0, 3.5) * np.pi / 4 * (bore / 1000) ** 2 * 1000
    duty = rng.uniform(2.0, 6.0)
    trip = duty + max(rng.uniform(0.15, 0.35) * duty, 0.8)
    between = trip + rng.uniform(2.0, 3.0) if layout == "pair" else 0.0
    lowest = max(trip, between) + rng.uniform(1.2, 6.0)
    typical = lowest * rng.uniform(1.05, 1.25)
    static = typical * rng.uniform(1.03, 1.2)
    data: dict[str, Any] = {
        "format": "steadyhead/station/1",
        "station": {"id": "RND-1", "name": "Random", "datum": f"{rng.uniform(-20, 600):.1f} m"},
        "water": _water(rng),
        "supply": _supply(rng, lowest, typical, static, peak, line_bore),
        "demand": _demand(rng, peak),
        "limits": [
            {"component": "pipes", "normal": bar(trip + 2), "fault": bar(trip + 4), "level": "0 m"},
            {"component": "section", "normal": "25 bar", "level": "0 m", "side": "between"},
        ],
        "line": _line(rng, layout, line_bore, bore, peak, duty, trip, between, static),
        "gauges": _gauges(rng, duty, static),
        "stacking": str(rng.choice(["worst case", "root-sum-square"])),
    }
    datum = data["station"]["datum"]
    for limit in data["limits"]:
        limit["level"] = datum
    if rng.random() < 0.6:
        data["zone"] = _zone(rng, line_bore)
    if rng.random() < 0.7:
        data["alarm"] = {"pressure": bar(0.5 * (duty + trip)), "delay": "60 s"}
        if rng.random() < 0.5:
            data["alarm"]["error"] = bar(rng.uniform(0.02, 0.1))
    return data


def _water(rng: Random) -> dict[str, Any]:
    usual = rng.uniform(6, 18)
    water = {"temperature": f"{usual:.1f} °C"}
    if rng.random() < 0.5:
        water |= {
            "lowest": f"{usual - rng.uniform(1, 5):.1f} °C",
            "highest": f"{usual + rng.uniform(1, 8):.1f} °C",
        }
    return water


def _supply(
    rng: Random, lowest: float, typical: float, static: float, peak: float, bore: int
) -> dict[str, Any]:
    supply: dict[str, Any] = {"min": bar(lowest), "typical": bar(typical), "static": bar(static)}
    if rng.random() < 0.6:
        supply["night"] = bar(typical + rng.uniform(0.4, 0.9) * (static - typical))
    if rng.random() < 0.7:
        main: dict[str, Any] = {
            "length": f"{rng.uniform(50, 900):.0f} m",
            "bore": f"{bore * rng.uniform(1.0, 1.6):.0f} mm",
        }
        main["material"] = str(rng.choice(["ductile iron", "steel", "PVC-U", "PE100"]))
        if rng.random() < 0.5:
            main["roughness"] = f"{rng.uniform(0.01, 0.5):.3f} mm"
        supply["main"] = main
        if rng.random() < 0.5:
            supply["stated_at"] = "head of main"
    return supply


def _demand(rng: Random, peak: float) -> dict[str, Any]:
    return {
        "night": litres(peak * rng.uniform(0.01, 0.15)),
        "average": litres(peak * rng.uniform(0.25, 0.5)),
        "peak": litres(peak),
    }


def _zone(rng: Random, bore: int) -> dict[str, Any]:
    main = {
        "length": f"{rng.uniform(50, 900):.0f} m",
        "bore": f"{bore * rng.uniform(1.0, 1.5):.0f} mm",
        "material": "PVC-U",
    }
    return {"volume": f"{rng.uniform(5, 300):.0f} m³", "material": "PVC-U", "main": main}


def _gauges(rng: Random, duty: float, static: float) -> list[dict[str, Any]]:
    spans = [s for s in (6, 10, 16, 25, 40) if s >= 1.6 * duty + 1.0]
    found = []
    if rng.random() < 0.85:
        accuracy = rng.choice(["0.25 %", "0.6 %", "1 %"])
        found.append(
            {"id": "G-1", "span": f"{spans[0]} bar", "accuracy": str(accuracy), "for_setting": "yes"}
        )
    if rng.random() < 0.85:
        wide = next(s for s in (6, 10, 16, 25, 40) if s >= static)
        accuracy = rng.choice(["0.6 %", "1 %", "1.6 %"])
        found.append({"id": "G-2", "span": f"{wide} bar", "accuracy": str(accuracy)})
    return found


def _tap(rng: Random, name: str) -> dict[str, Any]:
    tap: dict[str, Any] = {"part": "tap", "id": name}
    if rng.random() < 0.5:
        tap["height"] = f"{rng.uniform(-1.0, 1.5):.2f} m"
    return tap


def _valve(rng: Random, name: str, bore: int) -> dict[str, Any]:
    valve: dict[str, Any] = {"part": "isolating_valve", "id": name, "size": f"DN {bore}", "tight": "yes"}
    if rng.random() < 0.8:
        valve["turns"] = f"{int(rng.integers(10, 45))} turns"
    return valve


def _maybe_kv(rng: Random, part: dict[str, Any], kv: float, name: str = "kv") -> dict[str, Any]:
    if rng.random() < 0.5:
        part[name] = {"value": f"Kv {kv:.3g}"}
        if rng.random() < 0.5:
            part[name]["plus_minus"] = f"Kv {0.08 * kv:.2g}"
    return part


def _line(
    rng: Random,
    layout: str,
    line: int,
    bore: int,
    peak: float,
    duty: float,
    trip: float,
    between: float,
    static: float,
) -> list[dict[str, Any]]:
    parts = [_tap(rng, "T0"), _valve(rng, "IV1", line)]
    parts.append(
        _maybe_kv(rng, {"part": "strainer", "id": "ST", "size": f"DN {line}"}, 0.03 * line**2, "kv_clean")
    )
    if rng.random() < 0.3:
        parts.append({"part": "flow_meter", "id": "FM", "size": f"DN {line}"})
    parts.append(_tap(rng, "T1"))
    sensed = {"alone": "T3", "upstream": "T3", "downstream": "T2", "pair": "T3"}[layout]
    reducer = _reducer(rng, "RV", bore, duty, trip, peak, sensed)
    shut_off = _shut_off(rng, line, trip, peak)
    test = _maybe_kv(rng, {"part": "drain", "id": "TD", "size": f"DN {line}"}, 0.01 * line**2)
    second = {"part": "drain", "id": "TD2", "size": "DN 25"}
    if layout == "alone":
        parts += [reducer]
    elif layout == "upstream":
        parts += [shut_off, _tap(rng, "T2"), reducer]
    elif layout == "downstream":
        parts += [reducer, _tap(rng, "T2"), second, shut_off]
    else:
        first = _reducer(rng, "RV1", bore, between, between, peak, "T2")
        parts += [first, _tap(rng, "T2"), second, reducer]
    test["metered"] = "yes" if rng.random() < 0.5 else "no"
    return [*parts, _tap(rng, "T3"), test, _valve(rng, "IV2", line), _tap(rng, "T4")]


def _pilot(rng: Random, low: float, high: float) -> dict[str, Any]:
    pilot: dict[str, Any] = {
        "spring_low": bar(0.4 * low),
        "spring_high": bar(1.3 * high),
        "raises": "clockwise",
    }
    if rng.random() < 0.3:
        pilot["per_turn"] = f"{rng.uniform(0.4, 1.6):.2f} bar/turn"
    return pilot


def _reducer(
    rng: Random, name: str, bore: int, duty: float, trip: float, peak: float, senses: str
) -> dict[str, Any]:
    part: dict[str, Any] = {
        "part": "reducer",
        "id": name,
        "size": f"DN {bore}",
        "duty": {"pressure": bar(duty), "flow": litres(peak * rng.uniform(0.15, 0.5))},
        "senses": senses,
        "pilot": _pilot(rng, duty, trip),
    }
    if rng.random() < 0.5:
        part["lockup"] = {"value": bar(duty + rng.uniform(0.1, 0.3))}
        if rng.random() < 0.5:
            part["lockup"]["plus_minus"] = bar(rng.uniform(0.02, 0.06))
    if rng.random() < 0.4:
        part["repeatability"] = bar(rng.uniform(0.03, 0.1))
    if rng.random() < 0.4:
        part["drift"] = bar(rng.uniform(0.02, 0.15))
    return _maybe_kv(rng, part, 0.017 * bore**2)


def _shut_off(rng: Random, bore: int, trip: float, peak: float) -> dict[str, Any]:
    part: dict[str, Any] = {
        "part": "shut_off",
        "id": "SO",
        "size": f"DN {bore}",
        "trip": bar(trip),
        "senses": "T3",
        "sensing_tap": "own",
        "closing_medium": "own inlet",
        "closes_by": "line pressure",
        "pilot": _pilot(rng, 0.7 * trip, trip),
    }
    if rng.random() < 0.7:
        part["dead_band"] = bar(rng.uniform(0.3, 0.8))
    if rng.random() < 0.5:
        part["closing"] = {"time": f"{rng.uniform(3, 15):.1f} s"}
        if rng.random() < 0.7:
            part["closing"]["flow"] = litres(0.02 * peak * rng.uniform(0.7, 1.4))
    if rng.random() < 0.4:
        part["repeatability"] = bar(rng.uniform(0.05, 0.15))
    if rng.random() < 0.4:
        part["drift"] = bar(rng.uniform(0.03, 0.15))
    return _maybe_kv(rng, part, 0.017 * bore**2)


CHAINS = (
    "pair, shut-off upstream", "pair, shut-off downstream", "monitor", "monitor, shut-off upstream",
    "monitor second, shut-off downstream", "direct-acting", "relief beside", "relief instead",
)  # fmt: skip


def random_chain(rng: Random, kind: str) -> dict[str, Any]:
    """Return the data of one random station of a chain beyond the four layouts of `random_station`."""
    data = random_station(rng)
    bore, line = BORES[int(rng.integers(0, 5))], BORES[int(rng.integers(3, len(BORES)))]
    duty = rng.uniform(2.0, 6.0)
    watch = duty + rng.uniform(0.35, 0.7)
    trip = watch + rng.uniform(0.7, 1.5)
    between = trip + rng.uniform(2.0, 3.0)
    lowest = between + rng.uniform(1.2, 4.0)
    peak = rng.uniform(1.0, 3.0) * np.pi / 4 * (bore / 1000) ** 2 * 1000
    typical = lowest * rng.uniform(1.05, 1.25)
    data |= {
        "supply": _supply(rng, lowest, typical, typical * rng.uniform(1.03, 1.2), peak, line),
        "demand": _demand(rng, peak),
        "gauges": _gauges(rng, duty, typical * 1.2),
    }
    for limit, low in zip(data["limits"], (trip + 2.0, 25.0), strict=True):
        limit |= {"normal": bar(low), "fault": bar(low + 2.0)}
    if "alarm" in data:
        data["alarm"]["pressure"] = bar(duty + 0.4)
    data["line"] = _chain(rng, kind, line, bore, peak, duty, watch, trip, between)
    return data


def _chain(
    rng: Random,
    kind: str,
    line: int,
    bore: int,
    peak: float,
    duty: float,
    watch: float,
    trip: float,
    between: float,
) -> list[dict[str, Any]]:
    strainer = {"part": "strainer", "id": "ST", "size": f"DN {line}"}
    before = [_tap(rng, "T0"), _valve(rng, "IV1", line), strainer, _tap(rng, "T1")]
    test = {"part": "drain", "id": "TD", "size": f"DN {line}", "metered": "yes"}
    after = [_tap(rng, "T3"), test, _valve(rng, "IV2", line), _tap(rng, "T4")]
    small = {"part": "drain", "size": "DN 25"}
    shut_off = _shut_off(rng, line, trip, peak)
    first = _reducer(rng, "RV1", bore, between, between, peak, "T2b")
    second = _reducer(rng, "RV", bore, duty, trip, peak, "T3")
    monitor = _reducer(rng, "MON", bore, watch, trip, peak, "T3")
    relief = {"part": "relief", "id": "RL", "size": "DN 40", "crack": bar(trip - 0.3), "cock": "yes"}
    if kind == "pair, shut-off upstream":
        inner = [shut_off, _tap(rng, "T2a"), first, _tap(rng, "T2b"), {**small, "id": "TD2"}, second]
    elif kind == "pair, shut-off downstream":
        first["senses"], second["senses"] = "T2a", "T2b"
        inner = [first, _tap(rng, "T2a"), {**small, "id": "TD2"}]
        inner += [second, _tap(rng, "T2b"), {**small, "id": "TD3"}, shut_off]
    elif kind == "monitor":
        inner = [monitor, _tap(rng, "T2"), second]
    elif kind == "monitor, shut-off upstream":
        inner = [shut_off, _tap(rng, "T2a"), monitor, _tap(rng, "T2b"), second]
    elif kind == "monitor second, shut-off downstream":
        monitor["senses"] = second["senses"] = "T2b"
        inner = [second, _tap(rng, "T2a"), monitor, _tap(rng, "T2b"), {**small, "id": "TD3"}, shut_off]
    elif kind == "direct-acting":
        second["kind"] = "direct-acting"
        inner = [second]
    else:
        inner = [second] if kind == "relief instead" else [shut_off, _tap(rng, "T2"), second]
        if rng.random() < 0.5:
            relief["error"] = bar(rng.uniform(0.03, 0.15))
        if rng.random() < 0.5:
            relief["reseat"] = bar(trip - 0.3 - rng.uniform(0.2, 0.6))
        after.insert(1, relief)
    return [*before, *inner, *after]
