"""'Send to workshop': by what is lacking, every time; cut anywhere and pressed again it goes on."""

from typing import Any

import pytest

from tests.app.conftest import Bench

START = """
const { FakeDoor } = await import("/fake_door.js");
const { openStorage } = await load("storage");
const { Log } = await load("log");
const { Photos } = await load("photo");
const { Carries } = await load("carry");
const { Sender } = await load("send");
const { Door } = await load("network");
const storage = await openStorage("trial");
const fleet = { code: "trial", edition: "3f9c2a71" };
const log = new Log(storage, fleet);
const photos = new Photos(storage);
const carries = new Carries(storage, "trial");
const door = new FakeDoor();
const open = (url, token) => new Door(url, token, door.transport);
const sender = new Sender({ storage, log, photos, carries }, fleet, open);
await log.setOwner({ name: "RM phone", by: "RM" });
const report = { kind: "report", vehicle: "badger", source: "driver", symptom: "pulls", photos: [] };
const picture = async (seed) => {
  const canvas = new OffscreenCanvas(32, 24); const context = canvas.getContext("2d");
  context.fillStyle = `hsl(${seed} 80% 50%)`; context.fillRect(0, 0, 32, 24);
  return photos.take(await canvas.convertToBlob({ type: "image/png" }));
};
const code = (work) => work.then(() => "done", (error) => error.code);
"""
PAIRED = START + 'await sender.pair("https://shed.local:8443/x", "4711");'
FIVE = PAIRED + "for (let n = 0; n < 5; n += 1) await log.append(report); await picture(1); await picture(90);"


def test_what_was_sent_counts_as_there_only_when_the_door_says_so(bench: Bench) -> None:
    before, after = bench.run(
        FIVE + "const before = await log.pending(); await sender.send(); return [before, await log.pending()];"
    )
    assert before == {"entries": 5, "photos": 2}
    assert after == {"entries": 0, "photos": 0}


def test_entries_go_before_photos_and_known_defects_come_last(bench: Bench) -> None:
    calls = bench.run(FIVE + "door.calls = []; await sender.send(); return door.calls;")
    order = [call.split("/door/")[1].split("/")[0] for call in calls]
    assert order == ["hello", "have", "entries", "photos", "photos", "carry", "have"]


def test_what_the_door_has_is_not_sent_again(bench: Bench) -> None:
    calls = bench.run(FIVE + "await sender.send(); door.calls = []; await sender.send(); return door.calls;")
    assert [call for call in calls if "entries" in call or "photos" in call] == []


@pytest.mark.parametrize("receipt_lost", [False, True])
def test_cut_at_any_request_and_pressed_again_nothing_is_lost_or_doubled(bench: Bench, receipt_lost: bool) -> None:
    results = bench.run(
        FIVE + "const results = [];"
        "for (let cut = 1; cut <= 7; cut += 1) { door.entries.clear(); door.photos.clear();"
        " Object.assign(door, { calls: [], cutAt: cut, cutAfter: given });"
        " const told = await code(sender.send()); door.cutAt = Infinity; const again = await code(sender.send());"
        " const seqs = [...door.entries.values()].map((line) => JSON.parse(line).seq);"
        " results.push([told, again, seqs, door.photos.size, (await log.pending()).entries]); }"
        "return results;",
        receipt_lost,
    )
    assert results == [["door-unreachable", "done", [1, 2, 3, 4, 5], 2, 0]] * 7


def test_a_cut_before_the_end_marks_nothing_as_there(bench: Bench) -> None:
    pending = bench.run(
        FIVE + "Object.assign(door, { calls: [], cutAt: 4 }); await code(sender.send()); return log.pending();"
    )
    assert pending["entries"] == 5


def test_what_the_door_does_not_hold_at_the_end_is_not_counted_as_there(bench: Bench) -> None:
    pending = bench.run(
        FIVE + "const take = door.take.bind(door); door.take = (text, time) => { const said = take(text, time);"
        " door.entries.delete([...door.entries.keys()][2]); return said; };"
        "const keep = door.photos.add.bind(door.photos);"
        "door.photos.add = (sha) => (door.photos.size ? null : keep(sha));"
        "await sender.send(); return log.pending();"
    )
    assert pending == {"entries": 1, "photos": 1}


def test_a_workshop_restored_from_last_weeks_copy_is_filled_again(bench: Bench) -> None:
    lost, refilled = bench.run(
        FIVE + "await sender.send(); door.entries.clear(); door.photos.clear(); await sender.send();"
        "return [(await log.pending()).entries, [door.entries.size, door.photos.size]];"
    )
    assert (lost, refilled) == (0, [5, 2])


def test_entries_stay_on_the_phone_after_they_are_taken(bench: Bench) -> None:
    assert bench.run(FIVE + "await sender.send(); return (await log.records()).length;") == 5


def test_an_entry_written_after_the_send_counts_as_not_yet_there(bench: Bench) -> None:
    assert bench.run(FIVE + "await sender.send(); await log.append(report); return log.pending();")["entries"] == 1


def test_a_cloned_phone_takes_a_new_id_and_both_ids_entries_arrive(bench: Bench) -> None:
    sent, devices, pending = bench.run(
        FIVE + "door.clones.add(await log.device()); const sent = await sender.send(); await log.append(report);"
        "await sender.send(); const lines = [...door.entries.values()].map((line) => JSON.parse(line));"
        "return [sent, lines.map((l) => [l.device, l.seq]), await log.pending()];"
    )
    assert sent["renamed"]
    assert [seq for _, seq in devices] == [1, 2, 3, 4, 5, 1]
    assert len({device for device, _ in devices}) == 2
    assert pending["entries"] == 0


def test_a_set_aside_entry_is_told(bench: Bench) -> None:
    sent = bench.run(FIVE + 'door.aside = [{ line: 2, id: "x", why: "no such vehicle" }]; return sender.send();')
    assert sent["set_aside"] == [{"line": 2, "id": "x", "why": "no such vehicle"}]


def test_known_defects_come_back_and_are_not_fetched_again_unchanged(bench: Bench) -> None:
    first, second, head = bench.run(
        FIVE + "const first = await sender.send(); const second = await sender.send();"
        "return [first.carry, second.carry, await carries.head()];"
    )
    assert (first, second) == (True, False)
    assert head["knows"] == {"desk-1": 4}


def test_the_clocks_difference_is_measured_and_kept(bench: Bench) -> None:
    offset = bench.run(
        FIVE + "door.clock = new Date(Date.now() - 600000); await sender.send();"
        "return (await sender.workshop()).offset_s;"
    )
    assert offset in (599, 600, 601)


def test_another_fleets_workshop_is_refused(bench: Bench) -> None:
    got = bench.run(START + 'door.code = "other"; return code(sender.pair("https://shed.local", "4711"));')
    assert got == "door-foreign"


def test_a_wrong_code_is_told_in_the_doors_words(bench: Bench) -> None:
    got: dict[str, Any] = bench.run(
        START
        + 'return sender.pair("https://shed.local", "1").catch((error) => ({ code: error.code, ...error.values }));'
    )
    assert (got["code"], got["said"]) == ("door-refused", "that code is not the one shown")


def test_a_phone_that_was_never_paired_or_was_revoked_is_told_to_pair(bench: Bench) -> None:
    assert bench.run(START + "return code(sender.send());") == "door-unpaired"
    assert bench.run(PAIRED + 'door.paired = "changed"; return code(sender.send());') == "door-unpaired"


def test_an_answer_that_is_no_json_is_told(bench: Bench) -> None:
    got = bench.run(
        START + "const odd = new Door('https://shed.local', 'x', async () => new Response('<h1>hotel wifi</h1>'));"
        "return code(odd.hello());"
    )
    assert got == "door-answer"


def test_progress_is_told_step_by_step(bench: Bench) -> None:
    steps = bench.run(FIVE + "const steps = []; await sender.send(({ step }) => steps.push(step)); return steps;")
    assert list(dict.fromkeys(steps)) == ["asking", "entries", "photos", "known defects", "checking"]
