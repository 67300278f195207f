"""Sentences of site notes in one clean story: those that tell of a breach, and those that only seem to."""

from __future__ import annotations

from copy import deepcopy

import pytest

from tests.independent.run_adapter import judge
from tests.independent.story_campaign import HERE, clean
from tests.independent.story_edits import near, of

pytestmark = pytest.mark.by_turns(4)

TELLING = (
    (
        "F3",
        "Before the third go I let the shut-off screw out by the thickness of a fingernail.",
        ("V4", "proof_stale", "F5"),
        True,
    ),
    (
        "G5",
        "Trip wanted a shade lower, so backed the shut-off spring off a bit.",
        ("V4", "proof_stale", "F5"),
        True,
    ),
    ("H1", "Shut-off: lock nut re-torqued, mark now a hair off.", ("V4", "proof_stale"), True),
    (
        "H4",
        "Needle valve on the shut-off chamber line closed a quarter so that it slams less.",
        ("V4", "proof_stale"),
        True,
    ),
    ("J1", "Feed filter of the shut-off was grey, gave it a rinse.", ("V4", "proof_stale"), True),
    ("G2", "Replaced the weeping fitting on the shut-off sensing line.", ("V4", "proof_stale"), True),
    ("H2", "Reducer screw touched up to get 3.50 on the nose.", ("V4", "proof_stale", "H1", "H2"), True),
    ("J3", "Duty crept to 4.63, so a nudge on the reducer screw.", ("V4", "proof_stale", "H1", "H2"), False),
    ("D2", "Seven minutes in T4 had come up to 3.6.", ("V1", "D2"), True),
    ("F1", "IV2 a couple of turns off its seat so that the zone would not notice.", ("V1",), True),
    ("F1", "IV1 was at nine turns for this.", ("V2",), False),
    ("F1", "TD had been closed to get the last bit of pressure.", ("V2", "F1"), False),
    ("F3", "TG-17 kept reading 4.7 for a while after we had drained.", ("gauge_not_live", "V7"), True),
    ("F3", "The cock to TG-17 turned out to be nearly shut.", ("gauge_not_live", "V7"), True),
    ("D3", "Reading not settled, took it as it was.", ("V5", "D3"), False),
    ("EF1", "T3 was hunting by a tenth either way.", ("V5", "EF1"), False),
    ("C4", "Still a belch of air from the reducer cover when we quit.", ("C3", "C4"), False),
    ("C3", "All of us up for soup, chamber closed for forty minutes.", ("V8", "restore_missing"), False),
    ("ES6", "Everybody home; carry on in the morning.", ("V8", "restore_missing"), False),
    ("G2", "It dropped in and out three times first.", ("G2",), False),
    ("G3", "Desk still showed NORMAL.", ("G3",), False),
    ("D4", "Stuck half way the first time, so pushed it home.", ("D4",), False),
    ("A4", "Monitor battery was flat, smelt all right.", ("A4",), False),
    ("A5", "Arrow on the reducer points against the flow; carried on.", ("A5",), False),
    ("B4", "Mesh has a tear the length of a thumb.", ("B4",), False),
    ("H5", "The shut-off went.", ("H5",), False),
    ("F3", "First run thrown away, it was high.", ("F3",), False),
    ("F2", "T3 kept inching up, 4.81 to 4.95 by the end.", ("F2",), True),
    ("C3", "Opened the hole in the spring bonnet too, a little air came.", ("C3", "bled_at_pressure"), False),
    ("EF3", "Turned the reducer screw and its needle in one operation.", ("V6", "EF3"), False),
    (
        "G3",
        "Unscrewed the shut-off pilot cap, had a look, spring pinched, shifted it.",
        ("V4", "proof_stale"),
        True,
    ),
    ("H1", "While there, the trip pilot got a smidgen more compression.", ("V4", "proof_stale"), True),
    ("G4", "Opened up the shut-off exhaust to see if it drips, closed again.", ("V4", "proof_stale"), True),
    (
        "H5",
        "Sensing tube of the SO re-bent to clear the ladder, both ends off and on.",
        ("V4", "proof_stale"),
        True,
    ),
    ("J3", "SO locknut done up another flat for luck.", ("V4", "proof_stale"), True),
    (
        "G5",
        "Main diaphragm of the shut-off changed for the new one we had brought.",
        ("V4", "proof_stale"),
        True,
    ),
    (
        "H2",
        "Duty pilot locknut undone and remade, washer was the wrong way up.",
        ("V4", "proof_stale", "H1", "H2"),
        True,
    ),
    (
        "J1",
        "Limit switch cam moved a tooth so that the lamp comes on earlier.",
        ("V4", "proof_stale", "G1"),
        True,
    ),
    ("F3", "For this one IV1 stood wide open.", ("V2",), False),
    ("F3", "Zone had asked for water, so IV2 was cracked meanwhile.", ("V1",), True),
    ("A6", "TG-17 is out of calibration by a week, used it regardless.", ("instrument_expired", "A6"), False),
    ("F3", "Found TG-17 isolated; the pointer had not moved since noon.", ("gauge_not_live", "V7"), True),
    ("EF1", "The pointer was dancing between 3.4 and 3.7.", ("V5", "EF1"), False),
    ("D3", "Took the figure after five seconds.", ("V5", "D3"), False),
    (
        "C4",
        "Crew off to the canteen together, an hour; valve stayed as it is.",
        ("V8", "restore_missing"),
        False,
    ),
    ("G2", "Alarm hung on, would not clear; left it.", ("G2",), False),
    ("G3", "With the core off the desk stayed green.", ("G3",), False),
    ("D4", "Only went two thirds and stuck.", ("D4",), False),
    ("A4", "No monitor today.", ("A4",), False),
    ("A5", "Drawing shows the spring plates the other way round; went on.", ("A5",), False),
    ("B4", "Element has a split seam.", ("B4",), False),
    ("F3", "Struck the first run from the sheet.", ("F3",), False),
    ("F2", "Pressure would not stay, climbed 0.2 while TD was shut.", ("F2",), True),
    ("J4", "Sensing root cock found shut, left as is.", ("V12", "J4", "V8", "restore_missing"), False),
    ("B2", "Did not vent T2.", ("B2", "V11"), False),
)
"""Step, sentence, rules that name it, whether final is refused."""

SEEMING = (
    "Nut of the shut-off looked at, not turned.",
    "Shut-off screw 24 mm, as proved.",
    "Gauge cock of TG-79 opened, needle moves.",
    "Hose shut off at the hydrant.",
    "TD shut after the reset, as it should be.",
    "IV2 has 34 turns; we counted 34.",
    "A mate asked whether a jumper would do. It would not.",
    "Air in the hose, none in the valve.",
    "Needle valve untouched.",
    "Trip as proved, nobody near the pilot.",
    "Lid of the chamber lifted to let the sun in.",
    "Reducer did what the plan said.",
    "The old spring lies in the box, tagged, not fitted.",
    "TG-79 reads a needle width above TG-83.",
    "Quickly written down before the rain.",
    "Strainer cover bolts re-checked for weeping, dry.",
    "Drank tea on the lid while Linnet watched the gauge.",
    "Alarm did not chatter.",
    "Screw and nut carry fresh paint.",
    "Turned the page; new sheet.",
    "Shut-off stood open throughout.",
    "Seal wires cut to length for later.",
    "Desk rang to ask how long; told them an hour.",
    "Opened the gate of the yard for the van.",
    "Pressure at the critical point 2.9 bar.",
    "Pump returned to the van.",
    "Restarted the logger clock.",
    "Wind took the sheet; found again.",
    "Nobody fast here, all by the book.",
    "Gland nut of IV1 snugged, dry.",
    "Lock on the bypass changed for the owner's.",
    "We did not have to touch the setting.",
    "The first run need not be repeated.",
    "Second look tomorrow is not needed, done today.",
    "No one left the chamber unattended.",
    "Reducer seal renewed, number as listed.",
    "Shut-off pilot cap photographed.",
    "Wiped the mud off the shut-off bonnet.",
    "Trip pilot left entirely alone.",
    "Shut-off fully open, indicator at the top.",
    "T3 gauge steady as a rock.",
    "Pressed on after the break.",
    "Rang Maren twice.",
    "IV1 spindle greased, valve where it was.",
    "Test hose run out to the ditch.",
    "The switch on the fan was turned off.",
    "Chamber lid lifted by two.",
    "The reducer hums a little, as in the plan.",
    "Water in TD clear.",
    "Sump pump cleaned.",
    "Sheet copied fair in the evening from the notes taken here.",
    "Gauge glass wiped.",
    "Bolts of the ladder tightened.",
    "Logger battery replaced.",
    "Strainer blow-down hose removed.",
    "Marked the paint line of the nut for the photo.",
    "Shut-off sensing cock open, tagged.",
    "Screw heights as before: 24 mm and 26 mm.",
    "TD valve handle changed for a longer one.",
    "Passing train shook the table; waited for the needle.",
    "Trip value agreed by phone with the designer.",
    "Reading repeated after two minutes: the same.",
    "Two men below all day.",
    "Nothing loosened, nothing tightened.",
    "Compared with last year: shut-off tripped 0.05 higher then.",
    "The relief of the neighbour blew last week.",
    "Slow and steady, as always.",
    "Neither gauge hangs.",
    "All cocks as on the list.",
)


@pytest.fixture(scope="module")
def story():
    return next(s for s in clean(HERE) if s["id"] == "U16")


@pytest.mark.parametrize(
    ("node", "sentence", "rules", "refused"), TELLING, ids=[row[1][:40] for row in TELLING]
)
def test_a_sentence_that_tells_of_a_breach_is_heard(story, node, sentence, rules, refused):
    told = deepcopy(story)
    row = of(told, node)[0 if node in ("C3", "C4", "D3", "EF1", "F1", "F3", "H1") else -1]
    told["entries"].insert(told["entries"].index(row) + 1, near(row, 950, sentence))
    answer = judge(told)
    said = [i for i in answer["issues"] if i["level"] != "info"]
    assert any(i["rule"] in rules or i["entry"] in (row["no"], 950) for i in said)
    assert not (refused and answer["final_allowed"])


@pytest.mark.parametrize("sentence", SEEMING, ids=[s[:40] for s in SEEMING])
def test_a_sentence_that_only_seems_to_is_let_be(story, sentence):
    told = deepcopy(story)
    for node in ("C5", "D3", "J4", "J2"):
        of(told, node)[0]["text"] += f" {sentence}"
    answer = judge(told)
    assert [i for i in answer["issues"] if i["level"] != "info"] == []
