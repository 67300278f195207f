"""Words of table S and H3: several streams, one at a time and together."""

TEXTS = {
    "streams.other": "the other reducer",
    "note.station_out": "Several streams: {streams}. The whole station goes out; they are tested one "
    "by one between its own two valves, the others isolated and seen to be tight, then together.",
    "note.stream_out": "Several streams: {streams}. One is cut off at its own two valves at a time; "
    "the others stay in service and hold the zone.",
    "note.stream_out_fresh": "Several streams: {streams}. One after another between its own two valves. A "
    "stream that has not had its turn stays shut; only those that are done feed the zone.",
    "S.waits": "{down} and {up} of {other} shut and tagged: it feeds nobody before its turn.",
    "S.all_in": "All streams stand open as in service; the one that leads locks the outlet up.",
    "S.serves": "See that {others} in service holds the zone.",
    "K1.streams": "As left of every stream: trips, duties, trickle readings; lock-up and leading "
    "stream of the station; how the standby stands.",
    "why.together": "all streams in service, the leading one holds",
    "why.handover": "the changeover from one stream to the next",
    "why.one_out": "one stream shut, the other holds",
    "rule.on_stream": "{stream}: {what}",
    "name.on_stream": "{what} ({stream})",
    "name.isolated": "stream {part} isolated",
    "name.shut_tight": "no water seen past the valves of stream {part}",
    "name.unlocked": "lock of stream {part} off",
    "name.lead": "leading stream",
    "name.changeover": "changeover between streams",
    "name.calm": "streams do not work against each other",
    "name.stagger": "trip of {part} as far from the one before as designed, within two proofs' scatter",
    "name.covered": "zone held while stream {part} is tripped",
    "name.backwards": "{part} tight backwards",
    "S1.title": "Only stream {stream}: the others isolated",
    "S1.down": "Close {iv1} slowly. Open {td}: {t3} falls.",
    "S1.shut": "Stream {beside}: close {up} ({turns_up}), then {down} ({turns_down}), slowly. Tag both. The "
    "other way round, a reducer that senses the header shuts inlet pressure in.",
    "S1.unlock": "Stream {stream} stands locked shut: take the locks of {locks} off and keep them. They "
    "go on again when it is done.",
    "S1.senses": "{so} of stream {beside} senses {senses} as well: it goes shut when the outlet passes "
    "{acts}. That is no fault here; it is reset when its stream comes back.",
    "S1.open": "Stream {stream}: open {valves}.",
    "S1.list": "Write every position down; a second person reads it.",
    "S1.in.tagged": "all of them shut and tagged?",
    "S1.not.see": "A valve does not shut, or cannot be tagged.",
    "S1.not.means": "The test would see two streams as one.",
    "S1.not.then": "Blank that end off, or stop: this stream is not tested today.",
    "S2.title": "No water from the streams beside {stream}",
    "S2.drain": "Stream {beside}: open {opening}. It runs dry and stays dry for {watch} while {t3} is "
    "up. Shut it.",
    "S2.tap": "Stream {beside}: vent at {opening}. It goes to zero and stays there for {watch} while "
    "{t3} is up.",
    "S2.held": "Stream {beside} has no opening between {up} and {down}: shut {td} and watch {t3} for "
    "{watch}. It stands: nothing passes there, nor through the reducer. Bring {td} back to trickle.",
    "S2.in.dry": "does every opening stay dry?",
    "S2.runs.see": "Water keeps coming at an opening.",
    "S2.runs.means": "One of the two valves of that stream passes.",
    "S2.runs.then": "Close {iv1}: if it stops, the upstream valve passes; else the other. Shut it "
    "tight or blank it off before this stream is judged.",
    "S2.climbs.see": "{t3} climbs.",
    "S2.climbs.means": "Water passes through a stream beside, or through the reducer.",
    "S2.climbs.then": "Close the downstream valve of the stream beside by another turn and read again. "
    "Still climbing: the reducer; go on to D3.",
    "S3.title": "Stream {beside} back in service",
    "S3.title_kept": "Stream {beside} stays locked shut",
    "S3.reset": "{so}: see whether it has gone shut; reset it by hand with {down} still shut.",
    "S3.throttle": "{iv1} to {v2}, {td} at trickle: water runs while the stream comes back.",
    "S3.open": "Open {down} a little, wait, then fully; then {up} the same way. Tags off.",
    "S3.full": "Open {iv1} fully in stages.",
    "S3.stands": "{up} and {down} stand open since the test of this stream. Tags off.",
    "S3.look": "Read {header}: it moves a little and stands.",
    "S3.locked": "Close {up}, then {down}, if they stand open. Both shut, locked and tagged as the "
    "design has it.",
    "S3.twice": "A second person reads both valves against the list.",
    "S3.kept.see": "A valve does not stand shut and locked.",
    "S3.kept.means": "A stream that is meant to stay out could feed the consumers.",
    "S3.kept.then": "Close, lock and tag both. The station does not go back to service before.",
    "S3.in.listed": "both valves as on the list?",
    "S3.not.see": "A valve stands otherwise than on the list.",
    "S3.not.means": "The stream would be missing on the day it is needed.",
    "S3.not.then": "Put it right. The station does not go back to service before.",
    "Y8.title_leave": "All streams back: leave the site",
    "Y9.title": "{part} is left as it stands in this visit",
    "Y9.why": "{part} serves all streams and stays in service: nothing here proves it.",
    "Y9.vessel": "See its cock open and sealed. Its gas charge is not known from this visit.",
    "Y9.relief": "See its cock open and sealed, its discharge dry. That it lifts is not known from "
    "this visit.",
    "Y9.strainer": "Read what it loses in service, and hold it beside the last record.",
    "Y9.date": "Write down when it was last proved, and the day of the visit with the whole station out that "
    "proves it next.",
    "Y9.in.last": "last proved",
    "Y9.in.next": "proved next, day and who",
    "Y9.in.agreed": "is that day agreed with the owner?",
    "Y9.open.see": "No day is agreed.",
    "Y9.open.means": "What the design counts on it for was not seen.",
    "Y9.open.then": "Hand it to the owner as open, in writing. The yearly proof is not complete.",
    "S.relock": "Shut {td}. Close {iv1}, then {iv2}; both locked and tagged as the design has it. Nothing is "
    "opened to the consumers.",
    "S.relock.title": "Locked shut again: {stream}",
    "S.seen_shut": "Locked shut in service: {stream}. See {iv1} and {iv2} shut, locked and tagged; nothing "
    "is moved.",
    "S.other.see": "A valve does not stand shut and locked.",
    "S.other.means": "The stream may feed the zone unproved.",
    "S.other.then": "Close {iv1}, then {iv2}, slowly. Lock both. Tell {desk}.",
    "S.start.title": "Locked stream ready for the drain: {stream}",
    "S.fill": "It may stand empty. Crack {iv1}, {td} a little open, highest vents open until solid water; "
    "shut the vents. {iv2} stays shut.",
    "S.fill_watch": "Then shut {td} by quarters and read {t3}: it stops near lock-up. Where it goes on "
    "rising, open {td} again at once and close {iv1}: the reducer passes, and the inlet would stand on this "
    "section. Not tried further; write it down.",
    "S.out.locked": "Release the pump. Close {iv1}; {iv2} stays shut. Open {td}. Lock and tag both. Tell "
    "{desk}.",
    "S.unlock": "Locked shut in service: {stream}. Take the locks of {iv1} and {iv2} off and keep them. "
    "{iv2} stays shut.",
    "S4.title": "Which stream leads",
    "S4.trickle": "{td} at trickle, all streams in service.",
    "S4.served": "At the lowest demand of the visit, all streams in service.",
    "S4.look": "{leader} carries the flow: stem, sound, or its own gauge. The others stand shut. Read "
    "{header}.",
    "S4.in.leads": "does {leader} lead?",
    "S4.other.see": "Another stream carries the trickle.",
    "S4.other.means": "The settings stand reversed or too close together.",
    "S4.other.then": "Set them apart as the design has it, duty again from below, and look again.",
    "S4.off.see": "{header} lies outside its band.",
    "S4.off.means": "A setting has moved since it was read alone, or a stream takes water back.",
    "S4.off.then": "Read each stream alone again before going on.",
    "S5.title": "Changeover at {handover}",
    "S5.below": "Bring the flow to {below}: {leader} alone carries it. Read {header}.",
    "S5.above": "Raise it slowly to {above}: {follower} opens on the way, near {handover}. Read {header}.",
    "S5.again": "Hold, read; bring it down to {below}: {follower} shuts. Read {header}.",
    "S5.in.flow": "flow at which {follower} opens",
    "S5.in.T3.up.1": "{header} below the changeover, rising",
    "S5.in.T3.up.2": "{header} above the changeover, rising",
    "S5.in.T3.down.2": "{header} above the changeover, falling",
    "S5.in.T3.down.1": "{header} below the changeover, falling",
    "S5.in.opens": "does {follower} open?",
    "S5.in.shuts": "does it shut again?",
    "S5.never.see": "{follower} does not open, or does not shut again.",
    "S5.never.means": "It stands isolated, its setting is too far away, or it is stuck.",
    "S5.never.then": "Read its valves against the list; then that stream alone again.",
    "S5.off.see": "{header} lies outside its band.",
    "S5.off.means": "The settings do not stand as designed, or a stream loses more than it should.",
    "S5.off.then": "Read each stream alone at this flow.",
    "S5.apart.see": "{header} differs between rising and falling flow.",
    "S5.apart.means": "Friction in one of the valves, or they work against each other.",
    "S5.apart.then": "Look for the swing in S6; trim one needle at a time.",
    "S5h.title": "Changeover by hand",
    "S5h.close": "No flow within reach of {td} brings {leader} to its end. At trickle, close {stop} "
    "slowly: {follower} takes over. Read {header}.",
    "S5h.reopen": "Open {stop} again slowly: {leader} leads. Read {header}.",
    "S5h.in.T3.shut": "{header} with {leader} cut off",
    "S5h.in.T3.back": "{header} with {leader} back",
    "S5h.in.opens": "does another reducer open?",
    "S5h.in.shuts": "does it shut again?",
    "S6.title": "The streams do not work against each other",
    "S6.at": "Hold the flow near {handover}, where both streams carry.",
    "S6.trickle": "Hold the trickle, then open {td} a little and shut it again.",
    "S6.served": "Through a rise and a fall of demand.",
    "S6.watch": "Watch {header} and both stems for {watch}.",
    "S6.in.stable": "does {header} stand, and does only one stem move at a time?",
    "S6.swings.see": "The stems swing against each other.",
    "S6.swings.means": "The settings lie too close, or both pilots are equally fast.",
    "S6.swings.then": "Set them further apart as the design has it, or make the follower slower, one "
    "needle at a time. Do not leave it so.",
    "S7.title": "Distance of the trips of {early} and {late}",
    "S7.work_out": "First proved middle of {late} less that of {early}: at least {least}; the design "
    "has {stated}, the rest is the scatter of two proofs.",
    "S7.write_down": "First proved middle of {late} less that of {early}: write it down. The design has "
    "{stated}, no more than the scatter of two proofs: they count as acting together.",
    "S7.order": "Only from {order_sure} on is {early} sure to act first: closer, the two scatter past each "
    "other.",
    "S7.unordered.see": "They lie closer than {order_sure}.",
    "S7.unordered.means": "The order is not proved: in one rise either may act first, or both.",
    "S7.unordered.then": "Write it down; no certificate says that {early} acts first. A wider stagger is for "
    "the designer.",
    "S7.in.apart": "{late} less {early}",
    "S7.in.early": "{early}, first middle of its last proof",
    "S7.in.late": "{late}, first middle of its last proof",
    "S7.close.see": "They lie closer than {least}.",
    "S7.close.means": "One rise of the outlet may shut both: the healthy stream goes first, or with it.",
    "S7.close.then": "Set one of them anew inside its window, prove it again, and work this out again.",
    "S8.title": "Stream {stream} tripped: the other holds",
    "S8.trickle": "{td} at trickle, all streams in service.",
    "S8.served": "At low demand, somebody watches the zone.",
    "S8.idle": "{rv} stands shut at this flow: this shows what runs back through its stream, not that "
    "another one takes over from it.",
    "S8.shut": "Shut {so} by hand. Without a hand stroke: close the inlet valve of this stream.",
    "S8.holds": "{header} goes to what {other_rv} holds, and stands.",
    "S8.returns": "Read {behind}: near {header}, water has run back through {rv}, which stands wide "
    "open while the outlet lies below its setting. There is no check valve.",
    "S8.stands": "Read {behind}: {rv} stands shut while the outlet lies above its setting, so that "
    "little comes back. There is no check valve.",
    "S8.checked": "Vent {behind}: it falls and stays down; {cv} keeps the water of stream {other} out.",
    "S8.reset": "Close {down}; {iv1} to {v2}, {td} at trickle. Reset {so}: {rv} may stand wide open until "
    "its section is full. See it hold. Open {down} slowly, then {iv1} fully in stages.",
    "S8.reset_own": "Close {down}; {iv1} to {v2}, {own} open until water runs. Reset {so}: {rv} may stand "
    "wide open until its section is full. See it held, shut {own}. Open {down} slowly, then {iv1} fully in "
    "stages.",
    "S8.reset_header": "{iv1} to {v2}, {td} at trickle; {down} stays open, {rv} senses the header. "
    "Reset {so}: {rv} may stand wide open until {header} is held. Then {iv1} fully in stages.",
    "S8.reset_served": "Close {iv2}, then bring {iv1} to {v2}; open {td} until water runs. Reset {so}: {rv} "
    "may stand wide open until its section is full. See {t3} held.",
    "S8.back": "Open {iv1} fully in stages; {t3} is held at each. Shut {td}. Bring {t3} close to {header}: "
    "crack {iv2} and wait; then open it slowly.",
    "S8.off.see": "{header} lies outside its band.",
    "S8.off.means": "Stream {other} does not take over as set, or is isolated.",
    "S8.off.then": "Reset {so} first. Then read the valves of stream {other} against the list.",
    "S8.stays.see": "{so} does not open again.",
    "S8.stays.means": "Latched, or its sensed pressure lies above its reset.",
    "S8.stays.then": "Stream {other} carries on. Draw the outlet down and reset again.",
    "S9.title": "{cv} tight backwards",
    "S9.shut": "Stream {stream}: close {up} slowly; the other streams hold {header}.",
    "S9.drain": "Open {opening}, between the reducer and {cv}: it runs dry.",
    "S9.tap": "Vent at a gauge cock between the reducer and {cv}: it goes to zero and stays there.",
    "S9.open": "Shut it. Open {up} slowly.",
    "S9.in.runs": "does water keep coming?",
    "S9.in.leak": "leak",
    "S9.passes.see": "Water keeps coming.",
    "S9.passes.means": "{cv} passes: a stream that is out takes water from the others.",
    "S9.passes.then": "Measure it. Clean or replace {cv}; until then isolate this stream at both ends "
    "when it is out.",
}
