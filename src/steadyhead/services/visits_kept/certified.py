"""What a certificate says was set and proved, as its page lists it: the rows of its first sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steadyhead.reports.certificate import MARKS, state_words
from steadyhead.services.visits_kept.views import CertifiedView
from steadyhead.units import UnitSet, say
from steadyhead.visits.certifying.seen import in_words

NOT_READ, NOT_KNOWN = "not read", "not known"


def certified(record: Mapping[str, Any], units: UnitSet) -> tuple[CertifiedView, ...]:
    """Return the settings and figures of a certificate's record; nothing where it is of another make."""
    return tuple(_rows(record.get("settings"), units))


def _rows(settings: object, units: UnitSet) -> Iterator[CertifiedView]:
    for one in settings if isinstance(settings, list) else ():
        if not isinstance(one, Mapping):
            continue
        quantity, state = str(one.get("quantity", "")), str(one.get("state", ""))
        because = str(one.get("because") or "")
        yield CertifiedView(
            what=str(one.get("what", "")),
            tap=str(one.get("tap", "")),
            design=_figure(one.get("design"), one.get("design_flow"), quantity, units),
            found=_noted(one.get("as_found"), units) or NOT_READ,
            left=_noted(one.get("as_left"), units) or NOT_KNOWN,
            mark=MARKS.get(state, "unknown"),
            state=state_words(state, because.partition("): ")[2] or because),
        )


def _noted(noted: object, units: UnitSet) -> str:
    """Return a noted value with the flow it was read at; nothing where none was noted."""
    if not isinstance(noted, Mapping):
        return ""
    return _figure(noted.get("value"), noted.get("flow"), str(noted.get("quantity", "")), units)


def _figure(value: object, flow: object, quantity: str, units: UnitSet) -> str:
    if not isinstance(value, bool | int | float | str):
        return ""
    is_read_at = isinstance(flow, int | float) and not isinstance(flow, bool) and quantity == "pressure"
    told = in_words(value, quantity, units)
    return f"{told} at {say(float(flow), 'flow', units)}" if is_read_at else told  # type: ignore[arg-type]
