"""What the app imports, imported once for all processes that are killed."""

from __future__ import annotations

import steadyhead.web.app
import steadyhead.web.pages.file
import steadyhead.web.pages.records
import steadyhead.web.pages.stations
import steadyhead.web.pages.upkeep
import steadyhead.web.serving

__all__ = ["steadyhead"]
