"""What a run says of the inside of a station: values fitted to its readings, each with its uncertainty. SI.

It follows from plan, entries and station file; a new run makes a new one, old ones stay.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

FORMAT = "steadyhead/baseline/1"

Reason = Literal[
    "no readings", "refused", "too few", "too wide", "at its edge", "does not fit", "does not stand"
]
"""Why a value is not given; ``at its edge``: the readings ask for more than the twin's law can do; ``does not
stand``: with it the twin has no steady state at its duties."""
Dropped = Literal["outlier", "swings", "at odds"]
"""Why a reading at a step that is fitted is left out, or the flow noted with it (``at odds``)."""
TAKEN: tuple[str, ...] = (
    "per_turn", "lockup_rise", "flow_force", "closing_needle_kv", "kv", "kv_clean",
)  # fmt: skip
"""Values a station takes over; the others are told and kept for comparison."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """One value the readings determine.

    Parameters
    ----------
    part, name
        Part of the station and what of it: a field of the station file, or ``lockup_rise`` (lock-up less the
        outlet at the duty flow), ``droop`` (fall of the outlet from the duty flow to the highest of the
        test), ``sag`` (fall of the supply to that flow).
    kind
        Kind of quantity, a key of `steadyhead.units.KINDS`.
    value, within
        The value, and the half-width of its 95 % interval. [SI of `kind`; Kv in m³/h at 1 bar]
    former, former_from
        What the twin had before [SI of `kind`], and where that came from; None: nothing to compare with.
    steps, proofs, entries
        Steps of the plan, proofs and entries it rests on.
    readings
        How many readings.
    state
        Numbers it belongs to, by name: flows, pressures, time. [SI]
    """

    part: str
    name: str
    kind: str
    value: float
    within: float
    former: float | None
    former_from: str
    steps: tuple[str, ...]
    proofs: tuple[str, ...]
    entries: tuple[str, ...]
    readings: int
    state: Mapping[str, float] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """``part.name``."""
        return f"{self.part}.{self.name}"


@dataclass(frozen=True, slots=True)
class Undetermined:
    """A value the readings do not determine: it is kept as it was.

    Parameters
    ----------
    part, name, kind
        As in `Fitted`.
    reason
        Why.
    needs
        Which reading would determine it; a key of the words of `steadyhead.visits.fitting`.
    value, within
        What the readings give where they give anything. [SI of `kind`]
    kept, kept_from
        Value that is kept, and where it comes from.
    """

    part: str
    name: str
    kind: str
    reason: Reason
    needs: str
    value: float | None = None
    within: float | None = None
    kept: float | None = None
    kept_from: str = ""

    @property
    def key(self) -> str:
        """``part.name``."""
        return f"{self.part}.{self.name}"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A reading that was left out, and why.

    off: how far from the rest, in its own standard deviations; ``at odds``: flow of its point. [m³/s]
    """

    entry: str
    step: str
    input: str
    value: float
    kind: str
    why: Dropped
    off: float | None = None


@dataclass(frozen=True, slots=True)
class Correlation:
    """How two fitted values go together: above 0 both err to one side."""

    one: str
    other: str
    value: float


@dataclass(frozen=True, slots=True)
class Baseline:
    """The values of one run.

    Parameters
    ----------
    id
        Of this baseline; begins with the station's.
    station_id, station_sha256
        Station and hash of the file it was fitted with.
    run, plan_sha256
        Run and plan whose readings it rests on.
    valid_from
        Time of the last reading it rests on, with its offset.
    engine_version
        Program that fitted it.
    """

    id: str
    station_id: str
    station_sha256: str
    run: str
    plan_sha256: str
    valid_from: str
    engine_version: str
    fitted: tuple[Fitted, ...] = ()
    undetermined: tuple[Undetermined, ...] = ()
    correlations: tuple[Correlation, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    format: str = FORMAT

    def value(self, key: str) -> Fitted:
        """Return a fitted value by ``part.name``.

        Raises
        ------
        KeyError
            The readings do not determine it.
        """
        return {one.key: one for one in self.fitted}[key]

    @property
    def day(self) -> str:
        """Day it is valid from, as 2027-04-14."""
        return self.valid_from[:10]
