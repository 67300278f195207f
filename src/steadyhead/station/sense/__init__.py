"""Whether a station file makes sense as it stands: contradictions, figures beyond their size, gaps."""

from steadyhead.station.sense.findings import file_findings

__all__ = ["file_findings"]
