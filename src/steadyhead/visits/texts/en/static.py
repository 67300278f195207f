"""Words of table D: static checks."""

TEXTS = {
    "D1.title": "Look for leaks",
    "D1.look": "Look at flanges, glands, tubes, bolts and supports.",
    "D1.in.dry": "dry and firm?",
    "D1.leaks.see": "Water, or something loose.",
    "D1.leaks.means": "It will not get better at a higher pressure.",
    "D1.leaks.then": "Close {iv1}, vent, see zero, tighten.",
    "D2.title": "{iv2} tight, forwards",
    "D2.close": "Shut {td}, then close {iv1}: {t1} keeps its pressure and holds the reducer shut.",
    "D2.pump": "Pump {t3} to {pump_top}.",
    "D2.out_of_way": "Shut-off at the top of its range: pump {t3} to {pump_top}.",
    "D2.in_service": "Shut-off in service: pump {t3} to {pump_stop}, no further.",
    "D2.amount": "It takes about {pump_full}; with {air_inside} of air inside {pump_air}.",
    "D2.watch": "Watch {t3}, the consumer side and the pipe wall for {pump_hold}. Where {t3} falls, the pump "
    "brings it back; it is read last while the pump still holds it.",
    "D2.strokes": "Then hold {t3} there with the pump for a minute and count: at most {strokes} strokes of "
    "{pump_stroke}.",
    "D2.strokes_most": "That is all the pump brings. A leak of {leak_limit} is accepted: if the pump holds "
    "it, {iv2} counts as tight enough.",
    "D2.no_leak": "No leak is accepted, because the demand can be zero: {t3} falls by less than "
    "{still_band}.",
    "D2.release": "Release the pump. Open {td}, then {iv1} to {v2}; {td} back to trickle.",
    "D2.in.T3.first": "{t3} pumped up",
    "D2.in.T3.last": "{t3} at the end, the pump holding it",
    "D2.in.reached": "pumped up, and held?",
    "D2.in.strokes": "strokes in the minute",
    "D2.cannot.see": "It cannot be pumped up, or not held.",
    "D2.cannot.means": "More leaks at {iv2}, {td} or a fitting than the pump brings; or air is inside.",
    "D2.cannot.then": "Look at {td} and the vents first. With a meter: try it by the reducer. Without: {iv2} "
    "counts as passing.",
    "D2.leaks.see": "More strokes, or more fall, than is accepted.",
    "D2.leaks.means": "{iv2} passes, or {td} or a fitting does.",
    "D2.leaks.then": "Look at {td} first. If it is {iv2}: the outlet is not raised; shut another boundary "
    "or prove by injection.",
    "D2.follows.see": "{t4} rises with {t3}.",
    "D2.follows.means": "{iv2} passes.",
    "D2.follows.then": "Release the pump. The outlet is not raised; shut another boundary or prove by "
    "injection.",
    "D2.rises.see": "{t3} rises by itself.",
    "D2.rises.means": "The reducer passes, or the pipe warms.",
    "D2.rises.then": "Compare the pipe wall at start and end; then D3.",
    "D2r.title": "{iv2} tight, forwards, by the reducer",
    "D2r.note": "{td} at trickle: read {tap} as found, measure the screw of {rv}. Break its seal. From "
    "here it "
    "no longer stands as found.",
    "D2r.shut": "Shut {td}.",
    "D2r.first": "From its lowest setting the first turn is at most {first_turn_low}: it shows which "
    "spring is "
    "fitted.",
    "D2r.first_none": "From its lowest setting no turn is safe before the spring is known: read its plate, "
    "ask.",
    "D2r.first_fits": "From where it stands the first turn is at most {first_turn}. No turn is larger before "
    "the spring is known.",
    "D2r.first_down": "From where it stands the first turn goes down ({lower_rv}), a quarter, with {td} at "
    "trickle: it shows which spring is fitted.",
    "D2r.in.found": "{tap} at trickle, before the screw is turned",
    "D2r.pump": "Raise {rv} ({raise_rv}) in steps of at most {pumpless_step} to {pump_top} at {t3}.",
    "D2r.out_of_way": "Shut-off at the top of its range: raise {rv} ({raise_rv}) in steps of at most "
    "{pumpless_step} to {pump_top} at {t3}.",
    "D2r.in_service": "Shut-off in service: raise {rv} ({raise_rv}) in steps of at most {pumpless_step} to "
    "{pump_stop} at {t3}, no further, or it closes.",
    "D2r.meter": "The meter reads the leak. Allowed: {leak_limit}.",
    "D2r.meter_none": "The meter reads the leak. Allowed: none.",
    "D2r.listen": "Watch {t4} for {pump_hold} and listen at {iv2}: no flow.",
    "D2r.lower": "Open {td} to trickle. Lower {rv} again ({lower_rv}) by the same turns.",
    "D2r.in.flow": "flow by the meter",
    "D2r.in.silent": "no sound, no flow?",
    "D2r.leaks.see": "Water flows.",
    "D2r.leaks.means": "{iv2} passes.",
    "D2r.leaks.then": "Open {td}, lower {rv} ({lower_rv}). Shut another boundary or prove by injection.",
    "D2r.follows.see": "{t4} rises with {t3}.",
    "D2r.follows.means": "{iv2} passes.",
    "D2r.follows.then": "Open {td}, lower {rv} ({lower_rv}). Shut another boundary or prove by injection.",
    "D3.title": "{rv} tight",
    "D3.open": "{iv1} stands at {v2}.",
    "D3.lowest": "At its lowest setting: shut {drain}, wait until {tap} stands, read from there on.",
    "D3.standing": "At its standing setting: draw water, shut {drain}, read from the lock-up on.",
    "D3.watch": "Watch {tap} for {watch}. Feel the pipe wall.",
    "D3.leak": "It stays flat: one drop a second raises a full section by about {drip_rise} in a minute.",
    "D3.again": "Open {drain} to trickle again.",
    "D3.in.first": "{tap} at the start",
    "D3.in.last": "{tap} at the end",
    "D3.climbs.see": "{tap} climbs.",
    "D3.climbs.means": "{rv} passes: pilot, main seat, diaphragm, or another way past it.",
    "D3.climbs.then": "Close the outlet cock of its pilot: the rise stops, it is the pilot; it goes on, "
    "seat, diaphragm or another way past it.",
    "D4.title": "Stroke {so} by hand",
    "D4.by_hand": "Close {so} by its hand device or pilot cock, if it has one. Reopen it.",
    "D4.by_line": "It is closed by line pressure: {medium} must stand for the stroke.",
    "D4.by_own": "It is closed by its own drive: it moves with the line at rest, too.",
    "D4.no_time": "The time of a hand stroke is no closing time.",
    "D4.switch": "See the contact change: {switch_kind}.",
    "D4.in.full": "closes and reopens fully?",
    "D4.in.fitted": "hand device fitted?",
    "D4.stiff.see": "Stiff, or only part of the way.",
    "D4.stiff.means": "It would not close in a failure.",
    "D4.stiff.then": "Stop. Overhaul it before any raise.",
}
