"""What waiting costs, in words: a decision aid for whoever has to choose, never a claim of safety."""

from __future__ import annotations

from datetime import date

from steadyhead.upkeep import defaults
from steadyhead.upkeep.activities import Activity

YEAR = 365.25
NO_CLAIM = (
    "An aid to decide, in the spirit of low-demand reasoning: mean chance ≈ λ T / 2 with λ our own estimate, "
    "0.01 to 0.05 a year. No safety integrity level is claimed."
)
_COSTS = {
    "monitor_proof": "A monitor that sticks is not seen until the reducer fails.",
    "relief_lift": "A disc that sticks is not seen until it is asked to lift.",
    "fire_look": "Fire water that fails is not seen until there is a fire.",
    "fire_part": "A reducer that does not open is not seen until there is a fire.",
    "fire_full": "Less water than counted on is not seen until there is a fire.",
    "alarm_check": "An outlet that climbs is then seen by consumers first.",
    "functional_check": "A worn seat creeps at night: the outlet climbs towards the trip.",
    "vessel_precharge": "Without its gas it takes nothing up: warm water lifts the outlet or the relief.",
    "strainer_clean": "It blinds: inlet pressure is lost at peak, and what tears loose goes into the valves.",
    "pilot_filter": "A pilot that is starved answers slowly, and then not at all.",
    "pilot_overhaul": "Diaphragms and seats age: drift first, then hunting, or a valve that sticks.",
    "inside_inspection": "A cut seat passes at night; a torn diaphragm can leave a reducer open.",
    "isolating_travel": "A valve that is seized is found on the day it is needed shut.",
    "gauges_compared": "Decisions rest on needles that nobody compared.",
    "ladders": "Somebody climbs on it.",
    "coating": "Corrosion goes on unseen; bolts seize.",
    "setting_review": "Settings may rest on demand, inlet or limits that are no longer true.",
    "strainer_reading": "Blinding is then seen as low pressure at consumers.",
    "look": "Leaks, water in the chamber and a moved needle go unseen.",
}


def unseen(days: float, rate: float = defaults.UNSEEN_FAILURES.si) -> tuple[float, float]:
    """Return the mean chance that a dormant valve would not act, and that of the last day. [1]

    Parameters
    ----------
    days
        Time since the last proof. [days]
    rate
        Failures nobody sees. [1/year]

    Notes
    -----
    PFD ≈ λ T / 2 for λ T ≪ 1, and λ T just before the test; held to 1. Relation of low-demand reasoning as
    cited in the design handbook 5.4; it counts neither the tests themselves nor common causes.

    Examples
    --------
    >>> unseen(365.25, 0.02)
    (0.01, 0.02)
    """
    chance = min(1.0, max(0.0, rate * days / YEAR))
    return chance / 2.0, chance


def costs(activity: Activity, last: date | None, day: date) -> str:
    """Return what waiting costs, in one or two short sentences.

    last: day of the last proof, None where there is none; day: the one it is asked on.
    """
    if activity.key != "trip_proof":
        return _COSTS[activity.key]
    if last is None:
        return "Nobody knows that it acts. Until it is proved, count on no protection from it."
    mean, now = unseen((day - last).days)
    rate = defaults.UNSEEN_FAILURES.si * 100
    about = "" if share(now).startswith("less") else "About "
    words = f"{about}{share(now)}"
    return (
        f"{words[0].upper()}{words[1:]} of such valves would not act today, if {rate:.0f} in 100 fail unseen "
        f"each year (own estimate); {share(mean)} on the mean since the last proof."
    )


def share(chance: float) -> str:
    """Return a chance in words.

    Examples
    --------
    >>> share(0.02), share(0.0004)
    ('2.0 %', 'less than 0.1 %')
    """
    return "less than 0.1 %" if chance < 0.001 else f"{chance * 100:.1f} %"
