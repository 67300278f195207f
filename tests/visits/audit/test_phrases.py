"""Notes as people write them, on the clean day of Quernhollow Lane: hands on the shut-off, and innocent ones.

Made up by one who knew the handbook; each batch was written before the reader knew its words.
"""

from __future__ import annotations

import pytest

from steadyhead.findings import Severity
from steadyhead.visits.audit import audit
from steadyhead.visits.audit.sheet import read_sheet
from tests.visits.audit.editing import note
from tests.visits.audit.quernhollow import SHEET, commissioning

HANDS_ON = (
    ("G2", "Shut-off: lock nut was not quite home, brought it up with the 19 mm."),
    ("G5", "Before lunch the trip screw got another hair in, it looked better in the middle."),
    ("H1", "H1 done. While at it pulled the SO nut tight as well."),
    (
        "H4",
        "During the hose work somebody stood on the SO pilot; bracket straightened, screw looks the same.",
    ),
    ("H5", "Swapped the shut-off pilot spring cap for the new stainless one."),
    ("G1", "Shut-off was a bit slow for my taste, closed its needle in by 30 degrees."),
    ("J4", "Exhaust of the shut-off pilot dripped, so took the pilot cap off, wiped the seat, back on."),
    ("G5", "Sensing cock of the shut-off was shut for a minute to change the gauge fitting, open again."),
    ("J1", "Trip setting eased down an eighth, 4.7 looked high to the owner."),
    ("H2", "The mark on the shut-off nut had moved a hand width, so turned it back and locked it."),
    ("H4", "Bled the shut-off cover once more, a puff of air came."),
    ("G3", "Feed filter of the SO had been forgotten in B5; cleaned it now."),
    (
        "G1",
        "Run 1 looked high to Ferrin, so the setting came down a shade and was locked; no time "
        "to trip it again.",
    ),
    ("G4", "Found the jam nut on the OSV pilot only hand tight. Spannered."),
    ("G5", "Put a new diaphragm in the shut-off pilot, the old one looked tired."),
    ("H4", "While the flow test ran, Linnet polished the shut-off pilot filter and put it back."),
    ("H2", "Shut-off pilot taken off its bracket to get at a leaking union, refitted."),
    ("J3", "Owner wants the trip nearer 4.8: screwed in a bit, mark renewed."),
    ("H1", "The speed needle of the shut-off was reset to two turns as on the drawing."),
    ("J1", "The sensing line to the shut-off was blown through for good measure."),
    ("J4", "Shut-off screw given a last eighth before the seal went on."),
    (
        "G2",
        "In the course of the afternoon the securing nut of the shut-off pilot was drawn up by "
        "the undersigned.",
    ),
    ("H5", "SO nut: 1/6 turn tighter."),
    ("G3", "Vented the SO chamber and let it fill again to see the stem."),
    (
        "G1",
        "Third run done. Since the shut-off shut a trifle late I opened up its closing needle by "
        "a third of a turn.",
    ),
    ("G4", "Shut-off pilot: lock nut re-torqued to the supplier figure."),
    ("H4", "A drip at the shut-off pilot cap; cap nut taken up until dry."),
    ("H5", "Tidied up the SO tubing: the sensing tube re-routed behind the ladder and reconnected."),
    ("H2", "The trip pilot was jogged by the hose; mark on the screw off by 2 mm, set back to the line."),
    ("J4", "All nuts got a last half flat, both pilots."),
    ("G5", "Changed the O-ring in the shut-off pilot, five minutes, all as before."),
    ("G2", "Trip set down from 4.72 to about 4.65 at the request of the owner."),
    ("J1", "Root cock of the shut-off closed and opened again to show the trainee how it works."),
    ("G1", "After the last run the jam nut on the shut-off setting screw was secured with a spanner."),
    ("G4", "SO spring chamber cap unscrewed for a look at the spring, put back."),
    ("H2", "Discovered that the shut-off needle had been left at three turns; corrected to two."),
    ("H5", "The shut-off pilot wept at the gland; gland nipped."),
    ("H4", "Ferrin lowered the trip a whisker, 4.72 being on the high side."),
    ("G5", "Shut-off: exhaust screen blocked with sand, screen out, washed, in again."),
)
INNOCENT = (
    ("G5", "Desk rang: any change at the shut-off? None."),
    ("H2", "Nut of the hose coupling tightened."),
    ("H4", "Reducer opens wide at 21 L/s, shut-off stays fully open."),
    ("H5", "The step brought T3 up quickly, then calm."),
    ("G1", "Own pilot closed it; the switch roller was seen to move by itself."),
    ("G3", "Electrician put the jumper he had brought back in his bag, not needed."),
    ("G4", "Reducer raised slowly, lowered again afterwards."),
    ("J2", "Took our time with IV2; a fast opening here once broke the main."),
    ("F2", "Shut-off opened fully after the reset, indicator at the top."),
    ("F3", "Reducer lowered quickly by two turns to get below reset."),
    ("J4", "Lock nuts and marks of both pilots looked at once more: in line."),
    ("J4", "Linnet read them out, Ferrin looked."),
    ("J3", "TD checked: dry."),
    ("H1", "Nut held while tightening, mark across both."),
    ("C5", "T3 followed without a hitch."),
    ("B4", "Before the lid came off we waited, zero on TG-79, drain running dry."),
    ("C3", "Bubbles for two minutes, then clear."),
    ("D2", "T4 looked at all the time: 3.48."),
    ("H2", "Temperature of the wall kept an eye on."),
    ("EF3", "Seal wire in the bag, number 4711."),
    ("H5", "We discussed whether the closing needle wants another eighth; the window says no."),
    ("G5", "Photographs of the SO nut, screw and needle taken for the file."),
    ("J1", "All hose couplings off, pit pumped dry."),
    ("G2", "The alarm had bounced once in the factory test, says the panel builder; not here."),
    ("H4", "Gauge TG-79 moved from T1 to T0 and back for each point."),
    ("G5", "Shut-off nut: checked by feel, tight, not turned."),
    ("H2", "Gave the desk the times; they turned the page."),
    ("H4", "Hydrant opened and closed slowly for each point."),
    ("G1", "Switch lever photographed while the valve was shut."),
    ("H5", "Duty pilot, trip pilot: screw heights 31 and 24 mm, as at noon."),
    ("G4", "Alarm set at 4.05 in the transmitter, seen on the display."),
    ("J4", "Covers on, bolts tight, pit dry."),
    ("J2", "IV2 took 18 min; the first five turns alone took six."),
    ("C4", "No bubbles at all this time."),
    ("D4", "By hand it takes some 3 s; no closing time."),
    ("F3", "Average is of no interest; each run is inside."),
    ("F2", "During the five minutes T4 stood at 3.48."),
    ("D2", "Pump valve opened quickly to let off at the end."),
    ("B4", "Lid of the strainer lifted by two, chain block."),
    ("H1", "5 L/s through TD, hose to the ditch."),
    ("J4", "Both signed the list."),
    ("G2", "Reset brought the alarm back to normal, once."),
    ("G3", "Terminals tight, lid of the box sealed again."),
    ("EF3", "Proof by raising: reducer seal only, shut-off seal stays."),
    ("J3", "Fed a late lunch to the trainee, T3 steady."),
    ("J1", "Sample bottle filled at TD with a flamed tap, then TD shut."),
    ("H2", "T3 fell to 3.60 as TD was opened afterwards."),
    ("G5", "Screen of the logger washed out by the sun."),
    ("H2", "SO indicator wiped, stem at the top stop."),
    ("H4", "IV1 34 turns counted, T3 held throughout."),
    ("G1", "Screwdriver stayed in the bag, own pilot did it."),
    ("G4", "Away from the sun the display is readable."),
    ("H5", "TD open a hair between the steps, then shut."),
    ("J4", "Test points capped, gland of IV2 dry."),
    ("F3", "A lorry went by in run 2, nothing to see in T3."),
    ("D2", "School told that IV2 stays shut till four."),
    ("J5", "Test flag gone from the screen."),
    ("B4", "Wet feet from the drain, not from the lid."),
    ("F2", "T3 flat to the hundredth, desk says the same."),
)


def said(step: str, text: str) -> list[tuple[str, str]]:
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    steps = {e.node for e in book.entries}
    note(step if step in steps else "G5", text)(book)
    found = audit(read_sheet(SHEET), book.entries)
    return [(f.code, str(f.params["seen"])) for f in found if f.severity is not Severity.NOTE]


def test_nearly_every_hand_on_the_shut_off_after_its_proof_is_seen():
    """A reader of words misses some; what it finds makes the proof stale."""
    seen = [
        text
        for step, text in HANDS_ON
        if any(code in ("RUN-23", "RUN-30", "RUN-42") for code, _ in said(step, text))
    ]
    assert len(seen) >= 0.9 * len(HANDS_ON)


@pytest.mark.parametrize(("step", "text"), INNOCENT)
def test_innocent_notes_say_nothing(step: str, text: str):
    assert said(step, text) == []
