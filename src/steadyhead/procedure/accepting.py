"""Recorded deviations: what somebody accepted who answers for it, and what that is worth."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from math import floor

from steadyhead.procedure.record import BLANKS, Record, Row, day_of
from steadyhead.records.entry import zone_minutes
from steadyhead.records.run import Block, Plain, Remark

ASKED = ("what", "risk", "owner", "due", "accepted_by")
"""What a deviation must say before it counts."""
TESTS = ("reading", "observation", "action")
"""Kinds of entry of the people who test; none of them accepts what they found."""


class Deviations:
    """The deviations of a record."""

    def __init__(self, record: Record) -> None:
        self._at = {row.entry.id: row.at for row in record.rows}
        self._rows = [row for row in record.rows if row.entry.kind == "deviation"]
        self._never = record.procedure.never
        testers = {_name(row.entry.who) for row in record.rows if row.entry.kind in TESTS} - {""}
        self._wrong = {row.at: _wrong(row, testers) for row in self._rows}
        self._about: dict[str, list[Row]] = {}
        for row in self._rows:
            if self._wrong[row.at] is None:
                self._about.setdefault(row.text("about"), []).append(row)

    def weigh(self, remark: Remark, names: Iterable[str], may_accept: bool) -> Block:
        """Return a remark as what stands against *final*, with the deviation that accepts it.

        Parameters
        ----------
        remark
            What stands against it.
        names
            Names under which a deviation may speak of it.
        may_accept
            Whether any may.

        Notes
        -----
        A deviation counts where it is whole, is accepted by somebody who did not test, and was written after
        everything it accepts and not after its own due date.
        """
        since = max((self._at.get(entry, -1) for entry in remark.entries), default=-1)
        about = set(names) - set(self._never)
        last = [self._about[name][-1] for name in about if may_accept and name in self._about]
        fitting = [row for row in last if row.at > since]
        newest = max(fitting, key=lambda row: row.at, default=None)
        return Block(remark, may_accept, newest.entry.id if newest is not None else "")

    def overdue(self, blocks: Iterable[Block], now: float | None) -> list[Remark]:
        """Return the deviations that accept something and were to be put right before the day of judging."""
        if now is None:
            return []
        used = {block.accepted for block in blocks}
        found = []
        for row in self._rows:
            due = day_of(row.text("due")) if row.entry.id in used else None
            today = floor((now + zone_minutes(row.entry.t_device) * 60) / 86400)
            if due is not None and today > due:
                params: dict[str, Plain] = {
                    "owner": row.text("owner"),
                    "due": row.text("due"),
                    "days": float(today - due),
                }
                found.append(Remark("RUN-90", row.text("about"), (row.entry.id,), params))
        return found

    def told(self, blocks: Iterable[Block]) -> list[Remark]:
        """Return what is to be said about deviations: not whole, not to be accepted, accepting nothing."""
        used = {block.accepted for block in blocks}
        found = []
        for row in self._rows:
            about, ids, wrong = row.text("about"), (row.entry.id,), self._wrong[row.at]
            if about in self._never:
                found.append(Remark("RUN-16", about, ids, {"why": "never"}))
            elif wrong is not None:
                found.append(Remark("RUN-16", about, ids, wrong))
            elif row.entry.id in used:
                found.append(
                    Remark("RUN-17", about, ids, {"owner": row.text("owner"), "due": row.text("due")})
                )
            else:
                found.append(Remark("RUN-16", about, ids, {"why": "nothing"}))
        return found


def _wrong(row: Row, testers: Collection[str]) -> dict[str, Plain] | None:
    """Return why a deviation accepts nothing, whatever stands there; None where it may."""
    missing = [key for key in ASKED if not row.text(key).strip(BLANKS)]
    due = day_of(row.text("due"))
    if "due" not in missing and due is None:
        missing.append("due")
    if missing:
        return {"why": "lacks", "lacks": ", ".join(missing)}
    if due is not None and due < row.day:
        return {"why": "past", "due": row.text("due")}
    by = row.text("accepted_by")
    return {"why": "tester", "by": by} if _name(by) in testers else None


def _name(text: str) -> str:
    return text.strip(BLANKS).lower()
