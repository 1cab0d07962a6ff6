"""What happens to phones, in a real browser at a real door: cut lines, clones, wiped storage, lost leave."""

import shutil
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from sync.backup import back_up
from sync.certificates import local_certificate
from tests.app.browsers import phone, served
from tests.app.conftest import SAMPLE
from tests.app.trusting import phone_of, trusting
from tests.sync.door.cutting import Cutting
from tests.workshops import HOST, Workshop, workshop

ENGINE = """
const { startEngine } = await import(new URL("js/engine.js", document.baseURI).href);
const engine = (window.engine ??= await startEngine());
"""
NEW = {"entries": 0, "photos": 0}


@pytest.fixture(scope="module")
def pc(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    with workshop(tmp_path_factory.mktemp("pc")) as running:
        yield running


class Handset:
    """The app's engine in a page of its own host; what a person's taps would call."""

    def __init__(self, context: BrowserContext, pc: Workshop, url: str = "") -> None:
        self.pc = pc
        self.page: Page = context.new_page()
        self.page.goto(url or pc.app)

    def run(self, body: str, given: Any = None) -> Any:
        return self.page.evaluate(f"async (given) => {{ {ENGINE} {body} }}", given)

    def pair(self, url: str = "") -> None:
        given = {"url": url or self.pc.app, "code": self.pc.new_code()}
        self.run('await engine.log.setOwner({ name: "AB phone", by: "AB" });'
                 "await engine.sender.pair(given.url, given.code);", given)  # fmt: skip

    def report(self, symptom: str, vehicle: str = "otter") -> None:
        entry = {"kind": "report", "vehicle": vehicle, "source": "driver", "symptom": symptom, "photos": []}
        self.run("await engine.log.append(given);", entry)

    def photo(self) -> str:
        """A photo taken and named by a report; its SHA-256."""
        return str(
            self.run(
                'const canvas = document.createElement("canvas"); canvas.width = canvas.height = 400;'
                'const context = canvas.getContext("2d");'
                "for (let n = 0; n < 400; n++) { context.fillStyle = `hsl(${Math.random() * 360} 80% 50%)`;"
                "context.fillRect(Math.random() * 400, Math.random() * 400, 40, 40); }"
                'const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));'
                "const sha = await engine.photos.take(blob);"
                'await engine.log.append({ kind: "report", vehicle: "otter", source: "driver", symptom: "seen",'
                "photos: [sha] }); return sha;"
            )
        )

    def send(self) -> dict[str, Any]:
        return dict(self.run("return await engine.sender.send();"))

    def sent_or_cut(self) -> bool:
        return bool(self.run("try { await engine.sender.send(); return true; } catch { return false; }"))

    def pending(self) -> dict[str, int]:
        return dict(self.run("return await engine.log.pending();"))

    def device(self) -> str:
        return str(self.run("return await engine.log.device();"))


@pytest.fixture
def context(browser: Browser, pc: Workshop, tmp_path: Path) -> Iterator[BrowserContext]:
    with phone_of(browser.browser_type, trusting(tmp_path / "phone", pc.authority())) as running:
        yield running


@pytest.fixture
def handset(context: BrowserContext, pc: Workshop) -> Handset:
    made = Handset(context, pc)
    made.pair()
    return made


def test_a_line_cut_at_any_piece_is_pressed_again_until_nothing_is_left(handset: Handset, pc: Workshop) -> None:
    cuts = 0
    for most in range(3, 300, 5):
        handset.report(f"cut after {most}")
        handset.photo()
        line = Cutting(pc.ports["--port"], most)
        by_way_of = pc.app.replace(str(pc.ports["--port"]), str(line.port)).rstrip("/")
        handset.run("const pairing = await engine.sender.pairing();"
                    'await engine.storage.write(["state"], (work) => work.put("state", { ...pairing, url: given },'
                    '"pairing"));', by_way_of)  # fmt: skip
        came_through = handset.sent_or_cut()
        line.close()
        handset.run("const pairing = await engine.sender.pairing();"
                    'await engine.storage.write(["state"], (work) => work.put("state", { ...pairing, url: given },'
                    '"pairing"));', pc.app.rstrip("/"))  # fmt: skip
        if came_through and not line.has_cut:
            break
        cuts += 1
        handset.send()
        assert handset.pending() == NEW
    assert cuts >= 4
    with pc.store() as store:
        own = [row.seq for row in store.entries() if row.device == handset.device()]
    assert own == sorted(set(own)) == list(range(1, len(own) + 1))


def test_two_tabs_that_send_at_once_send_once(handset: Handset, context: BrowserContext, pc: Workshop) -> None:
    for number in range(5):
        handset.report(f"number {number}")
    other = Handset(context, pc)
    other.run("window.sending = engine.sender.send();")
    first = handset.send()["taken"]
    assert first + other.run("return (await window.sending).taken;") == 5
    assert handset.pending() == other.pending() == NEW


def test_a_cloned_phone_goes_on_under_a_new_id_and_nothing_is_lost(
    handset: Handset, browser: Browser, pc: Workshop, tmp_path: Path
) -> None:
    handset.report("before the copy")
    handset.send()
    copied = handset.run(
        "return { state: await engine.storage.read(['state'], async (work) => ({ device: await work.get('state',"
        "'device'), pairing: await work.get('state', 'pairing'), owner: await work.get('state', 'owner') })),"
        "entries: await engine.log.records() };"
    )
    old = handset.device()
    with phone_of(browser.browser_type, trusting(tmp_path / "twin", pc.authority())) as context:
        twin = Handset(context, pc)
        twin.run(
            "await engine.storage.write(['state', 'entries'], async (work) => {"
            "for (const [key, value] of Object.entries(given.state)) await work.put('state', value, key);"
            "for (const record of given.entries) await work.put('entries', record); });",
            copied,
        )
        twin.page.reload()
        handset.report("the first one's")
        twin.report("the twin's")
        assert handset.send()["renamed"] is False
        assert twin.send()["renamed"] is True
        assert twin.device() != old
        assert handset.send()["renamed"] is True
        for one in (handset, twin):
            one.report("after")
            assert one.send()["renamed"] is False
            assert one.pending() == NEW
        assert len({old, handset.device(), twin.device()}) == 3


def test_a_wiped_phone_is_told_what_the_workshop_has_of_it(handset: Handset, pc: Workshop) -> None:
    handset.report("one")
    handset.report("two")
    handset.send()
    handset.run("engine.storage.close(); await new Promise((done) => {"
                f"const gone = indexedDB.deleteDatabase('driptray-{HOST.split('.')[0]}');"
                "gone.onsuccess = gone.onblocked = done; });")  # fmt: skip
    handset.page.reload()
    handset.pair()
    assert handset.send()["earlier"]["entries"] == 2


def test_a_phone_struck_off_the_list_is_told_to_pair_and_loses_nothing(handset: Handset, pc: Workshop) -> None:
    handset.report("before")
    handset.send()
    with pc.store() as store:
        store.revoke(handset.device(), datetime.now(UTC).isoformat())
    handset.report("after")
    handset.page.wait_for_timeout(5500)  # the door looks at its list every five seconds
    handset.page.goto(f"{pc.app}#/hand-in")
    handset.page.reload()
    handset.page.get_by_role("button", name="Send to workshop").click()
    expect(handset.page.get_by_text("Pair")).not_to_have_count(0)
    assert handset.pending() == {"entries": 1, "photos": 0}
    handset.pair()
    handset.send()
    assert handset.pending() == NEW


def test_photos_leave_the_phone_only_once_a_backup_holds_them(handset: Handset, pc: Workshop, tmp_path: Path) -> None:
    sha = handset.photo()
    handset.send()
    assert handset.run("return await engine.sender.spare();") == []
    with pc.store() as store:
        back_up(store, tmp_path / "copy.db", datetime.now(UTC))
    handset.send()
    assert handset.run("return await engine.sender.spare();") == [sha]
    handset.page.goto(f"{pc.app}#/hand-in")
    handset.page.reload()
    handset.page.get_by_role("button", name="Let these photos go").click()
    expect(handset.page.get_by_text("1 photo is off this phone")).to_be_visible()
    assert handset.run("return (await engine.photos.get(given)).bytes;", sha) is None
    handset.send()
    assert handset.pending() == NEW


def test_a_photo_that_the_door_will_not_have_does_not_keep_the_others_back(handset: Handset) -> None:
    handset.run(
        "const bytes = new TextEncoder().encode('no picture').buffer;"
        "const { sha256 } = await import(new URL('js/bytes.js', document.baseURI).href);"
        "const sha = await sha256(bytes);"
        "await engine.storage.write(['photos'], (work) => work.put('photos',"
        "{ sha256: sha, type: 'image/jpeg', bytes, at: '2026-10-18T09:00:00+00:00' }));"
        'await engine.log.append({ kind: "report", vehicle: "otter", source: "driver", symptom: "odd",'
        "photos: [sha] });"
    )
    handset.photo()
    sent = handset.send()
    assert (sent["photos"], len(sent["refused"])) == (1, 1)
    assert handset.pending() == {"entries": 0, "photos": 1}


def test_the_phones_clock_is_measured_at_the_door(context: BrowserContext, pc: Workshop) -> None:
    handset = Handset(context, pc)
    handset.pair()
    handset.report("late")
    ahead = handset.run(
        "engine.log.now = () => new Date(Date.now() + 3_600_000); return (await engine.sender.send()).offset_s;"
    )
    assert abs(ahead - 3600) < 30
    with pc.store() as store:
        (row,) = [row for row in store.devices() if row.device == handset.device()]
    assert row.offset_s is not None
    assert abs(row.offset_s - 3600) < 30


STATIC = "walks.local"


def test_an_app_from_a_listed_static_host_hands_in_at_the_door(
    browser: Browser, app_folder: Path, tmp_path: Path
) -> None:
    with (
        secure_site(app_folder, tmp_path / "static") as (url, authority),
        workshop(tmp_path, fleet=listed(tmp_path / "fleet", url)) as pc,
    ):
        home = trusting(tmp_path / "phone", pc.authority("brackle-down.local"), authority)
        with phone_of(browser.browser_type, home, maps="MAP *.local 127.0.0.1") as context:
            handset = Handset(context, pc, f"{url}/")
            handset.pair(pc.app)
            handset.report("from elsewhere", "kettle")
            assert handset.send()["taken"] == 1
            assert handset.pending() == NEW
            assert context.cookies(pc.app) == []


@contextmanager
def secure_site(folder: Path, keys: Path) -> Iterator[tuple[str, bytes]]:
    """A static host of its own name, over https under an authority of its own."""
    made = local_certificate(keys, [STATIC], [], datetime.now(UTC))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made.certificate, made.key)
    with served(folder) as site:
        site.server.socket = context.wrap_socket(site.server.socket, server_side=True)
        assert made.authority is not None
        yield f"https://{STATIC}:{site.port}", made.authority.read_bytes()


def listed(folder: Path, origin: str) -> Path:
    """The sample fleet with the static host among those whose app may use the door."""
    shutil.copytree(SAMPLE, folder)
    text = (folder / "fleet.toml").read_text("utf-8")
    (folder / "fleet.toml").write_text(text.replace("origins = []", f'origins = ["{origin}"]'), "utf-8")
    return folder


def test_a_stranger_page_in_the_same_browser_gets_nothing(browser: Browser, pc: Workshop, app_folder: Path) -> None:
    with served(app_folder) as site:
        context = phone(browser, ignore_https_errors=True)
        page = context.new_page()
        page.goto(f"{site.url}blank.html")
        outcome = page.evaluate(
            "async (url) => fetch(url).then((answer) => answer.status, () => 'refused')",
            f"https://localhost:{pc.ports['--port']}/door/hello",
        )
        context.close()
    assert outcome == "refused"
