"""The main job end to end against published sources: from a finger on the phone's form to what the workshop reads.

The sample fleet's app in a real browser, offline; its hand-in file taken in; the standing and the desk's own pages.
"""

import html
import math
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import NamedTuple

import pytest
from playwright.sync_api import Browser
from scipy.integrate import quad
from scipy.optimize import brentq

from builder.commands import app_files
from builder.edition import compile_edition
from builder.load import load_fleet
from builder.write import write_site
from sync.desk.page import Desk
from sync.rows import StandingRow
from sync.service import Service
from sync.state import Defect
from sync.store import Store
from tests.app.browsers import Site, phone, served
from tests.app.person import Person
from tests.sync.desk.asking import asked
from tests.sync.phones import START, Dice

SAMPLE = Path(__file__).resolve().parent.parent.parent / "sample_fleet"
TODAY = date(2026, 10, 18)
STOPS = "start; drive"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    folder = tmp_path_factory.mktemp("site") / "app"
    write_site(folder, app_files(SAMPLE))
    with served(folder) as running:
        yield running


@pytest.fixture
def person(browser: Browser, site: Site) -> Iterator[Person]:
    """Somebody with a fresh phone, out of reach of every network once the app is there."""
    handset = phone(browser)
    walker = Person(handset.new_page(), site.url)
    walker.arrive()
    handset.set_offline(True)
    yield walker
    handset.close()


@pytest.fixture
def workshop(tmp_path: Path) -> Iterator[Service]:
    with Store(tmp_path / "backlog.db") as store:
        service = Service(store, lambda: START, Dice("desk"))
        service.adopt(compile_edition(load_fleet(SAMPLE)))
        yield service


def taken(workshop: Service, text: str) -> None:
    """A hand-in file, of which every line is understood."""
    receipt = workshop.take_in("phone.txt", [text.encode()])
    assert (receipt.refused, receipt.aside) == ("", 0)


def standing(workshop: Service, vehicle: str) -> StandingRow:
    return next(row for row in workshop.store.standing(TODAY) if row.vehicle == vehicle)


def only_defect(workshop: Service, check: str) -> Defect:
    (found,) = [defect for defect in workshop.store.defects() if defect.check == check]
    return found


class Leak(NamedTuple):
    """What a helper finds, and what the published decision table makes of it."""

    round: str
    station: str
    check: str
    ask: str
    fault: str
    leak_class: int
    level: str
    severity: str
    standing: str
    barred: str


#: Source beside each. All on one wheeled vehicle that is otherwise sound.
LEAKS = {
    # TM 10-3930-671-10 section 3-3: class I and II are minor, running goes on, the level is looked at regularly.
    "hanging drops, level in range": Leak(
        "Full", "Engine", "engine/oil-leak-low", "Oil: sump, crankshaft seals, drain", "Drain plug weeping",
        2, "Between the marks", "minor", "fit", "",
    ),
    # TM 10-3930-671-10 section 3-3 (3): class III after running and below minimum: not to run until mended.
    "falling drops after running, level low": Leak(
        "Full", "Engine", "engine/oil-leak-low", "Oil: sump, crankshaft seals, drain", "Drain plug weeping",
        3, "Low", "dangerous", "stopped", STOPS,
    ),
    # TM 10-3930-671-10 section 3-3 (3): class III after running, level not below minimum: reported, not stopped.
    "falling drops after running, level in range": Leak(
        "Hot", "Radiator and fan", "cooling/weep-hot", "Coolant weeping with the pressure still on", "Hose end weeping",
        3, "Between the marks", "major", "limited", "",
    ),
    # TM 5-3805-290-23-2: class I and II may run, except fuel, where no leak of any class is allowed.
    "fuel, wet without drops": Leak(
        "Before running", "Engine", "engine/fuel-leak", "Carburettor, pump, filter and pipes, dry",
        "Union or banjo wet", 1, "Between the marks", "dangerous", "stopped", STOPS,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", LEAKS)
def test_a_leak_walked_in_the_app_gives_the_standing_that_the_published_table_demands(
    case: str, person: Person, workshop: Service
) -> None:
    leak = LEAKS[case]
    person.start("Nutmeg", leak.round)
    person.go_to(leak.station)
    person.tap(leak.ask, "Defect")
    person.choose_fault(leak.fault)
    person.form.get_by_role("radio", name=re.compile(f"^Class {leak.leak_class}")).check(force=True)
    if leak.leak_class == 3:
        person.form.get_by_role("radio", name="Drops", exact=True).check(force=True)
    person.form.get_by_role("radio", name=leak.level, exact=True).check(force=True)
    person.save()
    person.finish()
    taken(workshop, person.hand_in())
    found, row = only_defect(workshop, leak.check), standing(workshop, "nutmeg")
    assert found.severity == leak.severity
    assert (row.standing, row.barred) == (leak.standing, leak.barred)


def run_length(span: float, sag: float) -> float:
    """Length of a hanging run by scipy: brentq for the catenary's parameter, quad along it."""
    a = brentq(lambda a: a * (math.cosh(span / (2 * a)) - 1) - sag, span / 8, 1e9, xtol=1e-9, rtol=1e-14)
    return float(quad(lambda x: math.cosh(x / a), -span / 2, span / 2)[0])


def test_a_sag_measured_in_the_app_comes_out_as_links_on_the_defects_page(person: Person, workshop: Service) -> None:
    """Exact catenary by scipy; the idler by plane geometry; a link out where travel is short (TM 9-2350-230-12).

    Anvil's file: spans 1500, 1480 and 1510 mm, wanted 35 mm in the middle of 25 to 45, wrap 175 degrees, pitch
    152.4 mm, 120 mm of adjuster in all. Sag 110 mm, 2 mm of travel left; the other spans by the square of length.
    """
    person.start("Anvil", "Cold")
    person.go_to("Left track")
    for ask, fault, reading in (
        ("Sag of the top run", "Slack", "110"),
        ("Adjuster: travel left and lock", "At the end of its travel", "2"),
    ):
        person.tap(ask, "Defect")
        person.choose_fault(fault)
        person.form.get_by_label("Reading").first.fill(reading)
        person.save()
    person.finish()
    taken(workshop, person.hand_in())

    spans = (1500.0, 1480.0, 1510.0)
    squares = [(span / spans[0]) ** 2 for span in spans]
    taken_up = sum(run_length(le, 110 * q) - run_length(le, 35 * q) for le, q in zip(spans, squares, strict=True))
    factor = 2 * math.sin(math.radians(175 / 2))
    assert taken_up / factor > 2, "the example needs more than the adjuster has left"
    links = math.ceil((taken_up - factor * 2) / 152.4)
    back = (links * 152.4 - taken_up) / factor
    page = desk_page(workshop, f"/defect/{only_defect(workshop, 'left-track/sag').code}")
    assert f"take out {links} link;" in page
    assert f"the idler then ends {back:.1f} mm farther inwards than now" in page
    assert "manual" in page


def desk_page(workshop: Service, address: str) -> str:
    """The words of one page of the desk."""
    answer = asked(Desk(workshop.store, workshop, lambda: TODAY), address)
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())
