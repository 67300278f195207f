"""For every finding code of streams, relief, monitor and heated water a station that raises it."""

from __future__ import annotations

from tests.design.stations import Edit, after, branch, limit, part, section, top, without
from tests.design.way_stations import FIELD, MONITORED, PLANT, STAGED

LARGE = {"part": "relief", "id": "RL", "size": "DN 100", "kv": "Kv 60", "crack": "5.6 bar"}
BYPASS = {
    "id": "by", "role": "manual bypass", "locked_shut": "yes",
    "line": [{"part": "isolating_valve", "id": "BV", "size": "DN 50"}],
}  # fmt: skip


def _bypassed(data: dict[str, object]) -> None:
    group = next(p for p in data["line"] if p["id"] == "PG")  # type: ignore[attr-defined]
    group["branches"].append(dict(BYPASS))


def _no_shut_offs(data: dict[str, object]) -> None:
    without("SOA", "SOB")(data)


CASES: dict[str, tuple[str, tuple[Edit, ...]]] = {
    "LAY-32": (PLANT, (without("IVA1"),)),
    "LAY-33": (PLANT, (without("TDB"),)),
    "LAY-34": (PLANT, (branch("standby", locked_shut="yes"),)),
    "LAY-35": (PLANT, (branch("standby", role="duty"),)),
    "LAY-36": (PLANT, ()),
    "LAY-37": (PLANT, (part("RL", runs_to=None),)),
    "LAY-38": (PLANT, ()),
    "LAY-39": (PLANT, (_bypassed, section("station", fire_water="yes"))),
    "LAY-40": (MONITORED, ()),
    "LAY-42": (FIELD, ()),
    "LAY-43": (PLANT, (_no_shut_offs, section("station", kind="fire main"))),
    "LAD-43": (PLANT, ()),
    "LAD-44": (PLANT, ()),
    "LAD-45": (PLANT, (part("RVB", duty={"pressure": "4.75 bar", "flow": "0.4 L/s"}, lockup="4.85 bar"),)),
    "LAD-46": (FIELD, (part("LB", duty={"pressure": "67 psi", "flow": "60 gpm"}, lockup="70 psi"),)),
    "LAD-47": (FIELD, (part("LB", duty={"pressure": "65 psi", "flow": "60 gpm"}, lockup="68 psi"),)),
    "LAD-48": (FIELD, (part("LB", duty={"pressure": "60 psi", "flow": "60 gpm"}, lockup="63 psi"),)),
    "LAD-49": (FIELD, (without("SO", "RL"), limit(0, fault="120 psi", normal="120 psi"))),
    "LAD-50": (FIELD, (without("SO"),)),
    "LAD-51": (PLANT, (part("SOA", resets="by itself", dead_band="0.3 bar"),)),
    "LAD-52": (PLANT, (part("RL", crack="5.7 bar"),)),
    "LAD-53": (PLANT, ()),
    "LAD-54": (PLANT, (part("RL", crack="5.2 bar"),)),
    "LAD-55": (PLANT, ()),
    "LAD-56": (PLANT, ()),
    "LAD-57": (PLANT, ()),
    "LAD-58": (PLANT, (_no_shut_offs, part("RL", crack="5.6 bar"))),
    "LAD-59": (PLANT, (_no_shut_offs, part("RL", kv="Kv 60", size="DN 80", crack="5.5 bar", full="5.6 bar"))),
    "LAD-60": (MONITORED, (part("MON", duty={"pressure": "4.6 bar", "flow": "0.4 L/s"}, lockup="4.7 bar"),)),
    "LAD-61": (MONITORED, (after("T3", LARGE | {"crack": "5.4 bar"}),)),
    "LAD-62": (MONITORED, ()),
    "LAD-63": (MONITORED, ()),
    "LAD-64": (MONITORED, ()),
    "LAD-65": (STAGED, ()),
    "LAD-66": (STAGED, (part("SO", trip="118 psi"),)),
    "LAD-67": (STAGED, (limit(1, normal="100 psi"),)),
    "LAD-68": (PLANT, (without("EV"),)),
    "LAD-69": (PLANT, (part("EV", volume="50 L"),)),
    "LAD-70": (PLANT, (part("EV", volume="2000 L"),)),
    "LAD-71": (PLANT, (section("hot_water", safety_valve={"pressure": "6 bar", "level": "3 m"}),)),
    "LAD-72": (PLANT, (part("EV", precharge=None),)),
    "LAD-73": (PLANT, (top(hot_water=None),)),
    "LAD-74": (PLANT, (part("EV", precharge="5.2 bar"),)),
    "LAD-75": (PLANT, ()),
    "LAD-76": (FIELD, (part("LB", kv="Cv 0.5"),)),
    "LAD-77": (FIELD, (part("LB", size="8 in"),)),
    "LAD-78": (MONITORED, (top(alarm={"pressure": "5.0 bar", "error": "0.05 bar"}),)),
}
