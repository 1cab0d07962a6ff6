"""Known defects: kept from the workshop, asked at their place, with what a new walk then knows."""

import json
from typing import Any

import pytest

from tests.app.conftest import Bench

START = """
const { openStorage } = await load("storage");
const { Carries, placed } = await load("carry");
const carries = new Carries(await openStorage("trial"), "trial");
const code = (work) => work.then(() => "done", (error) => error.code);
"""


def defect(**fields: Any) -> dict[str, Any]:
    plain = {
        "defect": "0199f5c3-4e90-7a0d-b3c8-1d2e3f4a5b03", "code": "badger-7k3qd", "vehicle": "badger",
        "fault_name": "Slack", "severity": "major", "status": "open",
        "first_day": "2026-10-03", "last_day": "2026-10-03", "seen_by": ["RM"],
    }  # fmt: skip
    return {**plain, **fields}


def carry(*defects: dict[str, Any], **fields: Any) -> str:
    plain = {"driptray": 1, "carry": True, "fleet": "trial", "edition": "3f9c2a71", "made": "2026-10-16T20:00:00+01:00"}
    return json.dumps({**plain, "knows": {"desk-1": 7}, "defects": list(defects), **fields})


def test_a_carry_gives_each_vehicle_its_known_defects_and_what_a_walk_knows(bench: Bench) -> None:
    found, knows = bench.run(
        START + "await carries.take(given); return [await carries.of('badger'), await carries.knows()];",
        carry(
            defect(), defect(vehicle="otter"), standing={"badger": {"standing": "limited", "barred": [], "moves": []}}
        ),
    )
    assert [d["code"] for d in found["defects"]] == ["badger-7k3qd"]
    assert found["standing"]["standing"] == "limited"
    assert knows == {"desk-1": 7}


def test_a_newer_carry_takes_the_place_of_the_older_whole(bench: Bench) -> None:
    left = bench.run(
        START + "for (const text of given) await carries.take(text); return (await carries.of('badger')).defects;",
        [carry(defect()), carry(knows={"desk-1": 9})],
    )
    assert left == []


def test_a_carry_that_knows_less_than_this_phone_changes_nothing(bench: Bench) -> None:
    kept, left = bench.run(
        START + "await carries.take(given[0]); const { kept } = await carries.take(given[1]);"
        "return [kept, (await carries.of('badger')).defects.length];",
        [carry(defect()), carry(knows={"desk-1": 5})],
    )
    assert (kept, left) == (False, 1)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (carry(fleet="other"), "carry-foreign"),
        ("", "carry-unreadable"),
        ("{", "carry-unreadable"),
        ("null", "carry-unreadable"),
        ('{"driptray":1,"fleet":"trial"}', "carry-unreadable"),
        (carry(knows=None), "carry-unreadable"),
        (carry(defects="none"), "carry-unreadable"),
    ],
)
def test_a_file_that_is_no_carry_of_this_fleet_is_refused_and_changes_nothing(
    bench: Bench, text: str, code: str
) -> None:
    got, left = bench.run(
        START + "await carries.take(given[0]); return [await code(carries.take(given[1])), await carries.knows()];",
        [carry(defect()), text],
    )
    assert (got, left) == (code, {"desk-1": 7})


def test_a_line_of_a_carry_that_makes_no_sense_costs_only_itself(bench: Bench) -> None:
    found = bench.run(
        START + "await carries.take(given); return (await carries.of('badger')).defects.length;",
        carry(defect(), {"vehicle": "badger"}, 5, None, defect(severity="bad")),  # type: ignore[arg-type]
    )
    assert found == 1


def test_a_known_defect_is_asked_at_its_place_of_today(bench: Bench) -> None:
    given = [
        defect(check="left-track/sag"),
        defect(check="left-track/tension", code="formerly"),
        defect(check="left-track/wheels", spot="2", code="spot"),
        defect(check="left-track/wheels", spot="9", code="no such spot"),
        defect(check="gone/away", station="nose", code="station"),
        defect(code="nowhere"),
    ]
    found = bench.run(
        START + "const checks = [{ id: 'left-track/sag', station: 'left-track', spots: [],"
        " formerly: ['left-track/tension'] },"
        " { id: 'left-track/wheels', station: 'left-track', spots: ['1', '2'] }];"
        "const vehicle = { stations: [{ id: 'left-track', checks }, { id: 'nose', checks: [] }] };"
        "const { at, stations, rest } = placed(vehicle, given); const codes = (map) =>"
        " Object.fromEntries([...map].map(([key, all]) => [key, all.map((d) => d.code)]));"
        "return [codes(at), codes(stations), rest.map((d) => d.code)];",
        given,
    )
    assert found == [
        {"left-track/sag\n": ["badger-7k3qd", "formerly"], "left-track/wheels\n2": ["spot"]},
        {"left-track": ["no such spot"], "nose": ["station"]},
        ["nowhere"],
    ]


def test_a_walk_fixes_what_it_knows_when_it_starts(bench: Bench) -> None:
    knows = bench.run(
        START + "const { Log } = await load('log');"
        "const log = new Log(carries.storage, { code: 'trial', edition: 'x' }); await carries.take(given[0]);"
        "const start = { vehicle: 'badger', round: 'cold', day: '2026-10-18', knows: await carries.knows(), of: 3 };"
        "const { walk } = await log.startWalk(start); await carries.take(given[1]);"
        "await log.finishWalk(await log.walk(walk), { covered: 3, of: 3, unchecked: [] });"
        "const view = await log.walk(walk); return [view.knows, view.finished.knows];",
        [carry(defect()), carry(knows={"desk-1": 30})],
    )
    assert knows == [{"desk-1": 7}, {"desk-1": 7}]
