"""What is said of a thing that is due: why first, then when, on a given day."""

from __future__ import annotations

from datetime import date
from typing import Literal

from steadyhead.upkeep.days import span, told

Mark = Literal["due", "slipped"]
"""Names of the state marks a line can have."""


def state_words(on: date, until: date | None, day: date) -> tuple[Mark, str]:
    """Return mark and words of where a thing stands on a day.

    Parameters
    ----------
    on
        Day it is due by its interval.
    until
        Day it was deferred to; None: not deferred.
    day
        The day it is asked on.

    Examples
    --------
    >>> state_words(date(2027, 3, 1), None, date(2027, 3, 11))
    ('slipped', 'overdue by 10 days, due 1 March 2027')
    >>> state_words(date(2027, 3, 1), date(2027, 6, 1), date(2027, 3, 11))
    ('slipped', 'deferred to 1 June 2027; not in date since 1 March 2027')
    """
    if until is not None and day <= until:
        past = f"; not in date since {told(on)}" if day > on else f"; due {told(on)}"
        return "slipped" if day > on else "due", f"deferred to {told(until)}{past}"
    if day > on:
        ran_out = f"; deferral ran out {told(until)}" if until is not None else ""
        return "slipped", f"overdue by {span((day - on).days)}, due {told(on)}{ran_out}"
    if day == on:
        return "due", f"due today, {told(on)}"
    return "due", f"due {told(on)}, in {span((on - day).days)}"


def since_words(noun: str, last: date | None, start: date, counted: str, because: str, day: date) -> str:
    """Return why a thing is due, in one sentence that begins with the reason.

    noun: what was done; last: when; start: day the interval runs from; counted: what that day is, where it
    says more than that nothing was done; because: what brought it forward.

    Examples
    --------
    >>> since_words("trip proof", date(2026, 1, 3), date(2026, 1, 3), "", "", date(2027, 2, 4))
    'Last trip proof 13 months ago.'
    """
    if because:
        return f"{because[0].upper()}{because[1:]}."
    if last is not None:
        ago = span(max((day - last).days, 0))  # east of Greenwich a day begins earlier
        return f"Last {noun} {ago if ago == 'today' else f'{ago} ago'}."
    if counted:
        return f"{counted[0].upper()}{counted[1:]}."
    days = (day - start).days
    return f"Never done on record, in {span(days)}." if days > 0 else "Never done on record."
