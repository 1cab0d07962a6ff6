"""Two workshop PCs: after an exchange both hold the same, and export the same bytes."""

import contextlib
import hashlib
import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.cli import ended
from sync.errors import DoorError
from sync.exchange import Exchange, Exchanged, Peer, Peers, authority_of, pair, plain_url, trusted_by
from sync.service import Draft, Service
from sync.store import Store
from sync.verifying import verify
from tests.builder.fleets import write_fleet
from tests.sync.door.cutting import Cutting
from tests.sync.door.doors import Phone, RunningDoor, answered, door_in, hand_in, picture

DAY = "2026-10-19"
FORMATS = ("csv", "json", "html", "md", "ics", "xlsx")


@pytest.fixture
def sheds(tmp_path: Path) -> Iterator[tuple[RunningDoor, RunningDoor]]:
    with door_in(tmp_path / "one") as one, door_in(tmp_path / "two") as two:
        yield one, two


def run(*arguments: object) -> tuple[int, str, str]:
    """`driptray` with these arguments: its exit code, what it said, and what it remarked."""
    said, remarked = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(remarked):
        code = ended([str(argument) for argument in arguments])
    return code, said.getvalue(), remarked.getvalue()


def exchange(here: RunningDoor, there: RunningDoor, port: int | None = None) -> Exchanged:
    url = f"https://localhost:{port or there.port}"
    authority, _ = authority_of(f"https://localhost:{there.port}")
    with here.store() as store:
        service = Service(store, here.door.now, here.door.randomness)
        peer = pair(f"https://localhost:{there.port}", authority, there.code(desk=True), service.device, "one")
        return Exchange(service, Peer(url, peer.token, authority), lambda *_: None).run()


def exports(door: RunningDoor) -> dict[str, bytes]:
    """Every export, written beside the backlog: photos are named by their way from the file."""
    folder = door.backlog.with_name("exports")
    folder.mkdir()
    found = {}
    for kind in FORMATS:
        out = folder / f"backlog.{kind}"
        code, _, said = run("export", "--backlog", door.backlog, "--as", kind, "--as-of", DAY, "--out", out)
        assert code == 0, said
        found[kind] = out.read_bytes()
    return found


def log_of(door: RunningDoor) -> set[tuple[str, str, bool]]:
    with door.store() as store:
        return set(store.relay_items())


def aside_of(door: RunningDoor) -> set[tuple[object, ...]]:
    with door.store() as store:
        return set(store.aside_bytes(store.aside_hashes()))


def filled(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    """Different phones at each, one phone at both, desk work at each, a line set aside, photos."""
    one, two = sheds
    for number, door in enumerate(sheds):
        phone = Phone.paired(door, f"d-own-{number}", f"phone {number}")
        phone.walk(3, [picture(number + 1)])
        phone.write("adopt", knows={})
        phone.write("from-later", vehicle="otter")
        phone.sync()
        with door.store() as store:
            (first, *_) = store.defects()
            draft = Draft("work", {"about": first.opening, "state": "in hand", "note": f"at {number}"})
            Service(store, door.door.now, door.door.randomness).write(draft, by="AB")
    both = Phone.paired(one, "d-both")
    both.report()
    both.sync()
    both.http, both.token = two.client(), ""
    both.pair(two.code())
    both.report("later")
    both.sync()


def test_after_an_exchange_both_export_the_same_bytes(sheds: tuple[RunningDoor, RunningDoor], tmp_path: Path) -> None:
    filled(sheds)
    one, two = sheds
    done = exchange(one, two)
    assert done.got[0] > 0 < done.gave[0]
    assert log_of(one) == log_of(two)
    assert aside_of(one) == aside_of(two) != set()
    with one.store() as here, two.store() as there:
        assert {photo.sha256 for photo in here.photos()} == {photo.sha256 for photo in there.photos()}
        assert here.editions() == there.editions()
        assert here.knows() == there.knows()
    assert exports(one) == exports(two)


def test_a_second_exchange_has_nothing_to_give(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    filled(sheds)
    exchange(*sheds)
    assert exchange(*sheds) == exchange(sheds[1], sheds[0]) == Exchanged((0, 0, 0, 0), (0, 0, 0, 0))


def test_photos_come_with_their_bytes(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    phone = Phone.paired(two, "d-photos")
    phone.walk(1, [picture(7)])
    phone.sync()
    exchange(one, two)
    with one.store() as store:
        (sha,) = phone.photos
        assert store.photo_path(sha).read_bytes() == phone.photos[sha]
        assert verify(store).pictures == ()


def test_a_photo_that_is_lost_or_damaged_holds_nothing_else_back(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    theirs, ours = Phone.paired(two, "d-theirs"), Phone.paired(one, "d-ours")
    for phone, colours in ((theirs, (1, 2)), (ours, (3, 4))):
        phone.walk(2, [picture(number) for number in colours])
        phone.sync()
    with two.store() as store:
        rotten, gone = sorted(theirs.photos)
        store.photo_path(rotten).write_bytes(b"rotten")
        store.photo_path(gone).unlink()
    with one.store() as store:
        bad, good = sorted(ours.photos)
        store.photo_path(bad).write_bytes(b"rotten")
    done = exchange(one, two)
    assert len(done.trouble) == 2
    assert log_of(one) == log_of(two)
    with one.store() as here, two.store() as there:
        assert not here.has_photo(rotten)
        assert there.photo_is_whole(good)
        assert not there.has_photo(bad)


def test_a_desks_kind_from_no_desk_stays_uncounted_at_both(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    """A version that did not know the kind kept it from a phone; handed on, it is still not a desk's."""
    one, two = sheds
    phone = Phone.paired(two, "d-odd")
    phone.write("from-later", vehicle="otter")
    phone.sync()
    with two.store() as store, store.writing() as connection:
        (row,) = store.entry(json.loads(phone.lines[0])["id"])
        line = row.body.replace("from-later", "tag").replace('"vehicle"', '"tag":"jack","on":true,"vehicle"')
        digest = hashlib.sha256(line.encode()).digest()
        connection.execute("UPDATE entries SET kind = 'tag', body = ?, hash = ? WHERE id = ?", (line, digest, row.id))
    exchange(one, two)
    assert log_of(one) == log_of(two)
    with one.store() as store:
        assert store.tags() == ()
        assert exchange(one, two).got == (0, 0, 0, 0)


def test_what_was_taken_out_at_one_is_gone_at_both(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    phone = Phone.paired(one, "d-shown")
    phone.walk(2, [picture(1)])
    phone.sync()
    exchange(one, two)
    finding = json.loads(phone.lines[1])
    with one.store() as store:
        fields = {"entry": finding["id"], "fields": ["note"], "photos": finding["photos"], "reason": "a face"}
        Service(store, one.door.now, one.door.randomness).write(Draft("redact", fields), by="AB")
    exchange(one, two)
    for door in sheds:
        with door.store() as store:
            assert "finding 0" not in store.entry(finding["id"])[0].body
            assert not list(store.photo_folder.glob("*.jpg"))
    assert log_of(one) == log_of(two)


def test_what_was_taken_out_before_goes_over_without_it_and_merges_all_the_same(
    sheds: tuple[RunningDoor, RunningDoor],
) -> None:
    one, two = sheds
    phone = Phone.paired(one, "d-shown")
    phone.walk(1, [picture(1)])
    phone.sync()
    finding = json.loads(phone.lines[1])
    with one.store() as store:
        fields = {"entry": finding["id"], "fields": ["note"], "photos": finding["photos"], "reason": "a face"}
        Service(store, one.door.now, one.door.randomness).write(Draft("redact", fields), by="AB")
    exchange(two, one)
    with two.store() as store:
        assert "finding 0" not in store.entry(finding["id"])[0].body
        assert len(store.clones()) == 0
    assert log_of(one) == log_of(two)
    phone.http, phone.token = two.client(), ""
    phone.pair(two.code())
    assert phone.left() == (0, 0)


def test_an_entry_whose_bytes_were_changed_on_the_way_is_set_aside(door: RunningDoor) -> None:
    desk = Phone.paired(door, "desk-forger", desk=True)
    line = json.dumps(desk.report("as written"), separators=(",", ":"))
    forged = {"entries": [{"line": line, "hash": "0" * 64, "trusted": True}]}
    assert answered(desk.post("parcel", forged)) == {"entries": 0, "aside": 1}


def test_a_phones_entry_stays_a_phones_at_the_other_pc(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    phone = Phone.paired(two, "d-there", "the green one")
    phone.report()
    phone.sync()
    exchange(one, two)
    with one.store() as store:
        row = next(row for row in store.devices() if row.device == "d-there")
    assert (row.desk, row.name) == (False, "the green one")


def test_an_exchange_cut_anywhere_is_simply_made_again(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    filled(sheds)
    one, two = sheds
    cuts = 0
    for most in range(4, 400, 2):
        line = Cutting(two.port, most)
        try:
            exchange(one, two, line.port)
            break
        except DoorError:
            cuts += 1
        finally:
            line.close()
    assert cuts > 3
    assert log_of(one) == log_of(two)
    assert aside_of(one) == aside_of(two)


def test_a_phones_token_is_not_enough(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    url = f"https://localhost:{two.port}"
    authority, _ = authority_of(url)
    peer = pair(url, authority, two.code(), "desk-odd", "one")
    with one.store() as store, pytest.raises(DoorError, match="paired there as a phone"):
        Exchange(Service(store, one.door.now, one.door.randomness), peer, lambda *_: None).run()


def test_another_fleets_pc_is_refused(tmp_path: Path, door: RunningDoor) -> None:
    url = f"https://localhost:{door.port}"
    authority, _ = authority_of(url)
    peer = pair(url, authority, door.code(desk=True), "desk-odd", "one")

    other = write_fleet(tmp_path / "other", fleet=("trial-shed", "elsewhere"))
    with Store(tmp_path / "other.db") as store:
        service = Service(store, door.door.now, door.door.randomness)
        service.adopt(compile_edition(load_fleet(other)))
        with pytest.raises(DoorError, match="keeps the fleet 'trial-shed'"):
            Exchange(service, peer, lambda *_: None).run()


def test_a_pc_that_is_not_trusted_is_noticed(door: RunningDoor) -> None:
    url = f"https://localhost:{door.port}"
    assert trusted_by(url) is False
    assert trusted_by(url, authority_of(url)[0]) is True


def test_the_command_pairs_once_and_then_needs_no_code(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    assert two.opened is not None
    url, asked = f"https://localhost:{two.port}/", ("--backlog", one.backlog)
    print_of = ("--fingerprint", two.opened.fingerprint)
    assert "--code" in run("exchange", url, *asked)[2]
    code, _, remarked = run("exchange", url, *asked, "--code", two.code(desk=True))
    assert (code, two.opened.fingerprint[:23] in remarked) == (1, True)
    code, _, remarked = run("exchange", url, *asked, "--code", two.code(desk=True), "--fingerprint", "00")
    assert (code, "stand between" in remarked) == (1, True)
    code, said, remarked = run("exchange", url, *asked, "--code", two.code(desk=True), *print_of)
    assert (code, said.startswith("Got ")) == (0, True), remarked
    assert run("exchange", url, *asked)[1] == "Got 0 entries, 0 photos; gave 0 entries, 0 photos.\n"
    kept = Peers(one.backlog).path
    assert kept.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    ("url", "words"),
    [("https://localhost:1/", "cannot be reached"), ("http://localhost/", "expected"), ("https://[::1", "address")],
)
def test_a_pc_that_cannot_be_asked_is_told_in_a_line(door: RunningDoor, url: str, words: str) -> None:
    code, _, remarked = run("exchange", url, "--backlog", door.backlog, "--code", "ABCD2345")
    assert (code, remarked.count("\n"), words in remarked) == (1, 1, True), remarked


def test_an_address_is_taken_as_people_write_it() -> None:
    assert plain_url("shed.local:8443") == plain_url("https://shed.local:8443/#/hand-in") == "https://shed.local:8443"


def test_an_edition_under_another_editions_name_is_refused(door: RunningDoor) -> None:
    desk = Phone.paired(door, "desk-forger", desk=True)
    assert door.opened is not None
    body = desk.http.get(f"/door/editions/{door.opened.edition}", headers=desk.headers).content
    answer = desk.http.put("/door/editions/12345678", content=body, headers=desk.headers)
    assert (answer.status_code, "not the edition" in answer.json()["error"]) == (400, True)


def test_a_desks_hand_in_of_desk_kinds_is_taken(door: RunningDoor) -> None:
    desk = Phone.paired(door, "desk-b", desk=True)
    desk.write("tag", vehicle="otter", tag="t1", on=True, knows={})
    text = hand_in("desk-b", "", desk.lines)
    assert answered(desk.http.post("/door/entries", content=text, headers=desk.headers))["set_aside"] == []


def test_a_paired_pc_that_was_taken_off_the_list_is_refused(sheds: tuple[RunningDoor, RunningDoor]) -> None:
    one, two = sheds
    exchange(one, two)
    with one.store() as store:
        device = store.setting("device")
    two.at_the_desk("phones/revoke", device=device)
    url = f"https://localhost:{two.port}"
    with two.store() as store:
        assert all(token.revoked for token in store.tokens() if token.device == device)
    with one.store() as store:
        service = Service(store, one.door.now, one.door.randomness)
        again = Exchange(service, Peer(url, "0" * 64, authority_of(url)[0]), lambda *_: None)
        with pytest.raises(DoorError, match="not paired there"):
            again.run()
