"""Memory: stations, revisions, records, runs, upkeep and people, with a chain of what was done.

Imports go down only: services ask it, it asks nobody above `station`.
"""

from steadyhead.register.core import Register, Writing, now_text
from steadyhead.register.opening import open_register

__all__ = ["Register", "Writing", "now_text", "open_register"]
