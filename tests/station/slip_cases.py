"""Invented station files for the campaign of slips: ordinary ones to plant slips in, unusual right ones.

Ranges are those of the trade (handbook 2.1 to 2.5, 9.1 and 10.1). The module was written before the
detector and knows nothing of its expectations. While the detector was tuned (seeds 1 to 55) it was
changed only where its stations were wrong: valves that could not pass their peak at the lowest inlet,
mains whose friction ate more than the inlet pressure falls, inlets below the duty, alarms at lock-up,
absolute readings with the air of the sea on a mountain, and files that left out what every template
asks for. Absolute readings are planted as a logger gives them. Change it for realism, never to please.
Figures are bar, L/s, mm and m until they are written as people write them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.station.slip_drafts import (
    HEAD,
    METRIC,
    US,
    Draft,
    Style,
    atmosphere_bar,
    industrial,
    irrigation,
    plant_room,
    sizes_for,
    utility,
    with_limits,
)
from tests.station.slip_writing import plain, written


def ordinary(rng: random.Random, style: Style | None = None) -> tuple[dict[str, Any], Style]:
    """Return an ordinary station as plain data, with the style it is written in."""
    chosen = style or rng.choice([*METRIC, *METRIC, US, US, US])
    draft = rng.choice((utility, utility, utility, plant_room, irrigation, industrial))(rng)
    return written(draft, chosen, rng), chosen


# ── unusual, and right ───────────────────────────────────────────────────────────────────────────


def high_rise(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A booster of 18 to 25 bar at the foot of a tower; zones up to 200 m above."""
    zone_floor = rng.uniform(30, 150)
    zone_top = zone_floor + rng.uniform(20, 45)
    need = rng.uniform(1.0, 1.5)
    duty = zone_top * HEAD + need + rng.uniform(0.4, 0.8)
    static = max(duty + rng.uniform(1.0, 4.0), rng.uniform(18, 25))
    draft = Draft(
        "building plant room",
        rng.choice((0.0, rng.uniform(0, 60))),
        static,
        static * 0.99,
        static * 0.97,
        static * rng.uniform(0.88, 0.95),
        duty,
        0.0,
        rng.uniform(0.2, 1.2),
        rng.uniform(1.5, 4.0),
        50,
        65,
        0,
        0,
        need,
        rng.uniform(0.3, 2.0),
        "steel",
        layout=rng.choice(("up", "alone", "down")),
        main_m=20.0,
        zero=True,
        fire=rng.choice((None, 20.0)),
    )
    draft.lowest, draft.highest = draft.datum + zone_floor, draft.datum + zone_top
    draft.minimum = max(draft.minimum, duty + 0.5)
    draft.typical = max(draft.typical, draft.minimum)
    return _done(rng, draft, rng.choice((Style(), US)))


def gravity(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A spring or tank a few metres above: 1.5 to 3 bar in, 0.8 to 1.5 bar out."""
    static = rng.uniform(1.5, 3.2)
    duty = static * rng.uniform(0.45, 0.75)
    average = 10 ** rng.uniform(-0.5, 0.9)
    draft = Draft(
        "utility chamber",
        rng.uniform(10, 1800),
        static,
        static * 0.99,
        static * 0.95,
        static * rng.uniform(0.82, 0.94),
        duty,
        average * 0.2,
        average,
        average * 2.5,
        0,
        0,
        0,
        0,
        rng.uniform(0.3, 0.6),
        rng.uniform(3, 40),
        rng.choice(("PE100", "PVC-U", "grey iron")),
        layout=rng.choice(("alone", "up")),
        rise=0.08,
        main_m=rng.uniform(200, 6000),
    )
    draft.valve, draft.pipe = sizes_for(rng, draft.peak)
    draft.lowest, draft.highest = draft.datum - rng.uniform(2, 15), draft.datum + duty * rng.uniform(0.5, 3)
    return _done(rng, draft, Style(sparse=0.4))


def mine(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A column in a shaft: 60 to 100 bar in, levels far below the sea or the bank."""
    static = rng.uniform(60, 100)
    duty = rng.uniform(8, 30)
    average = rng.uniform(4, 30)
    draft = Draft(
        "industrial",
        rng.uniform(-1100, -400),
        static,
        static * 0.99,
        static * 0.97,
        static * rng.uniform(0.86, 0.94),
        duty,
        average * 0.5,
        average,
        average * 2,
        0,
        0,
        0,
        0,
        rng.uniform(4, 7),
        rng.uniform(0.3, 3),
        "steel",
        layout=rng.choice(("two", "up", "alone")),
        rise=rng.uniform(0.3, 0.8),
        main_m=rng.uniform(600, 2000),
    )
    draft.valve, draft.pipe = sizes_for(rng, draft.peak)
    draft.lowest = draft.datum - rng.uniform(0, 120)
    draft.highest = draft.datum + min(60.0, (duty - draft.need - 0.5) / HEAD * rng.uniform(0, 0.6))
    return _done(rng, draft, rng.choice((Style(), Style("MPa"), Style("kPa"), Style(flow="m³/h"))))


def big_irrigation(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A main canal head: hundreds to thousands of litres a second."""
    average = rng.uniform(150, 900)
    duty = rng.uniform(2.5, 6)
    draft = Draft(
        "irrigation",
        rng.uniform(5, 1500),
        *_four(rng, duty * rng.uniform(1.3, 2.2) + 0.6),
        duty,
        average * 0.05,
        average,
        average * rng.uniform(1.5, 2.5),
        0,
        0,
        0,
        0,
        rng.uniform(1.5, 2),
        rng.uniform(1, 8),
        rng.choice(("GRP", "steel")),
        layout=rng.choice(("alone", "two")),
        main_m=rng.uniform(500, 12000),
        zero=True,
    )
    draft.valve, draft.pipe = sizes_for(rng, draft.peak)
    draft.lowest, draft.highest = draft.datum - rng.uniform(5, 40), draft.datum + rng.uniform(-5, 6)
    return _done(rng, draft, rng.choice((Style(), Style(flow="m³/h"), US, Style(flow="Ml/d"))))


def tiny(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """One flat, a drinking fountain, a laboratory: hundredths of a litre a second."""
    average = 10 ** rng.uniform(-2.5, -1)
    duty = rng.uniform(1.5, 4)
    draft = Draft(
        "building plant room",
        rng.choice((0.0, rng.uniform(-12, 80))),
        *_four(rng, duty * rng.uniform(1.2, 2.5) + 0.6),
        duty,
        0.0,
        average,
        rng.uniform(0.15, 0.6),
        rng.choice((15, 20, 25)),
        25,
        0,
        0,
        rng.uniform(0.5, 1.0),
        rng.uniform(0.05, 3),
        "copper",
        layout=rng.choice(("alone", "up")),
        rise=rng.uniform(0.1, 0.5),
        main_m=8.0,
        zero=True,
    )
    draft.lowest, draft.highest = (
        draft.datum,
        draft.datum + (duty - draft.need - 0.3) / HEAD * rng.uniform(0.1, 0.9),
    )
    return _done(rng, draft, rng.choice((Style(), Style(flow="L/min"), US)))


def below_the_sea(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A polder or a deep valley: all levels negative."""
    data, style = ordinary(rng, rng.choice((Style(), Style(flow="m³/h"))))
    shift = _number(data["station"]["datum"]) + rng.choice((rng.uniform(1, 6), rng.uniform(200, 420)))
    for holder, key in _levels(data):
        holder[key] = f"{_number(holder[key]) - shift:.1f} m"
    return data, style


def us_file(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """An ordinary station in US units."""
    return ordinary(rng, US)


def mixed_units(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Pressures and flows in the odder units of the trade."""
    return ordinary(
        rng,
        Style(
            rng.choice(("kPa", "m head", "MPa", "psi", "bar")),
            rng.choice(("m³/h", "m³/d", "L/min", "Ml/d", "L/s")),
            "m",
        ),
    )


def oversized(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Demand has fallen to a third since it was built; the duty flow may still be the old one."""
    data, style = ordinary(rng)
    _scale_flows(data, rng.uniform(0.25, 0.5), duty_too=rng.random() < 0.5)
    return data, style


def hard_worked(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Demand has grown by half since it was built."""
    data, style = ordinary(rng)
    _scale_flows(data, rng.uniform(1.2, 1.5), duty_too=rng.random() < 0.5)
    return data, style


def leaky(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Old iron, most of the night flow leaks."""
    draft = utility(rng)
    draft.night = draft.average * rng.uniform(0.6, 0.9)
    draft.peak = draft.average * rng.uniform(1.2, 1.6)
    draft.valve, draft.pipe = sizes_for(rng, draft.peak)
    return written(draft, rng.choice(METRIC), rng), METRIC[0]


def fire_main(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Nothing flows for years, then everything at once."""
    draft = plant_room(rng)
    draft.kind = "fire main"
    draft.night, draft.average, draft.peak = 0.0, rng.uniform(0.01, 0.1), rng.uniform(0.5, 2)
    draft.fire = rng.uniform(20, 60)
    draft.valve, draft.pipe = 100, rng.choice((100, 150))
    style = rng.choice((Style(), US))
    return written(draft, style, rng), style


def wide_steps(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A coarse old station: trip two bar and more above the duty, lock-up rise near one bar."""
    draft = rng.choice((utility, industrial))(rng)
    draft.rise = rng.uniform(0.3, 0.9)
    draft.trip = draft.duty + draft.rise + rng.uniform(1.0, 2.5)
    draft.limits = [(n, max(a, 16), max(b, 16), z) for n, a, b, z in draft.limits]
    return written(draft, METRIC[0], rng), METRIC[0]


def narrow_supply(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """The supply stands only a little above the duty, or swings by half between day and night."""
    draft = utility(rng)
    draft.minimum = draft.duty + rng.uniform(0.4, 0.7)
    draft.typical = draft.minimum + rng.uniform(0.1, 2.0)
    draft.night_in = draft.typical + rng.uniform(0.05, 2.0)
    draft.static = draft.night_in + rng.uniform(0.05, 3.0)
    style = rng.choice(METRIC)
    return written(draft, style, rng), style


def absolute_logger(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Inlet pressures read by absolute loggers and labelled so; the static one often worked out as gauge."""
    data, style = ordinary(rng, METRIC[0])
    for key in ("min", "typical", "night", *(["static"] if rng.random() < 0.5 else [])):
        if key in data["supply"]:
            level = _number(data["station"]["datum"])
            data["supply"][key] = f"{_number(data['supply'][key]) + atmosphere_bar(level):.2f} bar a"
    return data, style


def strong_pipes(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Everything rated PN 16 to 40 behind a low duty."""
    draft = rng.choice((utility, industrial))(rng)
    rating = rng.choice((16, 25, 40))
    draft.limits = [(n, rating, rating * rng.choice((1, 1, 1.2)), z) for n, _, _, z in draft.limits]
    draft.material = rng.choice(("ductile iron", "steel"))
    style = rng.choice((*METRIC, US))
    return written(draft, style, rng), style


def hillside(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A zone that runs 80 to 140 m down the hill under strong pipes."""
    draft = utility(rng)
    draft.lowest = draft.datum - rng.uniform(80, 140)
    draft.highest = draft.datum + rng.uniform(-20, 5)
    draft.limits = []
    style = rng.choice((METRIC[0], US))
    return written(with_limits(rng, draft), style, rng), style


UNUSUAL: tuple[Callable[[random.Random], tuple[dict[str, Any], Style]], ...] = (
    high_rise,
    gravity,
    mine,
    big_irrigation,
    tiny,
    below_the_sea,
    us_file,
    mixed_units,
    oversized,
    hard_worked,
    leaky,
    fire_main,
    wide_steps,
    narrow_supply,
    absolute_logger,
    strong_pipes,
    hillside,
)


NAMED = (high_rise, gravity, mine, big_irrigation, tiny, below_the_sea, us_file)
"""The kinds the task names; they come twice as often as those added to be hard."""


def unusual(rng: random.Random) -> tuple[str, dict[str, Any]]:
    """Return an unusual but right station, with the name of its kind."""
    make = rng.choice([*UNUSUAL, *NAMED])
    return make.__name__, make(rng)[0]


def _four(rng: random.Random, static: float) -> tuple[float, float, float, float]:
    night = static * rng.uniform(0.95, 0.99)
    typical = night * rng.uniform(0.9, 0.98)
    return static, night, typical, typical * rng.uniform(0.85, 0.95)


def _above_duty(draft: Draft) -> None:
    """Lift inlet pressures to what the valve needs over its duty (handbook 2.3: 0.5 bar)."""
    draft.minimum = max(draft.minimum, draft.duty + 0.5)
    draft.typical = max(draft.typical, draft.minimum)
    draft.night_in = max(draft.night_in, draft.typical)
    draft.static = max(draft.static, draft.night_in)


def _done(rng: random.Random, draft: Draft, style: Style) -> tuple[dict[str, Any], Style]:
    if draft.static > 4:
        _above_duty(draft)
    return written(with_limits(rng, draft), style, rng), style


def _scale_flows(data: dict[str, Any], share: float, *, duty_too: bool) -> None:
    flows = [(data["demand"], key) for key in ("night", "average", "peak")]
    if duty_too:
        flows += [(part["duty"], "flow") for part in data["line"] if part["part"] == "reducer"]
    for holder, key in flows:
        number, _, unit = holder[key].partition(" ")
        holder[key] = f"{plain(f'{float(number) * share:.2g}')} {unit}"


def _number(text: str) -> float:
    return float(text.split(" ")[0])


def _levels(data: dict[str, Any]) -> list[tuple[dict[str, Any], str]]:
    found = [(data["station"], "datum")]
    found += [(data["zone"], key) for key in ("level", "lowest", "highest") if key in data["zone"]]
    found += [(need, "level") for need in data.get("needs", [])]
    return found + [(limit, "level") for limit in data.get("limits", [])]
