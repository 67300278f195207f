"""What verify does with what was handed over on the spot."""

from __future__ import annotations

from pathlib import Path

from steadyhead.cli.showing import paragraph, show_json
from steadyhead.errors import InputError

FINE, FORBIDDEN = 0, 1
_HEAD = 400


def is_hand_over(name: str) -> bool:
    """Return whether a file is a statement that was handed over, or the page with one."""
    from steadyhead.services.field.statements import is_statement

    try:
        with Path(name).open("rb") as file:
            return is_statement(file.read(_HEAD))
    except (OSError, ValueError):
        return False


def do_verify_hand_over(name: str, entries: str, json: bool, plan: str = "") -> int:
    """Hold a statement against a file of entries, or against those within its own page.

    plan: the plan file of the visit; without it, what hangs on the plan is told as not checked.

    Raises
    ------
    InputError
        A statement as text alone, without entries; or what cannot be read.
    """
    from steadyhead.procedure.ledger import read
    from steadyhead.services.field.statements import (
        MOST_PAGE,
        PAGE_ALONE,
        check,
        entries_within,
        is_page,
        read_statement,
        statement_within,
    )
    from steadyhead.services.files import read_file
    from steadyhead.services.plan_files import read_plan_file

    content = read_file(name, MOST_PAGE)
    told = read_statement(statement_within(content))
    if not entries and not is_page(content):
        problem = "is a statement alone; nothing is at hand to hold it against."
        remedy = "Name the entries of the visit: --entries FILE.jsonl. The app checks it on the visit's page."
        raise InputError(name, problem, remedy)
    held = read_file(entries, MOST_PAGE) if entries else content
    of = read_plan_file(read_file(plan, MOST_PAGE), plan) if plan else None
    found = check(told, told.station, told.run, read(entries_within(held), entries or name), of)
    words = (*found.words, PAGE_ALONE) if is_page(content) else found.words
    if json:
        show_json(
            {
                "format": "steadyhead/hand-over-checked/1",
                "matches": found.matches,
                "count": found.count,
                "here": found.here,
                "later": found.later,
                "differs": list(found.differs),
                "unchecked": list(found.unchecked),
                "stops": list(found.stops),
                "words": list(words),
                "says": dict(told.lines),
            }
        )
        return FINE if found.matches else FORBIDDEN
    print(paragraph(f"Hand-over of {told.lines['station']}, {told.said}"))
    for line in words:
        print(paragraph(line))
    return FINE if found.matches else FORBIDDEN
