"""steadyhead: one physical twin of a pressure-reducing station, used through its whole life."""

__version__ = "0.1.0"
