"""Findings about several streams, relief valves, monitors, two stages under a shut-off, heated water."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB = "design handbook"
_OWN = "own reasoning from the physics of pilot-operated valves"
_LUMPED = "lumped zone, own derivation; no waves, no air"
_TWIN = "steady twin"

LAYOUT: tuple[Entry, ...] = (
    Entry(
        "LAY-32",
        "stream cannot be isolated",
        "{branch} has no isolating valve at its {ends} end.",
        "Each stream is commissioned alone, the others isolated and proved tight. A fault in one then takes "
        "the whole station out.",
        "Fit an isolating valve at both ends of every stream.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAY-33",
        "stream without a tap or drain of its own",
        "{branch} has no {missing} behind its last valve.",
        "While the other stream carries the zone this one can be neither read nor drained.",
        "Fit a tap and a drain between its last valve and its outlet isolating valve.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-34",
        "stream locked shut in service",
        "{branch}, the {role} stream, stands locked shut in service.",
        "It takes nothing over until somebody opens it. The sheet counts without it.",
        "Leave it in service, or write down who opens it and how long that takes.",
        sources=(f"{_HB} 2.6, 3.6",),
    ),
    Entry(
        "LAY-35",
        "roles of the streams do not fit",
        "{group}: {got}.",
        "Which stream leads, and which trip comes first, is judged by the roles.",
        "Write for each branch what it is for: main, duty, standby, low flow or manual bypass.",
        sources=(f"{_HB} 2.6",),
    ),
    Entry(
        "LAY-36",
        "water comes back into a tripped stream",
        "No check valve stands in {branch}. After a trip of {shut_off}, {what}.",
        "A section taken for empty stands at outlet pressure. Its drain then runs from the zone.",
        "Shut the stream's outlet isolating valve before it is opened or drained; or fit a check valve.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-37",
        "discharge of a relief valve not stated",
        "It is not stated where the water of {relief} runs.",
        "A relief valve that acts floods what lies below it.",
        "See the route, with its capacity, and write it under runs_to.",
        sources=(f"{_HB} 2.6, 3.6",),
    ),
    Entry(
        "LAY-38",
        "nothing tells that a relief valve runs",
        "No flow switch is stated for {relief}.",
        "A relief valve that weeps loses water day and night, and hides a reducer that creeps up.",
        "Fit a flow switch to the alarm, or look at every visit.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAY-39",
        "locked bypass on fire water",
        "{branch} is locked shut, and fire water passes this station.",
        "In a fire somebody may have to open it, and then nothing reduces the pressure.",
        "Agree with the fire authority who holds the key and what the mains bear.",
        sources=(f"{_HB} 1.3", _OWN),
    ),
    Entry(
        "LAY-40",
        "worker and monitor share a tap",
        "{monitor} and {worker} both sense {tap}.",
        "A shut or blocked tap drives both open at once. The monitor is not credited for that.",
        "Give the monitor a tapping and a root cock of its own, and name that tap in the file.",
        sources=(f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "LAY-41",
        "fire water denied, fire flow stated",
        "fire_water says no, and demand.fire states {value}.",
        "Isolating, testing and a trip take that flow from whoever counts on it. Both cannot be right.",
        "Say yes where the flow is for fighting fire; else take it out of demand.fire and into peak.",
        sources=(f"{_HB} 1.3", _OWN),
    ),
    Entry(
        "LAY-42",
        "reducer senses beyond its isolating valve",
        "{reducer} senses {tap}, beyond {valve}.",
        "With {valve} shut first, {reducer} no longer senses its own outlet. It may open wide, and the full "
        "inlet pressure stands ahead of {valve}.",
        "Shut the valve on the inlet side first and open it last. Rate that section for the inlet pressure.",
        sources=(_OWN,),
    ),
    Entry(
        "LAY-43",
        "fire main without a shut-off",
        "No shut-off stands in this fire main.",
        "In a fire line it may be forbidden, or be asked for. Neither is assumed.",
        "Ask the fire authority. Answer with authority, decided, and shut_off: allowed, required or "
        "forbidden. Where it is required, put one in.",
        sources=(f"{_HB} 1.3, 2.6", _OWN),
        needs_authority=True,
        stops_on=("required",),
    ),
)

LADDER: tuple[Entry, ...] = (
    Entry(
        "LAD-43",
        "trips of two streams too close",
        "{first} trips at {low}, {second} at {high}: {value} apart. Their scatter together is {worst} by "
        "worst "
        "case, {likely} by root-sum-square. Proved on one day, {least} of the distance is sure.",
        "If {failing} fails open, the pressure reaches both shut-offs. {second} of the healthy stream may "
        "trip "
        "first, and the supply is lost.",
        "Put the trips further apart inside the window, or show a smaller scatter by measurement.",
        equation="P_T2 − P_T1 ≥ combined tolerances of both; the gauge cancels where one sets both",
        sources=(f"{_HB} 3.6", "own derivation"),
    ),
    Entry(
        "LAD-44",
        "one stream failing takes the other along",
        "If {failing} fails open, {first} of the healthy stream {order} {second}: at {low} and {high}.",
        "Both shut-offs see the common outlet. {stagger}",
        "A check valve behind each stream's sensing tap keeps the streams apart. Else list it as not "
        "covered.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAD-45",
        "standby stream set too near",
        "{standby} is set {value} below {duty}. To stay shut while {duty} carries it needs {limit}.",
        "Set nearer both carry, and both wear. Nobody sees which one fails.",
        "Lower the duty of {standby}, as far as the needs allow.",
        equation="duty_pressure of duty − that of standby ≥ repeatability + droop",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAD-46",
        "low-flow stream may not lead",
        "{low} is set {value} above {main}. Their repeatability together is {limit}.",
        "On a bad day the main reducer leads and works near its seat.",
        "Set {low} higher; 0.2 to 0.35 bar above {main} is common.",
        equation="setting of low flow − setting of main ≥ repeatability of both",
        sources=(f"{_HB} 2.3", "trade paper, author not verified, read in excerpt"),
    ),
    Entry(
        "LAD-47",
        "two equal settings",
        "{low} and {main} are both set to about {main_set}.",
        "Two reducers of one setting on one outlet push each other: each opens as the other closes.",
        "Set {low} higher than {main} by more than both move.",
        sources=(f"{_HB} 2.3, 3.2 H3", _OWN),
    ),
    Entry(
        "LAD-48",
        "low-flow stream set below the main",
        "{low} is set to {low_set}, {main} to {main_set}.",
        "The main reducer leads at every flow; {low} opens only where the main sags.",
        "Set {low} above {main}, or exchange their roles in the file.",
        sources=(f"{_HB} 2.3, 3.2 H3",),
    ),
    Entry(
        "LAD-49",
        "failed low-flow reducer passes the fault limit",
        "No shut-off stops {low}. Stuck open at night it lets the outlet rise to {value}; the fault limit is "
        "{limit}: {component}.",
        "A low-flow stream is small only beside the day's demand. At night it fills the zone.",
        "Put it behind the common shut-off, give it its own, or a relief valve that lets its flow off.",
        sources=(f"{_HB} 3.6", _TWIN),
    ),
    Entry(
        "LAD-50",
        "failed low-flow reducer is borne",
        "No shut-off stops {low}. Stuck open it passes {flow} and the outlet reaches {value}, within the "
        "fault "
        "limit {limit}: {component}.",
        "Demand or a relief valve takes what it passes.",
        "Look again when the night flow falls.",
        sources=(f"{_HB} 3.6", _TWIN),
    ),
    Entry(
        "LAD-51",
        "shut-off reopens onto its failed reducer",
        "{shut_off} reopens at {value}. {other} holds the outlet below that after the trip.",
        "With {reducer} failed it opens, trips and opens again while the other stream serves the zone. Each "
        "turn hammers the pipes.",
        "A reset by hand, or an alarm that latches.",
        equation="P_R < outlet held by the other stream",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAD-52",
        "relief valve never acts before the trip",
        "{relief} cracks at {value}; {shut_off} trips at {limit}.",
        "The shut-off closes first, so the relief valve takes no part in the failure it stands there for.",
        "Let the relief valve crack below the trip, both tolerances between them.",
        equation="alarm < crack < P_T",
        sources=(f"{_HB} 2.4, 3.6",),
    ),
    Entry(
        "LAD-53",
        "relief valve may come with the trip",
        "{relief} may crack as late as {value}; {shut_off} may act from {limit}.",
        "Which of the two acts first is not sure.",
        "Put crack and trip further apart, or state the relief valve's tolerance from its sheet.",
        equation="crack + error < P_T − tol_T,up",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-54",
        "relief valve near normal running",
        "{relief}, crack {crack}, may lift from {value}. Highest normal and the gap reach {limit}.",
        "It weeps on quiet nights, its seat wears, and water is lost unseen.",
        "Raise the crack, or lower duty and lock-up.",
        equation="crack − error ≥ P_hn + gap",
        sources=(f"{_HB} 2.4, 3.6",),
    ),
    Entry(
        "LAD-55",
        "alarm overlaps the relief valve",
        "Alarm {alarm} with its error reaches {value}; {relief} may lift from {limit}.",
        "Water may run before anybody is told.",
        "Lower the alarm, use a better transmitter, or raise the crack.",
        equation="P_A + error_A < crack − error",
        sources=(f"{_HB} 2.4, 3.6",),
    ),
    Entry(
        "LAD-56",
        "relief valve may not shut again",
        "{relief} reseats at {value}; highest normal is {limit}.",
        "Once open it runs on at no flow until the outlet falls below normal.",
        "State reseat from its sheet; choose one that reseats above highest normal.",
        equation="reseat > P_hn",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-57",
        "overshoot with the relief valve",
        "{relief} is {counted}. The overshoot is {without} without it, {beside} with it.",
        "A relief valve bridges the seconds in which the shut-off closes. It is counted only where somebody "
        "keeps it proved.",
        "Write credited: yes at the relief valve to count it.",
        equation="V β dP/dt = Q_in − Q_demand − k l √P",
        sources=(f"{_HB} 2.4a, 2.6", _LUMPED),
    ),
    Entry(
        "LAD-58",
        "relief valve too small",
        "With {reducer} stuck open about {flow} passes it. {relief}, crack {crack}, may lift as late as "
        "{edge} and lets the outlet rise to {value}. The fault limit is {limit}: {component}.",
        "It stands in place of a shut-off: nothing else limits the outlet. Drift of the crack between two "
        "proofs is not in the figure.",
        "A larger relief valve, a lower crack, a smaller reducer, or a shut-off.",
        equation="Q_reducer(P) = Q_demand(P) + k l(P) √P at P ≤ P_fault,max, lift l from crack + error",
        sources=(f"{_HB} 2.6, 3.6", _TWIN),
    ),
    Entry(
        "LAD-59",
        "relief valve holds a failed reducer",
        "With {reducer} stuck open about {flow} passes it. {relief}, crack {crack}, may lift as late as "
        "{edge} and holds the outlet at {value}, within the fault limit {limit}: {component}.",
        "The pressure is limited, not stopped. The water runs until somebody comes. Drift of the crack "
        "between two proofs is not in the figure.",
        "Prove crack and discharge at intervals that keep it within its ±, and have the flow told.",
        equation="Q_reducer(P) = Q_demand(P) + k l(P) √P at P ≤ P_fault,max, lift l from crack + error",
        sources=(f"{_HB} 2.6, 3.6", _TWIN),
    ),
    Entry(
        "LAD-60",
        "monitor joins in normal running",
        "{monitor} is set to {value}. To stand wide open beside {worker} it needs {limit}.",
        "Two reducers that hold one outlet hunt, and the monitor wears while it should wait.",
        "Raise the monitor, or lower the worker.",
        equation="duty of monitor ≥ lock-up of worker + repeatability of both",
        sources=(f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "LAD-61",
        "monitor holds too high",
        "{monitor} may hold as high as {value}; {what} may act from {limit}.",
        "Then the monitor saves nothing: what stands behind it acts although it holds.",
        "Lower the monitor, or raise what acts behind it.",
        equation="lock-up of monitor + repeatability + drift < next rung",
        sources=(f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "LAD-62",
        "worker failing, monitor holding",
        "If {worker} fails open, {monitor} holds the outlet at up to {value}. The fault limit is {limit}: "
        "{component}.",
        "A monitor waits wide open for years. Its failure gives no sign until it is tried.",
        "Try it at intervals with the worker raised.",
        equation="lock-up of monitor + repeatability + drift ≤ P_fault,max",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-63",
        "what the outlet reaches before the monitor holds",
        "{failure} within {within}: {monitor} closes in about {response} and the outlet reaches at most "
        "{value}. The fault limit is {limit}: {component}.",
        "The monitor stands wide open, so it has its whole stroke to go. The bound lets it start only at "
        "what "
        "it holds at most.",
        "Measure its response (step MN1 or Y3M of a plan) and state it as response; a smaller chamber or a "
        "larger pilot closes faster.",
        equation="V β dP/dt = Q_in − Q_demand, from lock-up of the monitor, its stroke as a closing time",
        sources=(f"{_HB} 2.4a", _LUMPED),
    ),
    Entry(
        "LAD-64",
        "loss of the monitor wide open",
        "At {flow} {monitor}, wide open, takes {value}.",
        "The worker has that much less to hold its duty with.",
        "Count it with the losses ahead.",
        sources=(_TWIN,),
    ),
    Entry(
        "LAD-65",
        "last stage failing trips the shut-off",
        "If {reducer} fails open the outlet moves towards the inter-stage pressure, up to {value}. "
        "{shut_off} "
        "acts by {limit}.",
        "The overshoot is worked out with {first} holding.",
        "Prove once that each stage holds alone.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAD-66",
        "last stage failing may not trip the shut-off",
        "If {reducer} fails open the outlet stops at the inter-stage pressure, {value}. {shut_off} is sure "
        "to "
        "act only above {limit}.",
        "The outlet may then stand there until somebody sees it; {first} is the only one that holds.",
        "An alarm below that pressure, or a lower trip inside its window.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAD-67",
        "inter-stage pressure above the limit between the stages",
        "{first} may hold {value} between the stages; the limit there is {limit}: {component}.",
        "The section stands there at every quiet hour.",
        "Lower the first stage, or rate the section.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAD-68",
        "heated water has nowhere to go",
        "{heated} of heated water grow by {grows}. Behind shut reducers and without a vessel there is no "
        "room "
        "for it: even the water in the pipes alone gains {per_kelvin} for each kelvin. {way}",
        "A shut-off cannot cure it: it is not the inlet that raises the pressure.",
        "An expansion vessel with its precharge just below lock-up.",
        equation="ΔV = V (ρ_cold/ρ_hot − 1); Δp = (α_w − 3 α_wall) ΔT/(β + D/(e E))",
        sources=(f"{_HB} 0.5, 2.6", "engineering forum, 2007, read in excerpt"),
    ),
    Entry(
        "LAD-69",
        "vessel too small",
        "{heated} of heated water grow by {grows}. With the vessel the outlet rises from its "
        "highest lock-up, {starts}, to {value}, beyond {what}, {limit}.",
        "Each heating while nobody draws then looks like a reducer that fails.",
        "A larger vessel, or a precharge nearer to lock-up.",
        equation="ΔV = Σ V₀ P₀ (1/P₁ − 1/P₂) + V β (P₂ − P₁), absolute, P₁ from P_hn",
        sources=(f"{_HB} 0.5, 2.6", "R. Boyle"),
    ),
    Entry(
        "LAD-70",
        "vessel takes the expansion",
        "{heated} of heated water grow by {grows}. With the vessel the outlet rises from its "
        "highest lock-up, {starts}, to {value}.",
        "That rise is no leak of a seat: a lock-up test is made with the heater off and on.",
        "Check the precharge every year.",
        equation="ΔV = Σ V₀ P₀ (1/P₁ − 1/P₂) + V β (P₂ − P₁), absolute, P₁ from P_hn",
        sources=(f"{_HB} 0.5, 2.6", "R. Boyle"),
    ),
    Entry(
        "LAD-71",
        "heater's safety valve too near",
        "Highest normal {value} stands before the heater's safety valve; 75 % of its pressure is {limit} at "
        "the "
        "datum.",
        "Nearer to its pressure it weeps, scales and no longer shuts.",
        "Lower duty and lock-up, or choose a safety valve of a higher pressure if the heater bears it.",
        equation="P_hn ≤ 0.75 P_safety + ρ g Δz",
        sources=(f"{_HB} 10.1", "EN 806-2 as a trade article quotes it"),
    ),
    Entry(
        "LAD-72",
        "vessel not described",
        "The {missing} of {vessel} is not stated.",
        "What it takes up, and what it softens in a failure, is not counted.",
        "Read it off the plate; the precharge with the water side empty.",
        sources=(f"{_HB} 2.1",),
    ),
    Entry(
        "LAD-73",
        "heated water not described",
        "Nothing is stated of heated water behind the station.",
        "In a building the reducers shut at night, and heated water raises the pressure behind them.",
        "State hot_water with volume, temperatures and the safety valve; or answer that none is heated.",
        sources=(f"{_HB} 0.5, 2.6",),
    ),
    Entry(
        "LAD-74",
        "precharge above lock-up",
        "The precharge of {vessel}, {value}, is above the lock-up, {limit}.",
        "No water stands in it. It takes nothing up before the outlet has risen to its precharge.",
        "Let gas off with the water side empty, to just below lock-up.",
        equation="P₀ ≤ lockup_pressure",
        sources=(f"{_HB} 2.1", "R. Boyle"),
    ),
    Entry(
        "LAD-75",
        "overshoot rests on the vessel",
        "The overshoot of {counted} counts the gas of {vessel}. With its precharge lost it is {without}.",
        "A vessel that has lost its gas gives no sign until the zone rises.",
        "Have the charge read once a year: visits with the whole line out do it, others say that they leave "
        "it out. Or take the vessel out of the file and see what is left.",
        equation="dV/dP = V₀ P₀/(n P²), absolute",
        sources=(f"{_HB} 2.4a, 10.1", _LUMPED),
    ),
    Entry(
        "LAD-76",
        "main reducer starts below what it can hold",
        "{main} starts at {value}; smooth running begins at about {limit} for a good valve.",
        "Between the two both streams hunt.",
        "A larger low-flow reducer, or a setting further above the main.",
        sources=(f"{_HB} 2.3", _TWIN),
    ),
    Entry(
        "LAD-77",
        "main reducer never opens",
        "Up to the peak flow, {value}, the low-flow stream carries alone: {main} stays shut.",
        "The small valve then runs at the velocity of the peak, and the large one rests for years.",
        "A smaller low-flow reducer, or a setting nearer to the main. A handover at 10 to 20 % of the main's "
        "most is common.",
        sources=(f"{_HB} 2.3", _TWIN),
    ),
    Entry(
        "LAD-78",
        "alarm above what the monitor holds",
        "The alarm may come as late as {value}; {monitor} may hold the outlet as low as {limit}.",
        "Then {worker} fails, {monitor} takes over, and nobody is told: the second failure has no one left.",
        "Alarm between highest normal and the lowest hold of the monitor, or a signal that it works.",
        equation="alarm + error < duty of the monitor - repeatability - drift",
        sources=(f"{_HB} 2.4a", _OWN),
    ),
)
