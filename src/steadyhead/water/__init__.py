"""Properties of water, and of the air above it.

Examples
--------
>>> round(properties(283.15, 101325.0).density, 1)
999.7
"""

from steadyhead.water.liquid import CRITICAL_PRESSURE_ABS, properties
from steadyhead.water.model import WaterProperties

__all__ = ["CRITICAL_PRESSURE_ABS", "WaterProperties", "properties"]
