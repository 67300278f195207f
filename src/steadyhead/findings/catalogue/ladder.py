"""Findings about the pressure ladder: limits, the trip window, failures credited and not, alarm and reset."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB = "design handbook"
_OWN = "own derivation"
_CP = "common practice, no single source"
_WINDOW = "P_hn + gap + tol_T,low ≤ P_T ≤ P_fault,max − ΔP_over − tol_T,up"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "LAD-01",
        "fault limit not known",
        "No limit is stated for any component on the consumers' side.",
        "Without the pressure the pipes bear in a fault there is no upper edge for the trip.",
        "List every component class with its rating and level: under limits, with fault.",
        equation="P_fault,max = min(limit · derating + ρ g (z_component − z_datum))",
        sources=(f"{_HB} 2.1, 2.4",),
    ),
    Entry(
        "LAD-02",
        "one limit used for both questions",
        "{component} states one limit, {value}, used for normal running and for a fault.",
        "Without a surge rating nothing more is known than the rating. A fault limit with surge would "
        "widen the window.",
        "State normal and fault apart where the standard gives both.",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-03",
        "normal running above the normal limit",
        "Highest normal {value} is above the normal limit {limit}, at the datum: {component}.",
        "At no flow the outlet stands there for hours.",
        "Lower duty and lock-up, or replace or re-zone the component.",
        equation="P_hn = lockup_pressure + repeatability + drift + hunting + setting error ≤ P_norm,max",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-04",
        "no window for the trip",
        "{stacking}: the trip would have to be at least {lowest}{upper_words}{highest}. The window is "
        "empty by {short_by}.",
        "A trip at any pressure either acts in normal running or lets the credited failure pass the fault "
        "limit.",
        "{cure_words}",
        equation=_WINDOW,
        sources=(f"{_HB} 2.4, 2.5", _OWN),
    ),
    Entry(
        "LAD-05",
        "window closes only statistically",
        "By worst case the window is empty ({worst_lowest} to {worst_highest}). By root-sum-square it is "
        "{lowest} to {highest}.",
        "Root-sum-square supposes that the tolerances do not all lie on the bad side at once. That is a "
        "decision of a person.",
        "Answer with who decided and why, or use one of the remedies of the worst case.",
        equation=_WINDOW,
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-06",
        "trip outside its window",
        "{stacking}: trip {value} lies {side} the window {lowest} to {highest}.",
        "Below the window it trips in normal running. Above it the credited failure passes the fault limit.",
        "Set the trip between {lowest} and {highest}, best in the middle: {middle}.",
        equation=_WINDOW,
        sources=(f"{_HB} 2.4", _OWN),
    ),
    Entry(
        "LAD-07",
        "no trip chosen",
        "No trip_pressure is stated. Its window would reach from {lowest} to {highest}.",
        "Nothing can be set or proved without it.",
        "Choose a trip inside the window, best in its middle, {middle}, and write it into the file.",
        equation=_WINDOW,
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-08",
        "credited failure passes the fault limit",
        "{failure} within {within} at {at}: the outlet reaches {value}. The fault limit is {limit}: "
        "{component}.",
        "This is the failure the shut-off is credited for.",
        "Faster closing, a lower trip, a stronger weakest component, or a relief beside the shut-off.",
        equation="P_peak = P_T + tol_T,up + ΔP_over ≤ P_fault,max",
        sources=(f"{_HB} 2.4, 2.4a", _OWN),
    ),
    Entry(
        "LAD-09",
        "fast failures not covered",
        "{words} At the worst the outlet reaches {value}{how}; the fault limit is {limit}: {component}.",
        "A shut-off that takes seconds does not catch a failure that is as fast.",
        "Faster closing, a softer zone, a relief beside the shut-off. Else say on the design what is not "
        "covered.",
        equation="V β dP/dt = Q_in − Q_demand",
        sources=(f"{_HB} 2.4a", "lumped zone, own derivation; no waves, no air"),
    ),
    Entry(
        "LAD-10",
        "credited failure not stated",
        "No failure is credited. {within} at night flow was taken.",
        "The overshoot, and with it the window, belongs to one failure: faster failures shoot further.",
        "State under credited in what time the reducer goes open, and at which flow.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-11",
        "failures not covered, common causes",
        "Not covered: {not_covered}. Common causes of reducer and shut-off: {common_causes}.",
        "A shut-off is not credited for a failure that disables it too.",
        "Keep the list with the design; cure what can be cured.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-12",
        "zone volume not known",
        "Neither volume nor main of the zone is stated, so the overshoot is not known.",
        "The trip window has no upper edge without it. A stiff zone reaches inlet pressure before the "
        "shut-off is shut.",
        "State zone.volume, zone.material and zone.bore_over_wall.",
        equation="dP/dt = q/(V β)",
        sources=(f"{_HB} 0.4, 2.1",),
    ),
    Entry(
        "LAD-13",
        "zone volume taken from its main alone",
        "zone.volume is not stated; the stated main holds {value} and was taken alone.",
        "A smaller volume gives a larger overshoot: the window is narrower than it may be.",
        "State zone.volume with all pipes the station feeds.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-14",
        "closing time not known",
        "The closing time of {shut_off} is not stated. A needle of usual size gives {value} at a trickle.",
        "The overshoot grows nearly in proportion to the closing time.",
        "State closing.time with its flow and pressures, measured or wanted.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-15",
        "closing time without its state",
        "The closing time {value} of {shut_off} carries no flow. It is taken as it stands.",
        "A closing time belongs to a needle and a pressure difference. The same needle is slow at a "
        "trickle and fast in a failure.",
        "State closing.flow, and the pressures if read.",
        sources=(f"{_HB} 2.4a", "closing integral, own derivation"),
    ),
    Entry(
        "LAD-16",
        "closing time has no room",
        "Closing in {value} fits; above {limit} the credited failure passes the fault limit.",
        "Dirt and temperature move a closing time by a fifth in a year.",
        "Trim the needle faster after a look at the surge upstream, or lower the trip within its window.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-17",
        "alarm sounds in normal running",
        "Alarm {value} with its error reaches down to {edge}; highest normal is {limit}.",
        "An alarm that comes in normal running is soon ignored.",
        "Raise the alarm, or lower duty and lock-up.",
        equation="P_A − error_A > P_hn",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-18",
        "alarm overlaps the trip",
        "{case}: alarm {alarm} with its error reaches {value}; the trip may act from {limit}.",
        "The alarm may come with the trip or after it.",
        "Lower the alarm, use a better transmitter, or raise the trip within its window.",
        equation="P_A + error_A < P_T − tol_T,up",
        sources=(f"{_HB} 2.4, 2.5",),
    ),
    Entry(
        "LAD-19",
        "no high alarm",
        "No high outlet alarm is stated.",
        "A reducer that creeps up is then first seen when the shut-off trips.",
        "Set an alarm between highest normal and the trip's lower edge.",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-20",
        "shut-off cannot reopen by itself",
        "Reset {value} is not above highest normal {limit}.",
        "After a trip at no flow the outlet stays above the reset; it reopens only when somebody draws the "
        "zone down.",
        "Use a smaller dead band, or a reset by hand.",
        equation="P_R = P_T − dead band > P_hn",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-21",
        "dead band not stated",
        "{shut_off} resets by itself and its dead band is not stated.",
        "The reset pressure decides whether it can reopen.",
        "State dead_band.",
        equation="P_R = P_T − dead band",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-22",
        "inlet too low for duty",
        "At peak flow and lowest inlet {value} stands before {reducer}; duty and the least difference need "
        "{limit}.",
        "The reducer stands wide open and the outlet follows the inlet.",
        "Lower losses ahead of it, lower the duty, or accept the lower outlet in writing.",
        equation="P_in,min − losses ≥ duty_pressure + ΔP_min",
        sources=(f"{_HB} 2.3, 2.4",),
    ),
    Entry(
        "LAD-23",
        "a critical point gets too little",
        "Lowest normal {value} does not serve {point}: it needs {limit} at the datum.",
        "At peak flow the pressure there falls below what was asked for.",
        "Raise the duty, lessen droop or friction, or agree a lower need.",
        equation="lowest normal = duty − droop − SO loss − repeatability − drift ≥ need + friction + ρ g Δz",
        sources=(f"{_HB} 2.4",),
    ),
    Entry(
        "LAD-24",
        "no critical point stated",
        "No pressure that must remain at a critical point is stated.",
        "The duty cannot be judged from below.",
        "State under needs the highest and the farthest point with level, pressure and friction.",
        sources=(f"{_HB} 2.1",),
    ),
    Entry(
        "LAD-25",
        "section between the valves bears too little",
        "The section between the valves can see {value}, the highest static inlet; its limit is {limit}: "
        "{component}.",
        "With the reducer failed, or with the shut-off ahead of it open, the section stands at inlet "
        "pressure.",
        "Rate the section, its gauges and the valve bodies for the inlet.",
        equation="limit_between ≥ P_in,static",
        sources=(f"{_HB} 2.4a, 3.6",),
    ),
    Entry(
        "LAD-26",
        "rating between the valves not known",
        "No limit is stated for the section between the valves. It can see {value}.",
        "The section, its gauges and the valve bodies stand at inlet pressure when a valve fails.",
        "State a limit with side: between.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-27",
        "surge between the valves",
        "A shut-off after the reducer closes on a full flow: the section between them sees at most {value} "
        "({static} and a surge of {surge}). Its limit is {limit}: {component}.",
        "The early closing reducer traps the surge until it leaks away. The bound is for a sudden stop of "
        "{flow}; a slower one gives less.",
        "Rate the section for the sum, or answer with a surge study that shows less.",
        equation="P_in,static + ρ a Δv ≤ limit_between, a sudden stop",
        sources=(f"{_HB} 2.4a", "N. Joukowsky 1900; upper bound"),
    ),
    Entry(
        "LAD-28",
        "inlet side bears too little",
        "The highest static inlet is {value}; the limit of the inlet side is {limit}: {component}.",
        "Parts ahead of the valves stand at static pressure every night.",
        "Rate them for the static inlet and its surge.",
        sources=(f"{_HB} 2.1",),
    ),
    Entry(
        "LAD-29",
        "a failed reducer passes the fault limit",
        "No shut-off stands in the line. A reducer failed open gives {value}; the fault limit is {limit}: "
        "{component}.",
        "Nothing stops it but a hand on a valve.",
        "Add a shut-off, a relief that is sized for it, or a second reducer.",
        equation="P_in,static ≤ P_fault,max",
        sources=(f"{_HB} 2.6", _OWN),
    ),
    Entry(
        "LAD-30",
        "a failed reducer is borne",
        "No shut-off stands in the line. A reducer failed open gives {value} at most, within the fault "
        "limit {limit}: {component}.",
        "The pipes bear it; comfort and the normal limit do not count in a fault.",
        "Keep the highest static inlet under this limit.",
        equation="P_in,static ≤ P_fault,max",
        sources=(f"{_HB} 2.6",),
    ),
    Entry(
        "LAD-31",
        "inter-stage pressure reaches the consumers",
        "If {reducer} fails open the consumers see the inter-stage pressure, up to {value}; the fault "
        "limit is {limit}: {component}.",
        "The first reducer is the only protection then.",
        "Lower the inter-stage setting, or add a shut-off.",
        equation="lockup_first + repeatability + drift ≤ P_fault,max",
        sources=(f"{_HB} 2.6, 3.6",),
    ),
    Entry(
        "LAD-32",
        "one reducer protects against the other",
        "If {reducer} fails open the consumers see the inter-stage pressure, up to {value}, within the "
        "fault limit {limit}: {component}. "
        "If the first fails, {reducer} alone must hold the static inlet.",
        "Each covers the other; both failing is not covered.",
        "Prove once that each holds alone.",
        sources=(f"{_HB} 2.6, 3.6",),
    ),
    Entry(
        "LAD-33",
        "both reducers failing is not covered",
        "With both reducers open the consumers see {value}; the fault limit is {limit}: {component}.",
        "Dirt that holds one seat open may hold the other.",
        "Say on the design that it is not covered, or add a shut-off.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAD-34",
        "no answer from the twin",
        "{words}",
        "The figures of this case are missing from the sheet.",
        "Check pressures, flows and sizes for values that contradict each other.",
        sources=("steady twin",),
    ),
    Entry(
        "LAD-35",
        "same needle, faster stroke in a failure",
        "{shut_off} shuts in {stated} at {flow}. With the reducer fully open it takes about {value}.",
        "At a trickle little more than the spring drives the stroke; in a failure the difference does. "
        "The supply main sees the shorter time.",
        "Work out the surge in the supply main with the shorter time before the needle is set.",
        equation="t = J/k_needle, J = A_d ∫ dx/√((1 − r) Δp + s)",
        sources=(f"{_HB} 2.4a", "closing integral, own derivation, quasi-steady"),
    ),
    Entry(
        "LAD-36",
        "lock-up below duty",
        "The lock-up of {reducer}, {value}, is below its duty, {limit}.",
        "A reducer needs some error to open: its outlet is highest at no flow. The ladder takes the duty in "
        "place of the lock-up.",
        "Look whether the two were exchanged, or belong to different springs. Leave lockup out where nobody "
        "measured it.",
        equation="lockup_pressure ≥ duty_pressure",
        sources=(f"{_HB} 0.2", _OWN),
    ),
    Entry(
        "LAD-37",
        "surge in the supply main",
        "In a sudden failure {shut_off} stops {flow} in about {time}: the supply main sees at most {value} "
        "({static} and a surge of {surge}{slower}). The weakest limit ahead of it is {limit}: {component}.",
        "A bound, no prediction: it is for a sudden stop, and a slower one gives less; a shut end doubles "
        "it. A wave returns in {wave}, and most of the flow stops in the last fifth of the stroke.",
        "Before the needle is set a surge study with this stroke decides; closures at small flows, logged at "
        "T0, check it. Slower closing, or a relief on the inlet side, lowers it.",
        equation="P_in,static + ρ a Δv ≤ limit ahead of the shut-off; 2 L/a; slower: 2 · 2 ρ L Δv / (0.2 t)",
        sources=(f"{_HB} 0.6, 2.4a", "N. Joukowsky 1900; upper bound"),
    ),
    Entry(
        "LAD-38",
        "surge in the supply main, no limit stated",
        "No limit of the inlet side is stated. In a sudden failure {shut_off} stops {flow} in about {time}. "
        "Stopped at once, that flow would raise the supply main to {value}: {static} and a surge of {surge}.",
        "A bound, no prediction: it is for a sudden stop, and a slower one gives less; a shut end doubles "
        "it. A wave returns in {wave}, and most of the flow stops in the last fifth of the stroke.",
        "State a limit with side: inlet, of what bears least of main and inlet pipework. steadyhead prove "
        "then holds the surge against it; closures at small flows, logged at T0, check it.",
        equation="P_in,static + ρ a Δv; 2 L/a",
        sources=(f"{_HB} 0.6, 2.4a", "N. Joukowsky 1900; upper bound"),
    ),
    Entry(
        "LAD-39",
        "supply main not stated",
        "In a sudden failure {shut_off} stops {flow}. No supply main is stated, so its surge is not known.",
        "The shut-off that saves the zone can burst the main that feeds it.",
        "State supply.main with length, bore, wall and material.",
        equation="Δp = ρ a Δv",
        sources=(f"{_HB} 0.6, 2.1",),
    ),
    Entry(
        "LAD-40",
        "a failed reducer stays above the normal limit",
        "If {reducer} fails open the consumers stand at {value} until somebody sees it. The normal limit is "
        "{limit}: {component}.",
        "The fault limit bears it. What is meant for normal running leaks, wears or is not allowed to stand "
        "there.",
        "A high alarm that somebody answers, a relief, or a shut-off.",
        equation="outlet with a reducer open ≤ P_norm,max",
        sources=(f"{_HB} 2.4, 2.6",),
    ),
    Entry(
        "LAD-41",
        "warm plastic without derating",
        "The water reaches {value}. No derating is stated for {component}; its class holds at {rated_at}.",
        "Plastic loses strength with temperature: the limit is lower than its class says.",
        "State derating, from the pipe's standard at this temperature; 100 % where the limit already counts "
        "it.",
        equation="limit at temperature = limit · derating",
        sources=(f"{_HB} 2.1, 2.4", _CP),
    ),
    Entry(
        "LAD-42",
        "outlet section bears less than a live proof",
        "A live proof raises the outlet section to {value}, the upper edge of the trip of {shut_off}. Its "
        "normal limit is {limit}: {component}.",
        "The section then stands above its limit, or the shut-off is not proved up to its edge.",
        "Rate the section for the proof, take the component out for it (never a safety"
        " valve), or prove by injection at the pilot.",
        equation="P_T + tol_T,up ≤ limit_outlet",
        sources=(f"{_HB} 3.1 V2, 3.5",),
    ),
)
