"""Exports to download and papers to print, from the desk."""

import csv
import io
import json
import re
from pathlib import Path

import icalendar
import openpyxl
import pytest

from sync.exports.command import WRITERS, write_export
from tests.sync.desk.window import TODAY, Window, valid, words


@pytest.mark.parametrize("form", sorted(WRITERS))
def test_a_download_has_the_very_bytes_of_the_export_command(window: Window, form: str, tmp_path: Path) -> None:
    answer = window.http.get(f"/papers/export/{form}")
    place = window.service.store.path.absolute().parent / f"out.{form}"
    write_export(window.service.store, form, place, TODAY)
    assert answer.content == place.read_bytes()
    assert answer.headers["content-disposition"] == f'attachment; filename="brackle-down-2026-10-18.{form}"'
    assert int(answer.headers["content-length"]) == len(answer.content)


def test_the_downloads_are_read_by_other_programs(window: Window) -> None:
    def fetch(form: str) -> bytes:
        return window.http.get(f"/papers/export/{form}").content

    rows = list(csv.DictReader(io.StringIO(fetch("csv").decode("utf-8-sig"))))
    assert sorted(row["defect"] for row in rows if row["defect"]) == sorted(
        d.code for d in window.service.store.defects()
    )
    assert openpyxl.load_workbook(io.BytesIO(fetch("xlsx"))).sheetnames
    assert json.loads(fetch("json"))
    assert icalendar.Calendar.from_ical(fetch("ics")).walk("VEVENT")
    assert fetch("html").lower().startswith(b"<!doctype html>")


def test_an_export_is_as_of_the_day_asked_for(window: Window) -> None:
    answer = window.http.get("/papers/export/csv?as_of=2026-12-24")
    assert "brackle-down-2026-12-24.csv" in answer.headers["content-disposition"]
    assert "'soon' is no day" in words(window.http.get("/papers/export/csv?as_of=soon").text)


def test_a_card_has_its_defect_and_who_may_sign(window: Window) -> None:
    page = window.open("/papers/card?defect=kettle-ewcvh")
    valid(page)
    text = words(page)
    assert "kettle-ewcvh" in text
    assert "MF" in text


def test_a_vehicles_cards_are_those_of_its_open_defects_in_their_rank(window: Window) -> None:
    shown = re.findall(r"QR symbol of (kettle-\w+)", window.open("/papers/cards/kettle"))
    assert shown == [row.defect for row in window.service.store.backlog(TODAY).rows if row.vehicle == "kettle"]


def test_a_notice_is_for_each_stopped_vehicle(window: Window) -> None:
    text = words(window.open("/papers/notices"))
    stopped = [row.name for row in window.service.store.standing(TODAY) if row.standing == "stopped"]
    assert len(stopped) == 5
    assert all(name in text for name in stopped)


@pytest.mark.parametrize(
    ("address", "why"),
    [
        ("/papers/card", "no defect was chosen"),
        ("/papers/card?defect=kettle-zzzzz", "no defect"),
        ("/papers/cards/nutmeg", "nothing is open on nutmeg"),
        ("/papers/sheet/kettle/warm", "there is no round 'warm'"),
        ("/papers/notice/nobody", "there is no vehicle"),
        ("/papers/job/none", "there is no job"),
    ],
)
def test_a_paper_that_cannot_be_is_told_in_words(window: Window, address: str, why: str) -> None:
    assert why in words(window.http.get(address).text)


def test_a_paper_runs_nothing_and_fetches_nothing(window: Window) -> None:
    policy = window.http.get("/papers/card?defect=kettle-ewcvh").headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script" not in policy


def test_a_symbol_leads_to_no_address_that_a_phone_cannot_open(window: Window) -> None:
    assert "127.0.0.1" not in window.open("/papers/card?defect=kettle-ewcvh")


def test_what_was_asked_for_is_named_whole_whatever_it_says(window: Window) -> None:
    answer = window.http.get("/papers/notice/kettle; `driptray x` two")
    assert (answer.status_code, "there is no vehicle 'kettle; `driptray x` two'" in words(answer.text)) == (404, True)
