"""From the store to the snapshot: ids become names, photos become links, a day's rows come in the day's order."""

from datetime import date
from pathlib import Path
from typing import Any

import msgspec
import pytest

from builder.edition import Edition, compile_edition, read_edition
from builder.load import load_fleet
from sync.entries import Reading, Wait
from sync.errors import DeskError, StoreError
from sync.exports.gather import gather
from sync.exports.snapshot import Snapshot
from sync.exports.told import clock_words, side_says
from sync.plan.gather import gather as plan_gather
from sync.plan.on_paper import OnPaper, on_paper
from sync.rows import BacklogRow
from sync.state import Clock, Conflict, Defect, JobState, PartState, ReportState, Sighting, State, TaskState, WalkState
from sync.store import Store
from sync.store_rows import Page, Query
from sync.store_season import DateSaid

TEMPLATE = """
name = "Tracked"
[[station]]
id = "left-track"
name = "Left track"
order = 20
at = [0.5, 0.05]
[[station.check]]
id = "sag"
ask = "Sag of the top run"
fault = [{ id = "slack", name = "Slack", severity = "major" }]
[[access]]
id = "guard-off"
name = "Track guard off"
hours_out = 0.5
hours_back = 1
"""
VEHICLE = 'id = "badger"\nname = "Badger"\nkind = "carrier"\nlocation = "East shed"\ntemplates = ["tracked"]\n'
FLEET = """
name = "Kestrel Lane Yard"
code = "kestrel-lane"
display_day = [{ name = "Harvest Rumble", date = 2026-10-17 }, { name = "Frost Run", date = 2026-10-31 }]
"""
AS_OF = date(2026, 10, 19)
OPENING = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01"
PHOTO = "ab" * 32


@pytest.fixture(scope="module")
def edition(tmp_path_factory: pytest.TempPathFactory) -> Edition:
    folder: Path = tmp_path_factory.mktemp("fleet")
    for name, text in (("fleet.toml", FLEET), ("templates/tracked.toml", TEMPLATE), ("vehicles/badger.toml", VEHICLE)):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return read_edition(compile_edition(load_fleet(folder)))


SAW = Sighting(
    entry="e1", device="d-rm", seq=1, by="RM", at="2026-10-18T08:31:02+01:00", kind="finding", day="2026-10-18",
    round="cold", present=True, severity="major", reading=Reading(61, "mm"), photos=(PHOTO,),
)  # fmt: skip
DENIED = Sighting(
    entry="e2", device="d-ta", seq=1, by="TA", at="2026-10-19T08:40:00+01:00", kind="finding", day="2026-10-18",
    round="cold", present=False,
)  # fmt: skip


class Held:
    """What a store would answer, held in memory."""

    def __init__(self, edition: Edition, rows: tuple[BacklogRow, ...], photos: Path) -> None:
        self._edition, self._rows, self._photos = edition, rows, photos
        self.asked: list[int | None] = []

    def edition(self) -> Edition:
        return self._edition

    def devices(self) -> tuple[Any, ...]:
        return ()

    def backlog(self, as_of: date, query: Query, limit: int, offset: int) -> Page[BacklogRow]:
        self.asked.append(limit)
        rows = [row for row in self._rows if row.waiting_for or not query.waiting]
        return Page(tuple(rows[offset : offset + limit]), len(rows))

    def standing(self, as_of: date) -> tuple[Any, ...]:
        return (type("Row", (), {"vehicle": "badger", "name": "Badger"})(),)

    def defect(self, key: str) -> Defect:
        if key not in {OPENING, "badger-9m2xa"}:
            raise DeskError(f"there is no defect {key!r}")
        return Defect(
            opening=OPENING, code="badger-9m2xa", vehicle="badger", fault_name="Slack", severity="major",
            sightings=(SAW, DENIED), photos=(PHOTO,), wait=Wait("pins", "sent out", date(2026, 11, 7), True, "Forge"),
        )  # fmt: skip

    def conflicts(self, vehicle: str) -> tuple[Conflict, ...]:
        return (
            Conflict(
                id="c1", kind="result", vehicle=vehicle, check="left-track/sag", fault="slack", why="they disagree",
                sides=(SAW, DENIED), stands="e1", defect=OPENING,
            ),
        )  # fmt: skip

    def conflicts_of_no_vehicle(self) -> tuple[Conflict, ...]:
        return (Conflict(id="c9", kind="field", vehicle="", field="title", why="j-1, title: they disagree"),)

    def clocks(self) -> tuple[Clock, ...]:
        return (Clock(device="d-ta", offset_s=90_000, flagged=True), Clock(device="d-rm", offset_s=4))

    def jobs(self) -> tuple[JobState, ...]:
        wait = Wait("press", "person")
        steps = ("guard-off", "unknown-step")
        return (
            JobState(job="j-1", title="Saturday", vehicle="badger", defects=(OPENING, "gone"), steps=steps, wait=wait),
        )

    def parts(self) -> tuple[PartState, ...]:
        return (
            PartState(part="pins", for_="badger-9m2xa", state="ordered", where="Forge", due="2026-11-02"),
            PartState(part="bulb", for_="badger-9m2xa", state="here", due="2026-10-20"),
        )

    def tasks(self) -> tuple[TaskState, ...]:
        wait = Wait("the bore gauge", "person", date(2026, 11, 9), True)
        return (TaskState(about="badger/service/oil", vehicle="badger", state="waiting", wait=wait),)

    def dates_said(self) -> tuple[DateSaid, ...]:
        """The part, twice; a repair for now; a job and a task that wait no longer; a defect long gone."""
        return (
            DateSaid(OPENING, "wait", "2026-11-07"),
            DateSaid(OPENING, "temporary", "2026-11-20"),
            DateSaid("badger/service/oil", "wait", "2026-11-09"),
            DateSaid("badger/service/grease", "wait", "2026-11-12"),
            DateSaid("j-1", "wait", "2026-10-24"),
        )

    def walks(self) -> tuple[WalkState, ...]:
        missed = (("left-track/sag", "", "mud"), ("old/check", "2", ""))
        return (
            WalkState(
                walk="w1", vehicle="badger", round="cold", day="2026-10-18", by="RM", device="d-rm", covered=3, of=5,
                unchecked=missed,
            ),
        )  # fmt: skip

    def reports(self, *, closed: bool) -> tuple[ReportState, ...]:
        report = ReportState(
            entry="r1", vehicle="badger", source="driver", by="TA", at="2026-10-17T15:00:00+01:00",
            symptom="Pulls left", explained=OPENING,
        )  # fmt: skip
        return (report,) if closed else ()

    def aside_counts(self) -> dict[str, int]:
        return {"shape": 1, "kind": 2}

    def photo_path(self, photo: str) -> Path:
        if photo != PHOTO:
            raise StoreError("it has not come yet")
        return self._photos / f"{photo}.jpg"


@pytest.fixture
def told(edition: Edition, snapshot: Snapshot, tmp_path: Path) -> Snapshot:
    row = msgspec.structs.replace(next(iter(snapshot.backlog)), opening=OPENING)
    held = Held(edition, (row,), tmp_path / "yard-photos")
    return gather(held, AS_OF, tmp_path / "exports", plan)  # type: ignore[arg-type]


def plan(store: Store, as_of: date) -> OnPaper:
    """One leak, planned for the first open days."""
    leak = Defect(
        opening=OPENING, code="badger-9m2xa", vehicle="badger", fault_name="Slack", severity="major", hours=(2, 2)
    )
    return on_paper(plan_gather(store.edition(), State(edition="e", defects=(leak,)), as_of))


def test_a_conflict_is_told_in_names_with_the_side_that_stands(told: Snapshot) -> None:
    conflict, _ = told.conflicts
    assert conflict.subject == "Left track, Sag of the top run, Slack"
    assert conflict.defect == "badger-9m2xa"
    assert [(side.says, side.stands) for side in conflict.sides] == [
        ("defect, major, 61 mm", "stands meanwhile"),
        ("sound", ""),
    ]


def test_a_clock_that_was_off_is_told_beside_what_it_wrote(told: Snapshot) -> None:
    conflict, of_a_job = told.conflicts
    assert of_a_job.vehicle_name == "Workshop"
    assert [side.clock for side in conflict.sides] == ["", "clock 1 day off"]


def test_waits_are_those_of_defects_jobs_tasks_and_parts_still_to_come(told: Snapshot) -> None:
    found = [(row.what, row.waiting_for, row.kind, row.due, row.firm) for row in told.waits]
    assert found == [
        ("Line weeping at the union", "pins", "sent out", "2026-11-07", "promised"),
        ("Saturday", "press", "person", "", ""),
        ("badger/service/oil", "the bore gauge", "person", "2026-11-09", "promised"),
        ("Slack", "pins (ordered)", "part", "2026-11-02", ""),
    ]


def test_a_job_names_its_defects_and_steps(told: Snapshot) -> None:
    (job,) = told.jobs
    assert (job.vehicle_name, job.defects, job.steps) == ("Badger", "badger-9m2xa", "Track guard off; unknown-step")


def test_a_walk_names_what_it_missed_and_why(told: Snapshot) -> None:
    (walk,) = told.walks
    assert (walk.state, walk.unchecked) == ("started", "Sag of the top run: mud; old/check 2")


def test_a_report_names_the_defect_that_explains_it(told: Snapshot) -> None:
    (report,) = told.reports
    assert report.explained == "badger-9m2xa"


def test_photos_are_linked_as_seen_from_the_export(told: Snapshot) -> None:
    (photo,) = told.photos
    assert (photo.file, photo.by, photo.day) == (f"../yard-photos/{PHOTO}.jpg", "RM", "2026-10-18")
    assert told.photo("cd" * 32) is None


def test_days_are_the_shows_to_come_and_the_next_open_days(told: Snapshot) -> None:
    found = [(row.day, row.kind) for row in told.days]
    assert found[:3] == [("2026-10-24", "work day"), ("2026-10-31", "display day"), ("2026-10-31", "work day")]
    assert (len(found), found[-1]) == (14, ("2027-01-16", "work day"))


def test_a_work_day_says_what_is_planned_on_it(told: Snapshot) -> None:
    day = next(iter(told.days))
    assert len(day.plan) == 1
    assert day.plan[0].startswith("0:00-2:00 Badger: Slack (badger-9m2xa)")
    assert told.plan_note() == ""


def test_without_a_solver_the_days_stand_without_a_plan_and_a_line_says_why(
    told: Snapshot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sync.plan.cp.HAVE_SOLVER", False)
    assert {row.plan for row in told.days} == {()}
    assert told.plan_note().startswith("No days are planned:")


def test_what_no_longer_has_its_date_is_told_by_the_id_it_had(told: Snapshot) -> None:
    assert [(row.about, row.day) for row in told.ended] == [
        (f"temporary:{OPENING}", "2026-11-20"),
        ("wait:badger/service/grease", "2026-11-12"),
        ("wait:job j-1", "2026-10-24"),
        ("wait:part bulb for badger-9m2xa", "2026-10-20"),
    ]


def test_lines_set_aside_are_counted_by_reason(told: Snapshot) -> None:
    assert [(row.reason, row.lines) for row in told.set_aside] == [("kind", 2), ("shape", 1)]


def test_the_backlog_is_read_a_page_at_a_time(edition: Edition, snapshot: Snapshot, tmp_path: Path) -> None:
    held = Held(edition, tuple(snapshot.backlog) * 600, tmp_path)
    assert sum(1 for _ in gather(held, AS_OF, tmp_path).backlog) == 2400  # type: ignore[arg-type]
    assert len(held.asked) == 3


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"present": True, "severity": "major", "verdict": "worse"}, "worse, major"),
        ({"present": True, "severity": "minor", "put_right": True}, "defect, minor, put right at once"),
        ({"present": False, "verdict": "gone"}, "gone"),
        ({"kind": "ruling", "said": "closed: it was mud"}, "closed: it was mud"),
    ],
)
def test_what_a_side_says_is_told_in_words(given: dict[str, Any], words: str) -> None:
    plain = {"entry": "e", "device": "d", "seq": 1, "by": "RM", "at": "", "kind": "finding"}
    assert side_says(Sighting(**{**plain, **given})) == words


@pytest.mark.parametrize(
    ("off", "words"),
    [(None, ""), (-400, "clock 7 min off"), (9000, "clock 2 h off"), (-172_000, "clock 2 days off")],
)
def test_how_far_a_clock_was_off_is_told_in_words(off: float | None, words: str) -> None:
    assert clock_words(off) == words
