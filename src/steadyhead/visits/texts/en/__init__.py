"""English words of the steps, one module for each table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from steadyhead.visits.texts.en.air import TEXTS as AIR
from steadyhead.visits.texts.en.alarm import TEXTS as ALARM
from steadyhead.visits.texts.en.downstream import TEXTS as DOWNSTREAM
from steadyhead.visits.texts.en.heated import TEXTS as HEATED
from steadyhead.visits.texts.en.injection import TEXTS as INJECTION
from steadyhead.visits.texts.en.isolate import TEXTS as ISOLATE
from steadyhead.visits.texts.en.monitor import TEXTS as MONITOR
from steadyhead.visits.texts.en.pair import TEXTS as PAIR
from steadyhead.visits.texts.en.performance import TEXTS as PERFORMANCE
from steadyhead.visits.texts.en.preconditions import TEXTS as PRECONDITIONS
from steadyhead.visits.texts.en.proof import TEXTS as PROOF
from steadyhead.visits.texts.en.refusing import TEXTS as REFUSING
from steadyhead.visits.texts.en.relief import TEXTS as RELIEF
from steadyhead.visits.texts.en.restarting import TEXTS as RESTARTING
from steadyhead.visits.texts.en.returning import TEXTS as RETURNING
from steadyhead.visits.texts.en.rules import TEXTS as RULES
from steadyhead.visits.texts.en.settings import TEXTS as SETTINGS
from steadyhead.visits.texts.en.shared import TEXTS as SHARED
from steadyhead.visits.texts.en.static import TEXTS as STATIC
from steadyhead.visits.texts.en.streams import TEXTS as STREAMS
from steadyhead.visits.texts.en.vessel import TEXTS as VESSEL
from steadyhead.visits.texts.en.yearly import TEXTS as YEARLY

_ROOMS = (
    SHARED, RULES, PRECONDITIONS, ISOLATE, AIR, STATIC, SETTINGS, DOWNSTREAM, PROOF, INJECTION, PAIR, ALARM,
    PERFORMANCE, RETURNING, YEARLY, MONITOR, RELIEF, VESSEL, STREAMS, HEATED, RESTARTING,
    REFUSING,
)  # fmt: skip


def collected(rooms: Iterable[Mapping[str, str]]) -> dict[str, str]:
    """Return all texts by id.

    Raises
    ------
    ValueError
        Two texts with one id.
    """
    table: dict[str, str] = {}
    for room in rooms:
        for text_id, words in room.items():
            if text_id in table:
                raise ValueError(f"the text {text_id} stands twice")
            table[text_id] = words
    return table


EN = collected(_ROOMS)
