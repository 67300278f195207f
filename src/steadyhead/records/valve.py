"""A valve's data sheet as a file of its own: what its supplier states, kept by the person who uses it."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from steadyhead.records.cavitation import CavitationLimits
from steadyhead.records.checking import bad
from steadyhead.records.parts import Record, Text, Words
from steadyhead.records.quantities import FlowCoefficient, Length, Ratio, Share, Size

VALVE_FORMAT = "steadyhead/valve/1"
SHEET_NAME = r"[A-Za-z0-9][A-Za-z0-9_\-]{0,47}"


class LiftRow(Record):
    """Flow coefficient at one lift."""

    lift: Share = Field(description="Share of full lift.")
    kv: FlowCoefficient = Field(description="Flow coefficient at this lift.")


class ValveSheet(Record):
    """One valve of one size, as its data sheet states it. What is left out stays a default with its mark."""

    format: Literal["steadyhead/valve/1"] = Field(description="Which kind of file this is.")
    name: Annotated[str, StringConstraints(pattern=rf"^{SHEET_NAME}$")] = Field(
        description="Name the station file calls it by; also the file's name in the library."
    )
    valve: Literal["reducer", "shut-off"] = Field(description="What it is.")
    maker: Text = Field("", description="Who makes it and what they call it.")
    source: Annotated[str, StringConstraints(min_length=1, max_length=400)] = Field(
        description="Data sheet, its number and date."
    )
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient = Field(description="Flow coefficient fully open.")
    lift_table: tuple[LiftRow, ...] = Field(
        (), max_length=60, description="Flow coefficient over lift, up to full lift; in place of a curve."
    )
    stroke: Length | None = Field(None, description="Full lift.")
    pressure_recovery: Ratio | None = Field(None, description="F_L of IEC 60534.")
    incipient_ratio: Ratio | None = Field(None, description="x_Fz of IEC 60534, where it is one figure.")
    style_modifier: Ratio | None = Field(None, description="F_d of IEC 60534, for flow not turbulent.")
    cavitation: CavitationLimits | None = Field(None, description="Cavitation limits over lift.")
    notes: Words = Field("", description="Anything worth knowing.")

    @model_validator(mode="after")
    def _usable(self) -> ValveSheet:
        rows = self.lift_table
        if not rows:
            return self
        for first, second in pairwise(rows):
            if second.lift.si <= first.lift.si or second.kv.si < first.kv.si:
                raise bad(
                    f"got {second.kv.text} at lift {second.lift.text} after {first.kv.text} "
                    f"at {first.lift.text}.",
                    "Order lift_table by lift; the flow coefficient does not fall.",
                )
        last = rows[-1]
        if last.lift.si < 1.0 or abs(last.kv.si / self.kv.si - 1.0) > 0.005:
            raise bad(
                f"got {last.kv.text} at lift {last.lift.text} as the last row of lift_table.",
                f"End it at lift 100 % with the flow coefficient fully open, {self.kv.text}.",
            )
        return self

    def curve(self) -> tuple[tuple[float, float], ...] | None:
        """Return lift share against flow share from (0, 0) to (1, 1); None: no table. [1]"""
        if not self.lift_table:
            return None
        full = self.lift_table[-1].kv.si
        points = [(row.lift.si, row.kv.si / full) for row in self.lift_table if row.lift.si > 0.0]
        return ((0.0, 0.0), *points[:-1], (1.0, 1.0))
