"""Findings about the figures of a plan: what the twin says cannot be held, turned, drained or read."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB = "design handbook"
_OWN = "own estimate"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "NUM-01",
        "drain too small for the inlet opening",
        "With the reducer wide open and {drain} fully open, the section {section} may reach {reached} at an "
        "inlet opening of {share}, above its test limit {limit}. By the stated values it reaches {expected}; "
        "counted on are {less} less drain and {more} more through the inlet valve.",
        "The inlet opening is the protection while the shut-off is out of action. No smaller one can be set.",
        "Measure the drain and state its Kv with plus_minus, fit a larger drain, or prove the trip by "
        "injection with the inlet valve shut.",
        equation="p_section(θ) ≤ P_T + tol_T,up, reducer wide open, drain open, highest static inlet",
        sources=(f"{_HB} 3.1 V2", "steady twin"),
    ),
    Entry(
        "NUM-02",
        "turns of the inlet valve not known",
        "The turns of {valve} are not stated. Its opening for the section {section} is given as a share of "
        "its travel only.",
        "A share is harder to set than turns, and easy to overshoot.",
        "Count the turns from shut to open and write them into the file.",
        sources=(f"{_HB} 3.1 V2",),
    ),
    Entry(
        "NUM-03",
        "spring too coarse",
        "15° of the screw of {valve} move {moves}; half the repeatability of the trip is {allowed}.",
        "A hand cannot set or prove the trip finer than its screw.",
        "Fit a spring of a smaller range, or state bar per turn as found.",
        equation="15°/360° · bar per turn ≤ ½ repeatability",
        sources=(f"{_HB} 2.5", _OWN),
    ),
    Entry(
        "NUM-04",
        "more water than the permit allows",
        "The visit lets {total} off through {drain}; the permit allows {allowed}.",
        "The discharge is limited in the permit, and the place it runs to may not swallow more.",
        "Ask for a larger permit, shorten the flush or the flow test, or split the visit.",
        equation="Σ flow × time ≤ allowed",
        sources=(f"{_HB} 3.8", "times of the steps: common practice"),
    ),
    Entry(
        "NUM-05",
        "no expected reading",
        "The twin gives no band for {question} ({meaning}).",
        "Too many stations within the tolerances have no steady state there.",
        "Check inlet pressure, flow and valve size of the file; judge this reading by hand.",
        sources=("steady twin",),
    ),
    Entry(
        "NUM-06",
        "no safe first turn from the trickle reading",
        "Until its spring is known, no turn of {valve} from its trickle reading is safe: {room} are left "
        "below {limit}.",
        "The spring may be four times as stiff as its plate. 15° then pass the test limit.",
        "Learn the spring below duty first: lower by a quarter turn with water running, read, raise again.",
        equation="4 · bar per turn · 15°/360° ≤ limit − trickle reading",
        sources=(f"{_HB} 3.8", _OWN),
    ),
    Entry(
        "NUM-07",
        "inlet drain too small to flush",
        "The drain on the inlet reaches {reached} in the supply pipe; grit needs {wanted}, {flow}.",
        "Slower water leaves the grit in the pipe, and it reaches the seats later.",
        "Flush out of a removable spool or an open bonnet ahead of the valves, as agreed with the owner.",
        equation="k √p / A ≥ 1 m/s",
        sources=(f"{_HB} 3.2 B3, common practice",),
    ),
    Entry(
        "NUM-09",
        "fire flow not proved",
        "The flow test ends at {reached}: {drain} lets off no more at duty. The fire flow is {fire}.",
        "Nobody sees today whether the station passes the fire flow, nor what the outlet falls to at it. The "
        "plan does not prove it.",
        "Prove it with hydrants open behind the station, agreed with the fire service, or through a larger "
        "drain; until then it is written down as a deviation and the fire service is told.",
        equation="highest test flow ≥ fire flow",
        sources=(_OWN,),
    ),
)
