"""No bytes whatever in fleet files give a traceback: they load, or every mistake is a line of words."""

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builder.edition import compile_edition, read_edition
from builder.errors import FleetError
from builder.load import load_fleet
from tests.builder.fleets import FILES, mistakes_of, write_fleet

NAMES = st.sampled_from(sorted(FILES))
# Values that TOML can say and a careless reader trips over.
ODD = st.sampled_from(
    [
        "nan", "-inf", "1e400", "9" * 400, "-0", "true", '""', "[]", "[[]]", "{}", "1979-05-27", "07:32:00",
        "1979-05-27T07:32:00Z", '"\\u0000"', "'''x'''", "[1, [2, [3]]]", '{ id = "x" }', '[{ id = 5 }, "x"]',
        "0x7fffffffffffffff", '"\\U0010FFFF"', "[" * 3000, '"a" = 1',
    ]
)  # fmt: skip


def told_or_built(files: dict[str, bytes]) -> None:
    """Load and compile; anything but a FleetError of whole lines is a failure."""
    with tempfile.TemporaryDirectory() as name:
        folder = write_fleet(Path(name))
        for path, data in files.items():
            (folder / path).write_bytes(data)
        mistakes = built(folder)
        assert all("found" in line and "expected" in line and "\n" not in line for line in mistakes)


def built(folder: Path) -> tuple[str, ...]:
    """The mistakes; none where the fleet compiles, and then twice to the same bytes."""
    try:
        fleet = load_fleet(folder)
    except FleetError as error:
        return error.mistakes or ("no mistake told",)
    compiled = compile_edition(fleet)
    same = read_edition(compiled).vehicles and compiled == compile_edition(fleet)
    return () if same else ("another edition from the same files",)


@given(NAMES, st.binary(max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_bytes_in_a_file(name: str, data: bytes) -> None:
    told_or_built({name: data})


@given(NAMES, st.data(), ODD | st.text(max_size=12))
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_value_put_in_the_place_of_another(name: str, data: st.DataObject, odd: str) -> None:
    lines = FILES[name].split("\n")
    at = data.draw(st.integers(0, len(lines) - 1))
    key, equals, _ = lines[at].partition("=")
    lines[at] = f"{key}{equals} {odd}" if equals else odd
    told_or_built({name: "\n".join(lines).encode("utf-8", "surrogatepass")})


@given(NAMES, st.data())
@settings(max_examples=150, deadline=None)
def test_any_slice_cut_out_or_doubled(name: str, data: st.DataObject) -> None:
    whole = FILES[name].encode()
    start = data.draw(st.integers(0, len(whole)))
    end = data.draw(st.integers(start, min(len(whole), start + 120)))
    middle = data.draw(st.sampled_from([b"", whole[start:end] * 2]))
    told_or_built({name: whole[:start] + middle + whole[end:]})


def test_a_folder_where_a_file_belongs_is_told_in_words(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path)
    (folder / "templates/gear.toml").unlink()
    (folder / "templates/gear.toml").mkdir()
    assert any(line.startswith("templates/gear.toml: found") for line in mistakes_of(folder))
