"""What a do-not-move notice and a blank walk-round sheet say."""

from builder.edition import Edition
from sync.paper.notices import notice
from sync.paper.sheets import walk_sheet
from sync.paper.words import limits, place
from sync.state import Defect, Standing


def test_a_notice_gives_the_gravest_reason_first(
    edition: Edition, standing: Standing, slack: Defect, fuel: Defect
) -> None:
    paper = notice(edition, standing, (slack, fuel), "2026-10-19", lambda vehicle: vehicle)
    assert [reason.fault for reason in paper.reasons] == ["Fuel on the floor", "Slack"]
    assert paper.reasons[1].conflict


def test_a_notice_says_what_is_barred_how_it_moves_and_whom_to_ask(edition: Edition, standing: Standing) -> None:
    head = notice(edition, standing, (), "2026-10-19", lambda vehicle: vehicle).head
    assert (head.barred, head.moves, head.ask) == (("start", "drive"), ("towed", "lifted"), ("RM",))


def test_what_bars_nothing_is_no_reason(edition: Edition, standing: Standing, slack: Defect) -> None:
    harmless = Defect(opening="x", code="badger-xxxxx", vehicle="badger", severity="minor")
    paper = notice(edition, standing, (harmless,), "2026-10-19", lambda vehicle: vehicle)
    assert (paper.reasons, paper.why) == ((), ("Fuel on the floor",))


def test_a_sheet_asks_its_rounds_checks_alone_in_walking_order(edition: Edition, standing: Standing) -> None:
    asked = {
        walk_round: [check.ask for station in sheet.stations for check in station.checks]
        for walk_round in ("before", "hot", "cold", "full")
        if (sheet := walk_sheet(edition, standing, walk_round, (), "2026-10-19"))  # type: ignore[arg-type]
    }
    assert asked == {
        "before": [],
        "hot": ["Hub temperature"],
        "cold": ["Sag of the top run"],
        "full": ["Lamps", "Sag of the top run", "Grease"],
    }


def test_a_check_has_its_number_limits_caution_and_condition(edition: Edition, standing: Standing) -> None:
    check = walk_sheet(edition, standing, "full", (), "2026-10-19").stations[1].checks[0]
    assert (check.number, check.limits) == ("2.1", "20 to 40 mm")
    assert (check.caution, check.condition) == ("Fingers out of the run of the track.", "cold, on level ground")


def test_spots_are_counted_out(edition: Edition, standing: Standing) -> None:
    (station,) = walk_sheet(edition, standing, "hot", (), "2026-10-19").stations
    assert station.checks[0].spots == ("1", "2", "3", "4", "5", "6")


def test_known_defects_are_asked_again(edition: Edition, standing: Standing, slack: Defect) -> None:
    (known,) = walk_sheet(edition, standing, "full", (slack,), "2026-10-19").known
    assert (known.code, known.place, known.fault) == ("badger-9m2xa", "Left track, Sag of the top run", "Slack")


def test_limits_are_told_in_words(edition: Edition) -> None:
    checks = edition.by_vehicle["badger"].checks
    assert limits(checks["left-track/hub"].reading) == "at most 75 °C"
    assert limits(None) == ""


def test_a_named_spot_is_its_own_word() -> None:
    assert (place("Left track", "3"), place("Nose", "front"), place("Nose", "")) == (
        "Left track, spot 3",
        "Nose, front",
        "Nose",
    )
