"""The app's files made small for the air: no comments, and of the edition what a phone asks. Pure."""

import json
import re
from collections.abc import Mapping
from typing import Any

from builder.assets import WORKER
from builder.render import EDITION

#: What only the workshop reads, by where it stands in the edition.
WORKSHOPS = {"access", "while_open", "service", "first_start", "workshop", "origins"}
OF_CHECKS = {"area"}
OF_FAULTS = {"hours", "parts", "people", "needs", "holds", "uses"}
#: The page's styles but the tokens, which the guide's pages take too, as links one after the other.
_SHEETS = re.compile(r'(?:<link rel="stylesheet" href="css/(?!tokens\.)[^"]+">\s*){2,}')
_SHEET = re.compile(r'href="([^"]+)"')
PAGE, ONE_SHEET = "index.html", "css/app.css"
# From the start of a line to the end of one: what stands behind code stays.
_COMMENT = re.compile(r"^[ \t]*(?:/\*(?:(?!\*/).)*\*/|//[^\n]*)[ \t]*$", re.MULTILINE | re.DOTALL)


def shrink(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The same files, smaller; the worker goes as it stands, since its list is filled in later."""
    return {path: _shrunk(path, data) for path, data in one_sheet(files).items()}


def one_sheet(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The styles that the page asks for one after the other as one file, in the page's order: fewer journeys."""
    page = files.get(PAGE, b"").decode()
    links = _SHEETS.search(page)
    if not links:
        return dict(files)
    sheets = _SHEET.findall(links[0])
    joined = b"".join(files[sheet] for sheet in sheets)
    link = f'<link rel="stylesheet" href="{ONE_SHEET}">\n'
    kept = {path: data for path, data in files.items() if path not in sheets}
    return {**kept, PAGE: page.replace(links[0], link).encode(), ONE_SHEET: joined}


def phone_edition(edition: bytes) -> bytes:
    """The edition as the phone reads it, under the same fingerprint.

    Like checks stand side by side (left and right, one vehicle's and the next one's), so that what packs
    with a short memory packs them too.
    """
    whole = json.loads(edition)
    cut = {key: value for key, value in whole.items() if key not in WORKSHOPS}
    order = sorted(range(len(whole["checks"])), key=lambda number: _alike(whole["checks"][number]))
    place = {number: new for new, number in enumerate(order)}
    cut["checks"] = [_check(whole["checks"][number]) for number in order]
    cut["vehicles"] = [_vehicle(vehicle, place) for vehicle in whole["vehicles"]]
    return json.dumps(cut, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _shrunk(path: str, data: bytes) -> bytes:
    if path == EDITION:
        return phone_edition(data)
    if path.endswith((".js", ".css")) and path != WORKER:
        return without_comments(data.decode()).encode()
    return data


def without_comments(text: str) -> str:
    """A script or style without the comments that begin a line, without indents and empty lines.

    Minifiers at hand change what stands in nested template strings; this takes whole lines alone, and leaves a
    file as it is where a template string goes over a line's end.
    """
    if any(line.count("`") % 2 for line in text.split("\n")):
        return text
    bare = _COMMENT.sub("", text)
    return "".join(f"{line.strip()}\n" for line in bare.split("\n") if line.strip())


def _alike(check: dict[str, Any]) -> tuple[str, str]:
    return check["id"].split("/", 1)[1], json.dumps({**check, "id": ""}, sort_keys=True)


def _check(check: dict[str, Any]) -> dict[str, Any]:
    return {**_without(check, OF_CHECKS), "faults": [_without(fault, OF_FAULTS) for fault in check["faults"]]}


def _vehicle(vehicle: dict[str, Any], place: dict[int, int]) -> dict[str, Any]:
    stations = [[station, [place[number] for number in numbers]] for station, numbers in vehicle["stations"]]
    return {**_without(vehicle, WORKSHOPS), "stations": stations}


def _without(item: dict[str, Any], keys: set[str]) -> dict[str, Any]:
    return {key: value for key, value in item.items() if key not in keys}
