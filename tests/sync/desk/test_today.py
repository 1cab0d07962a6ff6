"""Today tells what came in, by phone and vehicle, and what it changed; nothing that was filled in is lost."""

import re

import pytest

from sync.service import Service
from tests.sync.desk.window import TODAY, Window, valid, words


def section(page: str, name: str) -> str:
    found = re.search(rf'<section aria-labelledby="{name}">.*?</section>', page, re.DOTALL)
    assert found is not None
    return words(found[0])


def test_what_came_in_is_told_by_phone_and_vehicle(window: Window) -> None:
    came = section(window.open("/"), "came")
    assert "What came in, 2026-10-18" in came
    assert re.search(r"MF phone 2026-10-18 \d\d:\d\d: 279 entries new, 4 photos", came)
    assert re.search(r"Kettle 12 defects in 67 looks, before, hot, cold, 1 report", came)
    assert "Lantern 1 report" in came


def test_what_was_corrected_is_counted_once(service: Service) -> None:
    first = service.store.batches(200)[-1].batch
    whole = sum(one.looked for one in service.store.arrived(first, 5000))
    rows = service.store.rows(
        "SELECT count(*) FROM entries AS e WHERE kind = 'finding' AND json_extract(body, '$.result') <> 'unchecked'"
        " AND NOT EXISTS (SELECT 1 FROM entries AS c WHERE c.device = e.device"
        " AND json_extract(c.body, '$.corrects') = e.id)"
    )
    assert whole == rows[0][0] > 0


def test_a_changed_standing_is_told_with_what_it_was(window: Window) -> None:
    came = section(window.open("/"), "came")
    assert "stopped now, were fit and not walked: Clog , Hobnail , Kettle , Parsnip , Thimble" in came


def test_what_the_desk_changes_afterwards_is_no_new_standing_before(window: Window) -> None:
    store = window.service.store
    first = store.batches(200)[-1].batch
    before = store.standings_before(first, TODAY)
    window.open("/vehicle/nutmeg")
    window.say("/vehicle/nutmeg/tag", tag="MF 1", reason="hands in the bay")
    assert store.standing_of("nutmeg", TODAY).standing == "stopped"
    assert store.standings_before(first, TODAY) == before
    assert "Nutmeg" in section(window.open("/"), "came").partition("stopped now")[2]


def test_a_conflict_is_listed_by_vehicle_place_and_fault(window: Window) -> None:
    assert "Kettle: Left track, Sag of the top run: Slack TA saw it slack" in section(window.open("/"), "decide")


def test_what_was_not_walked_is_not_counted_as_fit(window: Window) -> None:
    page = words(window.open("/"))
    assert "3 fit 1 not walked" in page
    assert "not walked on the last round: Lantern" in page


@pytest.mark.parametrize("code", ["kettle-fqb8v", "kettle-9tpbk", "hobnail-wpu5q"])
def test_a_defects_page_says_its_rank_and_why(window: Window, code: str) -> None:
    row = next(row for row in window.service.store.backlog(TODAY).rows if row.defect == code)
    assert f"Rank {row.rank} of what is open: {row.rank_why}." in words(window.open(f"/defect/{code}"))


class TestRefused:
    def test_what_was_filled_in_is_shown_again(self, window: Window) -> None:
        window.open("/defect/kettle-9tpbk")
        answer = window.post("/defect/kettle-9tpbk/for-now", what="a long tale of wire & tape", until="", undo="cut it")
        valid(answer.text)
        assert "Nothing of it was written" in words(answer.text)
        assert "what a long tale of wire & tape" in words(answer.text)
        assert window.knows not in words(answer.text)

    def test_the_way_back_leads_to_the_page_of_the_form(self, window: Window) -> None:
        window.open("/defect/kettle-9tpbk")
        headers = {"Referer": "http://127.0.0.1/defect/kettle-9tpbk?x=1"}
        page = window.http.post("/defect/kettle-9tpbk/for-now", data={"what": "wire"}, headers=headers).text
        assert 'href="/defect/kettle-9tpbk?x=1" data-back' in page
        assert 'name="to" value="/defect/kettle-9tpbk?x=1"' in page

    def test_it_never_leads_elsewhere(self, window: Window) -> None:
        headers = {"Referer": "https://evil.example/defect"}
        assert "evil.example" not in window.http.get("/defect/none-22222", headers=headers).text

    def test_the_desk_gives_no_way_out_that_is_none_there(self, window: Window) -> None:
        text = words(window.http.get("/defect/none-22222").text)
        assert "there is no defect 'none-22222' in this backlog. Back" in text


class TestReports:
    def test_one_that_came_by_word_of_mouth_is_written_down(self, window: Window) -> None:
        window.open("/reports")
        fields = {"vehicle": "nutmeg", "source": "driver", "symptom": "knocks when cold", "conditions": "first start"}
        assert "The report is written down." in window.say("/reports", fields)
        report = window.service.store.reports("nutmeg")[0]
        assert (report.symptom, report.conditions, report.by) == ("knocks when cold", "first start", "MF")

    @pytest.mark.parametrize(("fields", "said"), [
        ({"vehicle": "", "source": "driver", "symptom": "x"}, "The vehicle is missing"),
        ({"vehicle": "nutmeg", "source": "parrot", "symptom": "x"}, "'parrot' is none of driver, visitor, other"),
        ({"vehicle": "nutmeg", "source": "driver", "symptom": ""}, "What was felt or seen is missing"),
    ])  # fmt: skip
    def test_what_cannot_be_is_refused(self, window: Window, fields: dict[str, str], said: str) -> None:
        window.open("/reports")
        assert said in window.say("/reports", fields)
        assert window.service.store.reports("nutmeg") == ()
