"""One event of a station told in full: its steps in order, which signature it has, what else it may be."""

from steadyhead.watch.incident.incident import Clause, Incident, Reading, Step
from steadyhead.watch.incident.telling import AROUND, incident

__all__ = ["AROUND", "Clause", "Incident", "Reading", "Step", "incident"]
