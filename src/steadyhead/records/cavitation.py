"""Cavitation limits of a valve over its lift, as a data sheet gives them: which index, which degree."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from steadyhead.records.checking import bad
from steadyhead.records.quantities import PositivePressure, Ratio, Share, Size

Degree = Literal["incipient", "constant", "damage", "choked"]
DEGREES: tuple[Degree, ...] = ("incipient", "constant", "damage", "choked")
"""From the first bubbles to choked flow; each is reached at a lower σ than the one before."""
CavitationIndex = Literal["sigma 1", "sigma 2", "x_F"]

TO_SIGMA_1: dict[CavitationIndex, Callable[[float], float]] = {
    "sigma 1": lambda limit: limit,
    "sigma 2": lambda limit: limit + 1.0,
    "x_F": lambda limit: 1.0 / limit,
}
"""From each index in use to σ₁ = (p1 − pv)/(p1 − p2): σ₂ = σ₁ − 1, x_F = 1/σ₁."""
_SLACK = 1e-9


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class CavitationRow(_Record):
    """Limits at one lift; a degree the data sheet leaves out is left out."""

    lift: Share = Field(description="Share of full lift.")
    incipient: Ratio | None = Field(None, description="First bubbles.")
    constant: Ratio | None = Field(None, description="Steady cavitation.")
    damage: Ratio | None = Field(None, description="Damage starts.")
    choked: Ratio | None = Field(None, description="Flow grows no more.")


class MeasuredAt(_Record):
    """Size and inlet pressure of the valve the limits were found on."""

    size: Size = Field(description="Size of the valve on the test bench.")
    inlet: PositivePressure = Field(description="Inlet pressure of the test.")


class CavitationScaling(_Record):
    """How limits found on one size and pressure carry over to another; the supplier's figures, never ours."""

    size_exponent: Ratio = Field(description="Exponent of size over the size tested.")
    pressure_exponent: Ratio = Field(
        description="Exponent of inlet less vapour pressure, over that of the test."
    )
    source: Annotated[str, StringConstraints(min_length=1, max_length=400)] = Field(
        description="Who gives these exponents."
    )


class CavitationLimits(_Record):
    """At which cavitation index a valve begins to cavitate, does so steadily, is damaged, chokes."""

    index: CavitationIndex = Field(description="Which index the figures are.")
    source: Annotated[str, StringConstraints(min_length=1, max_length=400)] = Field(
        description="Data sheet or test report they come from."
    )
    limits: Annotated[tuple[CavitationRow, ...], Field(min_length=1, max_length=40)] = Field(
        description="One row for each lift, rising; one row holds at every lift."
    )
    measured_at: MeasuredAt | None = Field(None, description="Needed for scaling.")
    scaling: CavitationScaling | None = Field(
        None, description="To this valve's size and pressure; left out: the limits hold as they are."
    )

    @model_validator(mode="after")
    def _usable(self) -> CavitationLimits:
        lifts = [row.lift.si for row in self.limits]
        if any(second <= first for first, second in pairwise(lifts)):
            raise bad("got lifts that do not rise.", "Order the rows of limits by lift, each lift once.")
        for row in self.limits:
            self._check_row(row)
        if self.scaling is not None and self.measured_at is None:
            raise bad(
                "got scaling without measured_at.", "State the size and inlet pressure of the test too."
            )
        return self

    def _check_row(self, row: CavitationRow) -> None:
        stated = [(degree, value) for degree in DEGREES if (value := getattr(row, degree)) is not None]
        if not stated:
            raise bad(
                f"got no limit at lift {row.lift.text}.", f"State at least one of: {', '.join(DEGREES)}."
            )
        least = 0.0 if self.index == "sigma 2" else 1.0
        for degree, value in stated:
            if self.index == "x_F" and not 0.0 < value.si <= 1.0:
                raise bad(f"got x_F {value.text} for {degree}.", "x_F lies above 0 and up to 1.")
            if self.index != "x_F" and value.si < least:
                raise bad(
                    f"got {self.index} {value.text} for {degree}, below {least:g}.",
                    "Check which index the data sheet uses: sigma 1 is sigma 2 and one.",
                )
        sigmas = [TO_SIGMA_1[self.index](value.si) for _, value in stated]
        for place, (first, second) in enumerate(pairwise(sigmas)):
            if second > first + _SLACK:
                raise bad(
                    f"got {stated[place + 1][0]} before {stated[place][0]} at lift {row.lift.text}.",
                    "A worse degree is reached at a lower sigma, or a higher x_F.",
                )

    def table(self, degree: Degree) -> tuple[tuple[float, float], ...]:
        """Return lift against σ₁ of one degree, in the rows that state it; as measured, not scaled. [1]"""
        to_sigma = TO_SIGMA_1[self.index]
        return tuple(
            (row.lift.si, to_sigma(value.si))
            for row in self.limits
            if (value := getattr(row, degree)) is not None
        )
