"""The plan page: one screen says what to do on the next open day and why, and a lead who disagrees is obeyed."""

import asyncio
import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from urllib.parse import urlencode

import httpx
import pytest
from starlette.datastructures import QueryParams

from sync.demo import Places, build_sample, take_in_day
from sync.desk.app import desk_app
from sync.desk.page import WHO_COOKIE, Desk
from sync.desk.plan import EFFORTS, Wish, wish_of
from sync.desk.plan_chart import NAMES, WIDE, drawn
from sync.errors import DeskError
from sync.plan.timeline import timeline
from sync.service import Service
from sync.store import Store
from tests.sync.phones import START, Dice
from tests.sync.plan.shed import item, planned, waits

TODAY = date(2026, 10, 18)
PAGE = "http://127.0.0.1"


class Lead:
    """A lead in front of the desk, on the sample fleet's morning after."""

    def __init__(self, folder: Path) -> None:
        places = Places(folder)
        edition = build_sample(places)
        self.store = Store(places.backlog)
        self.service = Service(self.store, lambda: START, Dice("plan"))
        self.service.adopt(edition)
        take_in_day(self.service)
        self.app = desk_app(Desk(self.store, self.service, lambda: TODAY))

    def asks(self, method: str, address: str, body: str = "") -> httpx.Response:
        async def ask() -> httpx.Response:
            wire = httpx.ASGITransport(self.app, client=("127.0.0.1", 1))
            form = {"Content-Type": "application/x-www-form-urlencoded", "Origin": PAGE}
            cookies = {WHO_COOKIE: "MF"}
            async with httpx.AsyncClient(transport=wire, base_url=PAGE, cookies=cookies) as client:
                return await client.request(method, address, content=body, headers=form if body else {})

        # In a thread of its own: a browser's test in the same process leaves its loop running in this one.
        with ThreadPoolExecutor(1) as thread:
            return thread.submit(asyncio.run, ask()).result()

    def page(self, address: str = "/plan") -> str:
        return self.asks("GET", address).text

    def takes(self, how: str, **fields: object) -> str:
        body = urlencode({"knows": self.service.token(), "how": how, **fields}, doseq=True)
        answer = self.asks("POST", "/plan/job", body)
        assert answer.status_code == 303, answer.text
        return answer.headers["location"]


@pytest.fixture(scope="module")
def lead(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lead]:
    made = Lead(tmp_path_factory.mktemp("plan-page"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(EFFORTS, "", 0.02)  # these tests ask what the page says, not how good the plan is
        yield made
    made.store.close()


def section(page: str, name: str) -> str:
    found = re.search(rf'<section aria-labelledby="{name}">.*?</section>', page, re.DOTALL)
    assert found, f"the page has no section {name}"
    return found[0]


def groups(lead: Lead) -> list[tuple[str, ...]]:
    """The defects of each job on the page."""
    articles = section(lead.page(), "jobs").split("<article")[1:]
    return [tuple(re.findall(r'name="defects" value="([^"]+)"', article)) for article in articles]


def shared_job(lead: Lead) -> tuple[str, ...]:
    """Kettle's two defects that the plan does in one opening."""
    return next(group for group in groups(lead) if len(group) == 2 and group[0].startswith("kettle"))


def test_the_first_section_says_who_does_what_next_and_why(lead: Lead) -> None:
    page = lead.page()
    first = re.search(r'<section aria-labelledby="(\w+)"', page)
    assert first is not None
    assert first[1] == "list"
    listed = section(page, "list")
    assert "Sat 24 Oct 2026: who does what" in listed
    assert "dangerous: to make safe" in listed


def test_every_vehicle_has_its_row_of_readiness(lead: Lead) -> None:
    rows = re.findall(r'<th scope="row"><a href="/vehicle/', section(lead.page(), "ready"))
    assert len(rows) == len(lead.store.edition().vehicles)


def test_the_time_line_draws_today_and_the_display_day(lead: Lead) -> None:
    drawing = section(lead.page(), "time")
    assert 'class="tick-today"' in drawing
    assert ">Frost Run</text>" in drawing


def test_who_comes_is_asked_in_the_address_and_gets_the_work(lead: Lead) -> None:
    listed = section(lead.page("/plan?people=PW&people=JS"), "list")
    assert re.findall(r'<h3 id="person-\d+">(\w+)', listed) == ["PW", "JS"]


def test_a_helper_more_tells_what_that_would_change(lead: Lead) -> None:
    assert "<li>" in section(lead.page("/plan?helpers=2"), "what-if")


def test_a_day_that_is_none_is_refused_in_words(lead: Lead) -> None:
    answer = lead.asks("GET", "/plan?by=soon")
    assert answer.status_code == 409
    assert "is no day; write it as 2026-10-18" in answer.text


def test_a_day_on_which_the_workshop_is_closed_is_refused_in_words(lead: Lead) -> None:
    assert "not open on Wed 28 Oct 2026" in lead.page("/plan?day=2026-10-28")


def test_a_job_that_the_lead_parts_is_done_apart_until_it_is_given_up(lead: Lead) -> None:
    defects = shared_job(lead)
    lead.takes("apart", vehicle="kettle", title="Apart", defects=defects)
    assert [(one,) in groups(lead) for one in defects] == [True, True]
    (job,) = (job for job in lead.store.jobs() if job.title == "Apart")
    lead.takes("given up", vehicle="kettle", title="Apart", defects=defects, job=job.job)
    assert defects in groups(lead)


def test_a_job_that_the_lead_trims_leaves_the_other_defect_to_the_plan(lead: Lead) -> None:
    one, other = shared_job(lead)
    where = lead.takes("one", vehicle="kettle", title="Left wheel", defects=[one])
    assert "One+job+it+is" in where
    assert {(one,), (other,)} <= set(groups(lead))
    assert "Kettle: Left wheel" in section(lead.page(), "jobs")
    lead.takes("given up", vehicle="kettle", title="Left wheel", defects=[one], job=f"job-{one}")


def test_what_changed_since_the_page_was_last_shown_is_told(lead: Lead) -> None:
    lead.page()
    lead.takes("apart", vehicle="kettle", title="Apart", defects=shared_job(lead))
    assert "other work" in section(lead.page(), "changed") or "goes first" in section(lead.page(), "changed")


def test_a_job_without_a_defect_is_refused(lead: Lead) -> None:
    body = urlencode({"knows": lead.service.token(), "how": "one", "vehicle": "kettle", "title": "x"})
    assert "tick at least one defect" in lead.asks("POST", "/plan/job", body).text


def test_the_address_is_read_whole() -> None:
    address = "by=2026-12-12&people=MF&people=TA&people=MF&helpers=1&late=plates&days=7&search=longer"
    wish = wish_of(QueryParams(address))
    assert wish == Wish(date(2026, 12, 12), None, ("MF", "TA"), 1, ("plates", 7), "longer")
    with pytest.raises(DeskError, match="'many' is no whole number"):
        wish_of(QueryParams("helpers=many"))


def test_every_box_of_the_drawing_lies_right_of_the_names() -> None:
    drawing = drawn(timeline(planned(item("leak", needs=("pack-out",)), item("clutch", waits=waits(30)))))
    boxes = [box for line in drawing.lines for box in line.boxes]
    assert boxes
    assert all(NAMES <= box.x <= WIDE and line.top <= box.y for line in drawing.lines for box in line.boxes)
