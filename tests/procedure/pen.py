"""Writes entries about the kettle, as one or two tablets would."""

from __future__ import annotations

from typing import Any

Made = dict[str, Any]


class Pen:
    """Writes entries, one device at a time."""

    def __init__(self) -> None:
        self.made: list[Made] = []
        self.second = 0
        self.numbers = {"d1": 0, "d2": 0}

    def write(
        self, kind: str, node: str, payload: Made, device: str = "d1", wait: int = 60, **more: Any
    ) -> Made:
        self.second += wait
        self.numbers[device] += 1
        hour, rest = divmod(self.second, 3600)
        entry = {
            "id": f"{device}-{self.numbers[device]:03d}", "run": "r", "node": node, "device": device,
            "device_seq": self.numbers[device], "kind": kind, "payload": payload, "who": "Ilse",
            "t_device": f"2027-04-14T{8 + hour:02d}:{rest // 60:02d}:{rest % 60:02d}+01:00", **more,
        }  # fmt: skip
        self.made.append(entry)
        return entry

    def read(self, node: str, name: str, value: float, quantity: str = "pressure", **more: Any) -> Made:
        payload = {
            "input": name, "quantity": quantity, "value": value, "tap": "T", "instrument": "G1", "flow": 0.0,
            "steady_for": 60.0, "steady_within": 500.0,
        }  # fmt: skip
        return self.write("reading", node, {**payload, **more})

    def see(self, node: str, name: str, value: Any) -> Made:
        return self.write("observation", node, {"input": name, "value": value})

    def do(self, act: str, thing: str = "", node: str = "", **more: Any) -> Made:
        return self.write("action", node, {"do": act, **({"thing": thing} if thing else {})}, **more)


def gauge(name: str = "G1", error: float = 0.001, due: str = "2027-04-14") -> Made:
    return {"name": name, "low": 0.0, "high": 1.0e6, "class": error, "due": due, "quantity": "pressure"}


def clean(pen: Pen) -> dict[str, Made]:
    """Write a clean run of the weak way; return its entries by name."""
    made = {"gauge": pen.write("instrument", "", gauge()), "ok": pen.see("A", "ok", True)}
    made["choice"] = pen.write("choice", "Q", {"choice": "Q", "option": "weak"})
    made["why"] = pen.see("Q", "why", "one cup")
    made["first"] = pen.read("P", "first", 1.0e5)
    made["second"] = pen.read("P", "second", 1.005e5)
    made["heat"] = pen.read("B1", "heat", 3.5e5)
    made["shut"] = pen.see("C", "shut", True)
    made["seen"] = pen.see("C", "seen", "dry")
    made["a"] = pen.read("D", "a", 1.5, "length")
    made["b"] = pen.read("D", "b", 2.5, "length")
    made["tick"] = pen.do("tick", node="E")
    return made
