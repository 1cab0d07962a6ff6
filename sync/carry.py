"""Known defects for the phones: what is open at each vehicle, and what whoever reads it then knows."""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

import msgspec

from sync.service_take import collector_paused
from sync.small_pictures import small_pictures
from sync.state import Defect
from sync.store import Store

_PHOTOS_NAMED = 3


def carry(store: Store, as_of: date, made: datetime) -> bytes:
    """The carry as JSON: every open defect, each vehicle's standing on a day, and the `knows` a walk starts with.

    `pictures` holds small ones of some defects' photos, by the photos' SHA-256.
    """
    with collector_paused(), store.reading():
        whys = {conflict.id: conflict.why for conflict in store.conflicts()}
        defects = tuple(store.defects())
        body = {
            "fleet": store.fleet(),
            "edition": store.edition().fingerprint,
            "knows": store.knows(),
            "defects": known(defects, whys),
            "standing": {
                row.vehicle: {"standing": row.standing, "barred": _parts(row.barred), "moves": _parts(row.moves)}
                for row in store.standing(as_of)
            },
        }
    body["pictures"] = small_pictures(store, defects)  # slow at first, and so not while a writer waits for this reading
    head = {"driptray": 1, "carry": True, "made": made.isoformat(timespec="seconds")}
    return msgspec.json.encode({**head, **body})


def tag_of(carried: bytes) -> str:
    """An ETag: the same for the same contents, whenever they were made."""
    _, _, contents = carried.partition(b'"made":"')
    return hashlib.sha256(contents[contents.index(b'"') :]).hexdigest()[:32]


def known(defects: Iterable[Defect], whys: Mapping[str, str]) -> list[dict[str, Any]]:
    """Open defects as the phones read them; what is empty is left out."""
    return [_known(defect, whys) for defect in defects if defect.closed is None]


def _known(defect: Defect, whys: Mapping[str, str]) -> dict[str, Any]:
    conflict = "; ".join(dict.fromkeys(whys[c] for c in defect.conflicts if c in whys))
    said = {
        "defect": defect.opening,
        "code": defect.code,
        "vehicle": defect.vehicle,
        "fault_name": defect.fault_name or defect.fault,
        "severity": defect.severity,
        "status": defect.status,
        "first_day": defect.first_day,
        "last_day": defect.last_day,
        "seen_by": list(defect.seen_by),
    }
    maybe: dict[str, Any] = {
        "station": defect.station,
        "check": defect.check,
        "spot": defect.spot,
        "fault": defect.fault if defect.check else "",
        "note": defect.note,
        "reading": {"value": defect.reading.value, "unit": defect.reading.unit} if defect.reading else None,
        "photos": list(defect.photos[:_PHOTOS_NAMED]),
        "worse": defect.worse,
        "conflict": conflict,
        "temporary_until": defect.temporary.until.isoformat() if defect.temporary else "",
        "bars": list(defect.bars),
    }
    return {**said, **{name: value for name, value in maybe.items() if value}}


def _parts(joined: str) -> list[str]:
    return [part for part in joined.split("; ") if part]
