"""What happened in the example year, station by station; all of it invented."""

from __future__ import annotations

from collections.abc import Callable

from steadyhead.services.example_year.teller import RESTART, Teller, picture


def quillenby_row(tell: Teller) -> None:
    """A first visit, and its yearly proof a week ago: all in order."""
    key = tell.added(372, "quillenby-row", "new station, file of the design office")
    tell.served(370, key)
    tell.released(368, key)
    run = tell.visited(360, key, "first", purpose="commissioning after renewal", with_paper=True)
    tell.fitted(360, key, run)
    tell.laid(359, key, "gauge TG-07.png", picture("TG-07"), "gauge TG-07 at the last run", "photo")
    tell.did(180, key, "strainer_clean", "ST", found="some", note="coarse sand, a cupful")
    for days, activity, place in (
        (95, "ladders", ""), (40, "fire_look", ""), (40, "fire_part", ""), (30, "strainer_reading", "ST"),
        (30, "gauges_compared", ""), (8, "isolating_travel", "IV1"), (8, "pilot_filter", "RV"),
        (8, "pilot_filter", "SO"), (8, "look", ""),
    ):  # fmt: skip
        tell.did(days, key, activity, place)
    tell.visited(7, key, "yearly", purpose="yearly proof")


def quernhollow_lane(tell: Teller) -> None:
    """A strainer that fills, and a screw that was turned after its proof."""
    key = tell.added(350, "quernhollow-lane", "taken over from the drawings")
    tell.served(349, key)
    tell.released(345, key)
    tell.visited(330, key, "first", purpose="commissioning, all valves and pilots renewed")
    tell.noted(300, key, "Key of the lid is at the depot since the road works.", "where the key is")
    for days, ratio in ((120, 1.1), (70, 1.9), (64, 4.1)):
        tell.did(
            days, key, "strainer_reading", "ST", ratio=ratio, note="loss at one flow over that when clean"
        )
    tell.did(63, key, "strainer_clean", "ST", found="much", note="1.9 kg of sand after mains work upstream")
    turned = {"do": "lower", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}
    tell.visited(
        9,
        key,
        "return-to-service",
        purpose="shut for a day for the neighbour's connection",
        signs=False,
        share=0.6,
        more=(("action", turned), ("note", {"text": "trip felt high, gave the screw a quarter"})),
    )


def veldany_house(tell: Teller) -> None:
    """Pieces with their serial numbers, a paper struck out, and no visit yet."""
    key = tell.added(60, "veldany-house", "new plant room")
    tell.served(58, key)
    tell.released(56, key)
    why = "as delivered with the valve"
    tell.fitted_in(54, key, "SOA.pilot", "P-20417", "pilot, range 3 to 9 bar", why)
    tell.fitted_in(54, key, "SOB.pilot", "P-20418", "pilot, range 3 to 9 bar", why)
    wrong = tell.laid(40, key, "permit.txt", b"permit for another house\n", "permit of the owner", "permit")
    tell.struck(39, key, wrong, "belongs to another house")


def dunmarrow_bottom(tell: Teller) -> None:
    """A trip at night, and the restart on the next day."""
    key = tell.added(320, "dunmarrow-bottom", "file of the design office")
    tell.served(319, key)
    tell.released(316, key)
    tell.visited(300, key, "first", purpose="commissioning")
    tell.tripped(120, key, 2, 47, "SO", "High alarm 16 minutes before. Zone held by the other feed.")
    run = tell.visited(119, key, "restart", way=RESTART, purpose="restart after the trip at night", ahead=0)
    tell.fitted(119, key, run)
    tell.laid(
        118, key, "desk log.txt", b"02:31 high alarm\n02:47 shut-off reached closed\n", "log of the desk"
    )
    for days, activity, place in ((90, "ladders", ""), (60, "strainer_reading", "ST"), (12, "look", "")):
        tell.did(days, key, activity, place)


def fenwarren_gate(tell: Teller) -> None:
    """A design that was changed after the proof."""
    key = tell.added(290, "fenwarren-gate", "file of the design office")
    tell.served(288, key)
    tell.released(286, key)
    tell.visited(270, key, "first", purpose="commissioning")
    tell.changed(20, key, "static: {value: 9.9 bar", "static: {value: 10.3 bar", "tank on the ridge raised")


def orrowby_mill(tell: Teller) -> None:
    """Upkeep put off with its reason."""
    key = tell.added(400, "orrowby-mill", "file of the works")
    tell.served(398, key)
    tell.released(396, key)
    tell.visited(390, key, "first", purpose="commissioning")
    tell.did(380, key, "strainer_clean", "ST", found="clean")
    tell.deferred(
        10,
        key,
        "strainer_clean",
        "ST",
        40,
        reason="rinse line runs until the stop of the works",
        risk="loss over the strainer grows",
        measure="loss read each week",
        approver="shift engineer",
    )


def pinnock_yard(tell: Teller) -> None:
    """A visit that is due again, and was forgotten."""
    key = tell.added(430, "pinnock-yard", "file of the works")
    tell.served(428, key)
    tell.visited(410, key, "first", purpose="commissioning")
    tell.noted(150, key, "The vats on the gallery were painted.", "nothing of the design")


def sorrel_flat(tell: Teller) -> None:
    """A first visit that was begun yesterday."""
    key = tell.added(60, "sorrel-flat", "file of the water users")
    tell.served(58, key)
    tell.released(55, key)
    tell.visited(1, key, "first", purpose="spring start", signs=False, share=0.55)


def mesquill_flat(tell: Teller) -> None:
    """Shut by its shut-off since this morning."""
    key = tell.added(200, "mesquill-flat", "file of the water users")
    tell.served(198, key)
    tell.released(190, key)
    tell.tripped(0, key, 5, 12, "SO", "Two turnouts called: no water.")


def tarnholt_quay(tell: Teller) -> None:
    """A fire main with papers of the authority and no visit yet."""
    key = tell.added(90, "tarnholt-quay", "file of the harbour")
    tell.released(85, key)
    tell.laid(
        84,
        key,
        "answer of the fire authority.txt",
        b"No shut-off in a fire main. File 12.\n",
        "answer of the fire authority",
        "letter",
    )
    tell.laid(80, key, "valve house.png", picture("valve house"), "valve house, door to the sea", "photo")


def hobble_end(tell: Teller) -> None:
    """A design that asks and stops: nothing can be planned yet."""
    tell.added(30, "hobble-end", "as found on an old drawing")


STORIES: tuple[tuple[str, Callable[[Teller], None]], ...] = (
    ("Quillenby Row", quillenby_row),
    ("Quernhollow Lane", quernhollow_lane),
    ("Veldany House", veldany_house),
    ("Dunmarrow Bottom", dunmarrow_bottom),
    ("Fenwarren Gate", fenwarren_gate),
    ("Orrowby Mill", orrowby_mill),
    ("Pinnock Yard", pinnock_yard),
    ("Sorrel Flat 3", sorrel_flat),
    ("Mesquill Flat 7", mesquill_flat),
    ("Tarnholt Quay", tarnholt_quay),
    ("Hobble End", hobble_end),
)
"""The stations of the year, and what happened there."""
