"""Times as people type them."""

from __future__ import annotations

from datetime import UTC, datetime

from steadyhead.errors import InputError


def moment(name: str, typed: str) -> datetime | None:
    """Return a time as typed, UTC where it has no offset; None where nothing was typed.

    name: of the field, for messages.

    Raises
    ------
    InputError
        It is no time.
    """
    if not typed.strip():
        return None
    try:
        when: datetime | None = datetime.fromisoformat(typed.strip())
    except ValueError:
        when = _as_shown(typed)
    if when is None:
        raise InputError(name, f"got {typed!r:.40}, which is no time.", "Write 2027-03-01T06:00.")
    return when.replace(tzinfo=UTC) if when.tzinfo is None else when.astimezone(UTC)


SHOWN = ("%d %b %Y, %H:%M:%S", "%d %b %Y, %H:%M", "%d %b %Y")
"""How pages and papers write a time; it may be typed so, too."""


def _as_shown(typed: str) -> datetime | None:
    text = " ".join(typed.replace("UTC", " ").split())
    for form in SHOWN:
        try:
            return datetime.strptime(text, form)
        except ValueError:
            continue
    return None
