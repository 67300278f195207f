"""Breaches in proofs, instruments, settings and records (V7 to V12, the step tables)."""

from __future__ import annotations

import re
from random import Random

from tests.independent.story_edits import Hit, after, drop, of, provisional, reads, runs, swap_words
from tests.independent.story_innocents import Story

DEAD = (
    "Afterwards found the cock under {g} shut.",
    "{g} stayed at its last figure while T3 was let down to nothing; went on with it.",
    "{g} sticks; a knock freed it once.",
    "Its gauge cock had been half closed all along.",
    "{g} did not come back to zero on venting.",
)


def dead_gauge(story: Story, chance: Random) -> Hit | None:
    if not runs(story):
        return None
    row = chance.choice(runs(story)[1:] or runs(story))
    gauge = next(r["instrument"] for r in reads(row) if "trip" in (r.get("note") or ""))
    row["text"] += " " + chance.choice(DEAD).format(g=gauge)
    return ("V7", "gauge_not_live"), [row["no"]], True


def left_defeated(story: Story, chance: Random) -> Hit | None:
    acts = [(r, d) for r in story["entries"] for d in r.get("did") or [] if d["verb"] == "restored"]
    acts = [(r, d) for r, d in acts if "vessel" not in d["object"]]
    if not acts or any(r["node"] in ("ES6", "DS5") for r in story["entries"]):
        return None
    if story["station"].get("standby_trip"):
        return None  # streams change over: each is opened again by its turn
    row, act = acts[-1]
    head = act["object"].split()[0].casefold()
    row["did"] = [d for d in row.get("did") or [] if d is not act and d["verb"] != "opened"]
    row["text"] = "Done."
    for other in story["entries"]:
        for thing in list(other.get("positions") or {}):
            if head in thing.casefold() or "root" in thing:
                del other["positions"][thing]
    return (
        ("V8", "restore_missing", "J4", "Y8"),
        [
            row["no"],
            row["no"] - 1,
            *(r["no"] for r in story["entries"] if any(d["verb"] == "defeated" for d in r.get("did") or [])),
        ],
        True,
    )


def from_above(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "H1", "Y7") if len(reads(r, "T3")) > 2]
    if not rows:
        return None
    row = rows[-1]
    first, second = reads(row, "T3")[:2]
    if chance.random() < 0.5:
        first["value"] = round(second["value"] * 1.12, 2)
        row["text"] = (
            f"Reducer from {first['value']} brought down to {second['value']}, nut, read again the same."
        )
        row["did"] = [d for d in row.get("did") or [] if d["verb"] not in ("lowered", "raised")]
        row["did"].insert(0, {"verb": "lowered", "object": "reducer pilot", "detail": "to duty"})
    else:
        for read in reads(row, "T3"):
            read["flow"] = 0
        row["text"] = "Set with TD shut, no water drawn; nut, read again."
        row["did"] = [d for d in row.get("did") or [] if d["object"] != "TD"]
    return ("V9", "H1", "Y7"), [row["no"]], False


def bare_reading(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "F1", "F3", "H1", "H2", "Y4", "D2", "EF1", "R7", "Y3") if reads(r, "T3")]
    if not rows:
        return None
    row, key = chance.choice(rows), chance.choice(("instrument", "flow", "tap"))
    for read in reads(row, "T3"):
        read[key] = None if key == "flow" else ""
    return ("V10", row["node"]), [row["no"]], False


def pressed_cover(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "B4") if any(d["verb"] == "opened_cover" for d in r.get("did") or [])]
    if not rows:
        return None
    row = rows[0]
    if chance.random() < 0.5 and reads(row, "T1"):
        reads(row, "T1")[0]["value"] = round(story["station"]["duty"] * 0.3, 1)
    else:
        row["readings"], row["did"] = [], [d for d in row.get("did") or [] if d["verb"] != "vented"]
        row["text"] = chance.choice(
            (
                "Strainer lid off, it hissed and spat at the last bolt. Cleaned, lid on.",
                "Took the strainer cover off straight after the flush, wet to the elbow.",
                "Strainer opened; a bit of pressure still behind it.",
            )
        )
    return ("V11", "B4", "opened_under_pressure", "B2"), [row["no"]], False


def no_second(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in story["entries"] if any(d["verb"] == "second_look" for d in r.get("did") or [])]
    if not rows:
        return None
    place = rows[0]["no"]
    if chance.random() < 0.5:
        story["entries"] = [r for r in story["entries"] if r is not rows[0]]
    else:
        rows[0].update(
            did=[], text=chance.choice(("One list will do.", "No time for another round.", "Packed up."))
        )
        rows[0].pop("positions", None)
    return ("V12", "second_look_missing", "J4", "Y8"), [place, place - 1], False


def expired(story: Story, chance: Random) -> Hit | None:
    if not runs(story):
        return None
    gauge = next(r["instrument"] for r in reads(runs(story)[0]) if "trip" in (r.get("note") or ""))
    tool = next(t for t in story["instruments"] if t["id"] == gauge)
    tool["due"], tool["calibrated"] = "2020-03-01", "2019-03-01"
    return (
        ("instrument_expired", "A6", "Y1"),
        [r["no"] for r in story["entries"] if any(x.get("instrument") == gauge for x in reads(r))],
        True,
    )


def coarse(story: Story, chance: Random) -> Hit | None:
    if not runs(story):
        return None
    gauge = next(r["instrument"] for r in reads(runs(story)[0]) if "trip" in (r.get("note") or ""))
    next(t for t in story["instruments"] if t["id"] == gauge)["class_pct_of_span"] = 2.5
    return ("instrument_too_coarse", "A6", "F1"), [r["no"] for r in runs(story)], True


def wet_lockup(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "H2") if reads(r, "T3")]
    if not rows:
        return None
    row = rows[0]
    if chance.random() < 0.5:
        for read in reads(row, "T3"):
            read["flow"] = story["station"]["trickle_flow"]
        row["text"] = re.sub(r"(flow )?meter[^.;,]*[.;,]?", "", row["text"])
    else:
        row["text"] = f"TD left at a dribble, IV2 shut, {row['text'][-60:]}"
        row["did"], row["positions"] = [], {}
    return ("lockup_with_flow", "H2"), [row["no"]], True


JUMPED = (
    "Electrician put a link across the contacts: desk has our text.",
    "Pushed the roller over with a screwdriver; desk confirmed the text.",
    "Contacts bridged at the box, text came up right.",
)


def jumper(story: Story, chance: Random) -> Hit | None:
    if not of(story, "G1"):
        return None
    for row in of(story, "G1")[1:]:
        story["entries"].remove(row)
    row = of(story, "G1")[0]
    row["did"] = (
        [{"verb": "jumpered", "object": "limit switch", "detail": ""}] if chance.random() < 0.4 else []
    )
    row["text"] = chance.choice(JUMPED)
    return ("alarm_by_jumper", "G1"), [row["no"]], True


def wrong_text(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "G1")
    if len(rows) != 1:
        return None
    row = rows[0]
    row["text"] = chance.choice(
        (
            "Run 3, own pilot: desk reads OTTERSHAW LANE SO REACHED CLOSED, 30 s after motion.",
            "On run 3 by its own pilot the desk saw nothing at all.",
            "Run 3: their screen says PUMP 2 FAIL. Somebody will sort it out.",
        )
    )
    for act in row.get("did") or []:
        act["object"] = "PUMP 2 FAIL" if "PUMP" in row["text"] else act["object"]
    return ("G1", "alarm_by_jumper"), [row["no"]], True


def off_plan(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "EF1", "ES1") if reads(r, "T3") and "standby" not in r["text"].casefold()]
    if not rows:
        return None
    read = reads(rows[0], "T3")[-1]
    value = round(read["value"] * 1.12, 2)
    rows[0]["text"] = rows[0]["text"].replace(f"{read['value']:g}", f"{value:g}", 1)
    read["value"] = value
    return ("prediction_mismatch", "EF1", "ES1"), [rows[0]["no"]], False


def odd_time(story: Story, chance: Random) -> Hit | None:
    high = (story["station"].get("stopwatch_window_s") or (0, 0))[1]
    rows = [r for r in runs(story) if re.search(r"\d\.\d (?:s|sec)\b", r["text"])]
    if not high or not rows or story["station"]["layout"] in ("injection", "relief"):
        return None
    for row in rows:
        swap_words(row, r"\d+\.\d (s|sec)\b", rf"{high + 3.4:.1f} \1")
    return ("closing_time_outside_window", "F2", "F1"), [r["no"] for r in rows], True


def off_band(story: Story, chance: Random) -> Hit | None:
    rows = runs(story)
    if len(rows) < 3 or story["station"].get("standby_trip"):
        return None
    row = rows[-1]
    shift = story["station"]["trip_tolerance_up" if story["kind"] == "yearly" else "trip_repeatability"] * 1.6
    for read in reads(row):
        if ("trip" in (read.get("note") or "") and "at the" not in read["note"]) or "hold" in (
            read.get("note") or ""
        ):
            old = read["value"]
            base = story["station"]["trip"] - shift - (0.0 if "trip" in read["note"] else abs(shift) * 0.1)
            read["value"] = round(base, 2)
            row["text"] = row["text"].replace(f"{old:g}", f"{read['value']:g}")
    return ("trip_outside_band", "F3", "Y6", "F5"), [row["no"]], True


def wide_steps(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in runs(story) if any("hold" in (x.get("note") or "") for x in reads(r))]
    if not rows or story["station"]["layout"] == "injection":
        return None
    if any(d["verb"] == "corrected" for r in story["entries"] for d in r.get("did") or []):
        return None  # the correction would take the wider step back
    row = chance.choice(rows)
    hold = next(x for x in reads(row) if "hold" in (x.get("note") or ""))
    trip = next(x for x in reads(row) if "trip" in (x.get("note") or "") and "at the" not in x["note"])
    old, hold["value"] = hold["value"], round(trip["value"] - story["station"]["trip_repeatability"] * 1.1, 2)
    row["text"] = row["text"].replace(f"{old:g}", f"{hold['value']:g}")
    return ("F1", "F3", "trip_outside_band", "Y4", "Y6"), [row["no"]], False


def two_runs(story: Story, chance: Random) -> Hit | None:
    rows = runs(story)
    if len(rows) != 3 or story["station"].get("standby_trip") or story["station"]["layout"] == "injection":
        return None
    story["entries"].remove(rows[1])
    return ("F3", "Y6"), [rows[1]["no"], rows[1]["no"] - 1, rows[1]["no"] + 1, rows[2]["no"]], True


def touched_first(story: Story, chance: Random) -> Hit | None:
    if story["kind"] != "yearly" or not of(story, "Y3"):
        return None
    row = chance.choice(of(story, "Y2", "Y3"))
    words = chance.choice(
        (
            "Shut-off exercised once by hand so that it would go.",
            "Pilot filters rinsed first.",
            "Bled the shut-off's cover before the run.",
            "Tapped the pilot to free it.",
            "Worked the shut-off up and down on its hand lever.",
        )
    )
    return ("as_found_not_first", "Y4", "Y5"), [after(story, row, words)], False


def wide_reset(story: Story, chance: Random) -> Hit | None:
    acts = [r for r in story["entries"] if any(d["verb"] == "reset" for d in r.get("did") or [])]
    if not acts or story["kind"] != "restart":
        return None
    row = acts[0]
    if chance.random() < 0.5:
        row["text"] = "Shut-off reset at full inlet to save time; T3 shot up and settled."
        return ("reset_unsafe", "R7", "R3"), [row["no"]], True
    first = story["entries"][1]
    row["did"] = [d for d in row.get("did") or [] if d["verb"] != "reset"]
    acts_ = [{"verb": "reset", "object": "shut-off", "detail": "by hand"}]
    return (
        ("reset_unsafe", "R3", "R4", "R7"),
        [after(story, first, "Reset it straight away, people had no water.", did=acts_)],
        True,
    )


def fast_fill(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "C2")
    if not rows:
        return None
    swap_words(rows[0], r"\d+(?:\.\d+)? (?:m|ft)/s", "0.9 m/s")
    return ("fill_too_fast", "C2", "V3"), [rows[0]["no"]], False


def high_bleed(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "C3", "C4") if reads(r, "T1")]
    if not rows:
        return None
    row = chance.choice(rows)
    read = reads(row, "T1")[0]
    value = round(story["station"]["inlet"] * 0.95, 1)
    row["text"] = (
        row["text"].replace(f"{read['value']:.1f}", f"{value:g}").replace(f"{read['value']:g}", f"{value:g}")
    )
    row["text"] = re.sub(r"T1 (still )?(was )?low", "T1", row["text"])
    read["value"] = value
    for act in row.get("did") or []:
        act["detail"] = act.get("detail", "").replace("T1 low", "")
    return ("bled_at_pressure", row["node"], "C3"), [row["no"]], False


def few_points(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "H4") if len(reads(r, "T3")) > 8]
    if not rows or provisional(story):
        return None
    row = rows[-1]
    flows = sorted({r["flow"] for r in reads(row)})[:3]
    row["readings"] = [r for r in reads(row) if r["flow"] in flows]
    row["text"] = "IV1 opened fully in stages over 9 min. Three points up and the same down."
    return ("flow_test_incomplete", "H4"), [row["no"]], False


LEFT_OUT = (
    "A6",
    "A7",
    "C3",
    "D3",
    "EF1",
    "G1",
    "G2",
    "G3",
    "H1",
    "H2",
    "H4",
    "E0",
    "B2",
    "J3",
    "C4",
    "Y3",
    "Y7",
    "R6",
    "R7",
)
LEFT_OUT_LATER = ("Y3", "Y7", "R6", "R7", "J3")
"""Steps that a visit to a station in service, or a restart, cannot do without."""


def left_out(story: Story, chance: Random) -> Hit | None:
    asked = LEFT_OUT if story["kind"] == "first" else LEFT_OUT_LATER
    present = [n for n in asked if of(story, n) and story["station"]["layout"] not in ("injection", "fire")]
    if of(story, "DS5") and "H1" in present:
        present.remove("H1")
    if not present or (story["kind"] == "first" and story["station"].get("standby_trip")):
        return None
    node = chance.choice(present)
    place = of(story, node)[0]["no"]
    drop(story, node)
    others = {"A7": ("as_found_not_first",), "R7": ("reset_unsafe",), "EF1": ("prediction_mismatch",)}.get(
        node, ()
    )
    return (node, *others, "D2" if node == "C3" else node), [place - 1, place, place + 1], False


def on_test(story: Story, chance: Random) -> Hit | None:
    acts = [r for r in story["entries"] if any(d["verb"] == "test_mode_off" for d in r.get("did") or [])]
    if not acts:
        return None
    row = acts[-1]
    story["entries"].remove(row)
    return ("J5", "Y8", "restore_missing", "A8"), [row["no"], row["no"] - 1, row["no"] + 1], False


def signed_wrong(story: Story, chance: Random) -> Hit | None:
    left = (story.get("sign_off") or {}).get("as_left") or {}
    names = [k for k in ("trip", "lockup", "duty") if isinstance(left.get(k), int | float)]
    if not names or story["kind"] == "restart":
        return None
    name = chance.choice(names)
    left[name] = round(left[name] * 0.9, 2)
    return ("K1",), [story["entries"][-1]["no"]], False


def air_left(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "C3", "C4")
    if not rows:
        return None
    row = rows[-1]
    row["text"] += chance.choice(
        (
            " Cover still spitting when we closed it.",
            " Stream not yet bubble-free, left it at that.",
            " Some air still coming at the pilot line.",
        )
    )
    return ("C3", "C4", "V10"), [row["no"]], False


def short_of_trip(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "ES3", "DS3") if reads(r, "T3")]
    if not rows or provisional(story):
        return None
    trip = story["station"]["trip"]
    for row in rows:
        for read in reads(row, "T3"):
            read["value"] = round(trip * 0.95, 2)
        swap_words(row, re.escape(f"{trip:g}"), f"{trip * 0.95:.2f}")
    return ("ES3", "DS3", "prediction_mismatch", "ES4"), [r["no"] for r in rows], False


def unread_arrival(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "R4")
    if not rows:
        return None
    for row in rows:
        row["readings"] = []
        row["positions"] = {}
        row["text"] = "Permits and gas as usual, tag right, alarm on test."
    return (
        ("R4", "R5", "R6", "as_found_not_first", "R3"),
        [r["no"] for r in of(story, "R4", "R5", "R6")],
        False,
    )


def cause_open(story: Story, chance: Random) -> Hit | None:
    if story["kind"] != "restart":
        return None
    for row in of(story, "R6", "R8", "R10", "J3"):
        row["text"] = {
            "R6": "Nothing in the log tells us why. Cause unknown.",
            "R8": "Cause unknown; back it goes.",
            "R10": "Closed out.",
        }.get(row["node"], row["text"].split(".")[0])
    return ("R8", "R6", "R10"), [r["no"] for r in of(story, "R6", "R8", "R10")], False


def left_alone(story: Story, chance: Random) -> Hit | None:
    rows = [
        r
        for r in story["entries"]
        if "defeated" in (verbs := [d["verb"] for d in r.get("did") or []]) and "restored" not in verbs
    ]
    if not rows:
        return None
    words = chance.choice(
        (
            "Both to the van for lunch, back after 40 min.",
            "All of us up at the depot for an hour.",
            "Nobody below between eleven and twelve.",
        )
    )
    return ("V8", "restore_missing"), [after(story, rows[0], words), rows[0]["no"]], False
