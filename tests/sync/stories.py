"""Random stories of phones and a second desk, seeded: all that either of them writes."""

import itertools
import random
from typing import Any

from tests.sync.phones import Phone

PLACES = [("left-side/sag", None, "slack"), ("left-side/wheels", "1", "cracked"), ("left-side/wheels", "2", "cracked"),
          ("right-side/drips", None, "weep")]  # fmt: skip
SEVERITIES = ["dangerous", "major", "minor", "advisory"]


class Story:
    """`devices` hold the lines; the last of them is a desk."""

    def __init__(self, seed: int, edition: bytes, steps: int = 40) -> None:
        self.dice = random.Random(seed)
        self.devices = [Phone("d-a", edition, "AB"), Phone("d-b", edition, "RM"), Phone("desk-two", edition, "AB")]
        self.worlds: list[dict[str, int]] = [{}]
        self.found: list[str] = []
        self.own: dict[str, list[tuple[str, dict[str, Any]]]] = {d.device: [] for d in self.devices}
        for _ in range(steps):
            self._step()
            self.worlds.append({d.device: len(d.lines) for d in self.devices if d.lines})

    def _step(self) -> None:
        device = self.dice.choice(self.devices)
        if device is self.devices[-1]:
            self.dice.choice([self._rule, self._work, self._settle, self._tag, self._same, self._job])(device)
        else:
            self.dice.choice([self._walk, self._find, self._find, self._find, self._correct, self._lesser])(device)

    def _knows(self, device: Phone) -> dict[str, int]:
        """What some earlier world held: knowledge of any age."""
        return {name: seq for name, seq in self.dice.choice(self.worlds).items() if name != device.device}

    def _walk(self, phone: Phone) -> None:
        phone.walk(round=self.dice.choice(["cold", "hot", "full"]), day=f"2026-10-{self.dice.randrange(17, 20)}",
                   knows=self._knows(phone))  # fmt: skip

    def _finding(self) -> dict[str, Any]:
        check, spot, fault = self.dice.choice(PLACES)
        result = self.dice.choice(["defect", "defect", "sound", "unchecked"])
        body: dict[str, Any] = {"check": check, "spot": spot, "result": result}
        if result == "defect":
            note = self.dice.choice(["worn", "wet"])
            body |= {"fault": fault, "severity": self.dice.choice(SEVERITIES), "note": note}
            if check == "left-side/sag":
                body["reading"] = {"value": self.dice.randrange(10, 80), "unit": "mm"}
        else:
            body |= {"fault": None, "severity": None}
        if self.found and result != "unchecked" and self.dice.random() < 0.3:
            body |= {"verdict": "gone" if result == "sound" else self.dice.choice(["same", "worse"]),
                     "defect": self.dice.choice(self.found)}  # fmt: skip
        if self.dice.random() < 0.1 and result == "defect":
            body |= {"check": None, "spot": None, "fault": None, "station": "left-side"}
        return body

    def _find(self, phone: Phone) -> None:
        if not phone.walk_id:
            self._walk(phone)
        body = self._finding()
        entry = phone.find(**body)
        self.own[phone.device].append((entry, body))
        if body["result"] == "defect":
            self.found.append(entry)

    def _correct(self, phone: Phone) -> None:
        if self.own[phone.device]:
            entry, body = self.dice.choice(self.own[phone.device])
            changed = self.dice.choice([body, self._finding()])
            again = phone.find(**changed, corrects=entry)
            self.own[phone.device].append((again, changed))

    def _lesser(self, phone: Phone) -> None:
        if self.dice.random() < 0.5:
            phone.write("report", vehicle="otter", source="driver", symptom="pulls left", photos=[])
        else:
            phone.write("run", vehicle="otter", day="2026-10-17", hours=1.5)

    def _desk(self, desk: Phone, kind: str, **fields: Any) -> None:
        desk.write(kind, knows=self._knows(desk), **fields)

    def _about(self) -> str:
        return self.dice.choice(self.found or ["0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01"])

    def _rule(self, desk: Phone) -> None:
        what = self.dice.choice([
            {"severity": {"to": self.dice.choice(SEVERITIES), "reason": "looked"}}, {"closed": {"reason": "done"}},
            {"owner": self.dice.choice(["TW", "LB"])}, {"void": {"reason": "a slip"}},
            {"temporary": {"what": "tape", "until": "2026-11-01"}},
            {"placed": {"check": "left-side/sag", "fault": "slack"}},
        ])  # fmt: skip
        self._desk(desk, "ruling", about=self._about(), vehicle="otter", set=what)

    def _work(self, desk: Phone) -> None:
        state = self.dice.choice(["in hand", "mended", "tested", "signed off"])
        self._desk(desk, "work", about=self._about(), state=state, hours=1)

    def _settle(self, desk: Phone) -> None:
        check, spot, fault = self.dice.choice(PLACES)
        fields = {"vehicle": "otter", "check": check, "fault": fault, "reason": "looked"}
        fields |= {"spot": spot} if spot else {}
        choice = {"choose": self._about()} if self.dice.random() < 0.5 else {"result": "defect", "severity": "minor"}
        self._desk(desk, "settle", **fields, **choice)

    def _tag(self, desk: Phone) -> None:
        self._desk(desk, "tag", vehicle="otter", tag=self.dice.choice(["t1", "t2"]), on=self.dice.random() < 0.6)

    def _same(self, desk: Phone) -> None:
        pair = [self._about(), self._about()]
        self._desk(desk, "same", of=pair, joined=self.dice.random() < 0.7)

    def _job(self, desk: Phone) -> None:
        self._desk(desk, "job", job="j1", title="Track off", defects=[self._about()], tasks=[], steps=["track-off"])

    def deliveries(self) -> list[tuple[Phone, bytes]]:
        """Slices of each device's lines as hand-ins, in any order, some twice; all of it arrives in the end."""
        pieces = []
        for device in self.devices:
            cuts = sorted({0, len(device.lines), *(self.dice.randrange(len(device.lines) + 1) for _ in range(3))})
            pieces += [(device, device.hand_in(low + 1, high)) for low, high in itertools.pairwise(cuts)]
        pieces += self.dice.sample(pieces, min(2, len(pieces)))
        self.dice.shuffle(pieces)
        return pieces
