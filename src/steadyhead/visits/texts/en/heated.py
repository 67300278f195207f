"""Words of what stands around the station: heaters, another feed, fire flow; and of a stiff section."""

TEXTS = {
    "HT.title": "Heaters off before {iv2} moves",
    "HT.switch": "Have every heater behind the station switched off, its circulating pump stopped, both "
    "locked and tagged. Whoever is in charge of them confirms it.",
    "HT.ahead": "{ahead} on this side of {iv2}, the heaters on the other: with {iv2} shut, water that is "
    "heated has no room.",
    "HT.nothing": "With {iv2} shut, water that is heated has no room.",
    "HT.no_feed": "With {iv2} shut nothing feeds the consumers: a heater gets no water, and what "
    "stands in it is heated on.",
    "HT.title_vessel": "Heaters off before {cut} is cut off",
    "HT.vessel": "With {cut} cut off, water that is heated has no room; a relief valve is no place for it.",
    "HT.stay_vessel": "They stay off until {cut} is open again.",
    "HT.runs_vessel.see": "A heater runs, or nobody has confirmed.",
    "HT.runs_vessel.means": "Heated with {cut} cut off, the water rises to a relief or safety valve.",
    "HT.runs_vessel.then": "{cut} is not cut off before it is confirmed.",
    "HT.stay": "They stay off until everything is open again to the consumers.",
    "HT.on": "Heaters on again only now: {all_open} open and read by a second person. Locks and tags off by "
    "whoever put them on.",
    "HT.in.off": "every heater off and locked?",
    "HT.in.by": "confirmed by, when",
    "HT.runs.see": "A heater runs, or nobody has confirmed.",
    "HT.runs.means": "Heated behind a shut {iv2}, the water rises to a safety valve, or beyond.",
    "HT.runs.then": "{iv2} is not moved. No test before it is confirmed.",
    "hz.heated_shut": "Heated water behind a shut valve has no room. Heaters off first, on last.",
    "name.heaters_off": "heaters off",
    "name.other_feed": "other feed opened for the visit",
    "J2.other_feed": "The other feed back as it stood before this visit; count the turns. Left open, the "
    "station no longer holds the zone alone.",
    "D2.stiff": "A full section is stiff: {still_band} in {pump_hold} is {fall_leak}, and a wall that "
    "cools by 0.1 °C (0.2 °F) does as much. Measure the wall before and after.",
    "D2.cools.see": "{t3} falls, and the pipe wall has cooled.",
    "D2.cools.means": "Water that cools, not a leak: 1 to 2 bar (15 to 30 psi) for each °C (1.8 °F) in a "
    "full metal section.",
    "D2.cools.then": "Wait until the wall stands. Pump up and watch again.",
    "D2.falls.see": "{t3} falls by more than {still_band}, and the wall has not cooled.",
    "D2.falls.means": "{iv2}, {td} or a fitting leaks; or air is inside, and goes into the water.",
    "D2.falls.then": "Look at {td} and the fittings first. More than a drop a second: the outlet is not "
    "raised; shut another boundary or prove by injection.",
    "D2.drip": "If it falls further: pump back and measure; what goes back is the leak. Up to {drip_leak}, a "
    "drop a second, it is written down and looked at in every raise.",
    "hz.short_gauge": "{gauge} reads to {span}; a reducer that fails open puts {static} on it. Its cock is "
    "open only to read.",
    "A6.low_span": "{gauge} reads to {span}; the inlet can stand at {static}. Its cock is open only to read, "
    "while a reducer is set or raised too: one that fails open puts the inlet on it.",
    "H1.between": "At trickle a real pilot stands between {duty} and its lock-up, {lockup_reading}; nobody "
    "knows where before it is read. Where the duty flow runs, that reading decides.",
    "H4.fire": "The fire flow, {fire_flow}, is the last point: hold it as long as the drain and its hose can "
    "be watched.",
    "H4.fire_short": "The fire flow, {fire_flow}, is not reached at {td}: not proved today. Write it down as "
    "a deviation; hydrants behind the station, agreed with the fire service, prove it.",
    "Y3.stages": "Read {stage_tap} with it, at trickle and at lock-up: {stage_valve} is judged there.",
    "Y3.in.stage.trickle": "{stage_tap} at trickle",
    "Y3.in.stage.lockup": "{stage_tap} at lock-up",
    "B3.drains_shut": "Shut the test drain and every vent behind the valves again: nothing runs through them "
    "while the supply is flushed.",
}
