"""The rules of the house that a reader of imports and of the tree can hold it to."""

import ast
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(p for room in ("builder", "sync") for p in (ROOT / room).rglob("*.py"))
AT_THE_ROOT = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", ".ci", ".gitignore",
    "builder", "sync", "web_templates", "tests", "sample_fleet",
}  # fmt: skip
# Which rooms may not be entered from where; "sync.trade" covers its sub-modules too.
FORBIDDEN = {
    "builder": ("sync",),
    "sync.trade": ("sync.store", "sync.service", "sync.desk", "sync.door", "sync.fold", "sqlite3", "sqlite_utils"),
    "sync.fold": ("sync.store", "sync.service", "sync.desk", "sync.door", "sqlite3", "sqlite_utils", "httpx", "time"),
    "sync.standing": ("sync.store", "sync.service", "sqlite3", "sqlite_utils", "time"),
    "sync.rank": ("sync.store", "sync.service", "sqlite3", "sqlite_utils", "time"),
    "sync.entries": ("sync.store", "sync.service", "sync.fold"),
    "sync.intake": ("sync.store", "sync.service", "sync.fold", "sqlite3", "sqlite_utils"),
    "sync.store": ("sync.service", "sync.desk", "sync.door", "sync.intake"),
    "sync.state": ("sync.store", "sync.service", "sync.fold", "sync.trade", "sync.plan"),
    "sync.rows": ("sync.store", "sync.service", "sync.fold", "sync.trade", "sync.plan"),
    "sync.plan": (
        "sync.store",
        "sync.service",
        "sync.fold",
        "sync.trade",
        "sync.desk",
        "sync.door",
        "sync.exports",
        "sync.paper",
        "sqlite3",
    ),
    "sync.service": ("sync.desk", "sync.door", "sync.exports", "sync.paper", "sync.plan", "sync.trade"),
    "sync.exports": ("sync.service", "sync.fold", "sync.desk", "sync.door"),
    "sync.paper": ("sync.service", "sync.desk", "sync.door"),
    "sync.desk": ("sync.door", "sync.intake", "sync.exchange"),
    "sync.door": ("sync.fold", "sync.trade", "sync.plan", "sync.exports", "sync.paper"),
}
MAY_USE_CLICK = ("builder.commands", "sync.cli", "sync.commands", "sync.reckon", "sync.plan.command",
                 "sync.exports.command")  # fmt: skip
MAY_USE_SQL = ("sync.store", "sync.migrations")
MAY_FETCH = ("sync.exchange",)
LONGEST_MODULE = 400


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(path: Path) -> Iterator[str]:
    """Full names of what a module imports, wherever in it the import stands."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def within(name: str, room: str) -> bool:
    """Whether a module belongs to a room: "sync.store" holds sync.store, sync.store.rows and sync.store_rows."""
    return name == room or name.startswith((f"{room}.", f"{room}_"))


def users_of(library: str) -> set[str]:
    return {name_of(p) for p in MODULES if any(within(i, library) for i in imports_of(p))}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_no_module_imports_from_a_room_closed_to_it(path: Path) -> None:
    closed = [to for room, rooms in FORBIDDEN.items() if within(name_of(path), room) for to in rooms]
    entered = {i for i in imports_of(path) for to in closed if within(i, to)}
    assert not entered


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_no_import_between_our_own_modules_hides_below_the_top(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    top = {id(node) for node in tree.body}
    below = [n for n in ast.walk(tree) if isinstance(n, (ast.Import, ast.ImportFrom)) and id(n) not in top]
    assert not [ast.unparse(n) for n in below if "builder" in ast.unparse(n) or "sync" in ast.unparse(n)]


def test_only_the_command_modules_use_click() -> None:
    strangers = {m for m in users_of("click") if not any(within(m, room) for room in MAY_USE_CLICK)}
    assert not strangers


def test_only_the_store_speaks_sql() -> None:
    users = users_of("sqlite3") | users_of("sqlite_utils")
    assert not {m for m in users if not any(within(m, room) for room in MAY_USE_SQL)}


def test_only_the_exchange_calls_out_over_the_network() -> None:
    assert not {m for m in users_of("httpx") if not any(within(m, room) for room in MAY_FETCH)}


def test_the_error_trees_import_nothing_but_their_root() -> None:
    assert list(imports_of(ROOT / "builder/errors.py")) == []
    assert {i for i in imports_of(ROOT / "sync/errors.py") if not within(i, "builder.errors")} == set()


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_each_module_says_first_what_it_is_for(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text("utf-8")))


def sources() -> Iterator[Path]:
    yield from MODULES
    for ending in ("*.js", "*.css"):
        yield from sorted((ROOT / "web_templates").rglob(ending))
    yield from sorted((ROOT / "tests").rglob("*.py"))


def test_no_source_file_is_longer_than_two_modules_should_be() -> None:
    long = {
        str(p.relative_to(ROOT)): n for p in sources() if (n := len(p.read_text("utf-8").splitlines())) > LONGEST_MODULE
    }
    assert not long


def test_nothing_but_the_house_stands_at_the_root() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:  # an unpacked archive has no git
        names = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")} - {"dist", "build"}
    else:
        names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert names <= AT_THE_ROOT


def test_no_test_is_skipped_or_expected_to_fail() -> None:
    words = ["pytest." + "skip(", "mark." + "skip", "mark." + "xfail", "importor" + "skip"]
    tests = [p for p in (ROOT / "tests").rglob("*.py") if p != Path(__file__)]
    assert not [str(p) for p in tests for w in words if w in p.read_text("utf-8")]
