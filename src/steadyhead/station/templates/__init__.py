"""Station files to fill in, one for each layout that is covered."""

from steadyhead.station.templates.new import COMPANIONS, LAYOUTS, new

__all__ = ["COMPANIONS", "LAYOUTS", "new"]
