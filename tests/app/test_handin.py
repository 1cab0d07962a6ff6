"""Hand-ins: one format, whole, split at their size, and nothing marked as sent by leaving."""

import base64
import hashlib
import json
from typing import Any

from playwright.sync_api import BrowserContext

from tests.app.browsers import Site
from tests.app.conftest import Bench

START = """
const { openStorage } = await load("storage");
const { Log } = await load("log");
const { Photos } = await load("photo");
const { handInFiles, giveAway } = await load("handin");
const storage = await openStorage("trial");
const log = new Log(storage, { code: "trial", edition: "3f9c2a71" });
const photos = new Photos(storage);
await log.setOwner({ name: "RM phone", by: "RM" });
const report = { kind: "report", vehicle: "badger", source: "driver", symptom: "zieht nach links – 5 °", photos: [] };
const picture = async (seed) => {
  const canvas = new OffscreenCanvas(320, 240); const context = canvas.getContext("2d");
  for (let n = 0; n < 300; n += 1) {
    context.fillStyle = `hsl(${n * seed} 80% 50%)`;
    context.fillRect(n, n % 240, 9, 9);
  }
  return photos.take(await canvas.convertToBlob({ type: "image/png" }));
};
const files = async (room) => {
  const sender = { fleet: "trial", device: await log.device(), device_name: "RM phone", edition: "3f9c2a71" };
  const hashes = (await storage.read(["photos"], (work) => work.keys("photos"))).map(String);
  const made = new Date("2026-10-18T08:12:40Z");
  return handInFiles(sender, made, await log.records(), hashes, (sha) => photos.get(sha), room);
};
"""


def lines(text: str) -> list[dict[str, Any]]:
    assert text.endswith("\n")
    return [json.loads(line) for line in text.splitlines()]


def test_a_hand_in_has_head_entries_photos_and_an_end_that_proves_them(bench: Bench) -> None:
    (file,) = bench.run(START + "await log.append(report); await log.append(report); await picture(7); return files();")
    head, first, second, photo, end = lines(file["text"])
    assert (head["driptray"], head["fleet"], head["device_name"]) == (1, "trial", "RM phone")
    assert (head["entries"], head["photos"]) == (2, 1)
    assert [first["seq"], second["seq"]] == [1, 2]
    assert hashlib.sha256(base64.b64decode(photo["data"])).hexdigest() == photo["photo"]
    before = file["text"].encode()[: file["text"].encode().rindex(b'{"end"')]
    assert end == {"end": True, "sha256": hashlib.sha256(before).hexdigest()}


def test_an_entry_leaves_with_the_very_bytes_it_was_written_with(bench: Bench) -> None:
    texts, line = bench.run(
        START + "await log.append(report);"
        "return [[(await files())[0].text, (await files())[0].text], (await log.records())[0].line];"
    )
    assert all(line in text.split("\n") for text in texts)


def test_a_large_hand_in_is_split_and_each_file_is_whole(bench: Bench) -> None:
    files = bench.run(
        START + "for (let n = 0; n < 12; n += 1) await log.append(report);"
        "for (let n = 1; n < 6; n += 1) await picture(n); return files(30000);"
    )
    assert len(files) > 1
    seqs, photos = [], 0
    for file in files:
        head, *rest, _end = lines(file["text"])
        assert len(file["text"]) < 60_000
        assert head["entries"] == sum("seq" in line for line in rest)
        seqs += [line["seq"] for line in rest if "seq" in line]
        photos += sum("photo" in line for line in rest)
    assert (seqs, photos) == (list(range(1, 13)), 5)
    assert len({file["name"] for file in files}) == len(files)


def test_a_cloned_phones_two_ids_leave_in_hand_ins_of_their_own(bench: Bench) -> None:
    files = bench.run(
        START + "await log.append(report); await log.newDevice(); await log.append(report); return files();"
    )
    for file in files:
        head, entry, _end = lines(file["text"])
        assert head["device"] == entry["device"]
    assert len(files) == 2


def test_a_phone_without_entries_hands_in_an_empty_whole_file(bench: Bench) -> None:
    (file,) = bench.run(START + "return files();")
    head, end = lines(file["text"])
    assert (head["entries"], end["end"]) == (0, True)


def test_a_hand_in_goes_to_the_share_sheet_as_plain_text(bench: Bench) -> None:
    how, shared = bench.run(
        START + "const shared = []; navigator.canShare = () => true;"
        "navigator.share = async ({ files }) => { for (const f of files) shared.push([f.name, f.type]); };"
        "await log.append(report); return [await giveAway(await files()), shared];"
    )
    assert how == "shared"
    assert [(name.endswith(".txt"), type_) for name, type_ in shared] == [(True, "text/plain")]


def test_a_share_that_was_cancelled_is_said_to_be(bench: Bench) -> None:
    how = bench.run(
        START + "navigator.canShare = () => true;"
        "navigator.share = async () => { throw new DOMException('no', 'AbortError'); };"
        "return giveAway(await files());"
    )
    assert how == "cancelled"


def test_without_a_share_sheet_the_file_is_downloaded(handset: BrowserContext, site: Site) -> None:
    page = handset.new_page()
    bench = Bench(page, site)
    with page.expect_download() as waiting:
        bench.run(START + "navigator.canShare = undefined; await log.append(report); await giveAway(await files());")
    assert waiting.value.suggested_filename.startswith("trial-d-")
    assert waiting.value.path().read_text("utf-8").startswith('{"driptray":1,')


def test_leaving_marks_nothing_as_sent(bench: Bench) -> None:
    before, after = bench.run(
        START + "navigator.canShare = () => true; navigator.share = async () => {};"
        "await log.append(report); await picture(3); const before = await log.pending();"
        "await giveAway(await files()); return [before, await log.pending()];"
    )
    assert before == after == {"entries": 1, "photos": 1}
