"""Who asks, and how they read: name, role, units, light."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import Depends, Request

from steadyhead.register import Register
from steadyhead.services.page_words import LOCAL, called
from steadyhead.units import METRIC, UnitSet

Role = Literal["look", "record", "engineer", "administer"]
CHANGES = ("POST", "PUT", "PATCH", "DELETE")
"""Methods of requests that may change something."""
RANKS: tuple[Role, ...] = ("look", "record", "engineer", "administer")
"""Each may do what those before it may."""
LIGHTS = ("film", "lamp", "sun")
"""Lights a person may choose; none follows the device."""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who asks. Alone on this machine one is *this machine's user*, with every right.

    name: what the chain holds as the doer; account: id of the account, empty where alone or not signed in;
    is_known: whether anything may be shown at all.
    """

    name: str = LOCAL
    role: Role = "administer"
    units: UnitSet = METRIC
    light: str = ""
    is_alone: bool = True
    account: str = ""
    is_known: bool = True

    def may(self, role: Role) -> bool:
        """Return whether the reader has the rights of a role."""
        return self.is_known and RANKS.index(self.role) >= RANKS.index(role)

    @property
    def called(self) -> str:
        """What the pages call the reader."""
        return called(LOCAL) if self.is_alone else self.name

    @property
    def units_words(self) -> str:
        """The units read, in short: pressure and flow."""
        return f"{self.units.heading('pressure')}, {self.units.heading('flow')}"


STRANGER = Reader(name="", role="look", is_alone=False, is_known=False)
"""Nobody is signed in."""


def reader_of(request: Request) -> Reader:
    """Return who asks; the guard (`web.guarding`) has put it there."""
    reader: Reader = request.state.reader
    return reader


def register_of(request: Request) -> Register:
    """Return the register the app was opened on."""
    register: Register = request.app.state.register
    key = request.path_params.get("key")
    if key and request.method in CHANGES:
        from steadyhead.services.stations.beforehand import work_out_beforehand

        work_out_beforehand(register, key)  # so that the change itself keeps other writers out only briefly
    return register


Asks = Annotated[Reader, Depends(reader_of)]
Kept = Annotated[Register, Depends(register_of)]
