"""A hand-made plan with plausible figures: papers are tested apart from the rooms that write plans."""

from __future__ import annotations

from steadyhead.findings import Amount
from steadyhead.records.plan_numbers import Band, InletOpening, PlanNumbers
from steadyhead.records.procedure import (
    BackOut,
    Choice,
    DrainUse,
    Expect,
    Hazard,
    Input,
    Message,
    Node,
    Otherwise,
    Procedure,
    TurnTable,
)
from steadyhead.units import UnitSet, say

BAR = 1e5


def m(words: str, **params: Amount | str | int) -> Message:
    return Message(words, params)


def speak(message: Message, units: UnitSet) -> str:
    """Messages of these tests carry their own words; amounts go in as the reader's units."""
    filled = {k: say(v.si, v.kind, units) if isinstance(v, Amount) else v for k, v in message.params.items()}
    return message.id.format(**filled)


def bar(value: float) -> Amount:
    return Amount("pressure", value * BAR)


IDENTIFY = Node(
    id="A5",
    title=m("Make sure this is the station"),
    needs={"all": []},
    do=(
        m("Compare plate, tag and lid with the first sheet of this plan."),
        m("Look at the flow arrow of every body. Compare pilots and springs with the drawing."),
    ),
    inputs=(Input("plate_matches", "yes_no", instrument="eye"), Input("photo", "photo")),
    otherwise=(
        Otherwise(
            {"is": ["plate_matches", False]},
            m("another plate, a reversed body or a strange spring"),
            m("the plan was not written for this pipework"),
            m("Stop. Call the desk. Write down what differs."),
        ),
    ),
    hazards=(
        Hazard(
            "confined space", m("Test the air from outside, top, middle and bottom. One person stays above.")
        ),
        Hazard("traffic", m("Lid in a road: closure and vehicle first.")),
    ),
    minutes=5,
)
RAISE = Node(
    id="F1.SO",
    title=m("Raise the outlet until the shut-off acts, first run"),
    needs={"all": ["D2", {"any": ["EF2.RV", "ES6.SO"]}]},
    do=(
        m("Let the drain trickle. See the water run."),
        m("Turn the reducer screw clockwise by an eighth of a turn."),
        m("Wait 10 s. Read T3. Write it down. Go on in such steps to {trip}.", trip=bar(5.2)),
        m("Stop turning the moment the shut-off moves."),
    ),
    inputs=(
        Input("T3_before", "pressure", "T3", "setting gauge", 60.0, 0.05 * BAR),
        Input("T3_at_action", "pressure", "T3", "setting gauge"),
        Input("closing_time", "time", "", "stopwatch"),
        Input("started", "time_of_day"),
        Input("seen", "text", "", "eye"),
    ),
    expect=(
        Expect(
            "T3_before",
            4.02 * BAR,
            4.31 * BAR,
            m("the trickle reading that belongs to duty"),
            4.16 * BAR,
            0.95,
        ),
        Expect(
            "T3_at_action",
            4.94 * BAR,
            5.46 * BAR,
            m("trip within its tolerance, gauge error in it"),
            5.2 * BAR,
            0.95,
        ),
        Expect("closing_time", 4.1, 8.2, m("stopwatch window at trickle"), 6.0),
    ),
    otherwise=(
        Otherwise(
            {"gt": ["T3_at_action", 5.46 * BAR]},
            m("T3 passes {edge} and nothing moves", edge=bar(5.46)),
            m("the shut-off does not protect"),
            m("Open the drain. Lower the reducer. Shut IV1. Do not go on."),
        ),
        Otherwise(
            {"lt": ["T3_at_action", 4.94 * BAR]},
            m("it acts below {edge}", edge=bar(4.94)),
            m("trip set low, a surge in the stiff section, or the gauge reads low"),
            m("Compare both gauges on one tap, then repeat with smaller steps."),
        ),
    ),
    back_out=(
        BackOut("shut-off open", m("Lower the reducer with water running. T3 follows.")),
        BackOut("shut-off shut", m("Shut IV1. Drain T3 below the reset. Reset by hand. Refill by trickle.")),
    ),
    hazards=(
        Hazard("pressure", m("This step raises T3 on purpose. IV2 is shut and proved, the drain runs.")),
        Hazard("surge", m("Keep clear of hose and drain when the shut-off closes.")),
    ),
    touches=("RV.screw",),
    proves=("trip, run 1",),
    depends_on=("SO.nut", "SO.sensing"),
    opens=("reducer raised above duty",),
    minutes=12,
    litres=240.0,
)
LOWER = Node(
    id="H1.RV",
    title=m("Bring the reducer back to duty"),
    needs={"all": ["F1.SO"]},
    do=(
        m("With water running, lower to {low}.", low=bar(3.6)),
        m("Raise to {high}. Tighten the nut. Read again.", high=bar(4.16)),
    ),
    inputs=(Input("T3", "pressure", "T3", "setting gauge", 60.0, 0.05 * BAR),),
    expect=(Expect("T3", 4.1 * BAR, 4.22 * BAR, m("the trickle reading, set from below"), 4.16 * BAR),),
    back_out=(BackOut("", m("Lower the reducer, open the drain.")),),
    restores=("reducer raised above duty",),
    minutes=8,
)
REST = tuple(
    Node(
        id=f"{letter}{n}",
        title=m(f"Step {letter}{n}"),
        needs={"all": ["A5"]},
        do=(m("Do it slowly."),),
        minutes=3,
    )
    for letter, n in (
        ("B", 1),
        ("B", 2),
        ("C", 1),
        ("C", 2),
        ("D", 1),
        ("D", 2),
        ("G", 1),
        ("J", 1),
        ("J", 2),
        ("K", 1),
    )
)
FACTORY = Node(
    id="EF2.RV",
    title=m("Watch at the tag's setting"),
    needs={"all": ["D2"]},
    do=(m("Watch for two minutes."),),
)
SET = Node(id="ES6.SO", title=m("Set on the line"), needs={"all": ["D2"]}, do=(m("Tighten the nut."),))
FACTORY_OR_SET = Choice(
    "E0.SO",
    m("does the tag of the shut-off fit the released design, and is the seal whole?"),
    (
        ("fits", m("It fits and the seal is whole"), ("EF2.RV",)),
        ("set", m("It does not, or nobody knows"), ("ES6.SO",)),
    ),
)
TABLES = (
    TurnTable(
        "RV",
        "spring on the plate",
        0.69 * BAR,
        (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75),
        {"T3": tuple(BAR * p for p in (4.08, 4.25, 4.42, 4.60, 4.77, 4.94, 5.11, 5.28))},
        7,
        5.31 * BAR,
    ),
    TurnTable(
        "RV",
        "twice as stiff",
        1.38 * BAR,
        (0.0, 0.25, 0.5, 0.75, 1.0),
        {"T3": tuple(BAR * p for p in (4.08, 4.42, 4.77, 5.11, 5.46)), "T2": (9.4 * BAR,) * 5},
        3,
        5.31 * BAR,
    ),
)
STOP_RULES = (
    "gas alarm", "the consumer side stands above its limit", "the shut-off has not acted at the upper edge",
    "T4 moves when it should not", "an instrument proves false", "water rises in the chamber",
    "the holder of the permit leaves", "plan and pipework do not match",
    "you cannot say what the next quarter turn will do",
)  # fmt: skip


def example(**changed: object) -> Procedure:
    early = [node for node in REST if node.id[0] in "BCD"]
    late = [node for node in REST if node.id[0] not in "BCD"]
    facts: dict[str, object] = {
        "id": "QUR-02-first-5e21",
        "kind": "first",
        "item": "",
        "station_id": "QUR-02",
        "station_name": "Quillenby Row",
        "datum": 96.0,
        "station_hash": "5e21c0ffee" * 6 + "abcd",
        "baseline_id": "",
        "engine_version": "0.1.0",
        "nodes": (IDENTIFY, *early, FACTORY, SET, RAISE, late[0], LOWER, *late[1:]),
        "choices": (FACTORY_OR_SET,),
        "invariants": (
            m("No consumer sees more than the alarm because of a test."),
            m("One change at a time."),
        ),
        "stop_rules": tuple(m(rule) for rule in STOP_RULES),
        "turn_tables": TABLES,
        "drain_budget": (DrainUse("F1.SO", "TD", 0.4e-3, 7200.0), DrainUse("H4", "TD", 9.2e-3, 2880.0)),
        "notes": (m("The trip window is open by {room}.", room=bar(0.12)),),
    }
    return Procedure(**{**facts, **changed})  # type: ignore[arg-type]


def numbers() -> PlanNumbers:
    return PlanNumbers(
        bands={"trickle.T3": Band(4.02 * BAR, 4.31 * BAR, 4.16 * BAR), "closing.time": Band(4.1, 8.2, 6.0)},
        trickle_flow=0.4e-3,
        inlet_opening={"outlet": InletOpening(0.08, 2.5, "TD", 5.2 * BAR, 5.46 * BAR)},
        test_limit={"outlet": 5.46 * BAR},
        good_gauges=("TG-1, 0 to 10 bar, ± 0.6 %",),
        poor_gauges=("TG-2, 0 to 16 bar, ± 1 %",),
    )
