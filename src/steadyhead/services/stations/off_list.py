"""Take a station off the list, and bring it back: nothing of it is lost, its pages stay."""

from __future__ import annotations

from datetime import date
from typing import Literal

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import listing
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import station_row

What = Literal["off", "back"]
LONGEST_REASON = 400
"""Longest reason. Own estimate. [characters]"""
ACTS: dict[What, str] = {"off": "taken off the list", "back": "brought back to the list"}


def tell_listing(
    register: Register, key: str, what: What, reason: str, who: str, day: date | None = None
) -> None:
    """Take a station off the list or bring it back, with the reason; told in the chain.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No reason, too long a one, or the station stands so already.
    """
    words = " ".join("".join(one if one.isprintable() else " " for one in reason).split())
    if not words:
        raise InputError("reason", "is empty.", "Say why, for who looks for this station later.")
    if len(words) > LONGEST_REASON:
        raise InputError("reason", f"has {len(words)} signs.", f"Write {LONGEST_REASON} at most.")
    with register.writing(who) as writing:
        row = station_row(writing.connection, key)
        if bool(row.struck) == (what == "off"):
            stands = "off the list" if row.struck else "on the list"
            raise InputError("what", f"{key} is {stands} already.", "Open its page to see how it stands.")
        told = {
            "id": writing.new_id(),
            "station": key,
            "what": what,
            "reason": words,
            "at": writing.at,
            "who": writing.who,
        }
        writing.add(listing, told, ACTS[what], key, reason=words)
        renew(writing, register, key, day)
