"""Write a station in figures as the plain data of a station file, rounded and shortened as people do."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.station.slip_drafts import (
    BAR_PER_PSI,
    FT,
    INCHES,
    LS_PER_GPM,
    RATINGS,
    SIZES,
    SPANS,
    SPRINGS,
    Draft,
    Style,
)


def written(draft: Draft, style: Style, rng: random.Random) -> dict[str, Any]:
    """Return the plain data of a station file, rounded and shortened as people do."""
    make_able(draft)

    def p(value: float) -> str:
        return pressure_text(value, style.pressure, rng)

    def q(value: float) -> str:
        return flow_text(value, style.flow)

    def z(value: float) -> str:
        if style.length == "ft":
            return f"{value / FT:.0f} ft"
        return f"{value:.{rng.choice((0, 1))}f} m"

    def keep() -> bool:
        return rng.random() > style.sparse

    zone: dict[str, Any] = {
        "material": draft.material,
        "lowest": z(draft.lowest),
        "highest": z(draft.highest),
    }
    if keep():
        zone["level"] = z(draft.lowest + (draft.highest - draft.lowest) * rng.uniform(0.3, 0.7))
    volume = draft.average * draft.residence_h * 3.6
    if keep():
        zone["volume"] = f"{volume / 0.003785:.2g} gal" if style.inches else f"{volume:.2g} m³"
        zone["volume"] = plain(zone["volume"])
    supply: dict[str, Any] = {"min": p(draft.minimum), "typical": p(draft.typical), "static": p(draft.static)}
    if keep():
        supply["night"] = p(draft.night_in)
    if keep():
        length = f"{draft.main_m / FT:.0f} ft" if style.length == "ft" else f"{draft.main_m:.0f} m"
        main = main_bore(draft)
        bore = f"{main / 25.4:.1f} in" if style.inches else f"{main * rng.uniform(0.96, 1.04):.0f} mm"
        supply["main"] = {
            "length": length,
            "bore": bore,
            "material": "ductile iron" if main >= 80 else "copper",
        }
    demand: dict[str, Any] = {"night": q(draft.night), "average": q(draft.average), "peak": q(draft.peak)}
    if draft.fire:
        demand["fire"] = q(draft.fire)
    demand["zero_possible"] = "yes" if draft.zero else "no"
    data: dict[str, Any] = {
        "format": "steadyhead/station/1",
        "station": {"id": "INV-1", "name": "Invented", "kind": draft.kind, "datum": z(draft.datum)},
        "water": {"temperature": "52 °F" if style.inches else "11 °C"},
        "supply": supply,
        "demand": demand,
        "zone": zone,
        "limits": [_limit(limit, p, z, keep) for limit in draft.limits],
        "line": _line(draft, style, p, q, rng, keep),
    }
    if keep():
        need = {"at": "highest point", "pressure": p(draft.need), "level": z(draft.highest)}
        if keep():
            need["friction"] = p(rng.uniform(0.05, 0.3) * min(1.0, draft.duty / 3))
        data["needs"] = [need]
    if draft.layout == "two":
        between = next(r for r in RATINGS if r >= draft.static * 1.05)
        data["limits"].append(
            {
                "component": "section between",
                "normal": p(between),
                "fault": p(between),
                "level": z(draft.datum),
                "side": "between",
            }
        )
    if keep():
        top = (
            draft.trip
            if draft.layout in ("up", "down")
            else draft.duty + draft.rise + max(0.9, 0.2 * draft.duty)
        )
        low = draft.duty + draft.rise
        data["alarm"] = {"pressure": p(low + (top - low) * rng.uniform(0.35, 0.65))}
        if keep():
            data["alarm"]["delay"] = "60 s"
    if keep():
        aim = max(draft.trip, draft.duty) * 1.3
        data["gauges"] = [
            {
                "id": "TG-1",
                "span": p(next(s for s in SPANS if s >= aim)),
                "accuracy": "0.6 %",
                "for_setting": "yes",
            }
        ]
        if keep():
            data["gauges"].append(
                {
                    "id": "TG-2",
                    "span": p(next(s for s in SPANS if s >= draft.static * 1.2)),
                    "accuracy": "1 %",
                }
            )
    return data


def _limit(
    limit: tuple[str, float, float, float], p: Any, z: Any, keep: Callable[[], bool]
) -> dict[str, Any]:
    name, normal, fault, level = limit
    found = {"component": name, "fault": p(fault), "level": z(level), "source": "pipe class"}
    if keep():
        found["normal"] = p(normal)
    return found


def _line(
    draft: Draft, style: Style, p: Any, q: Any, rng: random.Random, keep: Callable[[], bool]
) -> list[dict[str, Any]]:
    def size(mm: int) -> str:
        return f"{INCHES[mm]} in" if style.inches else f"DN {mm}"

    def springs(value: float) -> dict[str, str]:
        fits = [s for s in SPRINGS if s[0] <= value * 0.8 and s[1] >= value * 1.25]
        low, high = rng.choice(fits) if fits else (value * 0.4, value * 2)
        return {"spring_low": p(low), "spring_high": p(high), "raises": "clockwise"}

    def reducer(name: str, duty: float, senses: str) -> dict[str, Any]:
        part: dict[str, Any] = {
            "part": "reducer",
            "id": name,
            "size": size(draft.valve),
            "senses": senses,
            "pilot": springs(duty),
            "duty": {"pressure": p(duty), "flow": q(max(draft.night, draft.average) * rng.uniform(0.5, 1.1))},
        }
        if keep():
            part["lockup"] = p(duty + draft.rise)
        if rng.random() < 0.3:
            part["factory"] = {"pressure": p(duty), "date": "2026-03-01", "sealed": "yes"}
        return part

    def shut_off(senses: str) -> dict[str, Any]:
        part: dict[str, Any] = {
            "part": "shut_off",
            "id": "SO",
            "size": size(draft.pipe),
            "trip": p(draft.trip),
            "senses": senses,
            "pilot": springs(draft.trip),
        }
        if keep():
            part["dead_band"] = p(draft.trip * rng.uniform(0.08, 0.14))
        if keep():
            part["closing"] = {"time": "6 s", "flow": q(max(0.05, draft.peak * 0.02))}
        if rng.random() < 0.3:
            part["factory"] = {"pressure": p(draft.trip), "date": "2026-03-01", "sealed": "yes"}
        return part

    tap = [{"part": "tap", "id": name} for name in ("T0", "T1", "T2", "T3", "T4")]
    iv1, iv2 = ({"part": "isolating_valve", "id": name, "size": size(draft.pipe)} for name in ("IV1", "IV2"))
    middle = {
        "alone": [reducer("RV", draft.duty, "T3")],
        "up": [shut_off("T3"), tap[2], reducer("RV", draft.duty, "T3")],
        "down": [reducer("RV", draft.duty, "T2"), tap[2], shut_off("T3")],
        "two": [reducer("RV1", draft.between_duty, "T2"), tap[2], reducer("RV2", draft.duty, "T3")],
    }[draft.layout]
    drain = {"part": "drain", "id": "TD", "size": size(max(25, SIZES[max(0, SIZES.index(draft.valve) - 1)]))}
    return [tap[0], iv1, tap[1], *middle, tap[3], drain, iv2, tap[4]]


def pressure_text(bar: float, unit: str, rng: random.Random) -> str:
    """Return a pressure as people write it in this unit."""
    if unit == "psi":
        psi = bar / BAR_PER_PSI
        return f"{psi:.0f} psi" if psi >= 12 else f"{psi:.1f} psi"
    if unit == "kPa":
        return f"{plain(f'{bar * 100:.3g}')} kPa"
    if unit == "MPa":
        return f"{bar / 10:.3g} MPa"
    if unit == "m head":
        return f"{plain(f'{bar * 10.197:.3g}')} m head"
    if bar < 1:
        return f"{bar:.2f} bar"
    if bar >= 20:
        return f"{bar:.0f} bar"
    return f"{bar:.{rng.choice((1, 1, 2))}f} bar"


def flow_text(litres: float, unit: str) -> str:
    """Return a flow as people write it in this unit, two or three figures."""
    factor = {"L/s": 1.0, "m³/h": 3.6, "gpm": 1 / LS_PER_GPM, "L/min": 60.0, "m³/d": 86.4, "Ml/d": 0.0864}[
        unit
    ]
    value = litres * factor
    figures = 2 if value < 10 or value >= 100 else 3
    return f"{plain(f'{value:.{figures}g}')} {unit}"


def plain(text: str) -> str:
    """Write 1.2e+03 as 1200."""
    head, _, tail = text.partition(" ")
    return f"{float(head):.10g}{' ' + tail if tail else ''}"


def make_able(draft: Draft) -> None:
    """Enlarge the valve, and the pipe with it, until it passes the peak at lowest inlet (handbook 2.3)."""
    inlet = draft.minimum
    if draft.layout == "two":
        inlet = (draft.minimum * draft.duty) ** 0.5
    needed = draft.peak * 3.6 / max(0.3, inlet - draft.duty) ** 0.5
    while 150 * (draft.valve / 100) ** 2 * 0.85 < needed and draft.valve < SIZES[-1]:
        draft.valve = SIZES[SIZES.index(draft.valve) + 1]
    draft.pipe = max(draft.pipe, draft.valve)


def main_bore(draft: Draft) -> int:
    """Return a bore of supply main that does not eat more than the fall from night to peak, by friction."""
    room = max(0.3, draft.night_in - draft.minimum) * 1e5
    for size in SIZES[SIZES.index(draft.pipe) :]:
        speed = draft.peak / 1000 / (3.1416 / 4 * (size / 1000) ** 2)
        if 0.02 * draft.main_m / (size / 1000) * 500 * speed**2 <= room:
            return size
    return SIZES[-1]
