"""Invented capacity maps to draw: usual, crowded, without cavitation limits, with nothing that holds."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.capacity import Border, BorderKind, CapacityMap, DesignPoint
from steadyhead.records.pictures import CapacityPicture
from steadyhead.units import METRIC, UK, US

BAR, LITRE = 1e5, 1e-3
COLUMNS = 25


def curve(kind: BorderKind, start: float, rise: float, words: str, flows: float = 40.0) -> Border:
    """Return a border that rises with the square of flow [bar]."""
    shares = [i / (COLUMNS - 1) for i in range(COLUMNS)]
    points = tuple((share * flows * LITRE, (start + rise * share**2) * BAR) for share in shares)
    return Border(kind, points, words, "invented")


def low(kind: BorderKind, share: float) -> Border:
    """Return a low-flow border that grows with the root of the difference."""
    points = tuple((share * (p - 4.0) ** 0.5 * LITRE, p * BAR) for p in (4.1, 4.5, 5.0, 6.0, 8.0, 10.0, 13.0))
    return Border(kind, points, "of Kv", "invented")


def upright(kind: BorderKind, flow: float, speed: float) -> Border:
    return Border(kind, ((flow * LITRE, 3 * BAR), (flow * LITRE, 13 * BAR)), "", "invented", speed)


def point(flow_case, inlet_case, flow: float, inlet: float, **other) -> DesignPoint:
    facts = {
        "zone": "holds", "travel": 0.2, "sigma_1": 2.4, "to_spare": 1.5 * BAR, "next_degree": "incipient",
        "next_limit": 2.2, "velocity": flow / 8, "velocity_limit": 5.0, "low_flow": "",
        "gravel": "not expected", "gravel_from": 9.8 * BAR,
    }  # fmt: skip
    return DesignPoint(flow_case, inlet_case, flow * LITRE, inlet * BAR, **{**facts, **other})


USUAL = CapacityMap(
    reducer="RV",
    place="inlet of the station",
    size=0.1,
    duty=4 * BAR,
    lowest_flow=0.02 * LITRE,
    highest_flow=42 * LITRE,
    lowest_inlet=3 * BAR,
    highest_inlet=13 * BAR,
    borders=(
        curve("wide open", 4.3, 1.8, "wide open", 42.0),
        curve("incipient", 8.6, -0.4, "σ₁ 2.20", 42.0),
        curve("constant", 10.2, 0.0, "σ₁ 1.80", 42.0),
        curve("damage", 12.3, 0.1, "σ₁ 1.60", 42.0),
        low("low flow, good valve", 0.4),
        low("low flow, least lift", 1.6),
        low("low flow, plain valve", 2.0),
        upright("too fast", 39.3, 5.0),
    ),
    points=(
        point("night", "static", 1.8, 11.8, low_flow="in the band", gravel="expected", zone="constant"),
        point("night", "night", 1.8, 11.4, low_flow="below it", sigma_1=None, to_spare=None),
        point("average", "typical", 9.0, 10.6, zone="constant", next_degree="damage", gravel="expected"),
        point("peak", "typical", 21.0, 8.4, gravel="possible", zone="incipient"),
        point("peak", "lowest", 21.0, 6.4, gravel_from=None),
        point(
            "fire", "lowest", 34.0, 4.9, zone="wide open", to_spare=-0.4 * BAR, next_degree=None, travel=1.0
        ),
    ),
    degrees=("incipient", "constant", "damage", "choked"),
    not_known=("Low flow is a band.",),
)


def picture(shown: CapacityMap, name: str = "Quernhollow Lane", units=METRIC) -> CapacityPicture:
    return CapacityPicture(name, 142.0, shown, units=units)


_SAME = tuple(
    point(flow, inlet, 20.0 + i * 0.1, 8.0 + i * 0.05)
    for i, (flow, inlet) in enumerate(
        [
            ("night", "static"),
            ("night", "night"),
            ("average", "typical"),
            ("peak", "typical"),
            ("peak", "lowest"),
        ]
    )
)
MAPS: dict[str, CapacityPicture] = {
    "usual": picture(USUAL),
    "irrigation": picture(USUAL, "Mesquill Flat 7", US),
    "building": picture(replace(USUAL, place="outlet of RV1", reducer="RV2"), "Veldany House", UK),
    "crowded": picture(replace(USUAL, points=_SAME)),
    "no limits stated": picture(replace(USUAL, borders=USUAL.borders[:2] + USUAL.borders[4:7])),
    "leaves the frame": picture(
        replace(
            USUAL,
            borders=(
                curve("wide open", 4.3, 30.0, "wide open", 30.0),
                curve("choked", 12.0, 8.0, "F_L 0.85"),
                upright("too fast in a fire", 39.3, 7.5),
            ),
        )
    ),
    "helped": picture(
        replace(
            USUAL,
            reducer="LB",
            points=(*USUAL.points[:-1], replace(USUAL.points[-1], helped_by=("RV", "RVB"))),
        )
    ),
    "nothing holds": picture(replace(USUAL, borders=(), points=USUAL.points[-1:])),
}  # fmt: skip
