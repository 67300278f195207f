"""What belongs to a certificate beside its proofs: readings, people, instruments, touches, changes. SI."""

from __future__ import annotations

from dataclasses import dataclass

Row = tuple[str, str]
"""A name and what is said of it."""


@dataclass(frozen=True, slots=True)
class Noted:
    """A reading or observation with everything that belongs to a number.

    Parameters
    ----------
    value
        As noted. [SI of `quantity`; text; yes or no]
    quantity, tap, instrument
        Kind, where, with what.
    typed
        What the person typed, with its unit; empty where the device kept none.
    flow
        Flow at that time; None: not noted. [m³/s]
    at, who, entry
        Corrected time with its offset, person, id of the entry.
    marked
        What it was marked as, e.g. ``after nut``.
    corrected
        Whether a correction came to it.
    corrected_by
        What was added for the zero of its gauge; None: nothing. [SI of `quantity`]
    """

    value: float | str | bool
    quantity: str
    tap: str = ""
    instrument: str = ""
    typed: str = ""
    flow: float | None = None
    at: str = ""
    who: str = ""
    entry: str = ""
    marked: str = ""
    corrected: bool = False
    corrected_by: float | None = None


@dataclass(frozen=True, slots=True)
class Touched:
    """What was turned, cleaned, opened or reset: when, who, which things, at which step, in what words."""

    at: str
    who: str
    step: str
    act: str
    things: str
    entry: str


@dataclass(frozen=True, slots=True)
class Failure:
    """A reading outside its band, or an answer that stops its step; then: what came of it.

    as_found: it belongs to a proof of how the station was found.
    """

    step: str
    words: str
    noted: Noted
    low: float | None
    high: float | None
    then: str
    as_found: bool


@dataclass(frozen=True, slots=True)
class Earlier:
    """What had failed when somebody signed too early: signed when, by whom; what; how it stands now."""

    at: str
    who: str
    what: str
    now: str


@dataclass(frozen=True, slots=True)
class Changed:
    """A setting that was worked: what it was before and after, by whom it was turned, by whose leave.

    before, after: its reading before the first touch and after the last; None: not known. turned: when, who,
    what, one each. authorised: in words; empty where the run does not say.
    """

    what: str
    quantity: str
    before: Noted | None
    after: Noted | None
    turned: tuple[str, ...]
    authorised: str


@dataclass(frozen=True, slots=True)
class Restored:
    """One time something was out of its place: when, by whom, and when it was put back."""

    name: str
    words: str
    opened: str
    opened_by: str
    restored: str
    restored_by: str
    state: str


@dataclass(frozen=True, slots=True)
class Instrument:
    """A gauge or meter of this run. error: [SI]; in_date: on every day it was used; None: no date stated."""

    name: str
    what: str
    quantity: str
    low: float | None
    high: float | None
    share: float | None
    error: float | None
    calibrated: str
    due: str
    certificate: str
    zero: float | None
    taps: tuple[str, ...]
    days: tuple[str, ...]
    in_date: bool | None


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of this run. authorised: on every day they entered something; None: no date stated."""

    name: str
    role: str
    until: str
    entries: int
    authorised: bool | None


@dataclass(frozen=True, slots=True)
class Proof:
    """One proof of the plan: name, words, where it stands, when it was gained, why it does not hold."""

    name: str
    words: str
    state: str
    at: str
    because: str


@dataclass(frozen=True, slots=True)
class Against:
    """What stands against *final*: statement, reason, cure; accepted: the deviation that accepts it."""

    code: str
    about: str
    statement: str
    why: str
    cure: str
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A recorded deviation: what, with which risk, until when, by whose decision."""

    about: str
    what: str
    risk: str
    measure: str
    owner: str
    due: str
    accepted_by: str
    at: str
    who: str
    accepts: bool


@dataclass(frozen=True, slots=True)
class Amended:
    """A correction or void: what stood before, what stands now, why, when and by whom."""

    entry: str
    replaces: str
    was: str
    now: str
    reason: str
    at: str
    who: str


@dataclass(frozen=True, slots=True)
class Signature:
    """A person's signature.

    asks: what for; later: entries that followed it: it does not count; typed_by, typed_at: who typed it in
    from paper, and when, where that is known.
    """

    who: str
    role: str
    asks: str
    statement: str
    at: str
    entry: str
    stands: bool
    later: int = 0
    typed_by: str = ""
    typed_at: str = ""


@dataclass(frozen=True, slots=True)
class Replaces:
    """The certificate that this one takes the place of, and what changed."""

    number: str
    revision: int
    record_sha256: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChainHead:
    """The last link of the register's audit chain when a certificate was made: a tail cut off is then seen.

    seq: its number; at: its time; hash: SHA-256 that the link carries.
    """

    seq: int
    at: str
    hash: str


@dataclass(frozen=True, slots=True)
class PerTurn:
    """Change for a turn of a pilot's screw, fitted to the readings of the run. value, within: [Pa/turn]"""

    valve: str
    value: float
    within: float
    steps: tuple[str, ...]
