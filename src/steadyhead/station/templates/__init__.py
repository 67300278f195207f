"""Station files to fill in, one for each layout that is covered."""

from steadyhead.station.templates.new import COMPANIONS, DATA_SHEET, LAYOUTS, new

__all__ = ["COMPANIONS", "DATA_SHEET", "LAYOUTS", "new"]
