"""What happened at a station, told from the believed samples of its loggers."""

from steadyhead.watch.happening.event import Event, Happening, NotSeen, Told
from steadyhead.watch.happening.telling import set_aside, tell

__all__ = ["Event", "Happening", "NotSeen", "Told", "set_aside", "tell"]
