"""Random stations with a shut-off, drawn wide enough that many have no trip window. All invented."""

from __future__ import annotations

import random
from collections.abc import Iterator

from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.rungs import Rungs, rungs
from steadyhead.design.twin import SteadyTwin
from steadyhead.station.load import from_data
from tests.design.stations import DOWNSTREAM, UPSTREAM, Data, data_of


def gauge(name: str, bar: float, accuracy: str, **more: str) -> dict[str, str]:
    """One gauge of a random station."""
    return {"id": name, "span": f"{bar} bar", "accuracy": accuracy, **more}


def random_data(draw: random.Random) -> Data:
    """Plain data of one random station; the order, units and what is stated vary."""
    data = data_of(draw.choice([UPSTREAM, DOWNSTREAM]))
    psi = draw.random() < 0.3

    def pressure(bar: float) -> str:
        return f"{bar * 14.5037738:.1f} psi" if psi else f"{bar:.2f} bar"

    duty = draw.uniform(1.5, 7.0)
    static = duty * draw.uniform(1.6, 4.0) + 1.0
    data["supply"] = {
        "min": pressure(0.75 * static), "typical": pressure(0.9 * static), "night": pressure(0.96 * static),
        "static": pressure(static), "main": data["supply"]["main"],
    }  # fmt: skip
    reducer = next(one for one in data["line"] if one["id"] == "RV")
    reducer["duty"] = {"pressure": pressure(duty), "flow": reducer["duty"]["flow"]}
    reducer.pop("lockup", None)
    if draw.random() < 0.5:
        reducer["lockup"] = pressure(duty + draw.uniform(0.1, 0.3))
    reducer["pilot"] = {"spring_low": "0.5 bar", "spring_high": "16 bar"}
    shut_off = next(one for one in data["line"] if one["id"] == "SO")
    shut_off["pilot"] = {"spring_low": "0.5 bar", "spring_high": "16 bar"}
    shut_off["trip"] = pressure(duty * draw.uniform(1.1, 1.4))
    shut_off["closing"] = {"time": f"{draw.uniform(2, 15):.1f} s", "flow": "0.4 L/s"}
    if draw.random() < 0.2:
        shut_off.pop("closing")
    if draw.random() < 0.3:
        shut_off["repeatability"] = pressure(draw.uniform(0.05, 0.3))
    data["zone"].update(
        volume=f"{10 ** draw.uniform(1.2, 3.0):.1f} m³",
        material=draw.choice(["PVC-U", "PE100", "ductile iron", "steel"]),
    )
    data["zone"].pop("bore_over_wall", None)
    datum = float(
        str(
            data["station"]["datum"]["value"]
            if isinstance(data["station"]["datum"], dict)
            else data["station"]["datum"]
        ).split()[0]
    )
    data["needs"] = [
        {"at": "hill", "pressure": pressure(max(duty - draw.uniform(0.5, 2.0), 0.1)), "level": f"{datum} m"}
    ]
    data["limits"] = [
        {
            "component": f"pipe {i}",
            "fault": pressure(duty * draw.uniform(1.3, 2.4)),
            "level": f"{datum - draw.uniform(-5, 25):.1f} m",
        }
        for i in range(draw.randint(1, 3))
    ]
    data["limits"].append(
        {"component": "between", "fault": "40 bar", "level": f"{datum} m", "side": "between"}
    )
    data["credited"] = [
        {
            "failure": "reducer drifts open",
            "within": f"{10 ** draw.uniform(1.0, 3.2):.0f} s",
            "at": draw.choice(["night flow", "average flow"]),
        }
    ]
    data["stacking"] = draw.choice(["worst case", "worst case", "root-sum-square"])
    if draw.random() < 0.3:
        data["tolerances"] = {"same_gauge": "no"}
    data["gauges"] = draw.choice([
        [],
        [gauge("TG-1", 16, "1.6 %", for_setting="yes")],
        [gauge("TG-1", 10, "1 %"), gauge("TG-2", 16, "0.6 %")],
    ])  # fmt: skip
    return data


def empty_windows(seed: int, number: int) -> Iterator[tuple[Basis, Rungs]]:
    """Yield random stations whose chosen stacking leaves no window."""
    draw = random.Random(seed)
    found = 0
    while found < number:
        station = from_data(random_data(draw)).station
        basis = Basis(station, SteadyTwin(station))
        now = rungs(basis)
        if chosen(now.ladder, station.stacking).verdict == "empty":
            found += 1
            yield basis, now
