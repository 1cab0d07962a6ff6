"""Markup and script in names, notes, faults, readings' units and lines set aside: shown as text on every page."""

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import html5lib
import pytest

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.service import Service
from tests.builder.fleets import write_fleet
from tests.sync.desk.window import Window, valid
from tests.sync.phones import Phone, service_at

EVIL = "\"'><script>alert(1)</script><img src=x onerror=alert(1)><a href=javascript:alert(1)>{{7191*7}}"
_NAMES = (
    "Trial Shed", "Open day", "Left side", "Sag of the top run", "Road wheels", "Drips under the axle", "Track off",
    "Deck off", "Grease the hubs", "Otter", "Tracked carrier", "Bay 2",
)  # fmt: skip
_FAULTS = ("Slack", "Cracked")


def evil_edition(folder: Path) -> bytes:
    """The small fleet with all its names and faults turned into markup."""
    write_fleet(folder)
    for path in folder.rglob("*.toml"):
        text = path.read_text()
        for name in (*_NAMES, *_FAULTS):
            text = text.replace(f'"{name}"', json.dumps(f"{name} {EVIL}"))
        path.write_text(text)
    return compile_edition(load_fleet(folder))


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("evil")
    edition = evil_edition(folder / "fleet")
    made = service_at(folder / "backlog.db", edition)
    for device in ("d-one", "d-two"):
        made.take_in(f"{device} {EVIL}", [_phone(device, edition)])
    yield made
    made.store.close()


def _phone(device: str, edition: bytes) -> bytes:
    phone = Phone(device, edition, EVIL)
    phone.walk("otter", unchecked=[{"check": "left-side/wheels", "spot": EVIL, "why": EVIL}], knows={})
    severity = "major" if device == "d-one" else "minor"
    reading = {"value": 61, "unit": "mm"}
    phone.find(note=EVIL, severity=severity, reading=reading, photos=[phone.picture()])
    phone.find("left-side/wheels", spot="2", fault="cracked", severity="dangerous", note=EVIL)
    phone.find("left-side/no-such", fault=EVIL, severity="minor", note=EVIL)
    phone.find(check=None, station="right-side", fault=None, severity="minor", note=f"something {EVIL}")
    phone.find("right-side/drips", "unchecked", why=EVIL)
    phone.write("report", vehicle="otter", source="visitor", symptom=EVIL, conditions=EVIL, photos=[])
    phone.write("report", vehicle=EVIL, source="driver", symptom=EVIL, photos=[])
    phone.write("run", vehicle="otter", day="2026-10-17", hours=1, driver=EVIL, conditions=EVIL)
    phone.write("fluid", vehicle="otter", fluid=EVIL, litres=1, level_before=EVIL, level_after=EVIL)
    phone.write("ruling", about=EVIL, knows={}, set={"owner": EVIL})
    return phone.hand_in(device_name=f"phone {EVIL}")


@pytest.fixture(scope="module")
def window(service: Service) -> Window:
    """Ada, a lead; she has said evil things too."""
    made = Window(service, "AB", date(2026, 10, 18))
    wheel = next(d for d in service.store.defects("otter") if d.check == "left-side/wheels")
    address = f"/defect/{wheel.code}"
    for change, fields in _said():
        made.open(address)
        made.say(f"{address}/{change}", fields)
    for change, fields in _said_of_vehicle():
        made.open("/vehicle/otter")
        made.say(f"/vehicle/otter/{change}", fields)
    return made


def _said() -> Iterator[tuple[str, dict[str, Any]]]:
    yield "work", {"state": "waiting", "note": EVIL, "wait_for": EVIL, "wait_kind": "sent out", "wait_where": EVIL}
    yield "owner", {"owner": EVIL}
    yield "found", {"fault": EVIL, "cause": EVIL, "spot": EVIL}
    yield "for-now", {"what": EVIL, "until": "2026-10-30", "undo": EVIL}
    yield "part", {"part": EVIL, "part_state": "ordered", "part_where": EVIL}
    yield "severity", {"to_severity": "dangerous", "reason": EVIL}
    yield "ask", {"who": EVIL}
    yield "know-how", {"know_how": EVIL}
    yield "permit", {"own_power": "yes", "no_danger": "yes", "no_damage": "yes", "limits": EVIL,
                     "until": "2026-10-20", "reason": EVIL}  # fmt: skip


def _said_of_vehicle() -> Iterator[tuple[str, dict[str, Any]]]:
    yield "belongs-to", {"belongs_to": EVIL}
    yield "tag", {"tag": EVIL, "reason": EVIL}
    yield "know-how", {"about": "access/track-off", "know_how": EVIL}


PAGES = ["/", "/backlog", f"/backlog?search={EVIL}", "/vehicles", "/vehicle/otter", "/vehicle/otter/walks",
         "/vehicle/otter/check/left-side/sag", "/vehicle/otter/check/left-side/wheels", "/conflicts",
         "/perhaps-the-same", "/reports", "/revivals", "/know-how", f"/know-how?search={EVIL}", "/take-in", "/papers",
         "/sheet?vehicle=otter&round=full", "/papers/cards/otter", "/papers/notices", "/papers/sheets?round=full",
         f"/?said={EVIL}", f"/vehicles?said={EVIL}"]  # fmt: skip


@pytest.mark.parametrize("address", PAGES, ids=lambda address: address.replace(EVIL, "evil"))
def test_what_people_wrote_is_text_on_every_page(window: Window, address: str) -> None:
    inert(window.open(address))


def test_and_on_every_defects_page(window: Window) -> None:
    defects = window.service.store.defects()
    assert len(defects) == 5
    for defect in defects:
        inert(window.open(f"/defect/{defect.code}"))


def test_and_where_something_is_refused(window: Window) -> None:
    for address in (f"/defect/{EVIL}", f"/vehicle/{EVIL}", f"/backlog?sort={EVIL}", f"/{EVIL}"):
        inert(window.http.get(address).text)
    window.open("/vehicle/otter")
    for change in ("state", "task", "know-how"):
        inert(window.post(f"/vehicle/otter/{change}", state=EVIL, task=EVIL, about=EVIL, know_how=EVIL).text)


def test_and_when_it_is_typed_in_again(window: Window) -> None:
    window.open("/sheet?vehicle=otter&round=full")
    fields = {"vehicle": "otter", "round": "full", "day": "2026-10-18", "by": "AB", "note|left-side/sag|": EVIL,
              "reading|left-side/sag|": EVIL, "else-note|1": EVIL, "else-severity|1": EVIL}  # fmt: skip
    answer = window.post("/sheet", fields)
    assert answer.status_code == 422
    inert(answer.text)


def inert(page: str) -> None:
    """No element and no attribute of the page came out of what somebody wrote, and no template ran it."""
    valid(page)
    tree = html5lib.HTMLParser(namespaceHTMLElements=False).parse(page)
    for one in tree.iter():
        assert not [name for name, _ in one.items() if str(name).startswith("on")]
        assert one.tag != "script" or (one.get("src") or "").startswith("/js/"), one.text
        assert one.tag != "img" or (one.get("src") or "").startswith(("/photos/", "data:image/"))
        assert one.tag != "a" or not (one.get("href") or "").strip().lower().startswith("javascript")
    assert str(7191 * 7) not in page
