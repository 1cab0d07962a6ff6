"""A small invented fleet on the day after, as every export test reads it."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

import pytest
from msgspec.structs import replace as replace_struct
from PIL import Image, ImageDraw

from sync.exports.snapshot import (
    AsideRow,
    ConflictRow,
    DayRow,
    FiguresRow,
    JobRow,
    PhotoRow,
    ReportRow,
    SideRow,
    Snapshot,
    WaitRow,
    WalkRow,
)
from sync.rows import BacklogRow, StandingRow

Writer = Callable[[Snapshot, BinaryIO], None]
OPENING = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a0{}"
PHOTO = "ab" * 32


def defect(rank: int, code: str, **given: object) -> BacklogRow:
    plain: dict[str, object] = dict.fromkeys(BacklogRow.__struct_fields__, "")
    vehicle = code.split("-", maxsplit=1)[0]
    usual = {
        "rank": rank,
        "defect": code,
        "vehicle": vehicle,
        "vehicle_name": vehicle.capitalize(),
        "station": "Left track",
        "check_name": "Sag of the top run",
        "fault": "Slack",
        "severity": "major",
        "status": "open",
        "standing": "limited",
        "first_seen": "2026-10-17",
        "last_seen": "2026-10-18",
        "sightings": 1,
        "seen_by": "RM",
        "opening": OPENING.format(rank),
    }
    return BacklogRow(**{**plain, **usual, **given})  # type: ignore[arg-type]


def vehicle(name: str, standing: str, **given: object) -> StandingRow:
    plain: dict[str, object] = dict.fromkeys(StandingRow.__struct_fields__, "")
    usual = {"vehicle": name, "name": name.capitalize(), "kind": "carrier", "location": "East shed", "state": "runner"}
    seen = {"standing": standing, "open_defects": 0, "last_round": "2026-10-18 cold"}
    return StandingRow(**{**plain, **usual, **seen, **given})  # type: ignore[arg-type]


def side(by: str, says: str, **given: object) -> SideRow:
    plain: dict[str, object] = {"stands": "", "clock": "", "reading": "", "note": "", "photos": ()}
    usual = {"device": f"d-{by.lower()}", "at": "2026-10-18T08:31:02.120+01:00", "occasion": "2026-10-18 cold"}
    return SideRow(**{**plain, **usual, "by": by, "says": says, "entry": OPENING.format(by), **given})  # type: ignore[arg-type]


BACKLOG = (
    defect(
        1, "badger-7k3qd", fault="Line weeping at the union", station="Engine deck", check_name="Fuel lines and cocks",
        severity="dangerous", standing="stopped", barred="start; drive", note="Fuel on the floor plate, ø 3 mm pool.",
        rank_why="dangerous; holds up pack out", waiting_for="union, 3/8", due="2026-11-07", needs="deck clear",
        hours="2 to 4", sightings=2, seen_by="RM; TA",
    ),
    defect(
        2, "badger-9m2xa", spot="2", reading="61 mm", standing="stopped", barred="start; drive",
        conflict="RM says slack, TA says sound", note="adjuster at its stop", temporary_until="2026-11-20",
    ),
    defect(
        3, "otter-4fh8w", station="Wheels", check_name="Tyres", fault="Sidewall crazed", severity="minor",
        also_codes="otter-6bbcd", owner="OG",
    ),
    defect(4, "otter-2ppqr", station="Cab", check_name="Horn", fault="Silent", severity="advisory", status="in hand"),
)  # fmt: skip
STANDING = (
    vehicle(
        "badger", "stopped", barred="start; drive", moves="towed; lifted", why="Fuel lines: Line weeping at the union",
        open_defects=2,
    ),
    vehicle("heron", "fit"),
    vehicle("otter", "limited", open_defects=2),
    vehicle("stoat", "fit", last_round="", not_walked="not walked", state="revival"),
)  # fmt: skip
CONFLICTS = (
    ConflictRow(
        conflict="c-58aq2", kind="result", vehicle="badger", vehicle_name="Badger", station="Left track",
        check_name="Sag of the top run", spot="2", fault="Slack", why="RM says slack, TA says sound",
        defect="badger-9m2xa",
        sides=(
            side("RM", "defect, major, 61 mm", stands="stands meanwhile", reading="61 mm", photos=(PHOTO,)),
            side("TA", "sound", clock="clock 1 day ahead", note="within limits, I thought"),
        ),
    ),
)  # fmt: skip
WAITS = (
    WaitRow(
        about=OPENING.format(1), vehicle="badger", vehicle_name="Badger", defect="badger-7k3qd",
        what="Line weeping at the union", waiting_for="union, 3/8", kind="part", where="Brass merchant",
        due="2026-11-07", firm="promised",
    ),
    WaitRow(
        about="j-1", vehicle="otter", vehicle_name="Otter", defect="", what="Recore the radiator",
        waiting_for="radiator", kind="sent out", where="", due="", firm="",
    ),
)  # fmt: skip
WALKS = (
    WalkRow(
        vehicle="badger", vehicle_name="Badger", day="2026-10-18", round="cold", by="RM", device="d-rm",
        state="finished", covered=23, of=24, unchecked="Belly plates: mud",
    ),
    WalkRow(
        vehicle="heron", vehicle_name="Heron", day="2026-10-18", round="cold", by="TA", device="d-ta",
        state="started", covered=24, of=24, unchecked="",
    ),
)  # fmt: skip
REPORTS = (
    ReportRow(
        vehicle="otter", vehicle_name="Otter", source="driver", by="OG", at="2026-10-17T15:02:00+01:00",
        symptom="Pulls left when braking", conditions="hot, downhill", explained="",
    ),
)  # fmt: skip
JOBS = (
    JobRow(
        job="j-1", title="Saturday on the deck", vehicle="badger", vehicle_name="Badger", state="open",
        defects="badger-7k3qd; badger-9m2xa", steps="deck clear", tasks="", waiting_for="", due="",
    ),
)  # fmt: skip
DAYS = (
    DayRow(day="2026-10-24", kind="work day", name="Workshop Saturday", plan=("Badger: union", "Otter: horn, wiring")),
    DayRow(day="2026-12-12", kind="display day", name="Frost Run"),
)


#: What the figures of badger-9m2xa come to; nothing was measured at the others.
FIGURES = FiguresRow(
    reading_value=61.0, reading_unit="mm", limits="20 to 40 mm", figures_verdict="major",
    figures_say="Sag of the top run: 61 mm is 21 mm above the highest allowed (40 mm). 7.8 mm to take up.",
    reckoned="to take up: 7.8 mm; links to take out: 1", to_do="Slacken fully, take out 1 link, adjust again.",
    how_sure="Only the first span was measured.", cautions="Chock both sides. The maker's manual comes first.",
    figures_source="TM 9-2350-230-12",
)  # fmt: skip


def figures(row: BacklogRow) -> FiguresRow:
    return FIGURES if row.defect == "badger-9m2xa" else FiguresRow()


def photo_row(code: str) -> PhotoRow:
    file = f"../photos/{PHOTO}.jpg"
    return PhotoRow(defect=code, vehicle="badger", photo=PHOTO, by="RM", day="2026-10-18", file=file)


def drawn_photo(path: Path, wide: int = 1600, tall: int = 1200) -> Path:
    picture = Image.new("RGB", (wide, tall), "#6d7a80")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, tall * 0.7, wide, tall), fill="#3b3a34")
    pen.ellipse((wide * 0.3, tall * 0.2, wide * 0.7, tall * 0.75), fill="#20262b", outline="#aab4b8", width=20)
    picture.save(path, "JPEG")
    return path


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    return drawn_photo(tmp_path / f"{PHOTO}.jpg")


@pytest.fixture
def snapshot(photo: Path) -> Snapshot:
    return Snapshot(
        fleet="Kestrel Lane Yard",
        code="kestrel-lane",
        edition="3f9c2a71",
        as_of=date(2026, 10, 19),
        log_entries=412,
        backlog=BACKLOG,
        standing=STANDING,
        conflicts=CONFLICTS,
        waits=WAITS,
        jobs=JOBS,
        walks=WALKS,
        reports=REPORTS,
        days=DAYS,
        photos=(photo_row("badger-9m2xa"),),
        set_aside=(AsideRow(reason="no known kind of entry", lines=2),),
        photo={PHOTO: photo}.get,
        figures=figures,
    )


@pytest.fixture
def empty(snapshot: Snapshot) -> Snapshot:
    """A backlog of which nothing has been taken in yet."""
    nothing = dict.fromkeys(("backlog", "standing", "conflicts", "waits", "jobs", "walks", "reports", "days"), ())
    return replace(snapshot, **nothing, photos=(), set_aside=())  # type: ignore[arg-type]


#: What a person could type into a note, and some programs would run, draw or choke on.
HOSTILE = (
    '=HYPERLINK("http://example.invalid","click")', "+1", "-2+3", "@SUM(A1)", "\t=1+1", "  =1+1", "＝1+1",
    '"quoted", comma; and\r\nnew line', "<script>alert(1)</script>", "| pipe | `code` *star* _under_ [link](x)",
    "# heading\n- item\n1. one", "nul\x00 bell\x07", "ends with backslash\\", "]]> & &amp;", "½ °C 日本語 🛞",
    "BEGIN:VEVENT\nSUMMARY:forged\nEND:VEVENT",
)  # fmt: skip


@pytest.fixture
def hostile(snapshot: Snapshot) -> Snapshot:
    rows = tuple(
        defect(place, f"badger-{place:05d}", note=text, fault=text, conflict=text)
        for place, text in enumerate(HOSTILE, 1)
    )
    waits = tuple(
        WaitRow(about=str(place), vehicle="badger", vehicle_name=text, defect="", what=text, waiting_for=text,
                kind="part", where=text, due="2026-11-07", firm="")
        for place, text in enumerate(HOSTILE)
    )  # fmt: skip
    return replace(snapshot, backlog=rows, waits=waits, photos=(), figures=hostile_figures)


def hostile_figures(row: BacklogRow) -> FiguresRow:
    """A check's name may be hostile too."""
    return replace_struct(FIGURES, figures_say=row.note, to_do=row.note)


def written(write: Writer, snapshot: Snapshot) -> bytes:
    out = BytesIO()
    write(snapshot, out)
    return out.getvalue()


@pytest.fixture
def export() -> Callable[[Writer, Snapshot], bytes]:
    """`export(writer, snapshot)` -> the file's bytes."""
    return written
