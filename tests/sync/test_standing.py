"""Standing: worst of what is open on a day, what is barred, how it may be moved; every vehicle has one."""

import pytest

from builder.fleet import DisplayDay, Fault
from sync.standing import may_escalate, standing
from sync.state import Standing, State
from tests.sync.fold.shed import (
    LAMP,
    LATER,
    PIPE,
    SAG,
    VEHICLE,
    WHEELS,
    Desk,
    Phone,
    edition_of,
    folded,
    on,
    only,
    shed,
    template,
)

DAY = "2026-10-18"


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


def stands(state: State, day: str = DAY, edition=None, vehicle: str = VEHICLE) -> Standing:
    return standing(
        vehicle,
        edition or shed(),
        on(day),
        defects=[d for d in state.defects if d.vehicle == vehicle],
        walks=[w for w in state.walks if w.vehicle == vehicle],
        tags=[t for t in state.tags if t.vehicle == vehicle],
        rulings=next((v for v in state.vehicles if v.vehicle == vehicle), None),
    )


@pytest.mark.parametrize(
    ("severity", "word"), [("advisory", "fit"), ("minor", "fit"), ("major", "limited"), ("dangerous", "stopped")]
)
def test_the_most_serious_open_defect_decides(rm, severity, word):
    walk = rm.walk()
    walk.defect("lamp", "dark", "advisory")
    walk.defect("tyre", "chunk", severity, spot="1")
    assert stands(folded(rm)).standing == word


def test_many_minor_ones_stay_minor(rm):
    walk = rm.walk()
    for spot in "1234":
        walk.defect("tyre", "chunk", "minor", spot=spot)
    found = stands(folded(rm))
    assert (found.standing, found.open_defects) == ("fit", 4)


def test_a_closed_defect_does_not_count(rm, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
    found = stands(folded(rm, desk))
    assert (found.standing, found.open_defects, found.barred) == ("fit", 0, ())


def test_what_is_barred_is_the_union_in_a_fixed_order(rm):
    lamp = LAMP.model_copy(
        update={"fault": (Fault(id="dark", name="Dark", severity="minor", bars=("carry people", "show")),)}
    )
    edition = edition_of(template(nose=(PIPE, lamp)))
    rm.edition = edition.fingerprint
    walk = rm.walk()
    walk.defect("lamp", "dark", "minor")
    walk.defect("sag", "slack", "dangerous")
    state = folded(rm, editions=[edition], adopted=edition)
    assert stands(state, edition=edition).barred == ("start", "drive", "show", "carry people")


def test_why_names_what_limits_it(rm):
    walk = rm.walk()
    walk.defect("sag", "slack", "major")
    walk.defect("lamp", "dark", "minor")
    state = folded(rm)
    code = next(d.code for d in state.defects if d.fault == "slack")
    assert stands(state).why == (f"{code} Slack: major",)


def test_the_gravest_is_named_first_whatever_came_first(rm):
    walk = rm.walk()
    walk.defect("sag", "slack", "major")
    walk.defect("tyre", "chunk", "dangerous", spot="1")
    assert [why.rpartition(" ")[2] for why in stands(folded(rm)).why] == ["dangerous", "major"]


def test_a_lapsed_repair_adds_to_what_is_barred(rm, desk):
    lamp = LAMP.model_copy(update={"fault": (Fault(id="dark", name="Dark", severity="minor", bars=("show",)),)})
    edition = edition_of(template(nose=(PIPE, lamp)))
    rm.edition = desk.edition = edition.fingerprint
    opening = rm.walk().defect("lamp", "dark", "minor")
    desk.learn(rm).rule(opening, temporary={"what": "tape", "until": "2026-10-17"})
    state = folded(rm, desk, editions=[edition], adopted=edition)
    assert stands(state, edition=edition).barred == ("start", "drive", "show")


def test_what_has_no_name_of_its_own_is_called_by_what_is_known_of_it(rm):
    rm.walk().something_else("smoke from the dynamo", severity="major")
    state = folded(rm)
    assert stands(state).why == (f"{state.defects[0].code} smoke from the dynamo: major",)


def test_a_vehicle_that_the_edition_does_not_know_has_a_standing_too(rm):
    rm.walk(vehicle="walrus").defect("sag", "slack", "dangerous")
    found = stands(folded(rm), vehicle="walrus")
    assert (found.vehicle, found.name, found.standing) == ("walrus", "walrus", "stopped")


class TestHowItMoves:
    def severe(self, rm: Phone, system: str | None, severity: str) -> tuple[str, ...]:
        sag = SAG.model_copy(
            update={"system": system, "fault": (Fault(id="slack", name="Slack", severity="dangerous"),)}
        )
        edition = edition_of(template(left=(sag, WHEELS)))
        rm.edition = edition.fingerprint
        rm.walk().defect("sag", "slack", severity)
        return stands(folded(rm, editions=[edition], adopted=edition), edition=edition).moves

    def test_fit_it_goes_under_its_own_power(self, rm):
        assert self.severe(rm, "engine", "minor") == ("own power", "towed", "lifted")

    def test_stopped_it_is_towed(self, rm):
        assert self.severe(rm, "engine", "dangerous") == ("towed", "lifted")

    @pytest.mark.parametrize("system", ["brakes", "steering"])
    def test_without_brakes_or_steering_on_a_bar_only(self, rm, system):
        assert self.severe(rm, system, "dangerous") == ("bar only", "lifted")

    @pytest.mark.parametrize("system", ["tracks", "wheels"])
    def test_what_does_not_roll_is_lifted(self, rm, system):
        assert self.severe(rm, system, "dangerous") == ("lifted",)

    @pytest.mark.parametrize(("system", "how"), [("brakes", "bar only"), ("engine", "towed"), ("tracks", "towed")])
    def test_what_may_not_be_driven_though_not_dangerous(self, rm, system, how):
        slack = Fault(id="slack", name="Slack", severity="major", bars=("drive",))
        sag = SAG.model_copy(update={"system": system, "fault": (slack,)})
        edition = edition_of(template(left=(sag, WHEELS)))
        rm.edition = edition.fingerprint
        rm.walk().defect("sag", "slack", "major")
        assert stands(folded(rm, editions=[edition], adopted=edition), edition=edition).moves == (how, "lifted")

    def test_what_may_not_be_started_does_not_go_by_itself(self, rm):
        slack = Fault(id="slack", name="Slack", severity="minor", bars=("start",))
        edition = edition_of(template(left=(SAG.model_copy(update={"fault": (slack,)}), WHEELS)))
        rm.edition = edition.fingerprint
        rm.walk().defect("sag", "slack", "minor")
        assert "own power" not in stands(folded(rm, editions=[edition], adopted=edition), edition=edition).moves

    def bars(self, rm: Phone, *bars: str) -> Standing:
        slack = Fault(id="slack", name="Slack", severity="dangerous", bars=bars)
        edition = edition_of(template(left=(SAG.model_copy(update={"fault": (slack,), "system": "hull"}), WHEELS)))
        rm.edition = edition.fingerprint
        rm.walk().defect("sag", "slack", "dangerous")
        return stands(folded(rm, editions=[edition], adopted=edition), edition=edition)

    def test_stopped_it_never_goes_by_itself_whatever_its_fault_bars(self, rm):
        found = self.bars(rm, "lift")
        assert (found.standing, found.barred, found.moves) == ("stopped", ("drive", "lift"), ("towed",))

    def test_what_may_not_be_towed_is_not(self, rm):
        assert self.bars(rm, "tow").moves == ("lifted",)

    def test_what_may_not_be_lifted_is_not(self, rm):
        sag = SAG.model_copy(
            update={"fault": (Fault(id="slack", name="Slack", severity="dangerous", bars=("drive", "lift")),)}
        )
        edition = edition_of(template(left=(sag, WHEELS)))
        rm.edition = edition.fingerprint
        rm.walk().defect("sag", "slack", "dangerous")
        assert stands(folded(rm, editions=[edition], adopted=edition), edition=edition).moves == ()


class TestLapsing:
    def mended_for_now(self, rm: Phone, desk: Desk) -> State:
        opening = rm.walk().defect("sag", "tight", "minor")
        desk.learn(rm).rule(opening, temporary={"what": "shim", "until": "2026-10-20"})
        return folded(rm, desk)

    @pytest.mark.parametrize(
        ("day", "word", "barred"),
        [("2026-10-20", "fit", ()), ("2026-10-21", "stopped", ("start", "drive"))],
    )
    def test_a_repair_for_now_that_lapsed_stops_the_vehicle(self, rm, desk, day, word, barred):
        found = stands(self.mended_for_now(rm, desk), day)
        assert (found.standing, found.barred) == (word, barred)

    def test_and_says_so(self, rm, desk):
        state = self.mended_for_now(rm, desk)
        code = only(state.defects).code
        assert stands(state, "2026-10-21").why == (f"{code} Tight: repair for now lapsed on 2026-10-20",)

    def test_a_permit_shows_while_it_holds_and_the_vehicle_stays_stopped(self, rm, desk):
        opening = rm.walk().defect("sag", "slack", "dangerous")
        permit = {"limits": "to the wash-down", "until": "2026-10-20", "reason": "blocks the door"}
        desk.learn(rm).rule(opening, permit=permit)
        state = folded(rm, desk)
        shown = {day: stands(state, day).permits for day in ("2026-10-17", "2026-10-18", "2026-10-20", "2026-10-21")}
        held = ("until 2026-10-20: to the wash-down",)
        assert shown == {"2026-10-17": (), "2026-10-18": held, "2026-10-20": held, "2026-10-21": ()}
        assert stands(state).standing == "stopped"
        assert "drive" in stands(state).barred

    def test_a_permit_on_the_vehicle_shows_too(self, rm, desk):
        rm.walk().defect("sag", "slack", "dangerous")
        permit = {"limits": "by hand", "until": "2026-10-20", "reason": "blocks the door"}
        desk.learn(rm).rule(VEHICLE, permit=permit)
        assert stands(folded(rm, desk)).permits == ("until 2026-10-20: by hand",)

    def test_what_is_not_stopped_needs_no_permit(self, rm, desk):
        opening = rm.walk().defect("sag", "slack", "major")
        permit = {"limits": "slowly", "until": "2026-10-20", "reason": "x"}
        desk.learn(rm).rule(opening, permit=permit)
        assert stands(folded(rm, desk)).permits == ()


class TestTags:
    def test_a_tag_stops_it_until_it_is_off(self, desk):
        desk.say("tag", by="TW", vehicle=VEHICLE, tag="t-1", on=True, reason="in the hull")
        found = stands(folded(desk))
        assert (found.standing, found.barred, found.tags) == ("stopped", ("start", "drive"), ("TW: in the hull",))
        assert found.why == ("tag of TW: in the hull",)
        desk.say("tag", by="TW", vehicle=VEHICLE, tag="t-1", on=False)
        assert stands(folded(desk)).standing == "fit"

    def test_a_tag_without_a_reason_shows_its_owner(self, desk):
        desk.say("tag", by="TW", vehicle=VEHICLE, tag="t-1", on=True)
        found = stands(folded(desk))
        assert (found.tags, found.why) == (("TW",), ("tag of TW",))


class TestWalked:
    def test_not_walked_never_looks_like_nothing_found(self, rm):
        walk = rm.walk()
        walk.sound("sag")
        assert stands(folded(rm)).not_walked is True
        rm.write("walk", walk=walk.id, vehicle=VEHICLE, round="cold", day=DAY, state="finished", covered=1, of=2)
        found = stands(folded(rm))
        assert (found.not_walked, found.last_round, found.last_day, found.open_defects) == (False, "cold", DAY, 0)

    def test_a_walk_that_is_not_finished_but_found_something_is_a_walk(self, rm):
        rm.walk().defect("sag", "slack", "major")
        assert stands(folded(rm)).not_walked is False

    def test_nobody_ever_walked_it(self, rm):
        found = stands(folded(rm))
        assert (found.not_walked, found.last_round, found.last_day) == (True, "", "")

    @pytest.mark.parametrize(("day", "not_walked"), [("2026-10-23", False), ("2026-10-24", True), ("2026-10-25", True)])
    def test_after_a_display_day_it_has_to_be_walked_again(self, rm, day, not_walked):
        edition = edition_of(template(), days=(DisplayDay(name="Autumn", date=on("2026-10-24")),))
        rm.edition = edition.fingerprint
        rm.walk().defect("lamp", "dark", "minor")
        state = folded(rm, editions=[edition], adopted=edition)
        assert stands(state, day, edition=edition).not_walked is not_walked

    def test_a_walk_on_the_display_day_itself_counts(self, rm):
        edition = edition_of(template(), days=(DisplayDay(name="Autumn", date=on(DAY)),))
        rm.edition = edition.fingerprint
        rm.walk("hot", DAY).defect("lamp", "dark", "minor")
        state = folded(rm, editions=[edition], adopted=edition)
        assert stands(state, edition=edition).not_walked is False

    def test_a_round_before_running_has_not_seen_what_the_display_day_did(self, rm):
        edition = edition_of(template(), days=(DisplayDay(name="Autumn", date=on(DAY)),))
        rm.edition = edition.fingerprint
        rm.walk("before", DAY).defect("lamp", "dark", "minor")
        state = folded(rm, editions=[edition], adopted=edition)
        assert stands(state, edition=edition).not_walked is True

    def test_every_vehicle_has_a_standing(self, rm):
        found = stands(folded(rm), vehicle="stoat")
        assert (found.name, found.standing, found.not_walked) == ("Stoat", "fit", True)

    def test_the_last_round_is_the_latest_by_day_and_round(self, rm):
        rm.walk("cold", LATER)
        rm.walk("hot", LATER)
        rm.walk("full", DAY)
        found = stands(folded(rm))
        assert (found.last_day, found.last_round) == (LATER, "cold")


class TestEscalation:
    def two(self, rm: Phone, check: str, fault: str, spot: str | None = None) -> State:
        walk = rm.walk()
        walk.defect("sag", "tight", "minor")
        walk.defect(check, fault, "minor", spot=spot)
        return folded(rm)

    def test_within_one_test_area_it_is_allowed(self, rm):
        state = self.two(rm, "tyre", "chunk", "1")
        assert may_escalate(state.defects[0], state.defects) == ""

    def test_across_areas_it_is_refused_with_the_reason(self, rm):
        state = self.two(rm, "lamp", "dark")
        first = next(d for d in state.defects if d.fault == "tight")
        assert may_escalate(first, state.defects) == (
            f"{first.code} is the only open defect of test area 5; areas are not weighed together"
        )

    def test_without_an_area_it_is_refused(self, rm):
        rm.walk().something_else("squeak")
        state = folded(rm)
        assert "belongs to no test area" in may_escalate(state.defects[0], state.defects)

    def test_a_closed_one_does_not_count(self, rm, desk):
        state = self.two(rm, "tyre", "chunk", "1")
        chunk = next(d for d in state.defects if d.fault == "chunk")
        desk.learn(rm).rule(chunk.opening, closed={"reason": "swapped"})
        state = folded(rm, desk)
        assert may_escalate(next(d for d in state.defects if d.fault == "tight"), state.defects) != ""
