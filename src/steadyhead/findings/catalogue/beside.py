"""Findings of what was done beside the plan: touches nobody proves, things unknown, things left otherwise."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"

ENTRIES: Final[tuple[Entry, ...]] = (
    Entry(
        "RUN-48",
        "stood otherwise all through a step",
        "{subject}: {part} was said to stand {is} at {when} by {who}; all through this step it is to stand "
        "{asked}.",
        "With consumers connected, or the inlet too far open, a test pressure is not kept where it belongs; "
        "with water let off there is no lock-up.",
        "Stop. Open the drain, lower. Put the valve back and enter how it stands. Prove anew what was lost, "
        "then do the step again.",
        sources=(f"{_HB} 3.1 V1, V2, 3.3",),
    ),
    Entry(
        "RUN-49",
        "how a valve stands cannot be read",
        '{subject}: said to stand "{is}" at {when} by {who}; nobody can read from it whether it is shut, '
        "or how far it is open.",
        "A valve that must stand shut counts as not shut until it is said.",
        "Enter it in plain words: position THING=shut, position THING=open, or how many turns.",
        sources=(f"{_HB} 3.1 V1, V12", _OWN),
    ),
    Entry(
        "RUN-50",
        "touched, and proved by nothing after it",
        "{subject}: moved or touched ({do}) at {when} by {who}, proved by no step of this way.",
        "What was touched is not what was proved, and here nobody proves it again.",
        "Prove it: take the way of this plan that does, or the plan of a visit that does, after a repair. "
        "No deviation makes it good. Else sign as provisional.",
        sources=(f"{_HB} 3.1 V4, 3.3, 3.7",),
    ),
    Entry(
        "RUN-51",
        "something was touched, nobody can tell what",
        "{subject}: {do} at {when} by {who}; {unplaced}.",
        "It may be what a proof rests on.",
        "Correct the entry: name the part, or the whole valve by its id. What does not belong to the station "
        "begins with outside, e.g. outside.ladder.",
        sources=(f"{_HB} 3.1 V4", _OWN),
    ),
    Entry(
        "RUN-52",
        "left otherwise than planned",
        "{subject}: how it stands was last told at {when} by {who}: {is}. It is to be left {asked}.",
        "One cock left shut takes away what all the proofs have shown.",
        "Put it in its place and enter how it stands. {mend}",
        sources=(f"{_HB} 3.1 V12, 3.2 J",),
    ),
    Entry(
        "RUN-53",
        "begun without what must stand before it",
        "{subject}: begun without {on} proved before it, or that was moved since.",
        "A leaking valve passes the test pressure on to the consumers.",
        "Stop. Open the drain, lower. Prove it, then do the step again. No deviation makes it good.",
        sources=(f"{_HB} 3.1 V1, 3.2 D2",),
    ),
    Entry(
        "RUN-54",
        "note that tells of something touched or left",
        '{step}: "{said}" ({when}, {who}). No entry says the same.{rests}',
        "What stands in a note alone is held against no proof.",
        "Enter it, at the hour it was done: [STEP] do ACT thing=THING, or position THING=HOW; what the plan "
        "does not have is outside.NAME, a relief valve too. If nothing was touched: do nothing touched to=N, "
        "N the number of the note.",
        sources=(f"{_HB} 3.1 V4, V12", _OWN),
    ),
    Entry(
        "RUN-55",
        "entry taken back",
        "{subject}: {what} was {how} at {when} by {who}: {reason}",
        "A touch taken back makes stale proofs good again; the reason must bear that.",
        "",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-56",
        "taken back, and nobody else has looked",
        "{what} was {how} at {when} by {who}: {reason}",
        "It was about a part that protects. What was touched is not what was proved, whoever takes it back.",
        "Somebody else looks at the part and agrees: do second look to=N, N the number of the entry that "
        "takes it back. It is somebody the run knows: who entered something, or person name=NAME. Else prove "
        "it again and enter the act as it was.",
        sources=(f"{_HB} 3.1 V4", _OWN),
    ),
    Entry(
        "RUN-57",
        "said to stand so, and it can mean two things",
        "{subject}: said to be {is} at {when} by {who}. Seated, or its cock shut?",
        "Seated it stands ready. Behind a shut cock it protects nothing.",
        "Look at it, and enter which: position THING=seated, or position THING=cock open. Was its cock shut: "
        "position THING=cock shut, open it, and prove again what rests on it. No deviation makes it good.",
        sources=(f"{_HB} 3.1 V8, V12, 3.6", _OWN),
    ),
    Entry(
        "RUN-58",
        "note that tells of a limit passed, or of what failed",
        '{step}: "{said}" ({when}, {who}). No reading says the same.',
        "What lies past the limit of a test is no proof, and may have hurt what bears less.",
        "Enter the reading or the answer at its step, at that hour; the step is then judged by it. If "
        "no limit was passed and nothing failed, or once it is entered so: do nothing touched to=N, N the "
        "number of the note.",
        sources=(f"{_HB} 3.2 F1, 8.2", _OWN),
    ),
    Entry(
        "RUN-59",
        "a trial outside, or past the limit of a test",
        "{subject}: {input} was {value} in a trial at {when} by {who}; expected {band}. A "
        "newer reading does not answer it.",
        "A run that lies outside is a finding: it counts as found, whatever a later one shows.",
        "Enter what was touched after it, and prove anew; or note at the step, that day, what was "
        "found: the note ends with one of raised too fast, raised in too large steps, read too late, "
        "gauge misread, gauge not steady, air in the line, pilot stuck at first, closing medium slow, "
        "dirt on the pilot seat, watch started late, water still drawn, cause not found. What was read "
        "beside a run is answered by another run too. Else a recorded deviation accepts it. What passed "
        "the rating of the section is answered by neither.",
        sources=(f"{_HB} 3.2 F1, F3, F5, 8.2", _OWN),
    ),
)
