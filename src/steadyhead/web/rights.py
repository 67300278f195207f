"""Who may do what: each route names the role it needs; a reader of a higher one may too."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fastapi import Depends

from steadyhead.errors import StationError
from steadyhead.web.reader import Asks, Role

WORDS: dict[Role, str] = {
    "look": "look at every station",
    "record": "record what is done: entries of visits, documents, upkeep, logger data",
    "engineer": "change station files, release, study, plan, import",
    "administer": "look after people and archives",
}
"""What each role adds to the one before it."""


class NotAllowed(StationError):
    """The reader's role does not reach; knows which one does."""

    def __init__(self, needed: Role, has: Role) -> None:
        self.needed = needed
        self.has = has
        super().__init__(
            f"Needs the right to {needed}, which is to {WORDS[needed]}. Yours is to {has}. "
            "Ask a person with the right to administer."
        )


def needs(role: Role) -> Any:
    """Return what a route depends on: ``@router.post(…, dependencies=[needs("engineer")])``.

    Raises
    ------
    NotAllowed
        When asked by a reader of a lower role; becomes a page or JSON of status 403.
    """
    return Depends(_asked(role))


def _asked(role: Role) -> Callable[[Asks], None]:
    def allowed(reader: Asks) -> None:
        if not reader.may(role):
            raise NotAllowed(role, reader.role)

    return allowed
