"""What can be studied of a station: its events, its ways, whether there is something to prove."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from steadyhead.records.demand_event import DemandEvent
from steadyhead.register import Register
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.kept import Head, head_file


class EventOffer(BaseModel):
    """An event: its name, what happens, whether it is the file's own, and whether nobody gives its time."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    words: str
    is_own: bool
    has_own_time: bool


class WayOffer(BaseModel):
    """A way through the station; id empty: the only one."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    words: str
    is_together: bool = False


class OfferView(BaseModel):
    """What can be studied of one station file. problem: why nothing can be, empty where something can."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    events: tuple[EventOffer, ...] = ()
    ways: tuple[WayOffer, ...] = ()
    has_shut_off: bool = False
    has_pilot: bool = False
    problem: str = ""


def offer_of(register: Register, head: Head) -> OfferView:
    """Return what can be studied of a revision; worked out once for each file."""

    def make() -> bytes:
        return _offer(head.source).model_dump_json().encode()

    body = prepared(register, head.key, "offer", {"file": head.file_hash}, make)
    return OfferView.model_validate_json(body)


def prepare(register: Register, key: str) -> None:
    """Make it ready for the last revision of a station."""
    offer_of(register, head_file(register, key))


def _offer(source: bytes) -> OfferView:
    from steadyhead.errors import InputError, InputErrors
    from steadyhead.records.parts import Reducer
    from steadyhead.services.library import completed
    from steadyhead.services.protection import has_something_to_prove
    from steadyhead.station.load import load
    from steadyhead.station.streams import together, views
    from steadyhead.surge.events import EVENTS, OWN_TIME, names_of

    try:
        station = completed(load(source)).station
        names = names_of(station)
        ways = views(station)
        whole = together(station) if len(ways) > 1 else None
    except (InputError, InputErrors) as problem:
        return OfferView(problem=str(problem))
    own = {one.id: one for one in station.events}
    events = [
        EventOffer(
            name=name,
            words=EVENTS.get(name) or _own_words(own[name]),
            is_own=name in own,
            has_own_time=name in OWN_TIME,
        )
        for name in names
    ]
    offered = [WayOffer(id=one.id, words=one.words) for one in ways]
    if whole is not None:
        offered.append(WayOffer(id=whole.id, words=whole.words, is_together=True))
    pilots = [part for part in station.parts() if isinstance(part, Reducer) and part.kind == "pilot-operated"]
    return OfferView(
        events=tuple(events),
        ways=tuple(offered),
        has_shut_off=has_something_to_prove(station),
        has_pilot=bool(pilots),
    )


def _own_words(event: DemandEvent) -> str:
    return event.what or "as the station file states it"
