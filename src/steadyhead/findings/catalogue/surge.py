"""Findings of the transient twin: what of a station it lacks, and what its figures are worth."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_TWIN = "transient twin"
_HB = "design handbook"
_OWN = "own estimate"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "SUR-01",
        "column separation predicted",
        "In {events} the water column parts in the {main}, {place}{out}: a cavity of up to "
        "{value} there. {worst}",
        "A real line draws air in or is refilled from house pipes; the pressure when a cavity falls in is "
        "not predicted. Figures after it carry no verdict.",
        "Close more slowly, or let air in where the column parts; ask a specialist in surge.",
        equation="V_gas > 0.01 L at a node",
        sources=(_TWIN, f"{_HB} 0.6"),
    ),
    Entry(
        "SUR-02",
        "grid not converged",
        "In {events} a highest or lowest pressure moves by {change} when the time step is halved; "
        "{allowed} are allowed. {worst}",
        "The figures of this run hang on the grid.",
        "Read them as rough.",
        equation="change of an extreme under Δt/2 ≤ 0.5 % of the highest",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-03",
        "no supply main for surge",
        "No supply main is stated: its pressure is held at the station, and no surge in it is computed.",
        "The shut-off that closes slowly enough for the consumers may be too fast for the main in front. "
        "What stands ahead of it has no verdict; with a shut-off the proof asks for the main (SUR-63).",
        "State length, bore, material and wall of the supply main.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-04",
        "no consumer main for surge",
        "No main into the zone is stated: the zone is one elastic volume at the station.",
        "Waves in the zone and the pressure at its far end are not computed: what is thrown back has no "
        "verdict; with a shut-off the proof asks for the main (SUR-62).",
        "State length, bore, material and wall of the main into the zone.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-05",
        "volume of the zone not known",
        "The volume of the zone is not stated: only its main takes water up.",
        "The pressure rises faster here than in a real zone. Peaks are on the safe side, times are not.",
        "State the volume of all pipes behind the station.",
        sources=(_TWIN, f"{_HB} 2.4a"),
    ),
    Entry(
        "SUR-06",
        "main and zone contradict each other",
        "The stated main holds {own} and takes up {share} of what the whole zone of {zone} does.",
        "Surge run and lumped overshoot then differ by that factor.",
        "Correct the volume of the zone, its material, or the main.",
        equation="V β of main and rest = V β of the zone within 5 %",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "SUR-07",
        "vessel left out of the run",
        "Volume or precharge of {subject} is not stated: the run has no vessel.",
        "A vessel softens what consumers see. Peaks are on the safe side.",
        "State the volume of the vessel and its gas pressure with the water side empty.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-08",
        "where the vessel stands in the run",
        "{subject} stands in the run {away} behind the station.",
        "As near as the time step lets it. Its own pipe, its bladder and a shut cock are not in the run.",
        "Compare with the vessel left out: take away its precharge.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-53",
        "vessel between the valves left out of the run",
        "{subject} stands between valves, or within a stream ahead of its last valve: the run has no vessel "
        "there.",
        "It takes surge between the valves and slows what the shut-off senses; the run shows neither. Peaks "
        "between the valves are on the safe side, times of a trip are not.",
        "Read the times of a trip as too early; state the vessel ahead of the first valve or behind the last "
        "where it stands there.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-09",
        "no trip for the run",
        "The trip of {subject} is not stated: the shut-off stands open throughout.",
        "The run shows what happens without it.",
        "State the trip.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-10",
        "wall that creeps",
        "{subject}: of {material}, whose wall gives way in time; the run knows it by its wave speed only.",
        "First peaks are near, later ones die out faster than shown.",
        "Nothing to do; read later swings as an upper bound.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-11",
        "stroke by time",
        "{subject} is closed by a spring or a weight: its stem moves evenly in the stated time.",
        "What slows it near its ends is not known.",
        "Time the stroke on site and state it.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-12",
        "wave speed moved by the grid",
        "The wave speed of the {main} is moved by {change} so that it fits whole reaches; {allowed} are "
        "told.",
        "Times of waves are off by as much.",
        "Nothing to do where no figure hangs on it; else state the main as it is.",
        equation="Δx = a Δt exactly",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-13",
        "primed line only",
        "What is said of {events} holds for a line that is full of water. Filling an empty or half-full one "
        "is not computed.",
        "Air that is trapped and shut in makes pressures no run here shows.",
        "Fill and vent the line slowly first.",
        sources=(_TWIN, f"{_HB} 0.6"),
    ),
    Entry(
        "SUR-14",
        "limit exceeded in an event",
        "In {events} the pressure at {component} reaches {value} at datum; it bears {limit}. {worst}",
        "{why}",
        "{cure}",
        equation="P_peak ≤ P_fault,max, both at datum",
        sources=(_TWIN, f"{_HB} 2.4"),
    ),
    Entry(
        "SUR-15",
        "tripped and not shut",
        "In {events} {subject} trips and is not shut after {seconds} s.",
        "Until it is shut the pressure follows the reducer.",
        "Open its closing needle, or look for what holds its stem.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-16",
        "pressure beyond belief",
        "In {events} the run reaches {value}, more than five times the supply. {worst}",
        "Every step closed, but no station sees this: the plan or its figures are wrong.",
        "Check mains, needles and levels of the file. Do not use this run.",
        equation="P > 5 P_supply",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-59",
        "run broken off",
        "In {events} a figure leaves all bounds at {seconds} s: the run stands still there and carries no "
        "verdict.",
        "No main throws water 100 km high: the plan or its figures are wrong, or the engine is.",
        "Check mains, needles, levels and demands of the file. Where they are right, report the file.",
        equation="|H| < 100 km, every figure finite",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-17",
        "event not run",
        "Not run: {events}. {reason}",
        "The steady twin has no state from which it could begin.",
        "Check flow, inlet pressure and valve size of the file.",
        sources=("steady twin",),
    ),
    Entry(
        "SUR-18",
        "account of water off",
        "In {events} {change} of the water that entered is not accounted for; {allowed} are allowed. {worst}",
        "The time step is too long for what moves here.",
        "Read the figures as rough.",
        equation="|in − out − stored| / in",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-19",
        "reducer hunts in the run",
        "{subject} hunts in the transient twin whatever its needles and its sensing line: its swings grow by "
        "themselves. In {events} the run is read for {seconds} s only.",
        "Feed, pilot and band are not calibrated; real ones mostly sit still. Later figures would "
        "be those of the hunting.",
        "Log T3 at this flow, and over a step of it; state feed_kv, pilot_kv, sense_lag and "
        "proportional_band as they are.",
        equation="roots of χ(s) with growth σ > 0; read for ln 3/σ",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-20",
        "limit exceeded before the event",
        "{component} sees more than it bears before anything happens in {events}: then {value} at datum, it "
        "bears {limit}. {worst}",
        "The event does not bring this about.",
        "See what check says of this limit.",
        equation="P before ≤ P_fault,max, both at datum",
        sources=(_TWIN, f"{_HB} 2.4"),
    ),
    Entry(
        "SUR-21",
        "streams not run together",
        "A stream holds several streams again: events are run on each way alone, not on all together.",
        "How streams act on each other is not shown.",
        "Read the ways one by one.",
        sources=(_TWIN,),
    ),
    Entry(
        "SUR-35",
        "runs made with a quiet reducer",
        "With every value at its default the transient twin has {subject} hunting. Runs in which reducers "
        "regulate are made with {moved}.",
        "What makes it hunt there is mostly what nobody has measured; on site its needles are turned in "
        "until it stands still. A slower reducer lets a change of demand or supply swing further and follows "
        "a screw later. A value the file states is not moved.",
        "Log T3 over a step of flow; state feed_kv, pilot_kv and sense_lag as they are.",
        equation="no root of χ(s) with growth σ > 0",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-60",
        "a reducer as stated would move a pressure by more than the room left",
        "In {events} {component}, {side}, sees {sees} at datum as run with a quiet reducer, and {usual} with "
        "every value at its default: {direction} by {value}. It bears {bears}. {worst}",
        "Which of them is true nobody has measured. With its defaults the reducer hunts in the twin; that "
        "run is read until its swings have grown threefold, for 5 s at least.",
        "Take the higher of the two until feed_kv, pilot_kv and sense_lag are stated as they are: log T3 "
        "over a step of flow.",
        equation="|P_default − P_quiet| > |P_fault,max − P_quiet|",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-36",
        "air in a chamber: hunting",
        "In {events}, with {air} of air in its chamber, {subject} swings ({swing}, every {period}); "
        "without it, it stands still; {edge}.",
        "Readings taken over a while look sound; consumers and the shut-off see the swings. How large they "
        "become is an own estimate; that they come is not.",
        "Vent the cover and the pilot lines of {subject} until no air comes, and once more after an hour.",
        equation="p_c V^1.2 = const; runs away where V dp_eq/dx > 1.2 p_c A_d",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-37",
        "air in a chamber: not seen",
        "In {events}, with {air} of air in its chamber, {subject} comes to rest again; {edge}.",
        "At a lower flow less air is enough.",
        "Vent the cover of {subject} all the same.",
        equation="V dp_eq/dx < 1.2 p_c A_d",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-38",
        "limit exceeded within the tolerances",
        "{component} sees more than it bears in {share} of the runs of {events} ({low} to {high}){when}, "
        "each with its tolerances somewhere else.",
        "A station built and set as the file says may be one of these.",
        "Narrow what weighs most first: {first}. Or leave more room to the limit.",
        equation="share of runs with P_peak > P_fault,max, Wilson interval of 95 %",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-39",
        "stability is a band",
        "How quiet {subject} is hangs on what nobody has measured: {free}. In {hunting} of the members of "
        "that band it hunts at {flow_case} flow.",
        "Until it is fitted to a measurement this forbids nothing and promises nothing.",
        "Log T3 at night flow and over a step of flow, ten readings a second; state under observed at which "
        "flows it stood still or hunted and where its outlet stood, and what the maker or a stopwatch says "
        "of feed_kv, pilot_kv, sense_lag.",
        equation="roots of χ(s) over members of the band",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-51",
        "stability fitted to what was seen",
        "{kept} of {tried} members of the band agree with the {seen} things seen of {subject}; the figures "
        "are theirs. In {hunting} of them it hunts at {flow_case} flow. {left}",
        "A reducer that hunts wears its seat and its pilot and swings what consumers see. It forbids "
        "nothing.",
        "Turn its needles in until it stands still at that flow, see it again and state it; log a step of "
        "flow to narrow what is open.",
        equation="members with the seen sign of the roots of χ(s), P₂ = P_lock − b_p y within the readings",
        sources=("observations of the file", _TWIN, _OWN),
    ),
    Entry(
        "SUR-52",
        "nothing fits what was seen",
        "Only {kept} of {tried} members of the band agree with everything seen of {subject}; {fewest} are "
        "needed. Takes out most of those still left: {most}. The figures are those of the whole band.",
        "What was seen and what the file says of mains, zone and valve contradict each other, or something "
        "is at work that the twin does not know.",
        "Check flow, tap and unit of what was seen; look for air in the chamber, wear, a value under "
        "mechanics that is no longer so.",
        equation="members that agree ≥ 8",
        sources=("observations of the file", _TWIN, _OWN),
    ),
    Entry(
        "SUR-40",
        "pressure below that of the air",
        "In {events} the pressure in the {main} falls to {lowest} at its own level, {place}{out}. {worst}",
        "Leaks and open taps then draw in air and whatever stands around the pipe. Air is not in the run.",
        "Move more slowly; see what feeds the place while the station is shut. Where it happened, vent, "
        "flush and have the water judged before it is used.",
        equation="P < −0.1 bar at a place of the main",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-41",
        "mains of the zone hold more than the zone",
        "{subject} of the file: {own} of water; the whole zone holds {zone}.",
        "One of the two is wrong. A main too wide or too long takes up what the shut-off lets through: the "
        "overshoot and the wave thrown back then come out too small.",
        "Correct the volume of the zone, or bore and length of its mains; see their units.",
        equation="V of mains ≤ V of the zone + 5 %",
        sources=(f"{_HB} 2.4a", _TWIN),
    ),
    Entry(
        "SUR-64",
        "short piece of main run longer",
        "{subject} is {is} long: it is run as {run}, the least the time step lets in.",
        "The piece holds a little more water and elasticity than it has; beside a main of tens of metres and "
        "more that is not seen.",
        "Nothing, where it joins a longer main; count it to that one and the note is gone.",
        equation="L ≥ 2 a · 1 ms",
        sources=(_TWIN, _OWN),
    ),
    Entry(
        "SUR-43",
        "a usual event trips the shut-off",
        "The event {subject} of the file trips {shut_off}: consumers are without water until somebody comes.",
        "What the file names as happening here is no fault; a shut-off is for faults.",
        "Let the event take longer, limit its flow, or raise the trip where the limits allow it.",
        equation="no trip in an event of the file",
        sources=(_TWIN, f"{_HB} 2.4a"),
    ),
)
