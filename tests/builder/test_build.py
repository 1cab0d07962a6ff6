"""The built app: same input, same bytes; every file listed by hash; the old site whole until the new one stands."""

import errno
import hashlib
import json
import re
from pathlib import Path

import pytest

from builder.assets import finish, precache
from builder.commands import app_files
from builder.edition import compile_edition, read_edition
from builder.errors import BuildError
from builder.load import load_fleet
from builder.render import render
from builder.write import write_file, write_site
from tests.builder.fleets import write_fleet

WORKER = b'const VERSION = "VERSION";\nconst FILES = {/* FILES */};\n'


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return write_fleet(tmp_path / "fleet")


def listed(files: dict[str, bytes]) -> dict[str, str]:
    found = re.search(rb"const FILES = (\{.*?\});", files["worker.js"], re.DOTALL)
    assert found
    return dict(json.loads(found[1]))


def version(files: dict[str, bytes]) -> str:
    found = re.search(rb'const VERSION = "(.*?)";', files["worker.js"])
    assert found
    return found[1].decode()


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_the_same_fleet_gives_the_same_bytes(fleet: Path) -> None:
    assert app_files(fleet) == app_files(fleet)


def test_the_worker_lists_every_other_file_by_its_hash(fleet: Path) -> None:
    files = app_files(fleet)
    assert listed(files) == {
        path: hashlib.sha256(data).hexdigest() for path, data in files.items() if path != "worker.js"
    }


def test_any_changed_byte_gives_another_version() -> None:
    files = {"worker.js": WORKER, "index.html": b"one"}
    assert version(finish(files)) != version(finish({**files, "index.html": b"two"}))
    assert version(finish(files)) != version(finish({**files, "worker.js": WORKER + b"// more\n"}))


def test_the_order_of_files_changes_no_version() -> None:
    files = {"worker.js": WORKER, "a.js": b"1", "b.js": b"2"}
    assert finish(files)["worker.js"] == finish(dict(reversed(files.items())))["worker.js"]


def test_the_worker_does_not_list_itself() -> None:
    assert "worker.js" not in precache({"worker.js": WORKER, "index.html": b""})


def test_a_worker_without_a_place_for_its_list_is_refused() -> None:
    with pytest.raises(ValueError, match=r"worker\.js: found .*0 times"):
        finish({"worker.js": b"// nothing here"})


def test_every_name_is_escaped_where_it_is_filled_in(tmp_path: Path) -> None:
    name = '<img src=x> & \\"Sons\\"'
    folder = write_fleet(tmp_path, fleet=('name = "Trial Shed"', f'name = "{name}"'))
    compiled = compile_edition(load_fleet(folder))
    templates = {"js/main.js": b"", "a.html": b"<p>{{ name }}</p>", "a.webmanifest": b'{"name": {{ name | tojson }}}'}
    files = render(compiled, read_edition(compiled), templates)
    assert files["a.html"] == b"<p>&lt;img src=x&gt; &amp; &#34;Sons&#34;</p>"
    assert json.loads(files["a.webmanifest"]) == {"name": '<img src=x> & "Sons"'}


def test_a_template_that_asks_for_an_unknown_value_is_refused_by_name(fleet: Path) -> None:
    compiled = compile_edition(load_fleet(fleet))
    with pytest.raises(BuildError, match=r"a\.html: .*colour"):
        render(compiled, read_edition(compiled), {"js/main.js": b"", "a.html": b"{{ colour }}"})


def test_the_manifest_is_json_and_names_the_fleet(fleet: Path) -> None:
    assert json.loads(app_files(fleet)["manifest.webmanifest"])["name"] == "Trial Shed"


def test_every_icon_of_the_manifest_is_built(fleet: Path) -> None:
    files = app_files(fleet)
    icons = [icon["src"] for icon in json.loads(files["manifest.webmanifest"])["icons"]]
    assert icons
    assert set(icons) <= set(files)


def test_no_name_of_a_person_is_built_into_the_site(tmp_path: Path) -> None:
    person = ('name = "Ada Birch", initials = "AB"', 'name = "Zenobia Quillgarth", initials = "ZQ7"')
    everything = b"".join(app_files(write_fleet(tmp_path, fleet=person)).values())
    assert b'"ZQ7"' in everything
    assert b"Quillgarth" not in everything


def test_a_site_is_written_whole(tmp_path: Path) -> None:
    files = {"edition.json": b"{}", "worker.js": b"", "js/main.js": b"1"}
    write_site(tmp_path / "deep/app", files)
    assert tree(tmp_path / "deep/app") == files


def test_a_new_build_leaves_nothing_of_the_old(tmp_path: Path) -> None:
    write_site(tmp_path / "app", {"edition.json": b"{}", "worker.js": b"", "js/old.js": b"1"})
    write_site(tmp_path / "app", {"edition.json": b"{}", "worker.js": b"2"})
    assert sorted(tree(tmp_path)) == ["app/edition.json", "app/worker.js"]


def test_a_build_that_fails_while_writing_leaves_the_old_site_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = {"edition.json": b"{}", "worker.js": b"old"}
    write_site(tmp_path / "app", old)
    plain = Path.open

    def full(self: Path, *args: object, **options: object) -> object:
        if self.name == "worker.js":
            raise OSError(errno.ENOSPC, "No space left on device")
        return plain(self, *args, **options)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(BuildError, match="No space left on device; what stood there still stands"):
        write_site(tmp_path / "app", {"edition.json": b"{}", "worker.js": b"new"})
    monkeypatch.undo()
    assert tree(tmp_path) == {f"app/{path}": data for path, data in old.items()}


def test_a_build_that_fails_at_the_swap_leaves_the_old_site_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = {"edition.json": b"{}", "worker.js": b"old"}
    write_site(tmp_path / "app", old)
    plain = Path.rename

    def stuck(self: Path, target: Path) -> Path:
        if self.name == ".app.new":
            raise PermissionError(errno.EACCES, "Permission denied")
        return plain(self, target)

    monkeypatch.setattr(Path, "rename", stuck)
    with pytest.raises(BuildError, match="Permission denied"):
        write_site(tmp_path / "app", {"edition.json": b"{}", "worker.js": b"new"})
    assert tree(tmp_path) == {f"app/{path}": data for path, data in old.items()}


def test_a_build_killed_between_its_two_renames_is_mended_by_the_next(tmp_path: Path) -> None:
    old = {"edition.json": b"{}", "worker.js": b"old"}
    write_site(tmp_path / "app", old)
    (tmp_path / "app").rename(tmp_path / ".app.old")
    with pytest.raises(BuildError):
        write_site(tmp_path / "app", {"edition.json/inside": b"", "edition.json": b"a name twice"})
    assert tree(tmp_path / "app") == old


def test_a_folder_with_other_things_in_it_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters/aunt.txt").write_text("dear", "utf-8")
    with pytest.raises(BuildError, match="found a folder with other things in it"):
        write_site(tmp_path / "letters", {"edition.json": b"{}", "worker.js": b""})
    assert (tmp_path / "letters/aunt.txt").read_text("utf-8") == "dear"


def test_a_file_in_the_place_of_the_folder_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "app").write_text("mine", "utf-8")
    with pytest.raises(BuildError, match="found a file"):
        write_site(tmp_path / "app", {"edition.json": b"{}"})


def test_a_single_file_that_cannot_be_written_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "there").write_text("a file", "utf-8")
    with pytest.raises(BuildError, match="cannot be written"):
        write_file(tmp_path / "there/labels.html", b"")
