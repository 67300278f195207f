"""Rules that hold all through a plan: invariants, stop rules, and what this paper is not."""

TEXTS = {
    "V1": "No consumer sees a test: {iv2} is shut and seen to be tight at test pressure before the outlet "
    "goes above duty.",
    "V1.passing": "No consumer sees a test: {iv2} passes, so the outlet is never raised above duty in this "
    "plan.",
    "V2": "Before any raise {td} has been opened and water seen, and {iv1} stands at {v2}: then {td}, fully "
    "open, holds the outlet below {test_limit} even with the reducer wide open.",
    "V2.between": "Before any raise {td} and {td2} have been opened and water seen, and {iv1} stands at "
    "{v2}: then {td}, fully open, holds the outlet below {test_limit}, and {td2} the section between the "
    "valves below {test_limit_between}, even with a reducer wide open.",
    "V2.open": "No step of this plan raises the outlet by a screw or takes a protection out of action. No "
    "opening of {iv1} lets {td} alone hold the outlet: {iv1} opens slowly, in stages, and nobody turns a "
    "screw up on this plan.",
    "V2.second": "{iv1} passes: wherever a step or a way out closes {iv1}, the valve agreed further up is "
    "closed "
    "with it.",
    "V3": "An isolating valve moves a little, waits, then moves slowly; the last part of closing is the "
    "slowest.",
    "V4": "Whoever touches a spring, needle, nut, cock or sensing line takes away every proof that rests on "
    "it.",
    "V5": "A reading counts once it has stood {hold_time} within ± {hold_band}. If it does not settle: "
    "mean, swing, period.",
    "V6": "One change at a time. Note the direction of each turn.",
    "V7": "A gauge is seen to move, or to return to zero, before its reading is used.",
    "V8": "A shut-off out of the way, or cut off from what it senses: never left alone, consumers cut off, "
    "on the list until put right.",
    "V8.passing": "{iv2} passes: a shut-off cut off from what it senses is never left alone, {td} is manned, "
    "{iv1} no further than the step says, on the list until put right.",
    "V9": "A reducer is set from below. A shut-off is proved by rising pressure. A lowered setting counts "
    "after water has run and the reading has followed.",
    "V9.plain": "A reducer is set from below. A lowered setting counts after water has run and the reading "
    "has followed.",
    "V10": "Each number carries tap, gauge, time, and flow at that time.",
    "V11": "No plug or cover is loosened on trapped pressure: isolate, vent, see zero on a live gauge of "
    "that very section, stand aside.",
    "V12": "Before leaving, somebody else, or a photo, reads every cock against the list.",
    "stop.gas": "The gas alarm sounds.",
    "stop.pressure": "The consumer side stands above its normal limit, or a section above its rating or "
    "test limit.",
    "stop.no_action": "The shut-off has not acted at the upper edge of its trip.",
    "stop.t4": "{t4} moves when it should stand.",
    "stop.t4_none": "The pressure on the consumer side moves when it should stand.",
    "stop.gauge": "An instrument turns out to be wrong.",
    "stop.water": "Water rises in the chamber.",
    "stop.permit": "The holder of the permit leaves.",
    "stop.differs": "Plan and pipework differ.",
    "stop.unsure": "Nobody can say what the next quarter turn will do.",
    "stop.short.gas": "gas alarm",
    "stop.short.pressure": "consumers or a section above their limit",
    "stop.short.no_action": "no trip by its upper edge",
    "stop.short.t4": "{t4} moves",
    "stop.short.t4_none": "consumer side moves",
    "stop.short.gauge": "false instrument",
    "stop.short.water": "water rises",
    "stop.short.permit": "permit holder leaves",
    "stop.short.differs": "plan and pipes differ",
    "stop.short.unsure": "next quarter turn unclear",
    "defer.support": "This plan helps to prepare, carry out and record. It authorises nothing: permits, "
    "risk assessment, the supplier's instructions and the judgement of a competent, locally licensed person "
    "come first.",
    "defer.codes": "Its figures come from the station file and from defaults marked as such. Codes, "
    "standards, the water undertaker, the fire authority and the authority having jurisdiction take "
    "precedence.",
    "defer.release": "The design behind it is to be checked and released by a person entitled to do so at "
    "this place.",
    "defer.outside": "A reading outside its band: stop. Go on only once what was seen, and who agreed, is "
    "written down.",
    "defer.proof": "A proof says what was seen on that day by that method. It promises nothing for later.",
    "limits.steady": "Bands are steady states of the twin over the stated tolerances, about {share} of true "
    "readings each. Surge, trapped air and damaged parts are not in them.",
    "note.redo": "Stale by the repair and done again: {steps}. The other steps give access, protect, and "
    "put right.",
    "note.coverage": "The trip is proved by a pump at its sensing line. Not covered: the tapping, and the "
    "way from raised outlet to pilot.",
    "note.unprotected": "Nothing in this plan protects consumers when the reducer fails open.",
    "note.not_released": "Design not released: {codes}. What follows is told by the check of the file; "
    "settle "
    "it before anybody travels.",
    "note.crossed": "Seen by loggers: {what}, {because}. To be done at this visit or put off with a reason: "
    "{does}.",
    "note.crossed_here": "Loggers say: {what}, {because}.",
    "note.gates": "Turning isolating valves comes on top of the times: {gates}.",
    "note.days": "More than one day of work: {days} days at {hours} h. Overnight the station stays isolated, "
    "both valves shut and tagged and the drain open, or in service as proved so far; never with {guard}, "
    "a reducer raised, or a gauge hose on a live tap.",
    "guard.shut_off": "a shut-off out of the way",
    "guard.monitor": "{mon} out of the way",
    "guard.relief": "the cock of a relief valve shut",
    "guard.none": "the guard of the outlet out of action",
    "note.overnight": "Left isolated overnight, the station is shut for {overnight}: agree who brings water, "
    "or put it into service overnight as proved so far.",
    "note.gauges": "Good enough to set the trip: {good_gauges}.",
    "note.gauges_poor": "Not good enough to set the trip: {poor_gauges}.",
    "note.gauges_plain": "Good enough to set and prove with: {good_gauges}.",
    "note.gauges_poor_plain": "Not good enough to set and prove with: {poor_gauges}.",
    "kind.first": "First commissioning",
    "kind.yearly": "Yearly proof",
    "kind.after_repair": "After repair: {item}",
    "kind.new_setting": "New setting: {item}",
    "kind.new_setting_all": "New setting: all pilots",
    "kind.return_to_service": "Return to service",
    "kind.restart": "Restart",
    "kind.visit": "Visit",
}
