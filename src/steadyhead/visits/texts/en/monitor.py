"""Words of table MN: a monitor stands wide open until the reducer beside it fails."""

TEXTS = {
    "MN0.title": "{mon} out of the way",
    "MN0.why": "Below the pressure now wanted {mon} would take over and hold the outlet there.",
    "MN0.raise": "Raise {mon} ({raise_mon}) to the top of its range, {rv} at duty. Count the turns, measure "
    "the screw. Already there: leave it.",
    "MN1.title": "{mon} holds when {rv} fails open",
    "MN1.raise": "{td} at trickle. Raise {rv} ({raise_rv}) in small steps until {t3} no longer rises, then "
    "half a turn more: {mon} holds now.",
    "MN1.set": "Lower {mon} ({lower_mon}) by {below_least} to {below_most} below {monitor_reading}, water "
    "running. Raise it from below ({raise_mon}) to {monitor_reading} at {t3}.",
    "MN1.set_if": "Left as it stands: read it only. Must it be set: lower {mon} ({lower_mon}) by "
    "{below_least} to {below_most} below {monitor_reading}, water running, and raise it from below "
    "({raise_mon}) to {monitor_reading} at {t3}.",
    "MN1.nut": "A screw that was turned: lock nut tight, marked, measured; read again.",
    "MN1.read": "Read every tap. {rv} stands wide open: the whole difference lies across {mon}.",
    "MN1.still": "Shut {td}: {t3} rises to the lock-up of {mon} and stands for {screen_watch}. {td} back to "
    "trickle.",
    "MN1.start": "Lower {rv} until {t3} stands {start_below} below what {mon} held: {mon} opens wide.",
    "MN1.time": "Raise {rv} a quarter turn at once. Stop the time from the turn until {t3} stands, and read "
    "its highest.",
    "MN1.most": "Past {test_limit}: open {td} fully at once.",
    "MN1.response": "That time is the response of {mon}: it goes to the designer and into the station file.",
    "MN1.hand_over": "Lower {rv} slowly through the hand-over and raise it again: {t3} settles each time.",
    "MN1.lower": "Lower {rv} ({lower_rv}) to {below_least} to {below_most} below duty, {td} running.",
    "MN1.in.lockup": "{t3} at no flow, {mon} holding",
    "MN1.in.response": "from the turn until {t3} stands",
    "MN1.in.peak": "{t3}, highest on the way",
    "MN1.in.turns": "turns of {rv} raised",
    "MN1.in.height": "screw height of {mon}",
    "MN1.in.stable": "does {t3} settle?",
    "MN1.climbs.see": "{t3} climbs on at no flow.",
    "MN1.climbs.means": "{mon} does not hold: if {rv} fails open, nothing stops the outlet there.",
    "MN1.climbs.then": "Open {td}, lower {rv} ({lower_rv}). Stop: the station is not protected by {mon}.",
    "MN1.off.see": "{t3} stands outside its band.",
    "MN1.off.means": "Gauge, another setting, or {rv} is not wide open yet.",
    "MN1.off.then": "Read the gauge again. Raise {rv} half a turn more: if {t3} stays, {mon} is set wrong.",
    "MN1.slow.see": "{t3} passes {test_limit} before {mon} holds it.",
    "MN1.slow.means": "{mon} closes too slowly for this outlet.",
    "MN1.slow.then": "Open {td}, lower {rv} ({lower_rv}). Time and highest reading go to the designer: a "
    "larger pilot or a smaller chamber closes faster. The failure taken as credited rests on it.",
    "MN1.swings.see": "The two swing against each other.",
    "MN1.swings.means": "Settings too close, or their speeds alike.",
    "MN1.swings.then": "Lower {rv} ({lower_rv}). Make one slower than the other; the gap is for the "
    "designer.",
    "MN1.title_opened": "{mon} holds, because its filter was opened",
    "MN1.title_found": "{mon} as found",
    "C1S.title_kept_monitor": "{valve} keeps its setting",
    "C1S.kept_monitor": "{iv2} passes: the outlet is not raised, so {valve} can be neither set nor proved "
    "today. Measure its screw.",
    "C1S.top_monitor": "Raise {valve} to the top of its range ({raise_rv}): it stands wide open. Count the "
    "turns, measure the screw.",
    "C1S.unwatched": "From here until {valve} is proved it does not watch over the other reducer. {iv1} "
    "never beyond {v2}.",
    "A5.monitor": "{mon} is the monitor: set higher, it stands wide open. Mark it; changed over, the two do "
    "each other's work.",
    "hz.no_monitor": "The monitor stands out of the way. {iv1} never beyond {v2}.",
    "why.monitor": "the monitor as it stands, the other reducer open",
    "why.monitor_set": "the monitor just set, the other reducer open",
    "why.monitor_lockup": "no flow, the monitor holding as it stands",
    "why.monitor_lockup_set": "no flow, the monitor holding as just set",
    "name.stands_in": "{part} holds when the other reducer fails open",
}
