"""Findings about the test plan: what stops it, what makes it go another way, what it leaves out."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB = "design handbook"
_CP = "common practice, no single source"
_OWN = "own reasoning"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "PLAN-01",
        "no plan for this layout",
        "{subject}: this order of valves has no test plan yet.",
        "Steps written for another layout would shut the wrong valve first.",
        "Describe each stream as one or two reducers, with one shut-off ahead of them or behind them, or "
        "none.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "PLAN-02",
        "no test drain on the outlet",
        "No drain stands between the last valve and the outlet isolating valve. The plan stops here.",
        "Pressure in a full section falls only when water leaves. Without a drain nothing holds the section "
        "while the reducer is raised, and a lowered setting shows nothing.",
        "Fit a drain large enough to hold the section, and name it in the station file.",
        sources=(f"{_HB} 3.1 V2, 3.2", _OWN),
    ),
    Entry(
        "PLAN-03",
        "no drain between the valves",
        "No drain stands on the section between the valves. The plan stops here.",
        "That section stays at its pressure behind two shut valves. Only a drain of its own lets it down, "
        "holds it while the first valve is set, and lets a tripped shut-off be reset without a rush.",
        "Fit a drain between the valves, and name it in the station file.",
        sources=(f"{_HB} 3.6, 3.6a",),
    ),
    Entry(
        "PLAN-04",
        "no isolating valve",
        "No isolating valve stands on the {side} side. The plan stops here.",
        "Consumers must be cut off before the outlet is raised, and the inlet must be throttled so that the "
        "drain alone can hold the section.",
        "Name the valve in the line of the station file, or fit one.",
        sources=(f"{_HB} 3.1 V1, V2",),
    ),
    Entry(
        "PLAN-05",
        "no tap where it must be read",
        "There is no tap {role}. The plan stops here.",
        "Nobody raises a pressure that no gauge shows.",
        "Name the tap in the line of the station file, or fit one.",
        sources=(f"{_HB} 3.1 V7, V10",),
    ),
    Entry(
        "PLAN-06",
        "shut-off senses the wrong place",
        "{shut_off} senses {tap}, which lies {where}. The plan is refused.",
        "Raising the outlet would prove nothing: the shut-off does not see the outlet. Between the valves "
        "it also stays tripped while the consumers drain to zero.",
        "Let it sense the outlet, after the last valve, through a tapping and root cock of its own.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "PLAN-07",
        "trip not chosen",
        "{shut_off} has no trip_pressure in the station file.",
        "A plan that does not know the trip cannot say how far to raise.",
        "Choose the trip from the window the design gives, and write it into the file.",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "PLAN-08",
        "reducer does not sense its own outlet",
        "{reducer} senses {tap}, which is not the section it feeds. The plan is refused.",
        "A reducer that senses beyond the shut-off opens wide as soon as the shut-off shuts; the reset then "
        "gives the full inlet pressure. One that senses its inlet holds nothing.",
        "Let it sense the section just after it.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "PLAN-09",
        "section between the valves bears less than the inlet",
        "{component} bears {value} at the station datum; the highest static inlet is {limit}.",
        "When the reducer fails, or a shut-off is out of the way during setting, this section sees the "
        "inlet.",
        "Fit parts that bear the inlet, or put the shut-off in front of the reducer.",
        equation="rating × derating + ρ g (level − datum) ≥ static inlet at datum",
        sources=(f"{_HB} 3.6, 3.6a",),
    ),
    Entry(
        "PLAN-10",
        "injection without a pump",
        "The trip can only be proved by injection, and the crew brings no hand pump.",
        "Injection raises the shut-off's own sensing line; without a pump there is nothing to raise it with.",
        "Bring a hand pump with a test gauge (equipment: hand_pump: yes), or remove what forbids raising "
        "the line.",
        sources=(f"{_HB} 3.5",),
    ),
    Entry(
        "PLAN-11",
        "inlet too low to raise the outlet to the trip",
        "The lowest inlet is {value}; raising the line to the trip asks for {limit}. The plan uses "
        "injection.",
        "A reducer cannot give more than it gets, and needs some difference to do so.",
        "Test at an hour with a higher inlet and state that pressure, or stay with injection.",
        equation="lowest inlet at datum ≥ trip + 0.5 bar",
        sources=(f"{_HB} 3.2 ES3, 3.5", _CP),
    ),
    Entry(
        "PLAN-12",
        "reducer spring does not reach the trip",
        "The spring of {reducer} ends at {value}; raising the line to the trip asks for {limit}. The plan "
        "uses injection.",
        "The outlet is raised by the reducer's own screw. A spring that ends below the trip cannot raise it "
        "there.",
        "Fit a spring with a longer range, or stay with injection.",
        equation="spring range ≥ trip × 1.1",
        sources=(f"{_HB} 2.3, 3.5",),
    ),
    Entry(
        "PLAN-13",
        "outlet valve passes: the line is not raised",
        "{valve} does not shut tight. The plan uses injection.",
        "A passing valve hands the test pressure on to the consumers.",
        "Mend the valve, or shut another boundary that is tight and name it.",
        sources=(f"{_HB} 3.1 V1, 3.5",),
    ),
    Entry(
        "PLAN-14",
        "raising the line is not allowed",
        "{shut_off}: the line may not be raised to the trip. The plan uses injection.",
        "So the station file says.",
        "Stay with injection, and record what it does not cover.",
        sources=(f"{_HB} 3.5",),
    ),
    Entry(
        "PLAN-15",
        "shut-off senses beyond the outlet valve",
        "{shut_off} senses {tap}, beyond the outlet isolating valve. The plan uses injection.",
        "With the outlet valve shut, the shut-off does not see the section that is raised.",
        "Sense the station outlet, or stay with injection.",
        sources=(f"{_HB} 3.5",),
    ),
    Entry(
        "PLAN-16",
        "nobody is told when the shut-off closes",
        "{shut_off} has no limit switch: steps G1 to G3 are left out.",
        "A shut-off that has closed shows at the control room only as a low outlet or as calls from "
        "consumers.",
        "Fit a switch that tells when the valve leaves OPEN, and name it in the file.",
        sources=(f"{_HB} 2.3",),
    ),
    Entry(
        "PLAN-17",
        "nothing shuts when the reducer fails",
        "No shut-off in this station: the plan proves the reducer and the alarm, not a protection.",
        "If the reducer fails open, consumers see the inlet pressure until somebody acts.",
        "Fit a shut-off or a relief, or show that everything downstream bears the inlet.",
        sources=(f"{_HB} 2.4a, 2.6",),
    ),
    Entry(
        "PLAN-18",
        "second reducer is the only protection",
        "No shut-off in this station: if the first reducer fails, the second must hold alone; the plan "
        "tests that once.",
        "If the second fails, consumers see the pressure between the valves.",
        "Fit a shut-off, or show that everything downstream bears the pressure between the valves.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "PLAN-19",
        "one sensing line for both valves",
        "{shut_off} {shares} its sensing tap or root cock with the reducer.",
        "Shut or blocked, it drives the reducer open and blinds the shut-off at the same time. A proof of "
        "the trip stands only for the day the cock was seen open.",
        "Give the shut-off a tapping and root cock of its own.",
        sources=(f"{_HB} 2.3, 2.4a",),
    ),
    Entry(
        "PLAN-20",
        "no sign before the shut-off acts",
        "{shut_off} shows no sign that it is about to act: the plan goes on to full action each time.",
        "Without a tell-tale the setting is only found by letting the valve close.",
        "Name the tell-tale in the file where there is one.",
        sources=(f"{_HB} 3.6a",),
    ),
    Entry(
        "PLAN-21",
        "what drives the shut-off shut is not known",
        "{shut_off}: closes_by is not known; the plan takes it that line pressure is needed.",
        "A valve that needs line pressure cannot close when its chamber, tube or feed has lost it, and "
        "gives no sign.",
        "Read the plate or ask the supplier, and write it into the file.",
        sources=(f"{_HB} 0.3",),
    ),
    Entry(
        "PLAN-22",
        "no lock-up test behind a passing valve",
        "{valve} does not shut tight: lock-up and the tightness of the reducer are left out.",
        "With water passing on, the flow is not zero, and a reading at some flow is no lock-up.",
        "Mend the valve, or shut another boundary that is tight and name it.",
        sources=(f"{_HB} 3.2 H2, 3.3",),
    ),
    Entry(
        "PLAN-23",
        "zero flow is not measured",
        "No flow meter in the line: zero flow rests on a dry drain and an outlet valve proved tight.",
        "A small flow that nobody measures makes the lock-up reading a reading at flow.",
        "Fit a meter, or accept what the tightness test can tell.",
        sources=(f"{_HB} 3.3",),
    ),
    Entry(
        "PLAN-24",
        "outlet valve tried without a pump",
        "No hand pump: the outlet valve is proved by raising the outlet with the reducer in small steps.",
        "A pump brings a litre and cannot hurt anybody; the reducer brings as much as passes.",
        "Bring a hand pump.",
        sources=(f"{_HB} 3.2 D2",),
    ),
    Entry(
        "PLAN-25",
        "the zone has no other feed",
        "No other feed holds the zone: while the outlet valve is shut, consumers have no water.",
        "A full zone holds minutes at night and less by day; then it draws in air or dirt.",
        "Agree an attended outage with the owner, or prove by injection where that is planned.",
        sources=(f"{_HB} 3.7 Y2, 7.4",),
    ),
    Entry(
        "PLAN-26",
        "fire water passes through this station",
        "Fire water passes through this station: closing it is an impairment, and a shut-off in the line "
        "needs the consent of the fire authority.",
        "A valve that closes takes the water from the fire.",
        "Answer with the consent and its reference; follow the impairment rules of the place.",
        sources=(f"{_HB} 1.3, 8.1",),
    ),
    Entry(
        "PLAN-27",
        "screw direction not stated",
        "{valve}: which way its screw raises is not in the file; the steps say to read the plate.",
        "On some screws clockwise lowers.",
        "Read the plate and write raises: clockwise or anticlockwise.",
        sources=("manual: Figures of a test plan",),
    ),
    Entry(
        "PLAN-28",
        "rating of the section between the valves not stated",
        "The file states no limit for the section between the valves.",
        "It sees the inlet when the reducer fails, and more when the shut-off closes fast.",
        "Read the plates of all parts there and state the limit with side: between.",
        sources=(f"{_HB} 3.6, 3.6a",),
    ),
    Entry(
        "PLAN-29",
        "no inlet opening lets the drain hold the section",
        "No settable opening of {valve} lets {drain} hold the {section} section below {limit}.",
        "With the reducer wide open the section would pass its test limit, and nothing else could lower it.",
        "Fit a larger drain, or throttle ahead of the station by a valve that can be set finely.",
        sources=(f"{_HB} 3.1 V2",),
    ),
    Entry(
        "PLAN-30",
        "test limit of a section not known",
        "Nothing in the file says how high the {section} section may go in a test. The plan stops here.",
        "Without a limit nobody can say when to stop turning.",
        "State the limits of the parts on that section, or the trip.",
        sources=(f"{_HB} 3.1 V2",),
    ),
    Entry(
        "PLAN-31",
        "high alarm not tried",
        "{valve} does not shut tight and the crew brings no hand pump: the high outlet alarm is not tried.",
        "Raising the outlet would reach the consumers, and there is nothing else to raise the transmitter "
        "with.",
        "Bring a hand pump, or mend the valve.",
        sources=(f"{_HB} 3.1 V1, 3.2 G4",),
    ),
    Entry(
        "PLAN-32",
        "outlet section bears less than the trip",
        "{component} bears {value} at the station datum; raising the line to the trip asks for {limit}. The "
        "plan uses injection.",
        "Between the last valve and the outlet valve the line would be raised above what its parts bear.",
        "Fit parts that bear the trip with its tolerance, choose a lower trip, or stay with injection.",
        equation="normal limit × derating + ρ g (level − datum) ≥ trip + upper tolerance",
        sources=(f"{_HB} 3.1 V2, 3.5",),
    ),
    Entry(
        "PLAN-33",
        "inlet valve passes",
        "{valve} does not shut tight. Every way out that closes it needs a second valve further up.",
        "Water comes on behind a valve that counts as shut: a section fills again, a cover opens under "
        "pressure.",
        "Mend the valve, or agree which valve further up is shut with it, and stand somebody there.",
        sources=(f"{_HB} 3.2 B1, B2", _OWN),
    ),
    Entry(
        "PLAN-34",
        "no drain ahead of the valves",
        "No drain stands ahead of the first valve: the supply is flushed by a removable spool or an "
        "open body.",
        "Flushed through the test drain, the grit goes through the valves that the flush is to spare.",
        "Agree with the owner how the pipe is opened, or fit a drain ahead of the valves that carries the "
        "flush, and name it in the file.",
        sources=(f"{_HB} 3.2 B3",),
    ),
    Entry(
        "PLAN-35",
        "gauge past its date",
        "{gauge} was due {due}: it is past its date and named for no proof.",
        "A reading by a gauge past its date proves nothing afterwards.",
        "Have it calibrated and write the new date, or bring another gauge.",
        sources=(f"{_HB} 3.2 A6",),
    ),
    Entry(
        "PLAN-36",
        "relief valve lifts before the trip",
        "{relief} lifts at {value}, before {shut_off} trips, and no cock that a test may shut is stated. The "
        "plan uses injection.",
        "A relief valve that lifts holds the outlet below the trip: the shut-off is never reached.",
        "State cock: yes where it has one that the rules of the place let you shut, attended; else stay with "
        "injection.",
        sources=(f"{_HB} 3.5, 3.6",),
    ),
    Entry(
        "PLAN-37",
        "relief valve lifts after the trip",
        "{relief} lifts at {value}, at or above the trip of {limit}: no step raises the outlet to it, and "
        "its crack is not proved here.",
        "The shut-off has closed before it lifts. Only with the shut-off failed would it be reached.",
        "Prove it on a bench, or set it between the alarm and the trip if it is to act first.",
        sources=(f"{_HB} 2.4, 3.6",),
    ),
    Entry(
        "PLAN-38",
        "relief valve not on the outlet section",
        "{relief} does not stand between the last valve and the outlet isolating valve: no step proves it.",
        "Only that section is cut off and raised in this plan.",
        "Prove it on a bench, or where it stands, by the supplier's instructions.",
        sources=(_OWN,),
    ),
    Entry(
        "PLAN-39",
        "monitor not set above the reducer",
        "{monitor} and {reducer} sense one tap and are set alike. The plan stops here.",
        "The higher set of the two is the monitor; set alike, they take turns and swing.",
        "Set the monitor higher, by more than both their tolerances and the lock-up rise.",
        sources=(_OWN,),
    ),
    Entry(
        "PLAN-40",
        "reducer spring does not reach the monitor",
        "The spring of {reducer} ends at {value}; proving {monitor} asks for {limit}. The plan stops here.",
        "The monitor is proved by raising the reducer above it. A spring that ends below it never hands "
        "over.",
        "Fit a spring with a longer range.",
        equation="spring range ≥ monitor × 1.1",
        sources=(_OWN,),
    ),
    Entry(
        "PLAN-41",
        "pressure between the reducers too low to raise the outlet to the trip",
        "{reducer} gives {value} between the reducers; raising the line to the trip asks for {limit}. The "
        "plan uses injection.",
        "The second reducer cannot give more than the first one leaves it.",
        "Stay with injection; a first reducer set higher only where its section and the design allow.",
        equation="pressure between the reducers ≥ trip + 0.5 bar",
        sources=(f"{_HB} 3.2 ES3, 3.5, 3.6", _CP),
    ),
    Entry(
        "PLAN-42",
        "relief valve in place of a shut-off",
        "{relief} limits the outlet from {value} on; nothing shuts. Crack and reseat can be proved on the "
        "line, not what it passes wide open.",
        "While a reducer stands open, water runs to waste, and the outlet stands at what the relief leaves.",
        "Show by the design that it passes what a reducer wide open brings; have its flow told and its "
        "discharge led away.",
        sources=(f"{_HB} 2.6, 3.6",),
    ),
    Entry(
        "PLAN-43",
        "monitor is the only protection",
        "No shut-off in this station: if the reducer fails open, {monitor} must hold. {sensing}",
        "{blind}",
        "Give each a tapping and root cock of its own on that section, try the monitor at intervals, or fit "
        "a shut-off or a relief.",
        sources=(f"{_HB} 2.3, 2.4a", _OWN),
    ),
    Entry(
        "PLAN-44",
        "monitor neither set nor proved",
        "{valve} does not shut tight: the outlet is not raised, and {monitor} is neither set nor proved.",
        "A monitor is seen to hold only with the outlet above duty, which would reach the consumers.",
        "Mend the valve, or shut another boundary that is tight and name it.",
        sources=(f"{_HB} 3.1 V1", _OWN),
    ),
    Entry(
        "PLAN-45",
        "relief valve not proved",
        "{valve} does not shut tight: the outlet is not raised, and {relief} is not seen to lift.",
        "A relief valve lifts above duty; raised that far, the outlet would reach the consumers.",
        "Mend the valve, or prove the relief valve on a bench.",
        sources=(f"{_HB} 3.1 V1", _OWN),
    ),
    Entry(
        "PLAN-46",
        "stream cannot be isolated",
        "Stream {stream} has no isolating valve at its {side} end. No plan.",
        "While stream {other} is tested the outlet is raised. A stream that cannot be cut off at both ends "
        "takes part, and what is read belongs to both.",
        "Fit an isolating valve at each end of stream {stream} and add it to the file.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "PLAN-48",
        "vessel is not looked at in this visit",
        "{vessel} serves the streams in common. One stream is out at a time, so that it stays on the line "
        "and its gas charge is not read. Only a visit with the whole station out reads it: the first "
        "commissioning, the return of the whole station, or one after its repair.",
        "Cut off, it would no longer take up what the heated water behind the serving stream gains.",
        "Read its charge at a visit with the whole station out, or at its own upkeep.",
        sources=(_OWN,),
    ),
    Entry(
        "PLAN-49",
        "relief valve is not proved in this visit",
        "{relief} stands on the outlet that the streams share. One stream is out at a time: no step of this "
        "visit proves it. Only a visit with the whole station out does: the first commissioning, "
        "or one after "
        "its repair.",
        "It lifts above duty. Raised that far, the shared outlet would reach the consumers.",
        "Agree a visit with the whole station out, or prove it on a bench.",
        sources=(f"{_HB} 3.1 V1", _OWN),
    ),
    Entry(
        "PLAN-50",
        "strainer is not opened in this visit",
        "{strainer} feeds all streams. One stream is out at a time, so that it stays in service and is not "
        "opened.",
        "Opened, it takes the water of every stream.",
        "Read the pressure lost over it. Open it at a visit with the whole station out.",
        sources=(_OWN,),
    ),
    Entry(
        "PLAN-51",
        "high alarm is not tried in this visit",
        "The streams share their outlet. It is not raised while one of them serves, and the crew "
        "brings no hand "
        "pump: the high outlet alarm is not tried.",
        "Nobody knows whether a high outlet would be told.",
        "Bring a hand pump, and try it at the transmitter.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "PLAN-52",
        "the whole station stays out until every stream is proved",
        "No opening of the inlet valve lets {drain} hold the outlet. Nor are the streams brought into "
        "service one by one between their own valves.",
        "A stream that nobody has proved would feed the consumers, and nothing fills and tries the header, "
        "its vessel and its relief valve.",
        "Fit an inlet valve that can be set finely and counted in turns, or a larger drain. Where all has "
        "been proved before: return to service of one named stream after another.",
        sources=(f"{_HB} 3.1 V2, 3.6", _OWN),
    ),
    Entry(
        "PLAN-47",
        "stream is not taken out alone",
        "Stream {stream} is not taken out alone: it lacks {missing}. The whole station goes out "
        "for this visit.",
        "A stream that is tested while the others serve is read, drained and raised between its own two "
        "valves.",
        "Fit what is missing, or agree the outage: another feed, or consumers told.",
        sources=(f"{_HB} 3.6, 3.7", _OWN),
    ),
)
