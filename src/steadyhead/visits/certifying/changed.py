"""Settings that were worked in a run: before, after, by whom, by whose leave."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.procedure.touching import touches
from steadyhead.records.certificate import Changed, Setting
from steadyhead.records.entry import Entry
from steadyhead.visits.certifying.papers import act_words, purpose
from steadyhead.visits.certifying.seen import Seen, moment

BY_SCREW = ("trip", "crack", "duty")
"""What of a valve its pilot's screw sets."""


def changed(seen: Seen, settings: Sequence[Setting]) -> tuple[Changed, ...]:
    """Return every setting whose screw was worked, in the order of the settings.

    Its figure before is that of the as-found reading, its figure after the one that is proved; either is not
    known where the run has none. By whose leave it was done is what the run gives as its purpose.
    """
    leave = purpose(seen)
    return tuple(
        Changed(one.what, one.quantity, one.as_found, one.as_left, turned, leave)
        for one in settings
        if one.key.rpartition(".")[2] in BY_SCREW and (turned := tuple(_turned(seen, one.key)))
    )


def _turned(seen: Seen, key: str) -> Iterator[str]:
    """Yield who worked a screw when: each act that is noted, and by day the steps that work it as written."""
    thing = f"{key.partition('.')[0]}.setting"
    by_step: dict[tuple[str, str], list[Entry]] = {}
    for touch in touches(seen.record):
        entry = touch.row.entry
        who = entry.who or entry.device
        if thing not in touch.things:
            continue
        if entry.kind == "action" and touch.row.do != "tick":
            at = moment(entry)[:16].replace("T", " ")
            yield f"{at}, {who}: {entry.node} {act_words(entry, seen)}".replace(":  ", ": ")
        else:
            by_step.setdefault((moment(entry)[:10], who), []).append(entry)
    for (day, who), entries in by_step.items():
        times = list(dict.fromkeys(moment(entry)[11:16] for entry in (entries[0], entries[-1])))
        steps = ", ".join(dict.fromkeys(entry.node for entry in entries))
        yield f"{day} {' to '.join(times)}, {who}: as {steps}{_has(entries)} it"


def _has(entries: Sequence[Entry]) -> str:
    return " has" if len({entry.node for entry in entries}) == 1 else " have"
