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
from sync.plan.cp import Limit
from sync.plan.day import Stint, day_list
from sync.plan.gather import gather
from sync.plan.plan import plan_of
from sync.plan.timeline import timeline
from sync.service import Draft, Service
from sync.store import Store
from tests.sync.phones import START, Dice
from tests.sync.plan.shed import item, planned, waits

TODAY = date(2026, 10, 18)
SATURDAY = date(2026, 10, 24)
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
    assert "Sat 24 Oct 2026: who does what, and why" in listed
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
    first = re.search(r"<li>(.*?)</li>", section(lead.page(), "changed"))
    assert first is not None
    assert first[1].endswith("somebody said: to be done apart (Apart)")


def test_a_job_without_a_defect_is_refused(lead: Lead) -> None:
    body = urlencode({"knows": lead.service.token(), "how": "one", "vehicle": "kettle", "title": "x"})
    assert "ick at least one defect" in lead.asks("POST", "/plan/job", body).text


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


class TestWishes:
    """Each line of the plan can be had otherwise; it is an entry, obeyed at once, and said why."""

    def wants(self, lead: Lead, how: str, stint: Stint, **fields: object) -> str:
        said = {"how": how, "about": stint.about, "vehicle": stint.vehicle, "shown": SATURDAY.isoformat(), **fields}
        body = urlencode({"knows": lead.service.token(), **said}, doseq=True)
        answer = lead.asks("POST", "/plan/wish", body)
        return answer.headers.get("location", answer.text)

    def stints(self, lead: Lead) -> list[Stint]:
        """What is planned for the page's Saturday."""
        store = lead.store
        problem = gather(store.edition(), store.state(), TODAY, store.runs())
        return list(day_list(plan_of(problem, Limit(EFFORTS[""]))).stints)

    def work(self, lead: Lead) -> Stint:
        """A piece of work by itself that is not the first thing to do."""
        return [
            stint for stint in self.stints(lead) if stint.item and not stint.bundle and "dangerous" not in stint.why
        ][-1]

    @pytest.fixture(autouse=True)
    def taken_back(self, lead: Lead) -> Iterator[None]:
        yield
        store = lead.store
        for one in gather(store.edition(), store.state(), TODAY, store.runs()).wishes:
            vehicle = one.about if one.about in store.edition().by_vehicle else "kettle"
            lead.service.write(
                Draft("ruling", {"about": one.about, "vehicle": vehicle, "set": {"plan": None}}), by="MF"
            )

    def test_not_on_this_day_puts_it_to_a_later_one(self, lead: Lead) -> None:
        stint = self.work(lead)
        assert "not+before+Sat+31+Oct+2026" in self.wants(lead, "not now", stint, reason="the gauge is on loan")
        assert stint.item not in {one.item for one in self.stints(lead)}
        assert "not before Sat 31 Oct 2026 (the gauge is on loan)" in section(lead.page(), "list")

    def test_it_is_a_ruling_by_this_desk(self, lead: Lead) -> None:
        self.wants(lead, "not now", self.work(lead))
        row = list(lead.store.own_after(lead.service.device, 0))[-1]
        assert (row.kind, '"order":"not before"' in row.body) == ("ruling", True)

    def test_first_of_all_is_first(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "first", stint)
        (now,) = (one for one in self.stints(lead) if one.item == stint.item)
        assert (now.begins, now.why) == (0, "MF: first of all")

    def test_on_that_day_begins_on_it(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "on", stint, day="2026-11-07")
        assert "MF: on Sat 7 Nov 2026" in section(lead.page("/plan?day=2026-11-07"), "list")

    def test_on_a_day_on_which_the_workshop_is_closed_is_refused_with_the_next(self, lead: Lead) -> None:
        said = self.wants(lead, "on", self.work(lead), day="2026-11-04")
        assert "not open on Wed 4 Nov 2026; the next open day is Sat 7 Nov 2026" in said

    def test_left_out_is_not_planned_and_told(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "left out", stint, reason="her owner does it")
        assert stint.item not in {one.item for one in self.stints(lead)}
        assert "MF: left out of the plan (her owner does it)" in section(lead.page(), "blocked")

    def test_they_do_it_names_who(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "who", stint, who=["PW"])
        (now,) = (one for one in self.stints(lead) if one.item == stint.item)
        assert now.people == ("PW",)

    def test_nobody_ticked_is_refused(self, lead: Lead) -> None:
        assert "obody is ticked" in self.wants(lead, "who", self.work(lead))

    def test_who_was_named_stays_when_the_order_is_changed(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "who", stint, who=["PW"])
        self.wants(lead, "first", stint)
        assert "MF: first of all, by PW" in section(lead.page(), "list")

    def test_all_work_on_a_vehicle_at_once(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "not now", stint, whole="yes")
        assert stint.vehicle not in {one.vehicle for one in self.stints(lead)}
        assert f"All work on {stint.vehicle_name}" in section(lead.page(), "list")

    def test_taken_back_the_plan_decides_again(self, lead: Lead) -> None:
        stint = self.work(lead)
        self.wants(lead, "not now", stint)
        assert "the+plan+decides+again" in self.wants(lead, "back", stint)
        assert stint.item in {one.item for one in self.stints(lead)}
        assert "Said against the plan" not in lead.page()

    def test_what_changed_begins_with_the_wish_and_says_whose_it_is(self, lead: Lead) -> None:
        lead.page()
        stint = self.work(lead)
        self.wants(lead, "not now", stint, reason="no crane")
        first = re.search(r"<li>(.*?)</li>", section(lead.page(), "changed"))
        assert first is not None
        assert "MF: not before Sat 31 Oct 2026 (no crane)" in first[1]

    def test_an_unknown_way_is_refused(self, lead: Lead) -> None:
        assert "is no way to want it" in self.wants(lead, "never", self.work(lead))

    def test_what_is_not_open_any_more_is_refused(self, lead: Lead) -> None:
        gone = self.work(lead)
        body = urlencode({"knows": lead.service.token(), "how": "first", "about": "gone", "vehicle": gone.vehicle})
        assert "not open any more" in lead.asks("POST", "/plan/wish", body).text
