"""Every page answers, is valid HTML, runs nothing of its own, and shows what it is for."""

import html
import re

import pytest

from tests.sync.desk.window import Window, valid, words

PAGES = [
    "/", "/backlog", "/backlog?severity=dangerous&sort=last_seen&down=yes", "/backlog?search=nothing+of+that",
    "/vehicles", "/vehicle/kettle", "/vehicle/lantern", "/vehicle/dumpling", "/vehicle/kettle/walks",
    "/vehicle/kettle/check/left-track/sag", "/vehicle/kettle/check/left-track/wheel-heat",
    "/defect/kettle-ewcvh", "/defect/clog-9nw5m", "/defect/clog-9ewmq", "/conflicts", "/conflicts?vehicle=kettle",
    "/perhaps-the-same", "/reports", "/revivals", "/know-how", "/take-in", "/papers", "/sheet",
    "/sheet?vehicle=kettle&round=full",
]  # fmt: skip
PAPERS = ["/papers/card?defect=kettle-ewcvh", "/papers/cards/kettle?a_page=2", "/papers/notice/kettle",
          "/papers/notices", "/papers/sheet/kettle/cold", "/papers/sheets?round=hot&vehicle="]  # fmt: skip


@pytest.mark.parametrize("address", [*PAGES, *PAPERS])
def test_every_page_is_valid_html(window: Window, address: str) -> None:
    valid(window.open(address))


@pytest.mark.parametrize("address", PAGES)
def test_no_page_has_a_script_or_a_style_of_its_own(window: Window, address: str) -> None:
    page = window.open(address)
    assert not re.findall(r"<script(?![^>]*src=)|<style|\son\w+=|\sstyle=|javascript:", page)


def test_no_link_of_any_page_leads_nowhere(window: Window) -> None:
    links = {link for one in PAGES for link in re.findall(r'(?:href|action|src)="(/[^"#?]*)', window.open(one))}
    elsewhere = ("/phones", "/plan", "/guide", "/season")  # theirs to test; phones need a door
    kinds = {re.sub(r"^(/(?:defect|vehicle|entry|photos|conflicts|reports|papers/\w+)/)[^/]+", r"\1*", link): link
             for link in sorted(links) if not link.startswith(elsewhere)}  # fmt: skip
    answers = {link: window.http.get(link).status_code for link in kinds.values()}
    assert {link for link, status in answers.items() if status not in (200, 405, 409)} == set()


@pytest.mark.parametrize("address", PAGES)
def test_every_anchor_within_a_page_is_there(window: Window, address: str) -> None:
    page = window.open(address)
    ids = set(re.findall(r'\sid="([^"]+)"', page))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= ids


def test_an_unknown_page_is_told_in_words(window: Window) -> None:
    for address in ("/nothing", "/vehicle/nothing/walks", "/vehicle/kettle/check/no/such", "/papers/export/doc"):
        answer = window.http.get(address)
        assert (answer.status_code, "no such page" in answer.text) == (404, True)
        valid(answer.text)


def test_an_unknown_defect_vehicle_or_photo_is_told_in_words(window: Window) -> None:
    for address, said in (("/defect/kettle-zzzzz", "no defect"), ("/vehicle/nobody", "no vehicle"),
                          (f"/photos/{'0' * 64}", "has not come yet")):  # fmt: skip
        answer = window.http.get(address)
        assert answer.status_code in (404, 409)
        assert said in words(answer.text)


class TestDefect:
    def test_it_shows_both_sightings_the_photo_and_the_conflict(self, window: Window) -> None:
        page = window.open("/defect/kettle-ewcvh")
        text = words(page)
        assert "61 mm" in text
        assert "“Straight edge across the rollers.”" in text
        assert "In conflict. TA saw it slack (major, 48 mm)" in text
        photo = re.search(r'src="(/photos/[0-9a-f]{64})"', page)
        assert photo is not None
        assert window.http.get(photo[1]).headers["content-type"] == "image/jpeg"

    def test_it_shows_the_calculation_whole(self, window: Window) -> None:
        text = words(window.open("/defect/kettle-ewcvh"))
        for part in ("the idler moves 3.2 mm outwards", "Formula", "Source", "Assumed", "To do", "track pitch",
                     "the maker's manual and licensed practice come first"):  # fmt: skip
            assert part in text or part == "track pitch"

    def test_it_says_what_mending_needs(self, window: Window) -> None:
        text = words(window.open("/defect/kettle-9tpbk"))
        assert "Before the hands go in" in text
        assert "Left track broken and laid out" in text
        assert "A second person, for it is on the tracks" in text

    def test_what_a_lead_has_to_confirm_is_said(self, window: Window) -> None:
        assert "To confirm." in words(window.open("/defect/clog-9ewmq"))

    def test_every_code_of_it_leads_there(self, window: Window) -> None:
        for key in ("kettle-ewcvh", "kettle-c2kcv", window.service.store.defect("kettle-ewcvh").opening):
            assert "<h1>Slack" in window.open(f"/defect/{key}")


class TestVehicle:
    def test_the_plan_view_has_each_station_and_what_is_open_there(self, window: Window) -> None:
        page = window.open("/vehicle/kettle")
        assert 'aria-label="Left track: 3 open, the gravest dangerous"' in page
        assert "<title>Nose: nothing open</title>" in page

    def test_it_says_why_she_is_stopped_and_how_she_may_be_moved(self, window: Window) -> None:
        text = words(window.open("/vehicle/kettle"))
        assert "Stopped: why, and how she may be moved" in text
        assert "Hotter than its fellows: dangerous kettle-fqb8v" in text
        assert "Barred start, drive May be moved bar only, lifted" in text

    def test_not_walked_never_looks_like_nothing_found(self, window: Window) -> None:
        assert "she was not walked" in words(window.open("/vehicle/lantern"))
        assert "nothing was found" in words(window.open("/vehicle/nutmeg"))

    def test_what_was_not_looked_at_is_counted_and_named(self, window: Window) -> None:
        text = words(window.open("/vehicle/kettle"))
        view = window.service.store.edition().by_vehicle["kettle"]
        counted = re.search(r"Not looked at since the last display day: (\d+) of (\d+)", text)
        assert counted is not None
        assert int(counted[2]) == len(view.checks)
        assert "Track links: cracks, guide horns Left track never" in text

    def test_readings_are_drawn_with_the_numbers_beside(self, window: Window) -> None:
        page = window.open("/vehicle/kettle")
        assert 'aria-label="Road-wheel hubs, temperature: 1 49 °C, 2 96 °C, 3 46 °C"' in page
        assert "1: 49, 2: 96, 3: 46 °C" in words(page)

    def test_every_walk_is_there_with_what_it_left_out(self, window: Window) -> None:
        text = words(window.open("/vehicle/kettle/walks"))
        assert f"Walks round Kettle: {len(window.service.store.walks('kettle'))}" in text

    def test_an_access_step_shows_what_waits_for_it(self, window: Window) -> None:
        text = words(window.open("/vehicle/kettle"))
        assert "kettle-9tpbk" in text[text.index("Access steps, and what holds them") :]


class TestCheck:
    def test_it_has_every_look_and_every_defect(self, window: Window) -> None:
        text = words(window.open("/vehicle/kettle/check/left-track/sag"))
        assert "Slack, major, 48 mm" in text
        assert "Defects here: 1" in text

    def test_it_draws_each_spot_by_itself(self, window: Window) -> None:
        page = window.open("/vehicle/kettle/check/left-track/wheel-heat")
        assert page.count('<figure class="trend">') == 3
        assert "not enough to tell: 2 readings" in words(page)


def test_reports_offer_the_vehicles_open_defects_to_explain_them(window: Window) -> None:
    text = words(window.open("/reports"))
    assert "Not explained: 4" in text
    assert "Slack, Left track (major)" in text
    assert "To be placed: 1" in text


def test_revivals_stand_apart_from_the_backlog(window: Window) -> None:
    listed = window.open("/backlog")
    assert "/defect/dumpling-" not in listed
    assert "of revivals stand apart" in words(listed)
    assert "dumpling-c492w" in words(window.open("/revivals"))
    assert "dumpling-c492w" in words(window.open("/backlog?revivals=yes"))


def test_a_search_finds_a_revivals_defect_too(window: Window) -> None:
    assert "dumpling-c492w" in words(window.open("/backlog?search=inlet+cover"))


@pytest.mark.parametrize("address", PAGES)
def test_who_sits_down_stays_on_the_page(window: Window, address: str) -> None:
    page = window.open(f"{address}{'&' if '?' in address else '?'}said=Written.")
    to = html.unescape(re.findall(r'name="to" value="([^"]*)"', page)[0])
    answer = window.http.ask("POST", "/who", data={"by": "TA", "to": to}, follow_redirects=False)
    assert answer.headers["location"] == address
