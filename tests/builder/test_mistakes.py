"""Every kind of mistake in the fleet files is told with its file, its key, what was found and what was expected."""

from pathlib import Path

import pytest

from builder.load import load_fleet
from tests.builder.fleets import mistakes_of, write_fleet

# what is made wrong -> (file, old, new, what the line must hold)
WRONG = {
    "an unknown key": (
        "fleet",
        'code = "trial-shed"',
        'code = "trial-shed"\ncolour = "red"',
        ["fleet.toml: colour", "an unknown key"],
    ),
    "a missing key": (
        "vehicle",
        'location = "Bay 2"',
        "",
        ["vehicles/otter.toml: location", "found nothing", "required"],
    ),
    "a wrong type": ("vehicle", 'name = "Otter"', "name = 5", ["vehicles/otter.toml: name", "found 5", "string"]),
    "an id that is no slug": (
        "vehicle",
        'id = "otter"',
        'id = "Big Otter"',
        ["vehicles/otter.toml: id", "Big Otter", "lower-case"],
    ),
    "a severity not in the list": (
        "template",
        'severity = "major"',
        'severity = "bad"',
        ["templates/gear.toml: station[left-side].check[sag].fault[slack].severity", '"bad"', "'dangerous'"],
    ),
    "a round not in the list": ("template", '["cold", "full"]', '["warm"]', ["check[sag].rounds", '"warm"', "'hot'"]),
    "no round at all": ("template", '["cold", "full"]', "[]", ["check[sag].rounds", "an empty list", "at least one"]),
    "initials of two people": (
        "fleet",
        "lead = true }",
        'lead = true }, { name = "Alf Brook", initials = "AB" }',
        ["fleet.toml: people", 'initials "AB" twice'],
    ),
    "two display days on one date": (
        "fleet",
        "date = 2026-10-17",
        'date = 2026-10-17\n[[display_day]]\nname = "Again"\ndate = 2026-10-17',
        ["fleet.toml: display_day", "two on 2026-10-17"],
    ),
    "two checks with one id": (
        "template",
        'id = "wheels"',
        'id = "sag"',
        ["station[left-side].check", 'id "sag" twice'],
    ),
    "two stations with one id": (
        "template",
        'id = "right-side"',
        'id = "left-side"',
        ["templates/gear.toml: station", '"left-side" twice'],
    ),
    "two faults with one id": (
        "template",
        '[{ id = "slack"',
        '[{ id = "slack", name = "A", severity = "minor" }, { id = "slack"',
        ["check[sag].fault", 'id "slack" twice'],
    ),
    "two access steps with one id": (
        "template",
        'id = "deck-off"',
        'id = "track-off"',
        ["templates/gear.toml: access", '"track-off" twice'],
    ),
    "a repeated spot": ("template", '"road_wheels"', '["front", "front"]', ["check[wheels].spots", '"front" twice']),
    "an empty list of spots": ("template", '"road_wheels"', "[]", ["check[wheels].spots", "an empty list"]),
    "spots of a fact that is missing": (
        "vehicle",
        "road_wheels = 6",
        "",
        ["vehicles/otter.toml: facts.road_wheels", "missing", "1 to 60"],
    ),
    "spots of a fact that is no count": (
        "vehicle",
        "road_wheels = 6",
        'road_wheels = "six"',
        ["facts.road_wheels", "six", "1 to 60"],
    ),
    "more spots than can be": (
        "vehicle",
        "road_wheels = 6",
        "road_wheels = 61",
        ["facts.road_wheels", "61", "1 to 60"],
    ),
    "an unknown quantity": (
        "template",
        'quantity = "length"',
        'quantity = "girth"',
        ["check[sag].reading.quantity", '"girth"', "length"],
    ),
    "a unit of another quantity": (
        "template",
        'unit = "mm"',
        'unit = "bar"',
        ["check[sag].reading.unit", '"bar"', "mm"],
    ),
    "low above high": ("template", "low = 15", "low = 55", ["check[sag].reading.low", "55", "high 35"]),
    "a limit that is not plausible": (
        "template",
        "most = 300",
        "most = 20",
        ["check[sag].reading.high", "35", "most 20"],
    ),
    "hours the wrong way round": (
        "template",
        "hours = [2, 4]",
        "hours = [4, 2]",
        ["fault[slack].hours", "[4.0, 2.0]", "least hours first"],
    ),
    "a fluid the leak table does not know": (
        "template",
        '"axle oil"',
        '"axel oil"',
        ["check[drips].leak", "axel oil", "axle oil"],
    ),
    "an unknown workshop resource": (
        "template",
        'uses = ["pit"]',
        'uses = ["crane"]',
        ["fault[cracked].uses", '"crane"', "pit"],
    ),
    "a need of an unknown step": (
        "template",
        'needs = ["track-off"]',
        'needs = ["pack-out"]',
        ["fault[slack].needs", '"pack-out"', "track-off"],
    ),
    "a hold of an unknown step": (
        "template",
        'holds = ["deck-off"]',
        'holds = ["roof-off"]',
        ["fault[cracked].holds", '"roof-off"'],
    ),
    "a step that needs an unknown step": (
        "template",
        'needs = ["deck-off"]',
        'needs = ["roof-off"]',
        ["access[track-off].needs", '"roof-off"'],
    ),
    "a while-open task of an unknown step": (
        "template",
        'access = "track-off"',
        'access = "pack-out"',
        ["while_open[grease].access", '"pack-out"'],
    ),
    "a circle of access steps": (
        "template",
        'name = "Deck off"',
        'name = "Deck off"\nneeds = ["track-off"]',
        ["vehicles/otter.toml", "a circle: deck-off needs track-off needs deck-off"],
    ),
    "a step that needs itself": (
        "template",
        'needs = ["deck-off"]',
        'needs = ["track-off"]',
        ["a circle: track-off needs track-off"],
    ),
    "a fault that holds what its mending needs": (
        "template",
        'needs = ["track-off"] }',
        'needs = ["track-off"], holds = ["deck-off"] }',
        ["left-side/sag.fault[slack].holds", '"deck-off"', "its own mending needs"],
    ),
    "a missing template": (
        "vehicle",
        '["gear"]',
        '["gear", "wings"]',
        ["vehicles/otter.toml: templates", '"wings"', "gear"],
    ),
    "a template named twice": ("vehicle", '["gear"]', '["gear", "gear"]', ["templates", '"gear" twice']),
    "an override of an unknown check": (
        "vehicle",
        "[facts]",
        '[check."left-side/sog"]\nask = "Sog"\n[facts]',
        ["vehicles/otter.toml: check", '"left-side/sog"'],
    ),
    "an override of an unknown fault": (
        "vehicle",
        "[facts]",
        '[check."left-side/sag".fault.loose]\nseverity = "minor"\n[facts]',
        ['sag".fault', '"loose"', "slack"],
    ),
    "an override that turns limits round": (
        "vehicle",
        "[facts]",
        '[check."left-side/sag"]\nreading = { low = 40 }\n[facts]',
        ['check."left-side/sag".reading.low', "40", "high 35"],
    ),
    "half a reading where the template has none": (
        "vehicle",
        "[facts]",
        '[check."right-side/drips"]\nreading = { low = 4 }\n[facts]',
        ['check."right-side/drips".reading', "quantity"],
    ),
    "a drop of an unknown check": (
        "vehicle",
        "[facts]",
        '[drop]\nchecks = ["left-side/wings"]\n[facts]',
        ["drop.checks", '"left-side/wings"'],
    ),
    "a station without a place": ("template", "at = [0.5, 1.0]\n", "", ["station[right-side].at", "nothing"]),
    "a place off the plan view": (
        "template",
        "at = [0.5, 1.0]",
        "at = [0.5, 1.5]",
        ["station[right-side].at", "1.5", "less than or equal to 1"],
    ),
    "a mirror that is not there": (
        "template",
        'mirror = "right-side"',
        'mirror = "far-side"',
        ["station[left-side].mirror", '"far-side"'],
    ),
    "an earlier id that is a check of today": (
        "template",
        'ask = "Road wheels"',
        'ask = "Road wheels"\nformerly = ["left-side/sag"]',
        ["formerly", '"left-side/sag"', "a check of today"],
    ),
    "one earlier id of two checks": (
        "template",
        'ask = "Road wheels"',
        'ask = "Road wheels"\nformerly = ["x/y", "x/y"]',
        ["formerly", '"x/y" of two checks'],
    ),
    "broken TOML": ("template", "[[access]]", "[[access]", ["templates/gear.toml", "broken TOML", "line", "column"]),
    "an infinite limit": ("template", "high = 35", "high = inf", ["check[sag].reading.high", "inf", "finite"]),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_mistake_is_told_with_file_key_found_and_expected(what: str, tmp_path: Path) -> None:
    file, old, new, expected = WRONG[what]
    told = mistakes_of(write_fleet(tmp_path, **{file: (old, new)}))
    assert any(all(part in line for part in expected) for line in told), "\n".join(told)


def test_the_fleet_that_all_mistakes_are_made_in_has_none(tmp_path: Path) -> None:
    assert load_fleet(write_fleet(tmp_path)).vehicles[0].id == "otter"


def test_every_mistake_is_told_at_once(tmp_path: Path) -> None:
    told = mistakes_of(
        write_fleet(
            tmp_path,
            fleet=('code = "trial-shed"', 'code = "Trial Shed"'),
            template=('unit = "mm"', 'unit = "bar"'),
            vehicle=('["gear"]', '["gear", "wings"]'),
        )
    )
    assert [line.split(":")[0] for line in told] == ["fleet.toml", "templates/gear.toml", "vehicles/otter.toml"]


def test_a_mistake_in_a_vehicle_is_told_although_its_template_is_broken_too(tmp_path: Path) -> None:
    told = mistakes_of(
        write_fleet(tmp_path, template=('severity = "major"', 'severity = "bad"'), vehicle=("road_wheels = 6", ""))
    )
    assert any("severity" in line for line in told)
    assert any("facts.road_wheels" in line for line in told)


def test_two_vehicles_with_one_id_are_told_with_both_files(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path)
    (folder / "vehicles/second.toml").write_bytes((folder / "vehicles/otter.toml").read_bytes())
    (line,) = mistakes_of(folder)
    assert "vehicles/second.toml: id" in line
    assert "vehicles/otter.toml has too" in line


def test_two_templates_of_a_vehicle_that_bring_one_check_are_told(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, vehicle=('["gear"]', '["gear", "more"]'))
    more = 'name = "More"\n[[station]]\nid = "left-side"\n[[station.check]]\nid = "sag"\nask = "Sag again"\n'
    (folder / "templates/more.toml").write_text(more, "utf-8")
    assert any('id "sag" from two templates' in line for line in mistakes_of(folder))


@pytest.mark.parametrize(("round_name", "most"), [("hot", 15), ("cold", 25)])
def test_a_round_with_more_checks_than_can_be_walked_is_told(round_name: str, most: int, tmp_path: Path) -> None:
    checks = [f'[[station.check]]\nid = "c{n}"\nask = "Look {n}"\nrounds = ["{round_name}"]\n' for n in range(most + 1)]
    folder = write_fleet(tmp_path, template=('id = "drips"\n', 'id = "drips"\nrounds = ["full"]\n'))
    (folder / "templates/many.toml").write_text(
        'name = "Many"\n[[station]]\nid = "right-side"\n' + "".join(checks), "utf-8"
    )
    path = folder / "vehicles/otter.toml"
    path.write_text(path.read_text("utf-8").replace('["gear"]', '["gear", "many"]'), "utf-8")
    assert any(f"in the {round_name} round; expected at most {most}" in line for line in mistakes_of(folder))


def test_a_folder_without_fleet_files_is_told_so(tmp_path: Path) -> None:
    assert mistakes_of(tmp_path) == ("fleet.toml: found no such file; expected this file in the fleet's folder",)


def test_a_fleet_without_vehicles_is_told_so(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path)
    (folder / "vehicles/otter.toml").unlink()
    assert "at least one vehicles/NAME.toml" in mistakes_of(folder)[0]


def test_a_file_that_is_not_utf8_is_told_with_its_place(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path)
    (folder / "fleet.toml").write_bytes(b'name = "\xff"\n')
    assert any(line.startswith("fleet.toml: found a byte at 8 that is not UTF-8") for line in mistakes_of(folder))


@pytest.mark.parametrize("written", ["Brakes", "brake", "runing gear"])
def test_a_system_that_no_rule_would_know_by_its_spelling_is_told(written: str, tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, template=('id = "drips"\n', f'id = "drips"\nsystem = "{written}"\n'))
    assert any(f'.system: found "{written}"; expected "' in line for line in mistakes_of(folder))


def test_a_system_of_ones_own_is_no_mistake(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, template=('id = "drips"\n', 'id = "drips"\nsystem = "radio"\n'))
    assert load_fleet(folder).templates["gear"].station[1].check[0].system == "radio"


def test_a_person_who_signs_off_what_nothing_is_of_is_told(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, fleet=("lead = true", 'lead = true, signs_off = ["harness"]'))
    assert any('people[AB].signs_off: found "harness"' in line for line in mistakes_of(folder))
