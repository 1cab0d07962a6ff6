"""Leaks against the manuals' own sentences, and from a fleet file and a finding to what is barred."""

from pathlib import Path

import msgspec
import pytest

from builder.edition import BARS, compile_edition, read_edition
from builder.load import load_fleet
from sync.entries import Finding, read_entry
from sync.trade.checks import CheckSeen, reckonings
from sync.trade.leaks import LeakSeen, decide, found_on

STOPPED = ("start", "drive")


@pytest.mark.parametrize("leak_class", [1, 2])
def test_running_goes_on_with_class_one_and_two(leak_class: int) -> None:
    """TM 10-3930-671-10 section 3-3: class I and II are minor, operations can continue."""
    for found in ("before", "during", "after"):
        rule = decide(LeakSeen("engine oil", leak_class, found, level_ok=True))  # type: ignore[arg-type]
        assert rule.bars == ()
        assert rule.severity in {"advisory", "minor"}


@pytest.mark.parametrize(("level_ok", "bars"), [(True, ()), (False, STOPPED)])
def test_class_three_before_running_depends_on_the_level(level_ok: bool, bars: tuple[str, ...]) -> None:
    """TM 10-3930-671-10 section 3-3 (1): may run while between the points; below minimum do not operate."""
    assert decide(LeakSeen("engine oil", 3, "before", level_ok=level_ok)).bars == bars


@pytest.mark.parametrize(
    ("stream", "level_ok", "bars"),
    [(False, True, ()), (True, True, STOPPED), (False, False, STOPPED), (True, False, STOPPED)],
)
def test_class_three_while_running_may_finish_on_drops_with_the_level_in_range(
    stream: bool, level_ok: bool, bars: tuple[str, ...]
) -> None:
    """TM 10-3930-671-10 section 3-3 (2): a steady stream or a level below minimum: turn it off."""
    rule = decide(LeakSeen("engine oil", 3, "during", stream, level_ok))
    assert rule.bars == bars
    assert ("Shut it down" in rule.instruction) is bool(bars)


def test_class_three_after_running_and_below_minimum_stands_until_mended() -> None:
    """TM 10-3930-671-10 section 3-3 (3)."""
    rule = decide(LeakSeen("engine oil", 3, "after", level_ok=False))
    assert rule.bars == STOPPED
    assert "until it is mended" in rule.instruction


@pytest.mark.parametrize("leak_class", [1, 2, 3])
def test_no_fuel_leak_of_any_class_is_allowed(leak_class: int) -> None:
    """TM 5-3805-290-23-2: running allowed with class I and II, except for fuel, where no leaks are allowed."""
    for fluid in ("petrol", "diesel"):
        rule = decide(LeakSeen(fluid, leak_class, "before", level_ok=True))  # type: ignore[arg-type]
        assert (rule.severity, rule.bars) == ("dangerous", STOPPED)


@pytest.mark.parametrize("leak_class", [1, 2, 3])
def test_a_leaking_hydraulic_brake_is_dangerous_and_an_air_leak_major(leak_class: int) -> None:
    """UK MOT inspection manual, section 1: pipe or hose leaking, hydraulic dangerous, air major."""
    hydraulic = decide(LeakSeen("hydraulic brake fluid", leak_class, "after", level_ok=True))  # type: ignore[arg-type]
    air = decide(LeakSeen("brake air", leak_class, "after", level_ok=True))  # type: ignore[arg-type]
    assert (hydraulic.severity, air.severity) == ("dangerous", "major")


FLEET = """
name = "Trial Shed"
code = "trial-shed"
"""
TEMPLATE = """
name = "Engine"
[[station]]
id = "engine"
name = "Engine"
order = 10
at = [0.3, 0.5]
[[station.check]]
id = "drips"
ask = "Oil under the engine"
rounds = ["hot", "cold", "full"]
leak = "engine oil"
fault = [{ id = "drips", name = "Drips", severity = "minor" }]
"""
VEHICLE = """
id = "otter"
name = "Otter"
kind = "tractor"
location = "bay 1"
templates = ["engine"]
"""
FINDING = {
    "id": "0199f5c3-4e90-7a0d-b3c8-1d2e3f4a5b03",
    "device": "d-4k7m",
    "seq": 2,
    "at": "2026-10-18T08:33:41.870+01:00",
    "by": "RM",
    "edition": "00000000",
    "kind": "finding",
    "vehicle": "otter",
    "check": "engine/drips",
    "result": "defect",
    "fault": "drips",
    "severity": "minor",
    "leak": {"class": 3, "stream": False, "level_ok": False},
    "photos": [],
}


def test_from_fleet_file_and_finding_a_leak_bars_what_the_manual_bars(tmp_path: Path) -> None:
    """A helper says "minor" of drops falling on the cold round with the level low.

    TM 10-3930-671-10 section 3-3 (3): not to be operated until repaired.
    """
    for name, text in (("fleet", FLEET), ("templates/engine", TEMPLATE), ("vehicles/otter", VEHICLE)):
        path = tmp_path / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    edition = read_edition(compile_edition(load_fleet(tmp_path)))
    finding = read_entry(msgspec.json.encode(FINDING))
    assert isinstance(finding, Finding)
    assert finding.leak is not None
    check = edition.by_vehicle["otter"].checks["engine/drips"]
    seen = LeakSeen(
        check.leak or "", finding.leak.leak_class, found_on("cold"), finding.leak.stream, finding.leak.level_ok
    )
    (said,) = reckonings(CheckSeen(check.ask, leak=seen))
    assert said.verdict == "dangerous"
    assert BARS["dangerous"] == STOPPED
    assert "Not to run until it is mended" in said.todo[0]
