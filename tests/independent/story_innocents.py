"""Innocent variations of clean site stories: other words, units, orders, gauges, things left to one telling.

Each takes a story and a seeded generator and returns it varied, or None where it has no place. What the
handbook allows stays allowed: none of them may draw a word from the audit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from copy import deepcopy
from random import Random
from typing import Any

Story = dict[str, Any]
Row = dict[str, Any]
Vary = Callable[[Story, Random], Story | None]

SAME: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"\bshut again\b", ("closed again", "back shut")),
    (r"\bequali[sz]ed first\b", ("made equal first", "brought level before that")),
    (r"\bopened slowly in stages\b", ("eased open stage by stage", "brought open slowly, stage by stage")),
    (r"\bin stages\b", ("stage by stage", "by stages")),
    (r"\bfully shut in\b", ("shut in", "closed in", "closed fully in")),
    (r"\bfully shut (\d\S*) s later\b", (r"shut \1 s later", r"closed after \1 s")),
    (r"\bsec to shut\b", ("s to close", "seconds to shut")),
    (r"\bholds (\d+) s\b", (r"held \1 s each", r"\1 s holds", r"waiting \1 s at each")),
    (r"\bin steps of (\S+ [A-Za-z0-9]+)", (r"\1 at a time", r"by steps of \1", r"in \1 steps")),
    (r"\bflow zero\b", ("no flow", "meter at zero", "flow nil")),
    (r"\bmeter reads zero\b", ("meter at nought", "flow meter zero")),
    (r"\bDesk\b", ("Control room", "The desk")),
    (r"\bphotos\b", ("pictures", "photographs")),
    (r"\bsecond look\b", ("second reading", "second look")),
    (r"\belement whole\b", ("basket sound", "mesh undamaged")),
    (r"\bgasket new\b", ("new gasket", "gasket renewed")),
    (r"\bdry\b", ("dry", "bone dry")),
    (r"\bnut tight\b", ("nut locked", "lock nut done up", "nut made tight")),
    (r"\bre-?read\b", ("read again", "read once more")),
    (r"\bslowly\b", ("gently", "without haste", "slowly")),
    (r"\braised\b", ("brought up", "taken up", "raised")),
    (r"\blowered\b", ("brought down", "let down", "lowered")),
    (r"\breset by hand\b", ("latch set by hand", "reset by hand")),
    (r"\brefilled gently\b", ("refilled by trickle", "filled up again gently")),
    (r"\bNothing tripped\b", ("No trip",)),
    (r"\btight\b", ("tight", "drop-tight")),
    (r"\bcleaned\b", ("washed out", "cleaned")),
    (r"\bshut-off\b", ("SO", "shut-off valve")),
    (r"\bSO\b(?! REACHED)", ("shut-off",)),
    (r"\breducer\b", ("RV", "reducing valve")),
)
"""One act in other words of the trade; the list is ours."""

ASIDES = (
    "Nut of the shut-off not touched.",
    "Neither lock nut was moved.",
    "Nobody has laid a hand on either screw since.",
    "Asked whether to nip the shut-off nut; left it.",
    "V4 says a turned screw makes the proof stale, so hands off.",
    "Filters are to be cleaned at the next visit.",
    "Last year the closing needle was turned here; not today.",
    "Gland of IV2 taken up a flat, dry since.",
    "Union of the hose tightened.",
    "A lorry went by, the lid rattled.",
    "Rain; tarpaulin over the lid.",
    "No gauge is overdue.",
    "None of the instruments is past its day.",
    "Nothing was opened under pressure.",
    "No bubbles anywhere.",
    "IV1 was not thrown open, as the rule asks.",
    "Wanted to skip the hold; did not.",
    "The apprentice asked if one could bridge the contacts instead. No.",
    "Would have been quicker in one go, but the handbook says stages.",
    "If the screw had been touched we would have run it again.",
    "Not one cock was left unread.",
    "The neighbour station had its shut-off reset at full inlet last winter; the pipe burst.",
    "Owner's man came by and left again.",
    "Both of us on site all day.",
    "Tea at the lid, one below.",
    "Same gauge as before, moved freely all day.",
    "Next year's visit: bring a new gasket.",
    "Pencil lead broke; wrote on in ink.",
    "No reading was taken on the move.",
    "Nothing written from memory.",
    "Both seals whole at this point.",
    "Phone rang twice: the office, about lunch.",
    "Could hear the water in TD the whole time.",
    "The pump was put away afterwards.",
    "Made sure that nobody turned anything.",
    "Paint across nut and screw unbroken.",
    "Cover bolts looked at, none loose.",
    "No need to adjust.",
    "Neither screw needed a turn.",
    "The shut-off screw stays where it was proved.",
)
SETTLING = ("A6", "A7", "C2", "C5", "G4", "H2", "H4", "J2", "F3", "J3", "Y2", "Y3", "Y8", "R7", "R6", "D3")


def _rows(story: Story, *nodes: str) -> list[Row]:
    return [r for r in story["entries"] if not nodes or r["node"].split(".")[0] in nodes]


def other_words(story: Story, chance: Random) -> Story | None:
    """The same acts in other words of the trade."""
    done = 0
    for row in story["entries"]:
        for pattern, others in SAME:
            if chance.random() < 0.35 and re.search(pattern, row["text"]) and '"' not in row["text"]:
                row["text"] = re.sub(pattern, chance.choice(others), row["text"])
                done += 1
    return story if done else None


def aside(story: Story, chance: Random) -> Story | None:
    """Remarks that tell of nothing done to the valve."""
    for row in chance.sample(_rows(story, *SETTLING), 3):
        row["text"] = f"{row['text']} {chance.choice(ASIDES)}".strip()
    return story


def own_line(story: Story, chance: Random) -> Story | None:
    """Such a remark on a line of its own."""
    place = chance.randrange(3, len(story["entries"]))
    near = story["entries"][place]
    line = {"no": 900, "time": near["time"], "node": near["node"], "by": near["by"]}
    story["entries"].insert(place, {**line, "text": chance.choice(ASIDES)})
    return story


PASCAL = {"bar": 1e5, "kPa": 1e3, "psi": 6894.757, "mH2O": 9806.65}
PLACES = {"bar": 3, "kPa": 1, "psi": 2, "mH2O": 2}


def other_unit(story: Story, chance: Random) -> Story | None:
    """Readings typed in another unit than the sheet's."""
    unit = chance.choice([u for u in PASCAL if u != story["station"]["unit"]])
    for row in story["entries"]:
        for read in row.get("readings") or []:
            if read.get("unit") in PASCAL and read.get("value") is not None:
                value = read["value"] * PASCAL[read["unit"]] / PASCAL[unit]
                if read.get("as_read") is not None:
                    there = read["as_read"] * PASCAL[read["unit"]] / PASCAL[unit]
                    read["as_read"] = round(there, PLACES[unit])
                read.update(value=round(value, PLACES[unit]), unit=unit)
    return story


def two_gauges(story: Story, chance: Random) -> Story | None:
    """A second gauge of the same class beside the first, a division apart."""
    if any(d["verb"] == "corrected" for r in story["entries"] for d in r.get("did") or []):
        return None  # the correction would put right one of the two only
    tools = {t["id"]: t for t in story["instruments"]}
    for row in story["entries"]:
        if row["node"].startswith(("A", "H4", "B", "Y1")) or chance.random() < 0.4:
            continue
        for read in list(row.get("readings") or []):
            first = tools.get(read.get("instrument", ""))
            if read["tap"] == "T3" and first and read.get("value") and first.get("range"):
                twin = first["id"] + "b"
                tools.setdefault(twin, {**first, "id": twin})
                row["readings"].insert(row["readings"].index(read) + 1, {**read, "instrument": twin})
    story["instruments"] = list(tools.values())
    return story


def silent(story: Story, chance: Random) -> Story | None:
    """Words dropped where readings and acts say it."""
    for row in story["entries"]:
        told = len(row.get("did") or []) >= 1 and (row.get("readings") or row["node"] in ("B1", "J2"))
        if told and not row.get("result") and row["node"] in ("B1", "B2", "B4", "C3", "C4", "C5", "J2", "Y2"):
            row["text"] = "" if chance.random() < 0.6 else "As planned."
    return story


TOLD_BY_WORDS = {
    "J4": ("second_look", "sealed"),
    "Y8": ("second_look", "sealed"),
    "J5": ("test_mode_off",),
    "B2": ("vented",),
    "D4": ("stroked_by_hand",),
    "H1": ("measured",),
    "H2": ("measured",),
    "A1": ("released",),
    "A5": ("identified",),
    "A6": ("compared",),
    "A7": ("recorded",),
    "E0": ("decided",),
    "G3": ("cable_lifted", "cable_restored"),
    "G1": ("alarm_received",),
}


def only_words(story: Story, chance: Random) -> Story | None:
    """Acts dropped where the words say them."""
    done = 0
    for row in story["entries"]:
        names = TOLD_BY_WORDS.get(row["node"].split(".")[0], ())
        if names and len(row["text"].split()) >= 3 and chance.random() < 0.5:
            kept = [d for d in row.get("did") or [] if d["verb"] not in names]
            done += len(kept) < len(row.get("did") or [])
            row["did"] = kept
    return story if done else None


SWAPS = (
    ("A2", "A3"),
    ("B5", "B6"),
    ("G2", "G3"),
    ("G3", "G5"),
    ("G4", "G5"),
    ("A7", "A8"),
    ("D1", "D4"),
    ("A1", "A2"),
)


def other_order(story: Story, chance: Random) -> Story | None:
    """Steps exchanged that do not lean on each other."""
    rows = story["entries"]
    for one, two in chance.sample(SWAPS, len(SWAPS)):
        spots = [k for k, r in enumerate(rows) if r["node"] in (one, two)]
        if len(spots) == 2 and spots[1] == spots[0] + 1 and rows[spots[0]]["node"] == one:
            first, second = rows[spots[0]], rows[spots[1]]
            first["time"], second["time"] = second["time"], first["time"]
            first["no"], second["no"] = second["no"], first["no"]
            rows[spots[0]], rows[spots[1]] = second, first
            return story
    return None


def spare_tool(story: Story, chance: Random) -> Story | None:
    """An instrument past its day on the list, not used."""
    tool = deepcopy(story["instruments"][0])
    tool.update(id="TG-99", calibrated="2019-01-10", due="2020-01-10")
    story["instruments"].append(tool)
    row = (_rows(story, "A6", "Y1") or _rows(story, "R4"))[0]
    row["text"] += chance.choice(
        (
            " TG-99 is expired: stays in the van.",
            " TG-99 out of date, put aside, not used.",
            " TG-99's label is past its day, so it was tagged and left in the box.",
        )
    )
    return story


def last_day(story: Story, chance: Random) -> Story | None:
    """Every instrument used on its last valid day."""
    for tool in story["instruments"]:
        if tool.get("due") and tool["due"] >= story["entries"][-1]["time"][:10]:
            tool["due"] = story["entries"][-1]["time"][:10]
    return story


def later_hours(story: Story, chance: Random) -> Story | None:
    """A long pause in the record."""
    place = chance.randrange(2, len(story["entries"]) - 1)
    row = story["entries"][place]
    story["entries"].insert(
        place,
        {
            "no": 901,
            "time": row["time"],
            "node": row["node"],
            "by": row["by"],
            "text": "Waited for the desk, 40 min; one stayed at the valve.",
        },
    )
    return story


def split_lines(story: Story, chance: Random) -> Story | None:
    """One entry written as two lines at one step."""
    rows = [r for r in _rows(story, "J4", "J2", "B4", "C2", "J1", "A6", "H4", "Y8") if ". " in r["text"]]
    if not rows:
        return None
    row = chance.choice(rows)
    head, tail = row["text"].split(". ", 1)
    row["text"] = f"{head}."
    more = {"no": 902, "time": row["time"], "node": row["node"], "by": row["by"], "text": tail}
    story["entries"].insert(story["entries"].index(row) + 1, more)
    return story


def corrected(story: Story, chance: Random) -> Story | None:
    """A reading written wrong and corrected at once with its reason."""
    rows = [
        r
        for r in _rows(story, "EF1", "H1", "D3")
        if r.get("readings") and "standby" not in r["text"].casefold()
    ]
    if not rows:
        return None
    row = chance.choice(rows)
    first = row["readings"][0]
    right = dict(first)
    first["value"] = round(first["value"] * 1.31, 2)
    note = {
        "no": 903,
        "time": row["time"],
        "node": row["node"],
        "by": row["by"],
        "text": f"Correction to entry {row['no']}, reason: wrong ring. First reading is {right['value']}.",
        "readings": [right],
        "did": [{"verb": "corrected", "object": f"entry {row['no']}", "detail": "first reading"}],
    }
    story["entries"].insert(story["entries"].index(row) + 1, note)
    return story


INNOCENT: Sequence[Vary] = (
    other_words,
    aside,
    own_line,
    other_unit,
    two_gauges,
    silent,
    only_words,
    other_order,
    spare_tool,
    last_day,
    later_hours,
    split_lines,
    corrected,
)


def innocents(bases: Sequence[Story], count: int, seed: int) -> list[tuple[str, Story]]:
    """Return innocent variants, each of one to three changes, named by their changes."""
    chance = Random(seed)
    made: list[tuple[str, Story]] = []
    while len(made) < count:
        story = deepcopy(chance.choice(bases))
        names: list[str] = []
        for vary in chance.sample(INNOCENT, chance.choice((1, 1, 2, 3))):
            varied = vary(deepcopy(story), chance)
            if varied is not None:
                story, names = varied, [*names, vary.__name__]
        if names:
            made.append((f"{story['id']}: {', '.join(names)}", story))
    return made
