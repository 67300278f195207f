"""Findings of the audit: what a record of site work shows against the handbook."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"

_ROWS: Final = (
    (
        "RUN-20",
        "consumers not protected while the line is raised",
        "3.1 V1, 3.2 D2",
        "A leaking outlet valve passes the test pressure on; at equal pressures or backwards a leak "
        "shows nothing.",
    ),
    (
        "RUN-21",
        "line raised at another opening than its own, or with the drain shut",
        "3.1 V2",
        "A full section is stiff: its pressure falls only while water leaves, and a drain alone "
        "does not hold a reducer wide open.",
    ),
    (
        "RUN-22",
        "isolating valve moved too fast",
        "3.1 V3, 3.2 J2",
        "The last part of the travel stops most of the flow: surge.",
    ),
    (
        "RUN-23",
        "proof is stale",
        "3.1 V4, 3.3",
        "What was touched since is not what was proved. A nut tightened again counts.",
    ),
    (
        "RUN-24",
        "reading not steady",
        "3.1 V5",
        "Pilots settle slowly; a moving value tells neither where it was nor where it goes.",
    ),
    ("RUN-25", "two changes at once", "3.1 V6", "Which of the two did it is not known afterwards."),
    (
        "RUN-26",
        "gauge not shown to be live",
        "3.1 V7, 3.2 A6",
        "A gauge that is shut off reads yesterday's pressure.",
    ),
    (
        "RUN-27",
        "protection or valve not restored",
        "3.1 V8, 3.2 J",
        "A protection left defeated is found on the day it is needed.",
    ),
    (
        "RUN-28",
        "approached from the wrong side",
        "3.1 V9, 3.2 H1",
        "Friction and trapped pressure stand on the side it came from.",
    ),
    (
        "RUN-29",
        "number without its circumstances",
        "3.1 V10, 4.3",
        "A pressure without tap, instrument, time and flow is not data.",
    ),
    (
        "RUN-30",
        "opened on pressure, or without zero seen",
        "3.1 V11",
        "Stored pressure throws covers. Zero elsewhere says nothing of this section.",
    ),
    ("RUN-31", "second look missing", "3.1 V12", "A cock left wrong is the commonest human error."),
    ("RUN-32", "instrument not in date", "3.2 A6, 4.5", "Nobody can say what it read on that day."),
    (
        "RUN-33",
        "instrument too coarse for the trip",
        "2.5, 3.8",
        "Its error eats the tolerance the trip has.",
    ),
    (
        "RUN-34",
        "no lock-up",
        "3.2 H2, 3.3",
        "With water running, warming or a stream shut off it shows something else than lock-up.",
    ),
    (
        "RUN-35",
        "alarm not proved by movement, or wrong at the desk",
        "3.2 G1, 3.3",
        "A bridge proves a cable. A wrong name sends people to another station.",
    ),
    (
        "RUN-36",
        "reading differs from what was expected",
        "3.2, 8.2",
        "A difference has a cause; to go on is to build on it.",
    ),
    (
        "RUN-37",
        "closing time outside its window",
        "2.4a, 3.2 F2",
        "Too slow overshoots, too fast surges; it belongs to its pressures and flow.",
    ),
    (
        "RUN-38",
        "trip outside its band",
        "3.2 F3, 3.7 Y4",
        "The shut-off does not act where the design needs it.",
    ),
    (
        "RUN-39",
        "as-found not first",
        "3.7, 4.3",
        "Without an untouched first run drift and interval cannot be judged.",
    ),
    (
        "RUN-40",
        "reset or restart unsafe",
        "7.4",
        "The reducer may stand wide open behind the shut valve; "
        "a reset at full inlet repeats the overpressure.",
    ),
    ("RUN-41", "filled too fast", "3.2 C2, 3.3", "When the last air leaves the column stops at once."),
    (
        "RUN-42",
        "bled on pressure",
        "3.2 C3",
        "A cover bleed opens the valve: the outlet runs to inlet pressure and the shut-off cannot close.",
    ),
    (
        "RUN-43",
        "flow test incomplete",
        "3.2 H4",
        "Droop, losses and friction show only over the whole range, up and down.",
    ),
    (
        "RUN-44",
        "trip not proved as asked",
        "3.2 F1 to F5",
        "Few runs, wide steps or short holds leave the trip open.",
    ),
    ("RUN-45", "step left out", "3.2, 3.3, 3.7, 7.4", "What was not done is not proved."),
    (
        "RUN-46",
        "step not passed, and the work goes on",
        "3.2, 7.4",
        "What is seen there has a meaning, and the next step rests on it.",
    ),
    (
        "RUN-47",
        "signed figures differ from the entries",
        "4.3",
        "As-left is what was read after the last touch.",
    ),
)

ENTRIES: Final[tuple[Entry, ...]] = tuple(
    Entry(code, title, "{step}: {seen}", why, "{remedy}", sources=(f"{_HB} {where}", _OWN))
    for code, title, where, why in _ROWS
)
