"""Rulings and work: field by field, by awareness; in dispute the safer stands."""

import pytest

from tests.sync.fold.shed import Desk, Phone, conflict, folded, only, sides


@pytest.fixture
def opening(rm) -> str:
    return rm.walk().defect("sag", "slack", "dangerous")


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def one(rm, opening) -> Desk:
    return Desk("desk-1", "RM").learn(rm)


@pytest.fixture
def other(rm, opening) -> Desk:
    return Desk("desk-2", "TW").learn(rm)


def field_conflicts(state) -> dict[str, str]:
    return {c.field: c.stands for c in state.conflicts if c.kind == "field"}


def test_fields_merge_one_by_one(rm, opening, one, other):
    one.rule(opening, owner="LB")
    other.rule(opening, ask={"who": "the maker's club"})
    found = only(folded(rm, one, other).defects)
    assert (found.owner, found.ask) == ("LB", "the maker's club")


def test_a_later_ruling_that_knew_the_earlier_replaces_it(rm, opening, one, other):
    one.rule(opening, owner="LB")
    other.learn(one).rule(opening, owner="TW")
    state = folded(rm, one, other)
    assert (only(state.defects).owner, state.conflicts) == ("TW", ())


def test_different_values_unaware_of_each_other_are_a_conflict_on_the_field(rm, opening, one, other):
    one.rule(opening, owner="LB")
    second = other.rule(opening, owner="AB")
    state = folded(rm, one, other)
    assert field_conflicts(state) == {"owner": second}
    (found,) = state.conflicts
    assert found.why == "owner: RM: LB; TW: AB; neither knew of the other"
    assert only(state.defects).conflicts == (found.id,)


def test_equal_values_agree(rm, opening, one, other):
    one.rule(opening, owner="LB")
    other.rule(opening, owner="LB")
    assert folded(rm, one, other).conflicts == ()


def test_a_ruling_that_knew_both_ends_the_conflict(rm, opening, one, other):
    one.rule(opening, owner="LB")
    other.rule(opening, owner="AB")
    one.learn(other).rule(opening, owner="AB")
    state = folded(rm, one, other)
    assert (only(state.defects).owner, state.conflicts) == ("AB", ())


PERMIT = {"limits": "to the wash-down, 5 km/h", "until": "2026-10-20", "reason": "blocks the door"}


def test_permits_in_dispute_are_no_permit(rm, opening, one, other):
    one.rule(opening, permit=PERMIT)
    assert only(folded(rm, one).defects).permit.limits == PERMIT["limits"]
    other.rule(opening, permit={**PERMIT, "limits": "anywhere"})
    state = folded(rm, one, other)
    assert only(state.defects).permit is None
    assert field_conflicts(state) == {"permit": ""}


def test_a_permit_ends_after_seven_days_whatever_it_says(rm, opening, one):
    one.rule(opening, permit={**PERMIT, "until": "2027-10-20"})
    found = only(folded(rm, one).defects)
    assert (found.permit.until.isoformat(), found.permit_from) == ("2026-10-25", "2026-10-18")


def test_a_permit_that_ends_sooner_ends_then(rm, opening, one):
    one.rule(opening, permit={**PERMIT, "until": "2026-10-25"})
    assert only(folded(rm, one).defects).permit.until.isoformat() == "2026-10-25"


def test_a_revoked_permit_is_none(rm, opening, one):
    one.rule(opening, permit=PERMIT)
    one.rule(opening, revoked={"reason": "too wet"})
    assert only(folded(rm, one).defects).permit is None


def test_a_closing_in_dispute_is_no_closing(rm, opening, one, other):
    one.rule(opening, closed={"reason": "adjusted"})
    other.rule(opening, closed=None)
    state = folded(rm, one, other)
    assert only(state.defects).closed is None
    assert "closed" in field_conflicts(state)


def test_the_less_advanced_work_stands_in_dispute(rm, opening, one, other):
    one.work(opening, "mended")
    second = other.work(opening, "in hand")
    state = folded(rm, one, other)
    assert only(state.defects).status == "in hand"
    assert field_conflicts(state) == {"work": second}


def test_a_sign_off_in_dispute_closes_nothing(rm, opening, one, other):
    one.work(opening, "signed off")
    other.work(opening, "tested")
    assert only(folded(rm, one, other).defects).status == "tested"


def test_severities_in_dispute_the_higher_stands(rm, opening, one, other):
    other.by = "RM"
    one.rule(opening, severity={"to": "minor", "reason": "static"})
    higher = other.rule(opening, severity={"to": "major", "reason": "slow only"})
    state = folded(rm, one, other)
    assert only(state.defects).severity == "major"
    assert field_conflicts(state) == {"severity": higher}


def test_a_repair_for_now_in_dispute_ends_at_the_earlier_day(rm, opening, one, other):
    one.rule(opening, temporary={"what": "wire", "until": "2026-11-30"})
    sooner = other.rule(opening, temporary={"what": "wire", "until": "2026-11-15"})
    state = folded(rm, one, other)
    assert only(state.defects).temporary.until.isoformat() == "2026-11-15"
    assert field_conflicts(state) == {"temporary": sooner}


def test_an_escalation_in_dispute_stands(rm, one, other):
    light = rm.walk().defect("tyre", "chunk", "minor", spot="1")
    one.learn(rm)
    other.learn(rm)
    one.rule(light, escalated={"reason": "with the slack track"})
    other.rule(light, escalated=None)
    state = folded(rm, one, other)
    assert {d.fault: d.severity for d in state.defects}["chunk"] == "major"


@pytest.mark.parametrize("state", ["in hand", "mended", "tested"])
def test_work_shows_as_the_status(rm, opening, one, state):
    one.work(opening, state, hours=2.5, cost=40)
    found = only(folded(rm, one).defects)
    assert (found.status, found.spent.hours, found.spent.cost) == (state, 2.5, 40)


def test_waiting_says_for_what(rm, opening, one):
    one.work(opening, "waiting", wait={"for": "idler bush", "kind": "part", "due": "2026-11-02"})
    found = only(folded(rm, one).defects)
    assert (found.status, found.wait.for_, found.wait.due.isoformat()) == ("waiting", "idler bush", "2026-11-02")


def test_mended_and_seen_again_by_one_who_knew_is_open(rm, opening, one):
    one.work(opening, "mended")
    rm.learn(one).walk("cold", "2026-10-25").verdict("same", "sag", opening, severity="dangerous")
    assert only(folded(rm, one).defects).status == "open"


def test_mended_and_seen_by_one_who_did_not_know_stays_mended(rm, opening, one):
    one.work(opening, "mended")
    Phone("d-tw", "TW")
    rm.walk("cold", "2026-10-25").verdict("same", "sag", opening, severity="dangerous")
    assert only(folded(rm, one).defects).status == "mended"


def test_work_on_a_job_is_work_on_each_of_its_defects(rm, opening, one):
    chunk = rm.walk().defect("tyre", "chunk", "minor", spot="1")
    one.learn(rm).say("job", job="j-1", title="Left track", defects=[opening, chunk])
    one.work("j-1", "in hand")
    state = folded(rm, one)
    assert {d.fault: (d.status, d.job) for d in state.defects} == {
        "slack": ("in hand", "j-1"),
        "chunk": ("in hand", "j-1"),
    }
    assert (state.jobs[0].title, state.jobs[0].state) == ("Left track", "in hand")


def test_a_job_signed_off_closes_its_defects(rm, opening, one):
    one.say("job", job="j-1", title="Left track", defects=[opening])
    one.work("j-1", "signed off")
    assert only(folded(rm, one).defects).closed.how == "signed off"


def test_a_jobs_lists_in_dispute_hold_everything(rm, opening, one, other):
    one.say("job", job="j-1", title="Left track", defects=[opening])
    other.say("job", job="j-1", title="Left track", defects=["x"])
    state = folded(rm, one, other)
    assert set(state.jobs[0].defects) == {opening, "x"}
    assert [c.field for c in state.conflicts] == ["defects"]


def test_parts_show_their_newest_state_and_the_less_advanced_in_dispute(rm, opening, one, other):
    one.say("part", part="p-1", **{"for": opening}, state="needed")
    one.say("part", part="p-1", **{"for": opening}, state="here", where="shelf 3")
    assert [(p.state, p.where) for p in folded(rm, one).parts] == [("here", "shelf 3")]
    other.say("part", part="p-1", **{"for": opening}, state="ordered")
    state = folded(rm, one, other)
    assert (state.parts[0].state, [c.field for c in state.conflicts]) == ("ordered", ["part"])


def test_rulings_about_a_vehicle(rm, one):
    one.rule("badger", state="laid up", belongs_to="the trust", know_how="start it in second")
    found = next(v for v in folded(rm, one).vehicles if v.vehicle == "badger")
    assert (found.state, found.belongs_to, found.know_how) == (
        "laid up",
        "the trust",
        (("badger", "RM", "start it in second"),),
    )


def test_of_a_cloned_desk_a_number_tells_no_ruling_apart(rm):
    first, copy, other = Desk("desk-1", "RM"), Desk("desk-1", "RM"), Desk("desk-2", "RM")
    opening = rm.walk().defect("sag", "slack", "major")
    said = {desk.learn(rm).rule(opening, owner=owner) for desk, owner in ((first, "LB"), (copy, "AB"))}
    said.add(other.learn(rm, first).rule(opening, owner="TW"))
    assert sides(conflict(folded(rm, first, copy, other))) == said
