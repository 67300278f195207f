"""What is due, printed: why before when, grouped by isolation."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from steadyhead.services.upkeep.all_due import Asked, DueGroup, UpkeepView

FINE, OVERDUE = 0, 1
AT_ONCE = 200
"""Lines read at once."""


def do_due(place: str, until: str, show: str, json: bool, ics: bool) -> int:
    """Print what is due in a register; exit status 1 where something of it is overdue."""
    from steadyhead.register import open_register
    from steadyhead.services.upkeep.all_due import asked
    from steadyhead.services.upkeep.calendar import feed

    _there(place)
    wanted = asked(until, "", show)
    register = open_register(place)
    try:
        if ics:
            put_file(feed(register).decode())
            return FINE
        views = list(_pages(register, wanted))
    finally:
        register.close()
    if json:
        plain = views[0].model_dump(mode="json", exclude={"first", "last", "before", "after", "groups"})
        plain["groups"] = [one.model_dump(mode="json") for view in views for one in view.groups]
        show_json({"format": "steadyhead/due/1", **plain})
    else:
        put_file("\n".join(_lines(views)) + "\n")
    late = any(line.is_overdue for view in views for group in view.groups for line in group.lines)
    return OVERDUE if late else FINE


def _there(place: str) -> None:
    """Refuse a folder that holds no register, so that none is made by looking."""
    from steadyhead.register.opening import FILE

    if "://" in place or (Path(place) / FILE).is_file():
        return
    raise InputError(
        "FOLDER", f"got {place!r:.80}, which holds no register.", "Name the folder of 'steadyhead serve'."
    )


def _pages(register: object, wanted: Asked) -> Iterator[UpkeepView]:
    from steadyhead.register import Register
    from steadyhead.services.upkeep.all_due import all_due

    assert isinstance(register, Register)
    begin = 0
    while begin >= 0:
        view = all_due(register, wanted, begin, AT_ONCE)
        yield view
        begin = view.after


def _lines(views: list[UpkeepView]) -> Iterator[str]:
    first = views[0]
    yield f"Due by {first.until}, as of {first.day}: {first.total}."
    for view in views:
        for group in view.groups:
            yield from _group(group)
    if first.total:
        yield ""
        yield paragraph(first.no_claim)
    yield ""
    yield paragraph(first.defers)


def _group(group: DueGroup) -> Iterator[str]:
    section = f"section shut off {group.isolation_words}" if group.isolation else "no section is shut off"
    yield ""
    yield paragraph(f"{group.name} ({group.station}), {section}")
    for line in group.lines:
        yield paragraph(f"{line.why} {line.title}, {line.state}. {line.costs}", indent=4, first="  ")
    if group.together:
        told = "; ".join(f"{one.does.lower()} {one.place}, {one.state}" for one in group.together)
        yield paragraph(f"Worth doing with the same isolation: {told}.", indent=4, first="  ")
