"""Histories for the laws: random phones and desks that walk, correct, settle, rule, work, place and redact, under two
editions, with knowledge of any age."""

import itertools
from typing import Any

import msgspec
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from sync.entries import Finding
from sync.fold import Logged
from tests.sync.fold.shed import DAY, LATER, Desk, Device, Phone, Walk, entry_id, full, later_shed, logged, shed

#: Few places and faults, weighted, so that people meet at them.
CHECKS = (("sag", None), ("sag", None), ("sag", None), ("sag", None), ("pipe", None), ("tyre", "1"))
FAULTS = ("slack", "slack", "slack", "tight")
SEVERITIES = ("minor", "major", "advisory", "dangerous")
DAYS = (("before", DAY), ("cold", DAY), ("full", DAY), ("cold", LATER), ("hot", "2026-11-01"))
PEOPLE = ("RM", "TW", "LB", "AB")
NOTES = ("the track hangs down by a hand", "the track hangs by a hand's breadth", "a bird's nest in the intake")
PHOTOS = ("ab" * 32, "cd" * 32)


class Yard:
    """Two phones, a third that may be a clone of the first, and two desks."""

    def __init__(self, people: tuple[str, ...] = PEOPLE) -> None:
        Device.count = itertools.count(1)
        self.people = people
        self.phones = [Phone("d-a", people[0]), Phone("d-b", people[-1]), Phone("d-c", people[-1])]
        self.desks = [Desk("desk-1", people[0]), Desk("desk-2", people[-1])]
        self.walks: dict[int, Walk] = {}
        self.openings: list[str] = []
        self.elsewhere: list[str] = []  # something else's openings

    @property
    def devices(self) -> list[Device]:
        return [*self.phones, *self.desks]

    def ids(self) -> list[str]:
        return sorted({name for device in self.devices for name in device.ids})


def clone(yard: Yard) -> None:
    """The third phone becomes a copy of the first, as a restored backup would make it."""
    first, third = yard.phones[0], yard.phones[2]
    third.device, third.by, third.edition = first.device, first.by, first.edition
    third.lines, third.ids, third.knows = list(first.lines), list(first.ids), dict(first.knows)


def learn(draw: DrawFn, yard: Yard) -> None:
    device, other = draw(st.sampled_from(yard.devices)), draw(st.sampled_from(yard.devices))
    if device is not other:
        device.learn(other)


def boast(draw: DrawFn, yard: Yard) -> None:
    """Somebody claims to know more than there is, or than there can be."""
    device = draw(st.sampled_from(yard.devices))
    other = draw(st.sampled_from(["d-a", "d-b", "desk-1", "d-nobody"]))
    if other != device.device:
        device.knows[other] = draw(st.integers(1, 12))


def walk(draw: DrawFn, yard: Yard) -> Walk:
    n = draw(st.integers(0, 2))
    if n not in yard.walks or draw(st.booleans()):
        round_, day = draw(st.sampled_from(DAYS))
        yard.walks[n] = yard.phones[n].walk(round_, day)
    return yard.walks[n]


def find(draw: DrawFn, yard: Yard, **more: Any) -> None:
    on = walk(draw, yard)
    check, spot = draw(st.sampled_from(CHECKS))
    check = as_called(check, on.phone)
    more["note"] = draw(st.sampled_from([None, None, *NOTES]))
    what = draw(st.sampled_from(["sound", "sound", "defect", "defect", "put right", "verdict", "unchecked"]))
    if what == "sound":
        on.sound(check, spot, **more)
    elif what == "unchecked":
        on.unchecked(check)
    elif what == "verdict" and yard.openings:
        verdict = draw(st.sampled_from(["gone", "same", "worse"]))
        severity = None if verdict == "gone" else draw(st.sampled_from([None, *SEVERITIES]))
        about = draw(st.sampled_from(yard.openings))
        fault = draw(st.sampled_from([None, *FAULTS]))
        on.verdict(verdict, check, about, spot, severity=severity, fault=fault, **more)
    else:
        reading = draw(st.sampled_from([None, 10, 36, 61]))
        more["reading"] = None if reading is None else {"value": reading, "unit": "mm"}
        more["put_right"] = what == "put right" or None
        fault, severity = draw(st.sampled_from(FAULTS)), draw(st.sampled_from(SEVERITIES))
        yard.openings.append(on.defect(check, fault, severity, spot, **more))


def as_called(check: str, device: Device) -> str:
    """A check's id as the edition of who writes has it."""
    return "left-track/top" if check == "sag" and device.edition == later_shed().fingerprint else check


def find_else(draw: DrawFn, yard: Yard) -> None:
    """Something that fits no check, or a verdict on it."""
    on = walk(draw, yard)
    if yard.elsewhere and draw(st.booleans()):
        about = draw(st.sampled_from(yard.elsewhere))
        verdict = draw(st.sampled_from(["gone", "same"]))
        on.verdict(verdict, None, about, severity="minor" if verdict == "same" else None)
    else:
        note, photos = draw(st.sampled_from(NOTES)), draw(st.sampled_from([[], list(PHOTOS)]))
        yard.elsewhere.append(on.something_else(note, draw(st.sampled_from(SEVERITIES)), photos=photos))


def place(draw: DrawFn, yard: Yard) -> None:
    """A person says where something belongs, or takes that back."""
    found = [*yard.elsewhere, *yard.elsewhere, *yard.openings]
    if found:
        desk, about = draw(st.sampled_from(yard.desks)), draw(st.sampled_from(found))
        check, spot = draw(st.sampled_from(CHECKS))
        value: dict[str, Any] = {"check": full(as_called(check, desk)), "spot": spot}
        value["fault"] = draw(st.sampled_from([None, "slack"]))
        given = draw(st.sampled_from([value, value, value, None]))
        desk.rule(about, by=draw(st.sampled_from(yard.people)), placed=given)


def upgrade(draw: DrawFn, yard: Yard) -> None:
    """Somebody goes on with the other edition; a desk may adopt it for all."""
    device = draw(st.sampled_from(yard.devices))
    edition = draw(st.sampled_from([shed(), later_shed(), later_shed()]))
    if isinstance(device, Desk):
        device.adopt(edition)
    device.edition = edition.fingerprint


def tell(draw: DrawFn, yard: Yard) -> None:
    """A driver's report, or a run that may answer it."""
    phone = draw(st.sampled_from(yard.phones))
    conditions = draw(st.sampled_from(["hot, uphill", "Hot,  uphill", None]))
    if draw(st.booleans()):
        phone.report("it pulls to the left", conditions)
    else:
        phone.write("run", vehicle="badger", day=DAY, driver="Harry", conditions=conditions, knows=dict(phone.knows))


def redact(draw: DrawFn, yard: Yard) -> None:
    """A person takes words, a name or photos out of an entry."""
    if yard.ids():
        fields = draw(st.lists(st.sampled_from(REDACTED), max_size=3, unique=True))
        about, photos = draw(st.sampled_from(yard.ids())), draw(st.sampled_from([(), PHOTOS[:1]]))
        draw(st.sampled_from(yard.desks)).redact(about, *fields, photos=photos)


REDACTED = ("note", "by", "reason", "conditions", "symptom", "driver", "severity", "result")


def correct(draw: DrawFn, yard: Yard) -> None:
    """A phone takes back one of its own marks, or somebody's, or one that never was."""
    ids = yard.ids()
    if ids:
        find(draw, yard, corrects=draw(st.sampled_from([*ids, entry_id(999)])))


def settle(draw: DrawFn, yard: Yard) -> None:
    desk = draw(st.sampled_from(yard.desks))
    check, spot = draw(st.sampled_from(CHECKS))
    check = as_called(check, desk)
    fault, by = draw(st.sampled_from(FAULTS)), draw(st.sampled_from(yard.people))
    if draw(st.booleans()) and yard.ids():
        desk.settle(check, fault, by=by, spot=spot, choose=draw(st.sampled_from(yard.ids())))
    else:
        result = draw(st.sampled_from(["sound", "defect"]))
        severity = draw(st.sampled_from([None, *SEVERITIES])) if result == "defect" else None
        desk.settle(check, fault, by=by, spot=spot, result=result, severity=severity)


def rule(draw: DrawFn, yard: Yard) -> None:
    openings = [*yard.openings, *yard.elsewhere]
    if not openings:
        return
    desk, about = draw(st.sampled_from(yard.desks)), draw(st.sampled_from(openings))
    severity = draw(st.sampled_from(SEVERITIES))
    name, value = draw(
        st.sampled_from(
            [
                ("closed", {"reason": "adjusted"}),
                ("closed", None),
                ("severity", {"to": severity, "reason": "seen"}),
                ("severity", None),
                ("escalated", {"reason": "together"}),
                ("escalated", None),
                ("temporary", {"what": "wire", "until": "2026-11-30"}),
                ("temporary", {"what": "wire", "until": "2026-10-20"}),
                ("temporary", None),
                ("owner", "LB"),
                ("owner", "AB"),
            ]
        )
    )
    desk.rule(about, by=draw(st.sampled_from(yard.people)), **{name: value})


def void(draw: DrawFn, yard: Yard) -> None:
    if yard.ids():
        desk, about = draw(st.sampled_from(yard.desks)), draw(st.sampled_from(yard.ids()))
        value = draw(st.sampled_from([{"reason": "slip"}, None]))
        desk.rule(about, by=draw(st.sampled_from(yard.people)), void=value)


def work(draw: DrawFn, yard: Yard) -> None:
    if yard.openings:
        desk, about = draw(st.sampled_from(yard.desks)), draw(st.sampled_from(yard.openings))
        state = draw(st.sampled_from(["in hand", "mended", "signed off", "signed off"]))
        note = draw(st.sampled_from([None, "shimmed"]))
        desk.work(about, state, by=draw(st.sampled_from(yard.people)), note=note)


def take_back(draw: DrawFn, yard: Yard) -> None:
    """A desk corrects what it wrote."""
    desk = draw(st.sampled_from(yard.desks))
    if desk.ids and yard.openings:
        about, target = draw(st.sampled_from(yard.openings)), draw(st.sampled_from(desk.ids))
        desk.say("ruling", by=draw(st.sampled_from(yard.people)), about=about, set={"owner": "TW"}, corrects=target)


STEPS = (*[find] * 8, *[learn] * 8, *[rule] * 3, *[work] * 2, *[settle] * 2, correct, boast, void, take_back)
WIDER = (*STEPS, *[find_else] * 2, *[place] * 2, upgrade, tell, redact)


def _clone(draw: DrawFn, yard: Yard) -> None:
    clone(yard)


@st.composite
def histories(draw: DrawFn, steps: tuple[Any, ...] = (*WIDER, _clone), least: int = 14) -> list[Logged]:
    """All that was written, each entry once; some of it never arrives."""
    yard = Yard()
    for step in draw(st.lists(st.sampled_from(steps), min_size=least, max_size=least + 16)):
        step(draw, yard)
    entries = list({(one.entry.id, one.hash): one for one in logged(*yard.devices)}.values())
    lost = draw(st.sets(st.integers(0, max(0, len(entries) - 1)), max_size=3)) if entries else set()
    return [one for i, one in enumerate(entries) if i not in lost]


@st.composite
def by_helpers(draw: DrawFn, entries: list[Logged]) -> list[Logged]:
    """What people without authority go on to write, knowing all, some or none of a history; they correct nothing."""
    yard = Yard(("TW", "AB"))
    Device.count = itertools.count(1 + max((int(one.entry.id[-6:], 16) for one in entries), default=0))
    highest: dict[str, int] = {}
    for one in entries:
        highest[one.entry.device] = max(highest.get(one.entry.device, 0), one.entry.seq)
    for device in yard.devices:
        device.device = device.device.replace("d-", "d-x").replace("desk-", "desk-x")
        device.knows = {name: draw(st.sampled_from([0, seq // 2, seq, seq])) for name, seq in highest.items()}
    found = [one.entry for one in entries if isinstance(one.entry, Finding) and one.entry.result == "defect"]
    yard.openings = sorted(finding.id for finding in found if finding.check is not None)
    yard.elsewhere = sorted(finding.id for finding in found if finding.check is None)
    steps = (*[find] * 4, *[learn] * 2, *[rule] * 4, *[work] * 2, *[settle] * 3, boast, void, find_else, place)
    for step in draw(st.lists(st.sampled_from(steps), min_size=4, max_size=14)):
        step(draw, yard)
    return logged(*yard.devices)


def told(entries: list[Logged]) -> str:
    """A history in short lines, for a failing example."""
    hide = {"id", "device", "seq", "at", "edition", "kind", "vehicle", "photos", "walk", "covered", "of"}
    lines = []
    for one in sorted(entries, key=lambda one: (one.entry.device, one.entry.seq)):
        entry = one.entry
        fields = {n: v for n, v in msgspec.to_builtins(entry).items() if n not in hide and v not in (None, "", [], {})}
        said = " ".join(f"{name}={str(value).replace(PREFIX, '')}" for name, value in fields.items())
        kind = entry.__struct_config__.tag
        lines.append(f"{entry.id[-3:]} {entry.device} {entry.seq} {kind} {getattr(entry, 'walk', None) or ''} {said}")
    return "\n".join(lines).replace(PREFIX, "")


PREFIX = entry_id(0)[:-3]
