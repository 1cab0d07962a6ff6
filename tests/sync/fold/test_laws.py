"""The merge's laws, over random histories.

In a run of the suite 150 each, the same every time;
`HYPOTHESIS_PROFILE=nightly python -m pytest tests/sync/fold/test_laws.py` runs ten thousand new ones.
"""

import os
from collections.abc import Iterable

import msgspec
from hypothesis import HealthCheck, Phase, event, given, note, settings
from hypothesis import strategies as st
from msgspec import UNSET

from sync.entries import Adopt, Finding, Redact, Ruling, Settle, Walk, Work, read_entry
from sync.fold import Logged
from sync.fold.authority import gravity, is_lead, signs_off
from sync.fold.redacting import redacted_body
from sync.standing import standing
from sync.state import Conflict, Defect, State
from tests.sync.fold import shed as of
from tests.sync.fold.histories import by_helpers, histories, told
from tests.sync.fold.keeper import Keeper
from tests.sync.fold.shed import VEHICLE, later_shed, on, shed, state_bytes
from tests.sync.naive import Subject, naive

#: Shrinking a history takes minutes; `told` shows it whole, and that is mostly enough.
_how = {
    "deadline": None,
    "suppress_health_check": list(HealthCheck),
    "phases": [Phase.explicit, Phase.reuse, Phase.generate],
}
settings.register_profile("merge", max_examples=150, **_how)
settings.register_profile("nightly", max_examples=10_000, derandomize=False, **_how)
profile = settings.get_profile(os.environ.get("HYPOTHESIS_PROFILE", "merge"))
shuffles = st.randoms(use_true_random=False)
EDITIONS = {edition.fingerprint: edition for edition in (shed(), later_shed())}
LATE = on("2026-11-02")


def fold_all(entries: Iterable[Logged]) -> State:
    return of.fold_all(entries, EDITIONS.values())


@settings(profile)
@given(histories(), shuffles)
def test_any_order_gives_the_same_bytes(entries, random):
    shuffled = list(entries)
    random.shuffle(shuffled)
    assert state_bytes(fold_all(shuffled)) == state_bytes(fold_all(entries))


@settings(profile)
@given(histories(), shuffles)
def test_any_repetition_gives_the_same_bytes(entries, random):
    again = [*entries, *random.sample(entries, len(entries) // 2)]
    assert state_bytes(fold_all(again)) == state_bytes(fold_all(entries))


@settings(profile)
@given(histories(), shuffles, st.integers(1, 6), st.booleans())
def test_any_batches_in_any_order_come_to_the_same_bytes(entries, random, size, shuffled):
    note(told(entries))
    left = list(entries)
    if shuffled:
        random.shuffle(left)
    keeper = Keeper(EDITIONS, shed().fingerprint)
    while left:
        batch, left = left[:size], left[size:]
        keeper.take_in([*batch, *random.sample(batch, len(batch) // 2)])
        assert keeper.refolded() == keeper.places
    event(f"extended {min(keeper.extended, 10)}")
    assert state_bytes(keeper.state()) == state_bytes(fold_all(entries))


@settings(profile)
@given(histories())
def test_what_was_taken_out_of_the_log_itself_leaves_the_same_state(entries):
    """A redaction works alike on entries that are here whole and on those that came, or stayed, without the words."""
    note(told(entries))
    redacts = [one.entry for one in entries if isinstance(one.entry, Redact)]
    left = []
    for one in entries:
        body = msgspec.to_builtins(one.entry)
        for redact in redacts:
            if redact.entry == one.entry.id:
                event("words were taken out")
                body = redacted_body(body, one.entry, redact)
        left.append(Logged(read_entry(msgspec.json.encode(body)), one.hash))
    assert state_bytes(fold_all(left)) == state_bytes(fold_all(entries))


@settings(profile)
@given(histories())
def test_a_second_slow_telling_of_the_rule_agrees(entries):
    note(told(entries))
    state = fold_all(entries)
    slow = naive(entries, EDITIONS, shed().fingerprint)
    sides = {Subject.of(c): frozenset(s.entry for s in c.sides) for c in state.conflicts if c.kind != "field"}
    assert sides == {subject: one.sides for subject, one in slow.items() if one.sides}
    still = {
        Subject.of(d): (d.severity, frozenset(s.entry for s in d.sightings)) for d in state.defects if d.closed is None
    }
    assert still == {
        subject: (one.severity or still.get(subject, ("",))[0], one.sightings)
        for subject, one in slow.items()
        if one.open
    }


@settings(profile)
@given(histories())
def test_nothing_that_was_seen_is_lost(entries):
    """Every sighting in force is on a line; every value in dispute is a side of its conflict."""
    note(told(entries))
    state = fold_all(entries)
    seen = {s.entry for d in state.defects for s in d.sightings}
    corrected = {one.entry.corrects for one in entries}
    ruled_void = {r.about for r in _rulings(entries) if "void" in _fields(r)}
    for one in entries:
        entry = one.entry
        if isinstance(entry, Finding) and entry.result == "defect" and entry.id not in corrected | ruled_void:
            assert entry.id in seen
    open_conflicts = {c.id for c in state.conflicts}
    for defect in state.defects:
        assert set(defect.conflicts) <= open_conflicts


@settings(profile)
@given(histories(), shuffles)
def test_a_conflict_ends_only_by_a_person_who_decides_or_takes_back(entries, random):
    note(told(entries))
    part = [one for one in entries if random.random() < 0.7]
    before, after = fold_all(part), fold_all(entries)
    added = [one for one in entries if one not in part]
    still = {c.id: {s.entry for s in c.sides} for c in after.conflicts}
    for conflict in before.conflicts:
        if conflict.kind != "field" and conflict.id not in still:
            event("a conflict ended")
            assert any(_may_end(one, conflict) for one in added), conflict.why


@settings(profile)
@given(histories(), st.data())
def test_nobody_without_authority_lowers_a_standing(entries, data):
    note(told(entries))
    helpers = data.draw(by_helpers(entries))
    note(f"and then\n{told(helpers)}")
    before, after = fold_all(entries), fold_all([*entries, *helpers])
    assert _stands(after) >= _stands(before)
    for defect in before.defects:
        if defect.closed is None and gravity(defect.severity) >= gravity("major"):
            event(f"a {defect.severity} one")
            same = [d for d in after.defects if d.closed is None and _of_one(d, defect)]
            assert max((gravity(d.severity) for d in same), default=0) >= gravity(defect.severity)


def _of_one(one: Defect, other: Defect) -> bool:
    """Whether two lines share a sighting: a placing may move them, nothing may part them from what was seen."""
    return not {s.entry for s in one.sightings}.isdisjoint(s.entry for s in other.sightings)


def _rulings(entries: list[Logged]) -> list[Ruling]:
    return [one.entry for one in entries if isinstance(one.entry, Ruling)]


def _fields(ruling: Ruling) -> set[str]:
    return {name for name in ruling.set.__struct_fields__ if getattr(ruling.set, name) is not UNSET}


def _may_end(one: Logged, conflict: Conflict) -> bool:
    """Whether an added entry may end a conflict that a part of the log had."""
    entry = one.entry
    devices = {side.device for side in conflict.sides}
    if entry.corrects is not None or isinstance(entry, Settle | Walk | Adopt):
        return True  # taken back; settled; a walk that tells what was known; an edition that judges otherwise
    if isinstance(entry, Ruling):
        return bool(_fields(entry) & {"void", "closed", "severity", "escalated", "temporary", "placed"})
    if isinstance(entry, Work):
        return True  # signed off, or a sign-off taken back that had been a side
    # the same device looked again; or a copy of it turned up, and nobody knows any more who knew what
    return entry.device in devices or entry.device == "d-a"


def _stands(state: State) -> int:
    found = standing(VEHICLE, shed(), LATE, defects=[d for d in state.defects if d.vehicle == VEHICLE])
    return ("fit", "limited", "stopped").index(found.standing)


def test_the_people_of_the_shed_have_the_authority_the_laws_speak_of():
    edition = shed().fingerprint
    assert [by for by in ("RM", "TW", "LB", "AB") if is_lead(EDITIONS, edition, by)] == ["RM"]
    assert [by for by in ("RM", "TW", "LB", "AB") if signs_off(EDITIONS, edition, by, "tracks")] == ["RM", "LB"]
