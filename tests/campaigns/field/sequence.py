"""One sequence of entries, syncs and faults on two devices in Node, and what does not hold after it."""

from __future__ import annotations

import json
import random
import shutil
import time
from base64 import b64encode
from collections import Counter
from pathlib import Path
from typing import Any

from tests.campaigns.field.holding import Told, amiss, look
from tests.campaigns.field.house import COUNT, INPUT, STEP, TAP, House, pack_of, run_name
from tests.campaigns.field.line import KILLS, PHOTO_FAULTS, Line
from tests.campaigns.field.node_device import Gone, NodeDevice
from tests.campaigns.field.picture import picture
from tests.services.field.light import KEY

LINE_FAULTS = {
    "server killed before its commit": KILLS[:3],
    "server killed after its commit": KILLS[3:],
    "answer lost": ("answer lost", "answer cut", "request lost"),
    "request repeated": ("request repeated", "request repeated late"),
    "slow line": ("slow", "server busy"),
}
"""What goes wrong on the way, and as what it strikes a sync."""
KILLED_ON_ITS_WAY = "server killed with a photo on its way"
OWN_FAULTS = (
    "device killed", "tab closed", "two devices at one step", "one id with two contents",
    "clock wrong by hours", "storage full", "login expired", "photo sent later",
)  # fmt: skip
FAULTS = (*OWN_FAULTS, *LINE_FAULTS)
COUNTED = (*FAULTS, KILLED_ON_ITS_WAY)
"""What must have struck often in a whole campaign."""
TRAPS = ("before commit", "amid commit", "after commit")
VALUES = {"one": ("0", 0.0), "two": ("2.5", 250e3)}
"""What two devices read of one tap, one inside its band: as typed in bar, and in Pa."""
PHOTOS = 0.25
"""Share of entries that are photos. [1]"""
ROUNDS = 8
"""How often each device sends at the end, at most. [1]"""
ANOTHER_TAB = 75.0
"""How long another tab may be at a request of its own: somewhat more than the sender's patience. [s]"""


class Sequence:
    """Two devices, one visit, and the faults that are drawn for it."""

    def __init__(
        self,
        house: House,
        line: Line,
        modules: Path,
        folder: Path,
        pack: dict[str, Any],
        seed: int,
        number: int,
    ) -> None:
        self.chance = random.Random(seed)
        self.house, self.line = house, line
        self.house.open()
        self.run = run_name(number)
        self.folder = folder
        self.met: Counter[str] = Counter()
        self.totals: Counter[str] = Counter()
        self.acts = 0
        self.conflicts: list[str] = []
        self.wrong: list[str] = []
        self.told = Told(own=set(pack_of(pack, number)["entries"]))
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        self.devices = [self._device(name, modules, pack_of(pack, number)) for name in VALUES]

    def _device(self, name: str, modules: Path, pack: dict[str, Any]) -> NodeDevice:
        given = self.folder / f"{name}.json"
        more = {
            "disk": str(self.folder / f"{name}.disk"), "modules": modules.as_uri(), "key": KEY,
            "run": self.run,
            "address": self.line.address, "pack": pack, "who": f"Tam Oduya {name}",
            "hasLocks": self.chance.random() < 0.5,
        }  # fmt: skip
        given.write_text(json.dumps(more), "utf-8")
        return NodeDevice(name, modules, given, cookie=self.house.sign_in(name))

    def play(self, faults: list[str]) -> list[str]:
        """Play it through and return what does not hold at the end."""
        self.line.calm()
        self.line.met.clear()
        before = self.line.syncs
        try:
            self._play(faults)
            self._calm()
            self._look()
        finally:
            for one in self.devices:
                if one.is_open:
                    one.kill()
        self.totals["syncs"] += self.line.syncs - before
        for name, ways in LINE_FAULTS.items():
            self.met[name] += sum(self.line.met.get(way, 0) for way in ways)
        self.met[KILLED_ON_ITS_WAY] += sum(self.line.met.get(f"photo, {way}", 0) for way in KILLS)
        return self.wrong

    def _play(self, faults: list[str]) -> None:
        acts: list[str] = [
            *dict.fromkeys(faults),
            *["add"] * self.chance.randint(3, 5),
            "photo",
            *["send"] * 3,
        ]
        self.chance.shuffle(acts)
        for act in acts:
            device = self.chance.choice(self.devices)
            if not self.house.is_open and self.chance.random() < 0.6:
                self.house.open()
            try:
                self._up(device)
                self._do(act, device)
            except Gone:
                self._gone(device)

    def _do(self, act: str, device: NodeDevice) -> None:
        if act in LINE_FAULTS:
            self.house.open()
            self.line.faults.append(self.chance.choice(LINE_FAULTS[act]))
            self.add(device)
            self.send(device)
        else:
            getattr(self, act.replace(" ", "_"))(device)

    def _up(self, device: NodeDevice) -> None:
        """Let a device be open, with one tab or two."""
        if not device.is_open:
            device.open()
        if not device.tabs or (len(device.tabs) < 2 and self.chance.random() < 0.2):
            device.open_tab()

    def _gone(self, device: NodeDevice) -> None:
        if device.is_open:
            device.kill()
        else:
            device.over()

    # what people do

    def add(self, device: NodeDevice, *, waits: bool = True) -> Any:
        """Enter a photo, or one to three notes; whether it was kept, or the number it is asked under."""
        if self.chance.random() < PHOTOS:
            return self.photo(device, waits=waits)
        drafts = [self._note(device) for _ in range(self.chance.randint(1, 3))]
        tab = self.chance.choice(device.tabs)
        asked = device.begin(tab, "add", drafts=drafts)
        return device.end(asked)["kept"] if waits else asked

    def photo(self, device: NodeDevice, *, waits: bool = True) -> Any:
        """Take a photo; whether it was kept, or the number under which it is asked."""
        self.acts += 1
        told = {"base64": b64encode(picture(self.chance)).decode(), "name": f"act-{self.acts}.png"}
        asked = device.begin(self.chance.choice(device.tabs), "photo", **told)
        return device.end(asked)["kept"] if waits else asked

    def photo_sent_later(self, device: NodeDevice) -> None:
        """Take photos while there is no signal, and let the way of one to the server go wrong later."""
        self.line.is_cut = True
        try:
            kept = [self.photo(device) for _ in range(self.chance.randint(1, 2))]
            self.send(device)
        finally:
            self.line.is_cut = False
        self.house.open()
        self.line.photo_faults.append(self.chance.choice(PHOTO_FAULTS))
        self.send(device)
        self.met["photo sent later"] += any(kept)

    def _note(self, device: NodeDevice) -> dict[str, Any]:
        self.acts += 1
        return {"kind": "note", "payload": {"text": f"{self.run} {device.name} act {self.acts}"}, "node": ""}

    def send(self, device: NodeDevice, tab: str = "") -> dict[str, Any]:
        """Send once; where it does not go through, the device comes back to it by itself."""
        found: dict[str, Any] = device.ask(tab or self.chance.choice(device.tabs), "send")
        self._differs(device, found)
        return found

    def _differs(self, device: NodeDevice, found: dict[str, Any]) -> None:
        if found["differs"]:
            self.wrong.append(f"the server finds another verdict on {device.name}: {found['differs']}")

    # what goes wrong

    def device_killed(self, device: NodeDevice) -> None:
        """End its process by SIGKILL: amid an entry, at a point of its commit, or amid a sync."""
        way = self.chance.randrange(3)
        if way == 0:
            device.ask("", "trap", where=self.chance.choice(TRAPS))
            try:
                self.add(device)
            except Gone:
                device.over()
        else:
            tab = self.chance.choice(device.tabs)
            if way == 1:
                for _ in range(self.chance.randint(1, 4)):
                    self.add(device, waits=False)
            else:
                self.add(device)
                device.begin(tab, "send")
            time.sleep(self.chance.uniform(0.0, 0.03))
            device.kill()
        self.met["device killed"] += not device.is_open

    def tab_closed(self, device: NodeDevice) -> None:
        """Close a tab amid an entry or a sync."""
        tab = self.chance.choice(device.tabs)
        if self.chance.random() < 0.5:
            device.begin(tab, "add", drafts=[self._note(device) for _ in range(3)])
        else:
            self.add(device)
            device.begin(tab, "send")
        time.sleep(self.chance.uniform(0.0, 0.02))
        device.close_tab(tab)
        self.met["tab closed"] += 1

    def two_devices_at_one_step(self, device: NodeDevice) -> None:
        """Let both read one tap, each otherwise."""
        for one in self.devices:
            self._up(one)
            typed, value = VALUES[one.name]
            payload = {
                "input": INPUT, "quantity": "pressure", "tap": TAP, "value": value, "typed": typed,
                "unit": "bar",
                "steady_for": 60, "steady_within": 5000, "instrument": "TG-1",
            }  # fmt: skip
            draft = {"kind": "reading", "payload": payload, "node": STEP}
            kept = one.ask(one.tabs[0], "add", drafts=[draft])["kept"]
            if not kept:
                return  # its storage is full: it was never shown as kept
        self.conflicts.append("one step")
        self.met["two devices at one step"] += 1

    def one_id_with_two_contents(self, device: NodeDevice) -> None:
        """Let the other device hold an entry of this one with another content, as from a changed file."""
        self.add(device)
        mine = [line for line in device.kept if json.loads(line)["device"] != "tab-1"]
        if not mine:
            return
        other = next(one for one in self.devices if one is not device)
        self._up(other)
        changed = json.dumps(json.loads(self.chance.choice(mine)) | {"who": "Somebody Else"}, sort_keys=True)
        self.told.made.append(changed)
        other.ask(other.tabs[0], "take", lines=[changed])
        self.conflicts.append("one id")
        self.met["one id with two contents"] += 1

    def clock_wrong_by_hours(self, device: NodeDevice) -> None:
        """Set the clock hours off, enter and send, and mostly set it back."""
        self._set_clock(device, 3.6e6 * self.chance.choice((-30, -7, -2, 1, 5, 26)))
        self.add(device)
        self.send(device)
        if self.chance.random() < 0.3:
            device.kill()
            self._up(device)
        if self.chance.random() < 0.7:
            self._set_clock(device, 0.0)
        self.add(device)
        self.met["clock wrong by hours"] += 1

    def _set_clock(self, device: NodeDevice, shift: float) -> None:
        device.shift = shift
        for tab in device.tabs:
            device.ask(tab, "set", shift=shift)

    def storage_full(self, device: NodeDevice) -> None:
        """Let the disk be full: what it does not take is not shown as kept."""
        is_late = self.chance.random() < 0.5
        device.ask("", "room", bytes=self.chance.choice((0, 100, 900)), isLate=is_late)
        kept = [self.add(device) for _ in range(3)]
        self.met["storage full"] += not all(kept)
        if self.chance.random() < 0.5:
            self.send(device)
        way = self.chance.random()
        if way < 0.4:
            device.ask("", "room")
            self.add(device)
        elif way < 0.7:
            device.kill()

    def login_expired(self, device: NodeDevice) -> None:
        """Let the session end amid the visit, go on, and sign in again later."""
        self.house.open()
        self.house.sign_out(device.name)
        is_plain = not self.line.faults
        self.add(device)
        tab = self.chance.choice(device.tabs)
        device.ask(tab, "set", pace=1)
        found = self.send(device, tab)
        if found["state"] not in ("signed out", "elsewhere"):
            # it may have waited for one that was on its way, from before the session ended and in a hurry
            found = self.send(device, tab)
        device.ask(tab, "set", pace=100)
        if is_plain and found["state"] not in ("signed out", "elsewhere", "no answer"):
            self.wrong.append(f"signed out, and told {found['state']}: {found['words']} {found['problem']}")
        self.met["login expired"] += found["state"] == "signed out"
        self.add(device)
        self._sign_in(device)

    def _sign_in(self, device: NodeDevice) -> None:
        self.house.open()
        device.cookie = self.house.sign_in(device.name)
        for tab in device.tabs:
            device.ask(tab, "set", cookie=device.cookie)

    # the end

    def _calm(self) -> None:
        """Let all be well again, and every device send until both hold the same."""
        self.line.calm()
        self.house.trap_off()
        self.house.open()
        for device in self.devices:
            if device.is_open:
                try:
                    device.ask("", "room")
                    device.ask("", "trap", where="")
                    for tab in device.tabs:
                        device.ask(tab, "set", pace=1)
                except Gone:
                    self._gone(device)
            device.is_calm = True
            self._up(device)
            # a storage that was full takes what it had left in memory with the next entry
            self.add(device)
        settled = 0
        for _ in range(ROUNDS):
            self.house.open()  # one that was told to end may have ended only now
            found = [self._sent(device) for device in self.devices]
            states = [one["state"] for one in found]
            # one that was on its way may have begun before the last entry: what waits is counted too
            is_over = set(states) <= {"idle", "refused"} and not any(one["waits"] for one in found)
            settled = settled + 1 if is_over else 0
            if settled == 2:
                return
        self.wrong.append(f"at the end the devices tell: {', '.join(states)}")

    def _sent(self, device: NodeDevice) -> dict[str, Any]:
        found = self.send(device, device.tabs[0])
        until = time.monotonic() + ANOTHER_TAB
        while found["state"] == "elsewhere" and time.monotonic() < until:
            self._set_clock(device, device.shift + 100e3)  # a tab that was closed holds the word for a while
            time.sleep(0.25)  # one that is open may wait for an answer that never comes
            found = self.send(device, device.tabs[0])
        if found["state"] == "signed out":
            self.house.forget(device.name)
            self._sign_in(device)
        return found

    def _look(self) -> None:
        for device in self.devices:
            self.told.here[device.name] = device.ask(device.tabs[0], "here")
            self.told.made += device.made
            self.told.kept += device.kept
            self.told.taken += device.taken
            self.told.shot += device.shot
            self.wrong += device.faults
        seen = look(self.house.place, self.run)
        self.wrong += amiss(seen, self.told, self.conflicts)
        self.totals["kept"] += len(set(self.told.kept))
        self.totals["photos kept"] += len(set(self.told.shot))
        self.totals["photos"] += len(seen.photos)
        self.totals["register"] += len(seen.lines) - COUNT
        self.totals["conflicts"] += len(self.conflicts)
        self.totals["verdicts"] += sum(one["judged"] is not None for one in self.told.here.values())
