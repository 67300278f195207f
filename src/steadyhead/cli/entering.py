"""What ``run enter`` and ``run show`` do once their words are parsed."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.cli.showing import show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

FINE, FORBIDDEN = 0, 1


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person typed: plan, entries, words, and who, when and on what."""

    plan: str
    entries: str
    words: tuple[str, ...]
    who: str
    at: str
    device: str


def do_enter(asked: Asked, units: str, json: bool) -> int:
    """Enter, and say what it means."""
    from steadyhead.cli.commands import units_for
    from steadyhead.cli.entering_text import entered_text
    from steadyhead.services.entering import Stamp, enter, entered_data
    from steadyhead.services.files import read_file

    if asked.entries == "-":
        raise InputError("ENTRIES.jsonl", "got standard input.", "Name the file the entries are kept in.")
    mine = units_for(units)
    stamp = Stamp(asked.who, asked.device, asked.at)
    made = enter(read_file(asked.plan), asked.entries, asked.words, stamp, plan_name=asked.plan)
    if json:
        show_json(entered_data(made))
    else:
        put_file(entered_text(made, mine))
    return FINE if made.is_fine else FORBIDDEN


def do_show(plan: str, entries: str, step: str, units: str, json: bool) -> int:
    """Print entries by number."""
    from steadyhead.cli.commands import units_for
    from steadyhead.cli.entering_text import shown_text
    from steadyhead.cli.running import entries_of
    from steadyhead.services.entering import listed_data, open_book
    from steadyhead.services.entering.draft import known_name
    from steadyhead.services.files import read_file

    mine = units_for(units)
    book = open_book(read_file(plan), entries_of(entries), plan_name=plan, entries_name=entries)
    if step:
        known_name("step", step, (node.id for node in book.procedure.nodes), "step of this plan")
    if json:
        show_json(listed_data(book, step))
    else:
        put_file(shown_text(book, mine, step))
    return FINE
