"""What changes while time runs: screws, cocks, drains, isolating valves, demand, supply, faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from steadyhead.errors import InputError
from steadyhead.laws.compiling import floats, integer_table
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plant import Plant

Points = tuple[tuple[float, float], ...]

What = Literal[
    "opening",
    "clogging",
    "coefficient",
    "lift",
    "screw",
    "closing pressure",
    "band",
    "feed",
    "tear",
    "stuck pilot",
    "runaway",
    "lowest lift",
    "leak",
    "sense cock",
    "trip pressure",
    "close needle",
    "close time",
    "drain",
    "supply pressure",
    "demand",
    "drawn",
]
"""What can be moved: by row id all but the last four; *drain* by section id; *supply pressure*, *demand* (k),
*drawn* (imposed flow) by joint id."""

COLUMNS = {
    "opening": at.OPENING, "clogging": at.CLOGGING, "coefficient": at.FULL, "lift": at.LIFT,
    "screw": at.SCREW, "closing pressure": at.CLOSING, "band": at.BAND, "feed": at.FEED, "tear": at.TEAR,
    "stuck pilot": at.STUCK, "runaway": at.RUNAWAY, "lowest lift": at.LOWEST, "leak": at.LEAK,
    "sense cock": at.COCK, "trip pressure": at.TRIP, "close needle": at.CLOSE_NEEDLE,
    "close time": at.CLOSE_TIME,
}  # fmt: skip
JOINT_COLUMNS = {"supply pressure": at.HELD_PRESSURE, "demand": at.DEMAND, "drawn": at.DRAWN}


@dataclass(frozen=True, slots=True)
class Straight:
    """An input that runs straight between its points (time [s], value [SI]) and is constant outside."""

    name: str
    what: What
    points: Points


@dataclass(frozen=True, slots=True)
class Held:
    """An input that keeps each value until the next point; values may be NaN (free again)."""

    name: str
    what: What
    points: Points


@dataclass(frozen=True, slots=True)
class Schedule:
    """Inputs of a study; what is not named stays as the plan has it."""

    inputs: tuple[Straight | Held, ...] = ()

    def at_start(self) -> dict[tuple[str, str], float]:
        """Return the value of every input before time runs, by (name, what)."""
        found: dict[tuple[str, str], float] = {}
        for each in self.inputs:
            value = each.points[0][1]
            if isinstance(each, Held):
                for time, later in each.points:
                    value = later if time <= 0.0 else value
            found[each.name, each.what] = value
        return found

    def live(self, plant: Plant) -> at.Live:
        """Return the kernel's table of inputs.

        Raises
        ------
        InputError
            A name the plan does not know, an input without points or with times that fall.
        """
        links: list[list[int]] = []
        times: list[float] = []
        values: list[float] = []
        for each in self.inputs:
            _refuse(each)
            target, row, column = place_of(plant, each.name, each.what)
            links.append([target, row, column, len(times), len(each.points), int(isinstance(each, Held))])
            times += [time for time, _ in each.points]
            values += [value for _, value in each.points]
        return at.Live(integer_table(links, at.LIVE_LINKS), floats(times or [0.0]), floats(values or [0.0]))


def place_of(plant: Plant, name: str, what: str) -> tuple[int, int, int]:
    """Return (table, row, column) an input is written to.

    Raises
    ------
    InputError
        A name the plan does not know.
    """
    if what == "drain" and name in plant.nodes:
        return at.INTO_NODES, plant.nodes[name], at.DRAIN
    if what in JOINT_COLUMNS and name in plant.joints:
        return at.INTO_JOINTS, plant.joints[name], JOINT_COLUMNS[what]
    if what in COLUMNS and name in plant.rows:
        return at.INTO_ROWS, plant.rows[name], COLUMNS[what]
    raise InputError(
        f"input {what}", f"of {name!r}, which this plan does not have.", "Use names of the plan."
    )


def _refuse(each: Straight | Held) -> None:
    times: Sequence[float] = [time for time, _ in each.points]
    if not times or any(later < earlier for earlier, later in pairwise(times)):
        raise InputError(
            f"input {each.what} of {each.name}", "has no points, or times that fall.", "Order points by time."
        )
