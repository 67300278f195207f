"""Findings of the protection proof and of the window of the closing needle."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_TWIN = "transient twin"
_HB = "design handbook"
_OWN = "own estimate"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "SUR-25",
        "credited failure passes a limit ahead of the shut-off",
        "{failure}: {component} sees {value} at datum, {place}; it bears {limit}.",
        "The shut-off that closes stops the water on its way to it. Too fast is one way to a surge ahead of "
        "it; too late, while the reducer goes on opening and the flow grows, is the other.",
        "See the window of the closing time; fit relief or a vessel ahead of it; or prove a higher rating.",
        equation="P_peak ≤ P_fault,max, both at datum, before a cavity falls in",
        sources=(_TWIN, f"{_HB} 2.4a"),
    ),
    Entry(
        "SUR-26",
        "failure that is not credited passes a limit",
        "{failure} is not credited: {component} sees {value} at datum, {place}; it bears {limit}.",
        "Nobody claims that the shut-off covers it, and it does not.",
        "Say so on the design, or credit it once faster closing, a lower trip or relief covers it.",
        equation="P_peak ≤ P_fault,max, both at datum, before a cavity falls in",
        sources=(_TWIN, f"{_HB} 2.4a"),
    ),
    Entry(
        "SUR-27",
        "wave thrown back after it is shut",
        "{failure}: once the shut-off is shut the wave thrown back drives {component} to {value} at datum, "
        "{place}; it bears {limit}.",
        "The stop draws the pressure down behind the shut-off, and it swings back. It is {value} with {most} "
        "going on behind the end of {end}, {least} with {fewest}. Which of them is true, and "
        "whether a wall that creeps swallows some of it, nobody has measured.",
        "{cure}",
        equation="highest along the consumer main after the stroke ≤ P_fault,max, for 1 to 3 mains",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-28",
        "column separation in the proof",
        "{failure}: the water column parts in the {main}, {place}: a cavity of up to {value}.",
        "What it does falling in is not predicted, and figures after it are left out: the proof is silent on "
        "it. A main below the pressure of the air may draw in what stands around it. {whole}",
        "{cure}Pass less (a smaller reducer, a wider main), let air in where the column parts, or fit a "
        "vessel there; or answer who has judged it, and how.",
        equation="V_gas > 0.01 L at a node",
        sources=(_TWIN, f"{_HB} 0.6"),
    ),
    Entry(
        "SUR-54",
        "pressures of the closing time do not fit the open valve",
        "{subject}: got {value} behind {shut_off} with {inlet} ahead of it at {flow}. Wide open, as it "
        "stands before it trips, it leaves {limit} at that flow.",
        "The needle is worked out from these pressures, and card and plan send people to look for them.",
        "Read T1 and T3 before the stroke, shut-off wide open and water running, and state both; or answer "
        "why they stand so, and who read them.",
        equation="p_1 − p_2 = (Q/K_v)²",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-44",
        "credited failure draws a main below the pressure of the air",
        "{failure}: the {main} falls {value} below the pressure of the air, {place}.",
        "What stands around the pipe may be drawn in at a leak or an air valve; taps draw air.",
        "{cure}Pass less, let air in where it is lowest; say what is done for hygiene after a trip.",
        equation="p < −0.1 bar along the main, or carried to the highest consumers",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-45",
        "protection not proved",
        "What {shut_off} does when its reducer fails is not proved: {reason}",
        "No failure of this way counts as covered: neither its overshoot nor what lies ahead of it was run.",
        "Mend what is named, or answer who has proved it otherwise.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-62",
        "consumer main not stated: its waves are not proved",
        "{failure}: no consumer main is stated, so no wave of it is proved. Without one {component} sees "
        "{value} at datum; it bears {limit}.",
        "A rise grows at the far end of a main, and once the shut-off is shut the pressure swings back. A "
        "volume at the station does neither: that this limit holds, and the slowest closing time, is not "
        "shown.",
        "State the zone's main, or its reaches, as they are; or log outlet and far end while the shut-off "
        "closes at that flow, and answer with what they showed.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-63",
        "supply main not stated: its surge is not proved",
        "{failure}: no supply main is stated, so its surge when the shut-off stops the water{within}{stop} "
        "is not proved. Before that {component} stands at {value} at datum; it bears {limit}.",
        "The shut-off that saves the zone stops the water on its way to it: the faster, the higher the surge "
        "ahead of it. That this limit holds, and how fast it may close, is not shown.",
        "State supply.main with length, bore, wall and material; or log the inlet while the shut-off closes "
        "at that flow, and answer with what it showed.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-65",
        "surge in the supply main: what it bears is not stated",
        "{failure}: the supply main sees up to {value} at datum, {place}; {case}. No limit of the inlet side "
        "is stated.",
        "The shut-off that saves the zone stops the water on its way to it. That main and inlet pipework "
        "bear that, and how fast it may close, is not shown.",
        "State a limit with side: inlet, of what bears least of main and inlet pipework.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-61",
        "failures of the reducer are not stopped",
        "No shut-off stands in the line: nothing shuts when {reducer} fails. {acts}What that does in time to "
        "mains and consumers is not in this check.",
        "Limits are held here against pressures at rest. A failure, a change of demand or supply, a valve "
        "moved come with waves; without a shut-off there is no proof that runs them.",
        "Run steadyhead surge on this file and see its stops before the design is released.",
        sources=(_TWIN, f"{_HB} 2.6"),
    ),
    Entry(
        "SUR-46",
        "shut-off of another stream may trip too",
        "{failure}: by the time {first} has shut the outlet stands at {value} at datum; {second}, on another "
        "stream, may trip from {edge}.",
        "Both streams are then shut and nobody has water. The other reducer has long shut, for the outlet is "
        "above its setting: its shut-off stops no flow, so no main sees more than in the proof of one way.",
        "Set the trips further apart, close faster, or write in the restart who tries which stream first.",
        equation="highest outlet until it is shut > P_T2 − tol_T2",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-47",
        "streams not proved together",
        "A stream holds several streams again: the proof runs each way alone, the others shut.",
        "What healthy streams do while one fails, and whether their shut-offs trip too, is not covered.",
        "Say so on the design; ask a specialist in surge where both can carry flow at once.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-29",
        "proved and lumped overshoot differ",
        "The rise above the trip is {value} as proved and {lumped} for the lumped zone: {reasons}.",
        "The ladder stands on the proved one. The lumped zone has one pressure everywhere, no mains and a "
        "stroke that is linear in time.",
        "See which of the two the site bears out: log the outlet while the shut-off closes.",
        equation="difference > 0.2 bar and > 30 % of the greater",
        sources=(_TWIN, f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "SUR-30",
        "proof is rough",
        "The proof is rough: {reasons}.",
        "Its figures hang on what is not known, or on the grid.",
        "State what is missing; keep more room to the limits.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-31",
        "window of the closing time",
        "On the stopwatch, at {flow} with {inlet} ahead and {outlet} behind, {shut_off} may take {window}; "
        "with its needle as it is it takes {value}. {says}",
        "{beyond}",
        "{cure}, time it at that flow and those pressures, and time it again every year.",
        equation="t = J/k of the site test; every limit held in every credited failure",
        sources=(_TWIN, f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "SUR-50",
        "window of the closing time in the plan",
        "On the stopwatch {shut_off} may take {window} from this plan's trickle of {trickle}, with the "
        "pressures of the trip. It is the window of the protection proof, {proved} at {flow} with {inlet} "
        "ahead and {outlet} behind. {says}",
        "A time outside it is no matter of taste: the proof that the shut-off protects no longer holds.",
        "Time the stroke at that trickle, write down T1, T3 and the flow with it, and set the needle until "
        "the time lies inside.",
        equation="t = J/k: an edge is as many times the time expected in any other state",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-32",
        "no closing time holds every limit",
        "No closing time of {shut_off} holds every limit in the credited failures: {reasons}.",
        "Whatever its needle is set to, a component sees more than it bears.",
        "{cures}",
        equation="slowest the consumers allow ≥ fastest that supply main and section allow",
        sources=(_TWIN, f"{_HB} 2.4a"),
    ),
    Entry(
        "SUR-33",
        "opens the window of the closing time",
        "Tried in the transient twin, this opens the window of {shut_off}: {change} {amount}. On the "
        "stopwatch it may then take {window}.",
        "Tried with everything else as it is.",
        "Change the file and judge it again.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-34",
        "relief opens the window of the closing time",
        "Tried in the transient twin, this opens the window of {shut_off}: a relief valve of {value} at "
        "{place} that starts to lift at {crack}. On the stopwatch it may then take {window}.",
        "Tried with everything else as it is; wide open at a tenth above.",
        "See where its water goes; state it as credited and judge the file again.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-48",
        "vessel opens the window of the closing time",
        "Tried in the transient twin, this opens the window of {shut_off}: a vessel of {value} {place}, "
        "precharged to {crack}. On the stopwatch it may then take {window}.",
        "Tried with everything else as it is, the vessel two cells of the main away.",
        "State it in the line and judge the file again; a vessel that has lost its gas does nothing: check "
        "it every year.",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-49",
        "two changes open the window of the closing time",
        "Tried in the transient twin, these two together open the window of {shut_off}: {first} "
        "{value_first}{also_first}{more_first}; and {second} {value_second}{also_second}{more_second}. On "
        "the stopwatch it may then take {window}.",
        "No single change that was tried opens it.",
        "Change both in the file and judge it again.",
        sources=(_TWIN, _OWN),
    ),
)
