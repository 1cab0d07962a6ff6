"""What the compiled edition says in its own words, whatever words the fleet files used."""

from pathlib import Path

from builder.edition import compile_edition, read_edition
from builder.load import load_fleet
from tests.builder.fleets import write_fleet


def test_a_fluid_is_known_by_its_rules_name_however_it_was_written(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, template=('leak = "axle oil"', 'leak = " Petrol "'))
    view = read_edition(compile_edition(load_fleet(folder))).by_vehicle["otter"]
    assert view.checks["right-side/drips"].leak == "petrol"
