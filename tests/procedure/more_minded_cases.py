"""More of what is done beside the plan of the kettle that minds it: edges that a small change would move."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.procedure.minded_writers import by_the_clock
from tests.procedure.pen import Made, Pen

Write = Callable[[Pen, dict[str, Made]], Any]


def _touched_at_its_step(pen: Pen, made: dict[str, Made]) -> None:
    pen.read("B1", "heat", 4.6e5, flow=1.0)
    pen.do("turn", "kettle.screw", "B1")
    pen.read("B1", "heat", 3.5e5, flow=1.0)
    pen.see("C", "shut", True)


def _proved_again(pen: Pen, made: dict[str, Made]) -> None:
    made["heat"]["t_device"] = "2027-04-14T08:30:00+01:00"
    pen.do("open", "scale")["t_device"] = made["second"]["t_device"].replace(":00+", ":30+")
    for name in ("first", "second"):
        pen.read("P", name, 1.0e5)["t_device"] = "2027-04-14T08:40:00+01:00"
    by_the_clock(pen)


def _counted(pen: Pen, made: dict[str, Made]) -> None:
    done = pen.do("turn", "cup.handle")
    pen.write("correction", "", {"reason": "slip", "payload": {"turns": 0.5}}, replaces=done["id"])


MORE: tuple[tuple[str, Write, dict[str, Any]], ...] = (
    (
        "a trial above, and a touch at its own step",
        _touched_at_its_step,
        {"blocks": ["RUN-12 kettle.poured"]},
    ),
    (
        "water let out of what protects",
        lambda pen, made: pen.do("vent", "cup"),
        {"blocks": ["RUN-50 cup.handle"]},
    ),
    (
        "a part said to be outside, by a name that the plan has not",
        lambda pen, made: pen.do("turn", "outside.kettle lamp"),
        {"blocks": ["RUN-51 outside.kettle lamp"]},
    ),
    ("an act corrected in what touches nothing", _counted, {"blocks": ["RUN-50 cup.handle"]}),
    (
        "proved again after a step that was begun without it",
        _proved_again,
        {"blocks": ["RUN-53 B1"], "missing": [], "next": ["B1", "K"]},
    ),
)
