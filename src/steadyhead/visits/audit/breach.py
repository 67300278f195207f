"""One breach as a rule finds it, and how it becomes a finding."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.visits.audit.model import Moment

Level = Literal["block", "flag", "info"]
SEVERITIES: dict[Level, Severity] = {"block": Severity.STOP, "flag": Severity.HEED, "info": Severity.NOTE}


@dataclass(frozen=True, slots=True)
class Breach:
    """What a rule has against a moment.

    code: finding code. rule: V1 … V12 or a step. seen: what the record shows. remedy: what mends it.
    value, limit: the figure judged and what it is held against. accepts: a recorded deviation may cover it.
    absent: something does not stand in the record; no word of it shows that.
    """

    code: str
    rule: str
    level: Level
    moment: Moment
    seen: str
    remedy: str
    value: Amount | None = None
    limit: Amount | None = None
    accepts: bool = False
    absent: bool = False

    def finding(self) -> Finding:
        """Return it as a finding; its subject is the entry that shows it."""
        return Finding(
            self.code,
            self.moment.entry,
            SEVERITIES[self.level],
            {
                "rule": self.rule,
                "step": self.moment.node or "no step",
                "seen": self.seen,
                "remedy": self.remedy,
                "when": self.moment.day,
            },
            self.value,
            self.limit,
        )
