"""Events of the station file: what consumers do all at once, with name, flow and time."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from steadyhead.records.checking import ShortText, bad
from steadyhead.records.parts import PartId, Record
from steadyhead.records.quantities import DriftDuration, Duration, Flow, RunningFlow


class DemandEvent(Record):
    """Water that is suddenly drawn, or no longer drawn."""

    id: PartId = Field(description="Name of the event, used once; what --event asks for.")
    what: ShortText = Field("", description="What happens, in a few words.")
    draws: RunningFlow | None = Field(None, description="Flow that begins to be drawn on top.")
    stops: RunningFlow | None = Field(None, description="Flow that is no longer drawn.")
    within: DriftDuration = Field(description="Time in which it begins or stops.")
    lasts: Duration | None = Field(
        None, description="How long it lasts; then the flow goes back in the same time."
    )
    before: Flow | None = Field(
        None, description="Flow through the station before; that of `at` where left out."
    )
    at: Literal["night flow", "average flow", "peak flow"] = Field(
        "average flow", description="Flow of the station at which it happens."
    )
    inlet: Literal["lowest", "typical", "night", "static"] = Field(
        "typical", description="Inlet pressure at which it happens."
    )
    place: PartId | None = Field(
        None, description="Reach of the zone at whose end it is drawn; all consumers where left out."
    )

    @model_validator(mode="after")
    def _one_of_two(self) -> DemandEvent:
        if (self.draws is None) == (self.stops is None):
            got = "neither draws nor stops" if self.draws is None else "both draws and stops"
            raise bad(f"got {got}.", "Write one: a flow that begins, or one that ends.")
        return self

    @property
    def change(self) -> float:
        """Change of the flow, negative where it stops. [m³/s]"""
        if self.draws is not None:
            return self.draws.si
        return -self.stops.si if self.stops is not None else 0.0
