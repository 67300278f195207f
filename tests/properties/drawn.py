"""Stations and situations drawn by hypothesis, through the door of the station file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from steadyhead.errors import StationError
from steadyhead.hydraulics import Model, build_plain, solve
from steadyhead.hydraulics.kernel import layout as kernel
from steadyhead.records.steady import Conditions, Steady
from tests.hydraulics.stations import BAR, INSIDE, LAYOUTS, Layout, station


def near(value: float, share: float = 0.3) -> st.SearchStrategy[float]:
    """Return numbers within a share of a value."""
    return st.floats(value * (1.0 - share), value * (1.0 + share))


def texts(numbers: st.SearchStrategy[float], unit: str = "") -> st.SearchStrategy[str]:
    """Return quantities as a person types them."""
    return numbers.map(lambda number: f"{number!r} {unit}".strip())


def inside() -> st.SearchStrategy[dict[str, str]]:
    """Return the inside of a reducer, sound but not the default one."""
    return st.fixed_dictionaries(
        {
            **{key: st.just(value) for key, value in INSIDE.items()},
            "curve_shape": texts(st.floats(0.0, 2.0)),
            "seat_ratio": texts(near(0.45, 0.1)),
            "spring_shut": texts(near(0.05), "bar"),
            "pressure_recovery": texts(st.floats(0.7, 0.95)),
            "feed_kv": texts(near(0.06)).map(lambda text: f"Kv {text}"),
            "pilot_kv": texts(near(0.12)).map(lambda text: f"Kv {text}"),
            "proportional_band": texts(st.floats(0.1, 1.5), "bar"),
        }
    )


@dataclass(frozen=True)
class Drawn:
    """One station, one situation."""

    layout: Layout
    options: dict[str, Any]
    conditions: Conditions

    def model(self, **changes: Any) -> Model:
        """Return the model, with changed options."""
        return build_plain(station(self.layout, **{**self.options, **changes}))


LEVELS = st.tuples(st.floats(-30.0, 60.0), st.floats(-30.0, 30.0), st.floats(-60.0, 20.0))


def sound(levels: st.SearchStrategy[Any] = LEVELS) -> st.SearchStrategy[Drawn]:
    """Return sound stations with consumers that draw."""
    options = st.fixed_dictionaries(
        {
            "lockup": texts(st.floats(1.0, 8.0), "bar"),
            "levels": levels,
            "altitude": st.floats(0.0, 2000.0),
            "inside": inside(),
        }
    )
    conditions = st.builds(
        Conditions,
        supply_pressure=st.floats(1.0 * BAR, 20.0 * BAR),
        consumer_kv=st.floats(0.01, 200.0),
        demand_exponent=st.floats(0.5, 1.0),
        openings=st.fixed_dictionaries(
            {
                "IV1": st.one_of(st.just(1.0), st.floats(0.01, 1.0)),
                "IV2": st.one_of(st.just(1.0), st.floats(0.01, 1.0)),
                "TD": st.one_of(st.just(0.0), st.floats(0.0, 1.0)),
            }
        ),
        strainer_clog=st.one_of(st.just(1.0), st.floats(1.0, 30.0)),
    )
    return st.builds(Drawn, st.sampled_from(LAYOUTS), options, conditions)


@st.composite
def wild(draw: st.DrawFn) -> Drawn:
    """Return stations far outside good practice, faults included."""

    def seldom(strategy: st.SearchStrategy[Any]) -> dict[str, Any]:
        return {"RV": draw(strategy)} if draw(st.integers(0, 4)) == 0 else {}

    layout = draw(st.sampled_from(LAYOUTS))
    levels = draw(st.tuples(*[st.floats(-200.0, 300.0)] * 3))
    options = {
        "lockup": f"{draw(st.floats(0.0, 20.0))!r} bar",
        "levels": levels,
        "altitude": draw(st.floats(-100.0, 4000.0)),
        "inside": draw(inside()),
        "senses": draw(st.sampled_from(["", "", "T3"])) if layout == "shut-off downstream" else "",
    }
    imposed = draw(st.booleans()) and draw(st.booleans())
    conditions = Conditions(
        supply_pressure=draw(st.floats(0.0, 60.0 * BAR)),
        consumer_kv=None if imposed else draw(st.one_of(st.just(0.0), st.floats(1e-3, 3e3))),
        consumer_flow=draw(st.floats(0.0, 0.3)) if imposed else None,
        demand_exponent=draw(st.floats(0.3, 1.5)),
        openings={
            "IV1": draw(st.one_of(st.just(1.0), st.floats(0.0, 1.0))),
            "IV2": draw(st.one_of(st.just(1.0), st.floats(0.0, 1.0))),
            "TD": draw(st.one_of(st.just(0.0), st.floats(0.0, 1.0))),
            "TD2": draw(st.one_of(st.just(0.0), st.floats(0.0, 1.0))),
        },
        strainer_clog=draw(st.floats(1.0, 1e4)),
        forced_lift=seldom(st.floats(0.0, 1.0))
        | ({"SO": draw(st.floats(0.0, 1.0))} if draw(st.booleans()) else {}),
        feed_share=seldom(st.floats(0.0, 1.0)),
        seat_leak_kv=seldom(st.floats(0.0, 5.0)),
        torn_kv=seldom(st.floats(0.0, 5.0)),
        debris_lift=seldom(st.floats(0.0, 0.3)),
        pilot_stuck=seldom(st.floats(0.0, 1.0)),
        trapped_sense=seldom(st.floats(0.0, 20.0 * BAR)),
    )
    return Drawn(layout, options, conditions)


def answer(model: Model, conditions: Conditions, before: Steady | None = None) -> Steady | None:
    """Return the steady state, or None where the twin says why there is none."""
    try:
        return solve(model, conditions, before)
    except StationError:
        return None


def levels_of_nodes(model: Model) -> list[float]:
    """Return the level of every node of the main line over the station datum. [m]"""
    rows = range(model.line.end)
    rise = [
        float(model.line.values[r][kernel.RISE]) if model.line.kinds[r] == kernel.PIPE else 0.0 for r in rows
    ]
    zone = rise[0] if model.element.get("zone main") == 0 else 0.0
    found = [zone]
    for row in rows:
        found.append(found[-1] - rise[row])
    return found
