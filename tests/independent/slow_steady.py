"""A slow, clear steady solver for one reducer and one shut-off, written apart from the product.

It is made from the written physics only (valve law, lift, isolating valve, friction, demand, pilot circuit,
chain from the consumer end to the supply) and imports nothing of the product. Nested plain bisections: for a
given stem the pressure at the consumer end that makes the chain start at the supply pressure; around it the
stem at which the pilot holds the diaphragm where it is. Cases are dictionaries of the case format.

Inside: Pa gauge, m³/s, m. Doors: bar, m³/h, stems as fraction of the stroke.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import log, pi, sqrt
from typing import Any

from tests.independent.case_format import DEFAULTS, FAULTS, first, merged

G = 9.81
BAR = 1e5
HOUR = 3600.0
DEEP = -200.0 * BAR  # below any pressure that means something; the chain has no root lower down
HALVINGS = 90
FEED_BLOCKED_KV = 1e-4


class NoSteadyState(Exception):
    """The imposed flow is more than the line can pass."""


def bisect(f: Callable[[float], float], low: float, high: float) -> float:
    """Return where a non-decreasing `f` changes sign between `low` and `high`."""
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if f(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def signed_root(u: float) -> float:
    return sqrt(u) if u >= 0.0 else -sqrt(-u)


def in_series(a: float, b: float) -> float:
    return 0.0 if a == 0.0 or b == 0.0 else a * b / sqrt(a * a + b * b)


def lift_characteristic(xi: float, b: float) -> float:
    return xi * sqrt((1.0 + b * b) / (1.0 + b * b * xi * xi))


@dataclass(frozen=True)
class Water:
    rho: float
    nu: float
    p_v: float
    p_a: float
    p_crit: float

    def si(self, kv: float) -> float:
        """Flow factor k of Q = k √dp from Kv."""
        return kv / HOUR / sqrt(BAR * self.rho / 1000.0)

    @property
    def critical_term(self) -> float:
        return (0.96 - 0.28 * sqrt(self.p_v / self.p_crit)) * self.p_v


def valve_flow(k: float, p1: float, p2: float, f_l: float, water: Water) -> float:
    dp = p1 - p2
    if dp <= 0.0:
        return -k * sqrt(-dp)
    most = f_l**2 * (p1 + water.p_a - water.critical_term)
    return k * sqrt(max(min(dp, most), 0.0))


def valve_inlet(k: float, q: float, p2: float, f_l: float, water: Water) -> float:
    square = (q / k) ** 2
    if q <= 0.0:
        return p2 - square
    return max(p2 + square, square / f_l**2 - water.p_a + water.critical_term)


def main_head_loss(main: Mapping[str, Any], q: float, water: Water) -> float:
    area = pi * main["D"] ** 2 / 4.0
    velocity = q / area
    reynolds = max(abs(velocity) * main["D"] / water.nu, 1.0)
    a = (2.457 * log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * main["rough"] / main["D"]))) ** 16
    b = (37530.0 / reynolds) ** 16
    f = 8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return float(f * main["L"] / main["D"] * velocity * abs(velocity) / (2.0 * G))


class Line:
    """One case, its numbers in SI."""

    def __init__(self, case: Mapping[str, Any]) -> None:
        self.case = case
        fluid = case["fluid"]
        self.water = Water(fluid["rho"], fluid["nu"], fluid["pv"], fluid["patm"], fluid["pcrit"])
        self.rho_g = self.water.rho * G
        si = self.water.si
        self.prv, self.osv = case["prv"], case["osv"]
        self.reducer_first = case["order"] == "prv_osv"
        self.p_supply = first(case["supply"]["p"]) * BAR
        self.k_dn = self._isolating(case["iso_dn"])
        strainer = si(case["strainer"]["kv"]) / sqrt(case["strainer"]["clog"])
        self.k_up = in_series(self._isolating(case["iso_up"]), strainer)
        demand = case["demand"]
        self.imposed = first(demand["q"]) / HOUR if demand["type"] == "flow" else None
        self.k_demand = 0.0 if self.imposed is not None else si(first(demand["kv"]))
        self.k_drain = 0.0 if demand["drain"] is None else si(first(demand["drain"]))
        lift_osv = self.osv["stuck"] if self.osv["stuck"] is not None else self.osv["x0"]
        self.k_osv = si(self.osv["kvs"]) * max(
            lift_characteristic(lift_osv, self.osv["b"]), self.osv["floor"]
        )
        prv = self.prv
        self.k_feed = si(prv["kv_feed"])
        if prv["filter"] is not None:
            self.k_feed = in_series(self.k_feed, si(prv["filter"]))
        self.p_set = prv["turn"] * max(first(prv["screw"]) - prv["n_free"], 0.0) * BAR
        self.feed_blocked = prv["kv_feed"] < FEED_BLOCKED_KV
        self.forced = first(prv["x_table"]) if prv["mode"] != "pilot" and prv["x_table"] is not None else None

    def _isolating(self, valve: Mapping[str, Any]) -> float:
        exponent, floor = valve.get("n", 1.5), valve.get("floor", 1e-5)
        return float(self.water.si(valve["kvs"]) * max(first(valve["open"]) ** exponent, floor))

    # Laws of the reducer.

    def k_seat(self, xi: float) -> float:
        prv = self.prv
        open_part = max(lift_characteristic(xi, prv["b"]), prv["floor"])
        return float(self.water.si(prv["kvs"]) * open_part + self.water.si(prv["leak"]))

    def pilot_opening(self, sensed: float) -> float:
        prv = self.prv
        if prv["y_stuck"] is not None:
            return float(prv["y_stuck"])
        if not prv["sense_open"] and prv["p_trapped"] is not None:
            sensed = prv["p_trapped"] * BAR
        return float(min(max((self.p_set - sensed) / (prv["band"] * BAR), 0.0), 1.0))

    def k_pilot(self, y: float) -> float:
        si, prv = self.water.si, self.prv
        k = si(prv["kv_pilot"]) * y
        if prv["kv_open"] is not None:
            k = in_series(k, si(prv["kv_open"]))
        return k + si(prv["tear"])

    def holding(self, y: float, p1: float, p2: float) -> float:
        feed, drain = self.k_feed**2, self.k_pilot(y) ** 2
        return (feed * p1 + drain * p2) / (feed + drain)

    def balance(self, xi: float, p1: float, p2: float) -> float:
        prv = self.prv
        spring = (prv["s0"] + prv["s1"] * xi) * BAR
        return float(p2 + (prv["r0"] - prv["r1"] * xi) * (p1 - p2) - spring)

    def reducer_inlet(self, xi: float, y: float, q: float, p2: float) -> float:
        """Return the inlet pressure at which seat and bleed together pass `q`."""
        seat, bleed = self.k_seat(xi), in_series(self.k_feed, self.k_pilot(y))
        if q <= 0.0:
            return p2 - (q / (seat + bleed)) ** 2
        f_l = self.prv["FL"]

        def short(p1: float) -> float:
            return valve_flow(seat, p1, p2, f_l, self.water) + bleed * signed_root(p1 - p2) - q

        free = p2 + (q / (seat + bleed)) ** 2  # not choked: one square root
        if short(free) >= -1e-12 * q:
            return free
        choked_seat_alone = valve_inlet(seat, q, p2, f_l, self.water)
        return bisect(short, free, max(choked_seat_alone, free) + 1.0)

    # The chain.

    def consumer_flow(self, p_end: float) -> float:
        if self.imposed is not None:
            return self.imposed
        if p_end <= 0.0:
            return 0.0
        return float(self.k_demand * sqrt(BAR) * (p_end / BAR) ** self.case["demand"]["n"])

    def drain_flow(self, p_out: float) -> float:
        return self.k_drain * sqrt(p_out) if p_out > 0.0 else 0.0

    def levels(self, main: str) -> float:
        """Return the pressure gained by level from the start to the end of a main."""
        start, end = self.case[main]["z"]
        return float(self.rho_g * (start - end))

    def chain(self, xi: float, p_end: float) -> dict[str, float]:
        """Return all pressures from the consumer end up to the supply needed."""
        q = self.consumer_flow(p_end)
        p_d = p_end - self.levels("down") + self.rho_g * main_head_loss(self.case["down"], q, self.water)
        p_out = p_d + q * abs(q) / self.k_dn**2
        q_station = q + self.drain_flow(p_out)
        if self.reducer_first:
            p_mid = valve_inlet(self.k_osv, q_station, p_out, self.osv["FL"], self.water)
            sensed = p_out if self.prv["sense"] in ("out", "p_out") else p_mid
            y = self.pilot_opening(sensed)
            p1, p2 = self.reducer_inlet(xi, y, q_station, p_mid), p_mid
            p_in = p1
        else:
            y = self.pilot_opening(p_out)
            p1, p2 = self.reducer_inlet(xi, y, q_station, p_out), p_out
            p_mid = p1
            p_in = valve_inlet(self.k_osv, q_station, p_mid, self.osv["FL"], self.water)
        p_u = p_in + q_station * abs(q_station) / self.k_up**2
        loss = self.rho_g * main_head_loss(self.case["up"], q_station, self.water)
        p_s = p_u - self.levels("up") + loss
        return {
            "q": q_station, "q_consumer": q, "p_end": p_end, "p_out": p_out, "p_mid": p_mid, "p_in": p_in,
            "p1": p1, "p2": p2, "y": y, "p_supply": p_s,
        }  # fmt: skip

    def at_stem(self, xi: float) -> dict[str, float] | None:
        """Return the chain that starts at the supply pressure; None where the line cannot pass the flow."""

        def need(p_end: float) -> float:
            return self.chain(xi, p_end)["p_supply"] - self.p_supply

        if need(DEEP) > 0.0:
            return None
        standing = self.p_supply + self.levels("up") + self.levels("down")
        return self.chain(xi, bisect(need, DEEP, max(standing, 0.0) + BAR))

    def pushes_shut(self, xi: float) -> float:
        """Return holding less balancing pressure: above zero the stem closes."""
        found = self.at_stem(xi)
        if found is None:
            return -1.0
        p1, p2 = found["p1"], found["p2"]
        return self.holding(found["y"], p1, p2) - self.balance(xi, p1, p2)

    # No water taken.

    def takes_water(self, p_out: float) -> bool:
        if self.imposed is not None:
            wanted = self.imposed > 0.0
        else:
            wanted = self.k_demand > 0.0 and p_out + self.levels("down") > 0.0
        return wanted or (self.k_drain > 0.0 and p_out > 0.0)

    def creeps(self) -> bool:
        prv = self.prv
        trapped_low = (
            not prv["sense_open"] and prv["p_trapped"] is not None and prv["p_trapped"] * BAR < self.p_set
        )
        pilot_stuck_open = prv["y_stuck"] is not None and prv["y_stuck"] > 0.0
        debris = prv["x_min"] > 0.0 or (self.forced is not None and self.forced > 0.0)
        return (
            prv["leak"] > 0.0
            or debris
            or prv["tear"] > 0.0
            or pilot_stuck_open
            or trapped_low
            or self.feed_blocked
        )

    def standing(self) -> dict[str, Any] | None:
        """Return the state with no flow, or None where something takes water at that pressure."""
        p_in = self.p_supply + self.levels("up")
        creeps = self.creeps()
        p_out = p_in if creeps else min(self.p_set, p_in)
        if self.takes_water(p_out):
            return None
        p_mid = p_out if self.reducer_first else p_in
        return {
            "q": 0.0, "p_end": p_out + self.levels("down"), "p_out": p_out, "p_mid": p_mid, "p_in": p_in,
            "p1": p_in, "p2": p_out, "y": self.pilot_opening(p_out), "xi": 0.0,
            "state": "creep" if creeps else "lock-up",
        }  # fmt: skip

    def solve(self) -> dict[str, Any]:
        still = self.standing()
        if still is not None:
            return still
        if self.forced is not None:
            return self._found(self.forced, "open")
        if self.feed_blocked:
            return self._found(1.0, "ratchet")
        least = self.prv["x_min"]
        if self.pushes_shut(least) >= 0.0:
            return self._found(least, "closed")
        if self.pushes_shut(1.0) <= 0.0:
            return self._found(1.0, "open")
        low, high = least, 1.0
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if middle in (low, high):
                break
            if self.pushes_shut(middle) < 0.0:
                low = middle
            else:
                high = middle
        found = self._found(high, "regulating")
        if found["y"] >= 1.0:
            found["state"] = "open"
        return found

    def _found(self, xi: float, state: str) -> dict[str, Any]:
        found = self.at_stem(xi)
        if found is None:
            raise NoSteadyState(f"{self.imposed} m³/s")
        return {**found, "xi": xi, "state": state}


def _case(args: Mapping[str, Any]) -> dict[str, Any]:
    return merged(DEFAULTS, args.get("station", {}))


def steady_state(args: Mapping[str, Any]) -> dict[str, Any]:
    """Return the steady reading of a case in the units of the format."""
    return _told(Line(_case(args)))


def _told(line: Line) -> dict[str, Any]:
    found, water = line.solve(), line.water
    p1, p2, xi = found["p1"], found["p2"], found["xi"]
    above_vapour = p1 + water.p_a - water.p_v
    x_f = (p1 - p2) / above_vapour
    most = line.prv["FL"] ** 2 * (p1 + water.p_a - water.critical_term)
    return {
        "Q": found["q"] * HOUR,
        "p_in": found["p_in"] / BAR,
        "p_mid": found["p_mid"] / BAR,
        "p_out": found["p_out"] / BAR,
        "p_end": found["p_end"] / BAR,
        "p_chamber": line.holding(found["y"], p1, p2) / BAR,
        "lift": xi,
        "y": found["y"],
        "state": found["state"],
        "xF": x_f,
        "sigma": 1.0 / x_f if x_f != 0.0 else float("inf"),
        "choked": found["q"] > 0.0 and p1 - p2 >= most,
        "choked_by": abs(p1 - p2 - most) / BAR,
        "incipient": x_f >= line.prv["xFz"],
        "incipient_by": abs(x_f - line.prv["xFz"]),
    }


def steady_curve(args: Mapping[str, Any]) -> dict[str, Any]:
    """Return steady readings for a list of demands."""
    rows = []
    for kv in args["demand_kv"]:
        case = merged(_case(args), {"demand": {"type": "orifice", "kv": [[0, float(kv)]]}})
        rows.append(_told(Line(case)))
    return {key: [row[key] for row in rows] for key in rows[0]}


def fault_signature(args: Mapping[str, Any]) -> dict[str, Any]:
    """Return the static part of a fault's signature."""
    case = merged(_case(args), FAULTS.get(args["fault"], {}))
    curve = steady_curve({"station": case, "demand_kv": args["demand_kv"]})
    osv = case["osv"]
    felt = curve["p_out"] if osv["sense_open"] else [osv["p_trapped"]] * len(curve["p_out"])
    told = {key: curve[key] for key in ("Q", "lift", "state", "p_in", "p_mid", "p_out")}
    return told | {"would_trip": [pressure >= osv["trip"] for pressure in felt]}


def envelope(args: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the valve alone does over inlet pressure (outer) and flow (inner)."""
    line = Line(_case(args))
    rows = [
        _valve_alone(line, p_in * BAR, q / HOUR, args.get("lift_min", 0.03))
        for p_in in args["p_in"]
        for q in args["Q"]
    ]
    return {key: [row[key] for row in rows] for key in rows[0]}


def _outlet_at(line: Line, xi: float, p1: float) -> tuple[float, float]:
    """Return the outlet pressure at which the stem rests at `xi`, and the pilot's opening there."""

    def pushes_shut(p2: float) -> float:
        return line.holding(line.pilot_opening(p2), p1, p2) - line.balance(xi, p1, p2)

    top = min(line.p_set, p1)
    p2 = bisect(pushes_shut, DEEP, top)
    return p2, line.pilot_opening(p2)


def _valve_alone(line: Line, p1: float, q: float, lift_min: float) -> dict[str, Any]:
    water, f_l = line.water, line.prv["FL"]

    def excess(xi: float) -> float:
        return valve_flow(line.k_seat(xi), p1, _outlet_at(line, xi, p1)[0], f_l, water) - q

    starved = False
    if excess(1.0) < 0.0:
        xi, starved = 1.0, True
        p2 = p1 - (q / line.k_seat(1.0)) ** 2
        y = 1.0
    else:
        xi = bisect(excess, line.prv["x_min"], 1.0)
        p2, y = _outlet_at(line, xi, p1)
    choked_short = starved and valve_flow(line.k_seat(1.0), p1, DEEP, f_l, water) < q
    if choked_short or p2 + water.p_a < water.p_v:
        return {"code": "open", "lift": 1.0, "p2": None, "xF": None}
    x_f = (p1 - p2) / (p1 + water.p_a - water.p_v)
    most = f_l**2 * (p1 + water.p_a - water.critical_term)
    if starved or y >= 1.0:
        code = "open"
    elif p1 - p2 >= most:
        code = "choked"
    elif x_f >= line.prv["xFz"]:
        code = "cavitation"
    elif xi < lift_min:
        code = "low_flow"
    else:
        code = "regulating"
    return {"code": code, "lift": xi, "p2": p2 / BAR, "xF": x_f}


def setting_procedure(args: Mapping[str, Any]) -> dict[str, Any]:
    """Return gauge readings of a sequence of steps, quasi-steady, with memory of trapped pressure."""
    base = _case(args)
    now: dict[str, Any] = {
        "prv_turns": first(base["prv"]["screw"]),
        "osv_turns": args["osv_turns0"],
        "demand_kv": first(base["demand"]["kv"]) if base["demand"]["type"] == "orifice" else 0.0,
        "drain_kv": 0.0,
    }
    p_out, tripped = args.get("p0", 0.0), False
    rows = []
    for step in args["steps"]:
        now |= {key: value for key, value in step.items() if key != "reset"}
        if step.get("reset"):
            tripped = False
        change = {
            "prv": {"screw": [[0, now["prv_turns"]]]},
            "demand": {"type": "orifice", "kv": [[0, now["demand_kv"]]], "drain": [[0, now["drain_kv"]]]},
        }
        trip = base["osv"]["turn"] * now["osv_turns"]
        q, p_in, p_out, tripped = _one_setting(Line(merged(base, change)), p_out, trip, tripped)
        rows.append(
            {
                "Q": q,
                "p_in": p_in,
                "p_out": p_out,
                "trip": trip,
                "margin": trip - p_out,
                "tripped": tripped,
                "osv_closed_switch": tripped,
            }
        )
    return {key: [row[key] for row in rows] for key in rows[0]}


def _one_setting(line: Line, before: float, trip: float, tripped: bool) -> tuple[float, float, float, bool]:
    p_static = (line.p_supply + line.levels("up")) / BAR
    running = line.k_demand > 0.0 or line.k_drain > 0.0
    if tripped:
        return 0.0, p_static, (0.0 if running else before), True
    if running:
        told = _told(line)
        if told["p_out"] < trip:
            return told["Q"], told["p_in"], told["p_out"], False
        return 0.0, p_static, 0.0, True
    still = line.standing()
    assert still is not None
    risen = max(before, still["p_out"] / BAR)
    if risen < trip:
        return 0.0, p_static, risen, False
    return 0.0, p_static, max(before, trip), True


SCENARIOS: dict[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "steady_state": steady_state,
    "steady_curve": steady_curve,
    "envelope": envelope,
    "setting_procedure": setting_procedure,
    "fault_signature": fault_signature,
}
