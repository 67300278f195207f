"""What a station's figures usually look like beside each other: broad expectations for asking questions.

They decide only whether a question is asked, never a result. Each is an own estimate, formed from the
ranges of the design handbook (2.1 to 2.5, 9.1, 10.1), and wide enough for stations that are unusual.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log

from steadyhead.records.values import Evidence

OWN = "own estimate from the ranges of the trade (design handbook 2.1 to 2.5); decides only whether to ask"


@dataclass(frozen=True, slots=True)
class Expectation:
    """Where a figure made of a station's values usually lies: a flat range with soft edges.

    Parameters
    ----------
    name
        The figure, in words; *ln* where it is the natural logarithm of a ratio.
    low, high
        Usual from and to.
    below, above
        Softness of the two edges: how far outside is one step less usual. [as `low`, `high`]
    floor
        How usual the most unusual figure still is, between 0 and 1; small where only a slip explains it.
    evidence, source
        How good these numbers are, and where they come from.
    """

    name: str
    low: float
    high: float
    below: float
    above: float
    floor: float = 0.02
    evidence: Evidence = Evidence.ESTIMATE
    source: str = OWN

    def log_usual(self, figure: float) -> float:
        """Return ln of how usual a figure is: 0 inside the range, ln `floor` far outside or not finite."""
        if not -inf < figure < inf:
            return log(self.floor)
        off = 0.0
        if figure < self.low:
            off = (self.low - figure) / self.below
        elif figure > self.high:
            off = (figure - self.high) / self.above
        return log((1.0 - self.floor) * exp(-0.5 * min(off * off, 700.0)) + self.floor)


def _ln(name: str, low: float, high: float, below: float, above: float, floor: float = 0.02) -> Expectation:
    """Return the expectation of a ratio from `low` to `high`, with edges in natural logarithm."""
    return Expectation(f"ln {name}", log(low), log(high), below, above, floor)


# Supply.
MIN_TO_TYPICAL = _ln("lowest over typical inlet pressure", 0.55, 1.0, 0.25, 0.003, 0.01)
TYPICAL_TO_NIGHT = _ln("typical over night inlet pressure", 0.65, 1.0, 0.2, 0.003, 0.015)
TYPICAL_TO_STATIC = _ln("typical over static inlet pressure", 0.55, 1.0, 0.25, 0.003, 0.01)
NIGHT_TO_STATIC = _ln("night over static inlet pressure", 0.9, 1.0, 0.05, 0.003, 0.01)
MIN_TO_STATIC = _ln("lowest over static inlet pressure", 0.4, 1.0, 0.3, 0.003, 0.01)
FRICTION_TO_FALL = _ln(
    "friction of the supply main at peak over the fall from static to lowest", 1e-6, 1.0, 1.0, 0.4
)
STATIC_ALONE = _ln("static inlet pressure in bar", 1.5, 25.0, 0.6, 0.6, 0.05)
STATIC_TO_DUTY = _ln("static inlet pressure over duty", 1.02, 5.0, 0.03, 0.4)
MIN_ABOVE_DUTY = Expectation("lowest inlet pressure less duty in bar", 0.3, 1e9, 0.15, 1.0)

# Settings.
DUTY_ALONE = _ln("duty in bar", 0.8, 12.0, 0.5, 0.6, 0.05)
LOCKUP_RISE = Expectation("lock-up rise over the larger of 1 bar and a quarter duty", 0.0, 0.35, 0.04, 0.15)
TRIP_STEP = Expectation("trip less lock-up, over the larger of 0.2 duty and 0.9 bar", 0.65, 1.5, 0.15, 0.3)
ALARM_STEP = Expectation("alarm less lock-up, over the larger of 0.2 duty and 0.9 bar", 0.25, 0.95, 0.1, 0.18)
ALARM_SHARE = Expectation("alarm less lock-up, over trip less lock-up", 0.32, 0.72, 0.06, 0.06)
BETWEEN_TO_DUTY = _ln("pressure between two reducers over duty", 1.1, 3.0, 0.08, 0.3)
BETWEEN_TO_MIN = _ln("pressure between two reducers over lowest inlet", 0.3, 0.95, 0.3, 0.04)
SPRING_RATIO = _ln("highest over lowest setting of a spring", 2.2, 10.0, 0.25, 0.4)
SETTING_TO_SPRING_TOP = _ln("setting over top of the spring", 0.2, 0.96, 0.4, 0.04)
SETTING_TO_SPRING_FOOT = _ln("setting over foot of the spring", 1.04, 9.0, 0.05, 0.5)
TAG_TO_SETTING = _ln("pressure on the tag over setting", 0.93, 1.07, 0.05, 0.05, 0.04)
DEAD_BAND_TO_TRIP = _ln("dead band over trip", 0.03, 0.35, 0.5, 0.3)
MEASURED_INLET = _ln("inlet pressure of a closing test over typical", 0.75, 1.3, 0.15, 0.15)
MEASURED_OUTLET = _ln("outlet pressure of a closing test over duty", 0.75, 1.6, 0.2, 0.2)

# What pipes bear.
LIMIT_ALONE = _ln("limit in bar", 3.0, 40.0, 0.3, 0.4, 0.03)
NORMAL_LIMIT_TO_LOCKUP = _ln("normal limit at datum over lock-up", 1.0, 7.0, 0.05, 0.3, 0.03)
FAULT_LIMIT_TO_TRIP = _ln("fault limit at datum over trip", 1.02, 7.0, 0.05, 0.3, 0.03)
FAULT_LIMIT_TO_DUTY = _ln("fault limit at datum over duty", 1.15, 8.0, 0.07, 0.3, 0.03)
BETWEEN_LIMIT_TO_STATIC = _ln("limit between the valves over static inlet", 1.0, 5.0, 0.05, 0.3, 0.03)
NORMAL_TO_FAULT_LIMIT = _ln("normal over fault limit of one component", 0.3, 1.0, 0.3, 0.015)
DUTY_TO_MATERIAL = _ln("duty over what the zone's material is made for", 1e-9, 1.0, 1.0, 0.2, 0.03)

# Consumers.
NEED_ALONE = _ln("pressure needed in bar", 0.3, 6.0, 0.3, 0.4)
NEED_MARGIN = Expectation(
    "duty less height, friction and need, over the larger of a quarter duty and 1 bar", 0.0, 2.5, 0.12, 1.0
)
AT_HIGHEST = Expectation(
    "pressure at the highest consumer, over the larger of a quarter duty and 1 bar", 0.3, 6.0, 0.3, 1.5
)
AT_LOWEST = Expectation(
    "pressure at the lowest consumer, over the larger of a quarter duty and 1 bar", 0.5, 18.0, 0.3, 4.0
)
LEVEL_OFF = Expectation("ln of one and the distance of a level from the datum in 20 m", 0.0, 1.2, 1.0, 0.45)
LEVEL_BETWEEN = Expectation("usual level, as a share from lowest to highest", 0.0, 1.0, 0.1, 0.1, 0.01)
NEED_LEVEL = Expectation("critical point less highest consumer, in 10 m", -3.0, 0.3, 1.5, 0.3)
LIMIT_LEVEL = Expectation(
    "a component's distance outside lowest and highest consumer, in 10 m", 0.0, 0.0, 0.5, 0.5
)
BETWEEN_LEVEL = Expectation("level of a part between the valves less datum, in 5 m", -0.6, 0.6, 0.5, 0.5)

# Flows.
AVERAGE_TO_PEAK = {
    "utility chamber": _ln("average over peak flow, utility chamber", 0.25, 0.8, 0.25, 0.06),
    "kiosk": _ln("average over peak flow, kiosk", 0.2, 0.8, 0.3, 0.06),
    "building plant room": _ln("average over peak flow, building plant room", 0.03, 0.5, 0.5, 0.2),
    "irrigation": _ln("average over peak flow, irrigation", 0.2, 0.8, 0.4, 0.06),
    "industrial": _ln("average over peak flow, industrial", 0.2, 0.9, 0.4, 0.04),
    "fire main": _ln("average over peak flow, fire main", 0.001, 0.8, 1.0, 0.06),
}
NIGHT_TO_AVERAGE = {
    "utility chamber": _ln("night over average flow, utility chamber", 0.07, 0.92, 0.35, 0.05, 0.01),
    "kiosk": _ln("night over average flow, kiosk", 0.05, 0.92, 0.4, 0.05, 0.01),
    "building plant room": _ln("night over average flow, building plant room", 0.01, 0.8, 0.6, 0.1, 0.01),
    "irrigation": _ln("night over average flow, irrigation", 0.01, 0.95, 0.6, 0.05, 0.01),
    "industrial": _ln("night over average flow, industrial", 0.03, 0.97, 0.5, 0.04, 0.01),
    "fire main": _ln("night over average flow, fire main", 0.001, 1.0, 1.0, 0.1, 0.01),
}
DUTY_FLOW_TO_AVERAGE = _ln("duty flow over average flow", 0.4, 1.4, 0.3, 0.25, 0.03)
FIRE_TO_PEAK = _ln("fire over peak flow", 0.7, 60.0, 0.15, 0.5)
CLOSING_FLOW_TO_PEAK = _ln("flow of a closing test over peak", 0.003, 0.1, 0.7, 0.7)
VALVE_VELOCITY = _ln("peak velocity in the reducer in m/s", 1.3, 4.2, 0.45, 0.2, 0.01)
PIPE_VELOCITY = _ln("peak velocity in the pipe in m/s", 0.6, 2.3, 0.5, 0.3)
OPENING = _ln("flow coefficient needed at peak over that of the size", 0.06, 0.8, 0.5, 0.15, 0.01)
RESIDENCE = {
    "utility chamber": _ln("zone volume over average flow in h, utility chamber", 2.0, 25.0, 0.5, 0.4),
    "kiosk": _ln("zone volume over average flow in h, kiosk", 1.0, 25.0, 0.5, 0.4),
    "building plant room": _ln("zone volume over average flow in h, building plant room", 0.2, 5.0, 0.6, 0.6),
    "irrigation": _ln("zone volume over average flow in h, irrigation", 0.8, 12.0, 0.5, 0.5),
    "industrial": _ln("zone volume over average flow in h, industrial", 0.2, 6.0, 0.6, 0.6),
    "fire main": _ln("zone volume over average flow in h, fire main", 0.1, 500.0, 1.0, 1.0),
}

# Gauges.
SETTING_SPAN = _ln("span of the setting gauge over the highest setting", 1.05, 3.5, 0.05, 0.3)
OTHER_SPAN = _ln("span of another gauge over static inlet", 0.4, 4.0, 0.3, 0.3)

MATERIAL_CEILING_BAR = {
    "PVC-U": 20.0, "PE100": 20.0, "PE80": 16.0, "GRP": 25.0, "asbestos cement": 16.0, "grey iron": 20.0,
    "ductile iron": 60.0, "copper": 40.0, "steel": 160.0, "other": 100.0,
}  # fmt: skip
"""Highest usual rating of pipes by material. [bar] Own estimate from usual pipe classes."""

WIDE_ENOUGH_M_S = 1.3
"""Velocity up to which a fire flow accounts for a wide valve. [m/s] Own estimate."""

FRICTION_FACTOR = 0.02
"""Darcy friction factor of a main in use, for a rough loss. Common practice."""

KV_OF_DN100 = 170.0
"""Flow coefficient of a DN 100 globe valve, growing with the square of the size. [m³/h] Own estimate."""

PRIOR = {
    "psi as bar": (-3.0, -3.0), "bar as psi": (-3.0, -4.0), "kPa as bar": (-3.0, -3.0),
    "flow unit": (-2.6, -1.1), "absolute as gauge": (-1.5, -1.5), "gauge as absolute": (-1.2, -1.2),
    "feet as metres": (-2.4, -2.1), "metres as feet": (-3.0, -4.0),
}  # fmt: skip
"""How unlikely a slip is in one field, in a group, before any comparison. [ln of the odds] Own estimate."""

ODD_PRIOR = -3.5
"""How unlikely it is that one field is wrong in a way of its own. [ln of the odds] Own estimate."""

NAMED_BY = 1.0
"""How much less a reading with a name may explain and still be asked about. [ln of the odds] Own estimate."""

WORKED_OUT_MALUS = 2.5
"""Taken off for a static pressure, which is mostly worked out from levels. [ln of the odds] Own estimate."""

LONELY_BONUS = 2.0
"""Added where one value alone is labelled absolute, or is negative. [ln of the odds] Own estimate."""

MINORITY_BONUS = 1.5
"""Added where the rest of the file is in the other unit. [ln of the odds] Own estimate."""

ASK_ABOVE = 0.1
"""A question is asked where the corrected reading wins by this much. [ln of the odds] Own estimate."""

MOST_QUESTIONS = 5
"""Most questions about slips for one file. Own estimate."""
