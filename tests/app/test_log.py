"""The phone's log: numbered without gaps, corrected, never changed."""

import re
from typing import Any

from tests.app.conftest import Bench

START = """
const { openStorage } = await load("storage");
const { Log } = await load("log");
const storage = await openStorage("trial");
const log = new Log(storage, { code: "trial", edition: "3f9c2a71" });
await log.setOwner({ name: "RM phone", by: "RM" });
"""
WALK = """
const knows = { "d-9x2p": 88 };
const walk = await log.startWalk({ vehicle: "badger", round: "cold", day: "2026-10-18", knows, of: 24 });
"""


def lines(bench: Bench) -> list[dict[str, Any]]:
    return bench.run(f"{START} return (await log.records()).map((record) => JSON.parse(record.line));")


def test_entries_are_numbered_from_one_without_gaps_however_many_are_written_at_once(bench: Bench) -> None:
    bench.run(
        START + 'const report = { kind: "report", vehicle: "badger", source: "driver", symptom: "pulls", photos: [] };'
        "await Promise.all(Array.from({ length: 20 }, () => log.append(report)));"
    )
    assert [entry["seq"] for entry in lines(bench)] == list(range(1, 21))


def test_an_entry_says_who_when_where_and_of_which_edition(bench: Bench) -> None:
    bench.run(START + WALK)
    (entry,) = lines(bench)
    assert re.fullmatch(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", entry["id"])
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}[+-]\d\d:\d\d", entry["at"])
    assert (entry["by"], entry["edition"], entry["walk"]) == ("RM", "3f9c2a71", entry["id"])
    assert entry["knows"] == {"d-9x2p": 88}


def test_marking_again_takes_the_earlier_mark_back_and_replaces_it(bench: Bench) -> None:
    place = 'const place = { station: "left-track", check: "left-track/sag" };'
    marks = bench.run(
        START + WALK + place + 'await log.mark(walk, place, { result: "sound" });'
        "const before = await log.walk(walk.walk);"
        'await log.mark(before, place, { result: "defect", fault: "slack", severity: "major" });'
        "return [...(await log.walk(walk.walk)).marks.values()].flat();"
    )
    _started, sound, defect = lines(bench)
    assert [mark["id"] for mark in marks] == [defect["id"]]
    assert defect["corrects"] == sound["id"]
    assert "corrects" not in sound


def test_an_undone_mark_leaves_its_place_not_looked_at(bench: Bench) -> None:
    left = bench.run(
        START + WALK + 'const place = { station: "left-track", check: "left-track/sag" };'
        'await log.mark(walk, place, { result: "sound" });'
        "await log.unmark(await log.walk(walk.walk), place);"
        "return (await log.walk(walk.walk)).marks.size;"
    )
    assert left == 0
    assert lines(bench)[-1]["result"] == "unchecked"
