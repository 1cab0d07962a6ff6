"""A paper walk-round sheet as it was typed in -> the entries of that walk, or every mistake at once. Pure."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from builder.edition import EditionCheck, VehicleView
from builder.fleet import SEVERITIES
from sync.errors import TradeError
from sync.service import Draft
from sync.state import Defect
from sync.trade.judge import judge, plausible
from sync.trade.units import Amount

WHY_NOT = ("mud", "dark", "hot", "locked", "time")
VERDICTS = ("same", "worse", "gone")
SOMETHING_ELSE = 3
#: What a phone says by itself; here it says where the words came from.
HOW = "from a paper sheet"


class Row(NamedTuple):
    """One line to tick: a check, at one spot of it; `number` is that on the paper."""

    number: str
    check: EditionCheck
    spot: str

    @property
    def name(self) -> str:
        return key(self.check, self.spot)

    @property
    def where(self) -> str:
        return f"{self.number} {self.check.ask}{f', {self.spot}' if self.spot else ''}"

    @property
    def place(self) -> tuple[str, str]:
        return (self.check.id, self.spot)


@dataclass
class Typed:
    """One sheet being read. `values` are the form's fields; `mistakes` grow, each with the check's number.

    `outside` are the rows that say sound beside a reading outside its limits.
    """

    view: VehicleView
    round: str
    walk: str
    values: Mapping[str, str]
    mistakes: list[str] = field(default_factory=list)
    outside: set[str] = field(default_factory=set)

    def text(self, name: str) -> str:
        return self.values.get(name, "").strip()

    def mistake(self, where: str, what: str) -> None:
        self.mistakes.append(f"{where}: {what}")


def asked(view: VehicleView, walk_round: str) -> list[tuple[str, str, list[tuple[str, EditionCheck]]]]:
    """(number, station's name, [(number, check)]) of what a round asks, numbered as on the paper."""
    found: list[tuple[str, str, list[tuple[str, EditionCheck]]]] = []
    for station in view.stations.values():
        here = [c for c in view.checks.values() if c.station == station.id and walk_round in c.rounds]
        if here:
            number = len(found) + 1
            found.append((str(number), station.name, [(f"{number}.{n}", check) for n, check in enumerate(here, 1)]))
    return found


def key(check: EditionCheck, spot: str) -> str:
    """What a check's and spot's fields are called by in the form."""
    return f"{check.id}|{spot}"


def drafts_of(sheet: Typed, day: date, known: Sequence[Defect]) -> list[Draft]:
    """Every entry of the walk in order; nothing where anything is wrong, which `sheet.mistakes` then says."""
    verdicts = list(_verdicts(sheet, known))
    spoken = {(draft.fields.get("check"), draft.fields.get("spot", "")) for draft in verdicts}
    rows = [
        Row(number, check, spot)
        for _, _, checks in asked(sheet.view, sheet.round)
        for number, check in checks
        for spot in check.spots or ("",)
    ]
    findings = [found for row in rows if (found := _finding(sheet, row, spoken)) is not None]
    others = list(_something_else(sheet))
    if not verdicts and not findings and not others and not sheet.mistakes:
        sheet.mistake("The sheet", "nothing is filled in")
    if sheet.mistakes:
        return []
    looked = spoken | {(f["check"], f.get("spot", "")) for f in findings if f["result"] != "unchecked"}
    head = {"walk": sheet.walk, "vehicle": sheet.view.id, "round": sheet.round, "day": day.isoformat(), "of": len(rows)}
    covered = sum(row.place in looked for row in rows)
    end = {"covered": covered, "unchecked": _unchecked(rows, looked, findings)}
    return [
        Draft("walk", {**head, "state": "started", "covered": 0}),
        *verdicts,
        *(Draft("finding", found) for found in (*findings, *others)),
        Draft("walk", {**head, "state": "finished", **end}),
    ]


def _base(sheet: Typed) -> dict[str, Any]:
    return {"walk": sheet.walk, "vehicle": sheet.view.id, "photos": [], "how": HOW}


def _verdicts(sheet: Typed, known: Sequence[Defect]) -> Iterator[Draft]:
    """Still there, worse or gone: each speaks of its own defect alone, and knows it."""
    for defect in known:
        verdict = sheet.text(f"verdict|{defect.opening}")
        if not verdict:
            continue
        if verdict not in VERDICTS:
            sheet.mistake(defect.code, f"{verdict!r} is no answer; still there, worse or gone")
            continue
        place = {"check": defect.check, "spot": defect.spot if defect.check else "", "fault": defect.fault}
        said: dict[str, Any] = {name: value for name, value in place.items() if value and defect.placing == "check"}
        if verdict != "gone":
            said["severity"] = defect.severity
        result = "sound" if verdict == "gone" else "defect"
        yield Draft("finding", {**_base(sheet), **said, "result": result, "verdict": verdict, "defect": defect.opening})


def _finding(sheet: Typed, row: Row, spoken: set[tuple[Any, Any]]) -> dict[str, Any] | None:
    result, reading = sheet.text(f"result|{row.name}"), _reading(sheet, row)
    note = sheet.text(f"note|{row.name}")
    if not result:
        if reading is not None or note or sheet.text(f"fault|{row.name}"):
            sheet.mistake(row.where, "tick S, D or N beside what is written")
        return None
    said = {**_base(sheet), "check": row.check.id, **({"spot": row.spot} if row.spot else {})}
    if result == "N":
        why = sheet.text(f"why|{row.name}")
        return {**said, "result": "unchecked", **({"why": why} if why else {})}
    more = {**({"reading": reading} if reading is not None else {}), **({"note": note} if note else {})}
    if result == "D":
        return {**said, "result": "defect", **more, **_defect(sheet, row, note)}
    if row.place in spoken:
        return None  # the verdict on its known defect has said it, and speaks of that alone
    _sound(sheet, row, reading)
    return {**said, "result": "sound", **more}


def _sound(sheet: Typed, row: Row, reading: dict[str, Any] | None) -> None:
    """Sound beside a reading outside its limits is asked about, as a phone asks; then it is written as said."""
    limits = row.check.reading
    if reading is None or limits is None:
        return
    judged = judge(Amount(reading["value"], reading["unit"]), limits)
    if judged.position in ("below", "above"):
        sheet.outside.add(row.name)
        if not sheet.text(f"sound-anyway|{row.name}"):
            sheet.mistake(row.where, f"{judged.words}; tick D, or sound all the same")


def _defect(sheet: Typed, row: Row, note: str) -> dict[str, Any]:
    fault = sheet.text(f"fault|{row.name}")
    known = row.check.fault(fault)
    severity = sheet.text(f"severity|{row.name}") or (known.severity if known else "")
    if fault and known is None:
        sheet.mistake(row.where, f"it has no fault {fault!r}")
    if not fault and not note:
        sheet.mistake(row.where, "a defect needs its fault, or a note that says what was seen")
    if severity not in SEVERITIES:
        sheet.mistake(row.where, f"a defect needs a severity: {', '.join(SEVERITIES)}")
    return {"severity": severity, **({"fault": fault} if fault else {})}


def _reading(sheet: Typed, row: Row) -> dict[str, Any] | None:
    text, limits = sheet.text(f"reading|{row.name}"), row.check.reading
    if not text or limits is None:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        sheet.mistake(row.where, f"{text!r} is no number")
        return None
    try:
        if not plausible(Amount(value, limits.unit), limits):
            sheet.mistake(row.where, f"{value:g} {limits.unit} cannot be; look at the paper again")
    except TradeError as error:
        sheet.mistake(row.where, str(error))
    return {"value": value, "unit": limits.unit}


def _something_else(sheet: Typed) -> Iterator[dict[str, Any]]:
    for n in range(1, SOMETHING_ELSE + 1):
        note, station = sheet.text(f"else-note|{n}"), sheet.text(f"else-station|{n}")
        severity = sheet.text(f"else-severity|{n}")
        if not note:
            continue
        if severity not in SEVERITIES:
            sheet.mistake(f"Something else {n}", f"it needs a severity: {', '.join(SEVERITIES)}")
        said = {"result": "defect", "severity": severity, "note": note}
        yield {**_base(sheet), **said, **({"station": station} if station in sheet.view.stations else {})}


def _unchecked(
    rows: Sequence[Row], looked: set[tuple[Any, Any]], findings: Sequence[dict[str, Any]]
) -> list[dict[str, str]]:
    whys = {(f["check"], f.get("spot", "")): f.get("why", "") for f in findings if f["result"] == "unchecked"}
    missed = (row.place for row in rows if row.place not in looked)
    named = ({"check": check, "spot": spot, "why": whys.get((check, spot), "")} for check, spot in missed)
    return [{name: text for name, text in one.items() if text} for one in named]
