"""What the cases of `minded_vectors.py` write beside a clean run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.procedure.pen import Made, Pen

Write = Callable[[Pen, dict[str, Made]], Any]


def void(what: str) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        done = pen.do("turn", what)
        pen.write("void", "", {"reason": "not done"}, replaces=done["id"])

    return write


def unsaid(text: str) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        note = pen.write("note", "", {"text": text})
        pen.write("void", "", {"reason": "not so"}, replaces=note["id"])

    return write


def agreed(who: str, **more: str) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        void("cup.handle")(pen, made)
        back = pen.made[-1]["id"]
        pen.write("person", "", {"name": "Tam"})
        pen.write("action", "", {"do": "second look", "to": back, **more}, who=who)

    return write


def taken_on(*about: str) -> Callable[[Pen], Any]:
    def write(pen: Pen) -> None:
        for one in about:
            said = dict.fromkeys(("what", "risk", "interim", "owner"), "x")
            pen.write(
                "deviation", "", {"about": one, **said, "due": "2028-01-01", "accepted_by": "Zed"}, who="Zed"
            )

    return write


def positions(thing: str, *how: str) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        for one in how:
            pen.write("position", "", {"thing": thing, "is": one})

    return write


def acts(*acts: tuple[str, str], accepted: tuple[str, ...] = ()) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        for do, thing in acts:
            pen.do(do, thing)
        taken_on(*accepted)(pen)

    return write


def unsaid_position(how: str) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        said = pen.write("position", "", {"thing": "cup.handle", "is": how})
        pen.write("void", "", {"reason": "slip"}, replaces=said["id"])

    return write


def reread(value: float, kind: str = "void") -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        read = pen.read("B1", "heat", value, flow=1.0)
        more = {"payload": {"value": 3.5e5}} if kind == "correction" else {}
        pen.write(kind, "B1", {"reason": "slip", **more}, replaces=read["id"])

    return write


def again(value: float, *after: str) -> Write:
    """Read the heat, do what comes after it, read it once more inside, and put the lid back."""

    def write(pen: Pen, made: dict[str, Made]) -> None:
        read = pen.read("B1", "heat", value, flow=1.0)
        if "touch" in after:
            pen.do("turn", "kettle.screw")
        if "elsewhere" in after:
            pen.write("note", "A", {"text": "lid open"})
        pen.read("B1", "heat", 3.5e5, flow=1.0)
        for said in after:
            if said.startswith("note"):
                pen.write("note", "B1", {"text": said.removeprefix("note ")})
        if "nobody" in after:
            pen.write("note", "B1", {"text": "lid open"}, who="")
        if "owner" in after:
            taken_on("B1")(pen)
        if "late" in after:
            late = pen.write("note", "B1", {"text": "lid open"})
            late["t_device"] = late["t_device"].replace("04-14", "04-15")
        if "void" in after:
            pen.write("void", "B1", {"reason": "slip"}, replaces=read["id"])
        pen.see("C", "shut", True)

    return write


def poured_again(pen: Pen, made: dict[str, Made]) -> None:
    pen.read("D", "b", 9.0, "length")
    pen.read("D", "b", 2.5, "length")


def astray(node: str, name: str, value: float, tap: str = "T") -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        pen.read(node, name, value, tap=tap)

    return write


def extra_again(value: float, *run: float) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        pen.read("D", "extra", value, "length")
        for one in run:
            pen.read("D", "b", one, "length")
        pen.read("D", "extra", 1.0, "length")

    return write


def said(*told: tuple[str, str]) -> Write:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        for thing, how in told:
            positions(thing, how)(pen, made)

    return write


def by_the_clock(pen: Pen) -> None:
    """Number the entries in the order of their times: a device numbers on as its clock does."""
    for number, one in enumerate(sorted(pen.made, key=lambda each: str(each["t_device"])), 1):
        one["device_seq"] = number


def shut_first(pen: Pen, made: dict[str, Made]) -> None:
    said = pen.write("position", "", {"thing": "kettle", "is": "shut"})
    said["t_device"] = made["ok"]["t_device"].replace(":00+", ":30+")
    by_the_clock(pen)


def left_so(pen: Pen, made: dict[str, Made]) -> None:
    positions("lid", "off")(pen, made)
    positions("tap", "open")(pen, made)
    taken_on("lid", "tap")(pen)


def moved_between(pen: Pen, made: dict[str, Made]) -> None:
    made["heat"]["t_device"] = "2027-04-14T08:30:00+01:00"
    late = pen.do("open", "scale")
    late["t_device"] = made["second"]["t_device"].replace(":00+", ":30+")
    by_the_clock(pen)
