"""Words of table TS: two reducers in series."""

TEXTS = {
    "TS1.title": "{rv2} holds alone",
    "TS1.rating": "The section between the valves bears the full inlet. {td2} is ready, {iv1} at {v2}.",
    "TS1.raise": "Raise {rv1} ({raise_rv}) in small steps until {t2} no longer rises. {td} at trickle.",
    "TS1.read": "Read {t1}, {t2} and {t3}: {t3} stands.",
    "TS1.slow": "Open {td} a little and shut it again, slowly: {t3} settles each time.",
    "TS1.lower": "Lower {rv1} ({lower_rv}) by the same turns, {td2} a little open.",
    "TS1.in.stable": "does {t3} settle?",
    "TS1.climbs.see": "{t3} climbs with {t2}.",
    "TS1.climbs.means": "If the first reducer fails, the second does not hold.",
    "TS1.climbs.then": "Open {td2} and {td}, lower {rv1} ({lower_rv}). Stop: the station is not protected.",
    "TS1.swings.see": "Both valves swing against each other.",
    "TS1.swings.means": "Their speeds lie too close together.",
    "TS1.swings.then": "Lower {rv1} ({lower_rv}). Make one slower than the other, one needle at a time.",
}
