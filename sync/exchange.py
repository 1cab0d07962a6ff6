"""Two workshop PCs give each other what the other lacks: editions, entries, lines set aside, photos.

This PC asks the other's door, paired with it like a phone; the answer to "what is lacking" is worked out anew every
time, so an exchange that was cut is simply made again. Afterwards both logs hold the same, and so say the same.
"""

import hashlib
import json
import ssl
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TypeVar

import httpx
import msgspec

from builder.edition import fingerprint_of
from sync.certificates import fingerprint_in
from sync.door.desks import AT_ONCE, inventory, parcel
from sync.door.shapes import Hello, Paired
from sync.errors import DoorError
from sync.relaying import Fetch, Inventory, Parcel, Receipt, in_parts
from sync.secrecy import keep_secret
from sync.service import Service

Shape = TypeVar("Shape")
_PATIENCE = httpx.Timeout(60.0, connect=10.0)


@dataclass(frozen=True)
class Peer:
    """Another workshop PC, as this one knows it; `authority` is its own (PEM), "" where the system trusts it."""

    url: str
    token: str
    authority: str


@dataclass(frozen=True)
class Exchanged:
    """What went each way; entries, lines set aside, editions, photos. `trouble`: photos that could not go over."""

    got: tuple[int, int, int, int]
    gave: tuple[int, int, int, int]
    trouble: tuple[str, ...] = ()


class Peers:
    """The PCs that this one is paired with, in a file of its owner alone beside the door's keys."""

    def __init__(self, backlog: Path) -> None:
        self.path = backlog.with_name(f"{backlog.stem}-door") / "exchange.json"

    def find(self, url: str) -> Peer | None:
        return next((Peer(**kept) for kept in self._all() if kept["url"] == url), None)

    def keep(self, peer: Peer) -> None:
        others = [kept for kept in self._all() if kept["url"] != peer.url]
        keep_secret(self.path, json.dumps([*others, asdict(peer)], indent=1).encode())

    def _all(self) -> list[dict[str, str]]:
        try:
            kept: list[dict[str, str]] = json.loads(self.path.read_text("utf-8"))
        except FileNotFoundError:
            return []
        except (OSError, ValueError) as error:
            raise DoorError(
                f"{self.path}: cannot be read ({error}); take it away and pair again with --code"
            ) from error
        return kept


def plain_url(url: str) -> str:
    """The other door's address without a path. Raises DoorError where it is none."""
    try:
        parts = httpx.URL(url if "://" in url else f"https://{url}")
    except httpx.InvalidURL as error:
        raise DoorError(f"{url!r}: no address; expected one like https://shed.local:8443") from error
    if parts.scheme != "https" or not parts.host:
        raise DoorError(f"{url!r}: expected the other workshop PC's address, like https://shed.local:8443")
    return str(parts.copy_with(path="/", query=None, fragment=None)).rstrip("/")


def trusted_by(url: str, authority: str = "") -> bool:
    """Whether the door's certificate is good by an authority, or by the system's own."""
    try:
        with _client(url, authority) as http, _in_words(url):
            http.get("/door/hello")
    except DoorError as error:
        if isinstance(error.__cause__, httpx.ConnectError) and "certificate" in str(error.__cause__).lower():
            return False
        raise
    return True


def authority_of(url: str) -> tuple[str, str]:
    """(PEM, fingerprint) of the other door's own authority, not yet to be believed: a person compares it first."""
    with httpx.Client(base_url=url, verify=False, timeout=_PATIENCE, trust_env=False) as http, _in_words(url):  # noqa: S501 only this is asked
        answer = http.get("/door/authority")
    if answer.status_code != 200:
        raise DoorError(f"{url}: its certificate is not good, and it has no authority of its own to trust instead")
    return answer.text, fingerprint_in(answer.text)


def pair(url: str, authority: str, code: str, device: str, name: str) -> Peer:
    """Pair with the other PC by the code that its desk shows for a workshop PC."""
    with _client(url, authority) as http, _in_words(url):
        answer = http.post("/door/pair", json={"code": code, "device": device, "device_name": name})
    return Peer(url, _read(answer, Paired, url).token, authority)


@dataclass
class Exchange:
    """One exchange with a peer. `tell` hears of each step: its name, how much is done, of how much."""

    service: Service
    peer: Peer
    tell: Callable[[str, int, int], None]
    trouble: list[str] = field(default_factory=list)

    def run(self) -> Exchanged:
        """Raises DoorError where the other cannot be reached, refuses, or is of another fleet."""
        with _client(self.peer.url, self.peer.authority, self.peer.token) as http, _in_words(self.peer.url):
            self._http = http
            self._refuse_foreign()
            theirs = self._inventory()
            ours = inventory(self.service.store)
            got = self._get(theirs, ours)
            gave = self._give(theirs, ours)  # before any photo: what people wrote comes first, both ways
            photos = self._get_photos(theirs, ours), self._give_photos(theirs, ours)
        return Exchanged((*got, photos[0]), (*gave, photos[1]), tuple(self.trouble))

    def _refuse_foreign(self) -> None:
        hello = _read(self._http.get("/door/hello"), Hello, self.peer.url)
        own = self.service.store.fleet()
        if hello.code != own:
            raise DoorError(f"{self.peer.url}: it keeps the fleet {hello.code!r}, this backlog {own!r}")

    def _inventory(self) -> Inventory:
        answer = self._http.get("/door/log")
        if answer.status_code == 403:
            raise DoorError(
                f"{self.peer.url}: this PC is paired there as a phone; get a code for another workshop PC at its desk "
                "and give it with --code"
            )
        return _read(answer, Inventory, self.peer.url)

    # --- this way

    def _get(self, theirs: Inventory, ours: Inventory) -> tuple[int, int, int]:
        editions = _without(theirs.editions, ours.editions)
        for edition in editions:
            self._get_edition(edition)
        entries, aside = self._get_lines(_new_ids(theirs, ours), _without(theirs.aside, ours.aside))
        return entries, aside, len(editions)

    def _get_edition(self, fingerprint: str) -> None:
        body = _good(self._http.get(f"/door/editions/{fingerprint}"), self.peer.url).content
        if fingerprint_of(body) != fingerprint:
            raise DoorError(f"{self.peer.url}: what it calls the edition {fingerprint} is not that edition")
        self.service.hold(body)

    def _get_lines(self, ids: Sequence[str], hashes: Sequence[str]) -> tuple[int, int]:
        asked = [Fetch(part, []) for part in in_parts(ids, AT_ONCE)]
        asked += [Fetch([], part) for part in in_parts(hashes, AT_ONCE)]
        entries = aside = 0
        for done, fetch in enumerate(asked):
            self.tell("entries here", done * AT_ONCE, len(ids) + len(hashes))
            answer = self._http.post("/door/fetch", content=msgspec.json.encode(fetch))
            receipt = self.service.take_parcel("exchange", _read(answer, Parcel, self.peer.url))
            entries, aside = entries + receipt.entries, aside + receipt.aside
        return entries, aside

    def _get_photos(self, theirs: Inventory, ours: Inventory) -> int:
        gone = self.service.store.gone_photos()
        photos = [sha for sha in _without(theirs.photos, ours.photos) if sha not in gone]
        for done, sha in enumerate(photos):
            self.tell("photos here", done, len(photos))
            self._get_photo(sha)
        return len(photos)

    def _get_photo(self, sha256: str) -> None:
        answer = self._http.get(f"/door/photos/{sha256}")
        if answer.status_code == 404:
            self.trouble.append(f"the photo {sha256[:12]}… is no more at the other PC")
            return
        data = _good(answer, self.peer.url).content
        if hashlib.sha256(data).hexdigest() == sha256:
            self.service.put_photo(sha256, data)
        else:
            self.trouble.append(
                f"the photo {sha256[:12]}… is damaged at the other PC; `driptray verify` there says more"
            )

    # --- that way

    def _give(self, theirs: Inventory, ours: Inventory) -> tuple[int, int, int]:
        editions = _without(ours.editions, theirs.editions)
        for edition in editions:
            body = self.service.store.edition_bytes(edition)
            _good(self._http.put(f"/door/editions/{edition}", content=body), self.peer.url)
        entries, aside = self._give_lines(_new_ids(ours, theirs), _without(ours.aside, theirs.aside))
        return entries, aside, len(editions)

    def _give_photos(self, theirs: Inventory, ours: Inventory) -> int:
        store = self.service.store
        photos = self._lacking_there(_without(ours.photos, theirs.photos))
        for done, sha in enumerate(photos):
            self.tell("photos there", done, len(photos))
            if store.photo_is_whole(sha):
                _good(self._http.put(f"/door/photos/{sha}", content=store.photo_path(sha).read_bytes()), self.peer.url)
            else:
                self.trouble.append(f"the photo {sha[:12]}… is damaged here; `driptray verify` says more")
        return len(photos)

    def _give_lines(self, ids: Sequence[str], hashes: Sequence[str]) -> tuple[int, int]:
        asked = [Fetch(part, []) for part in in_parts(ids, AT_ONCE)]
        asked += [Fetch([], part) for part in in_parts(hashes, AT_ONCE)]
        entries = aside = 0
        for done, fetch in enumerate(asked):
            self.tell("entries there", done * AT_ONCE, len(ids) + len(hashes))
            body = msgspec.json.encode(parcel(self.service.store, fetch))
            receipt = _read(self._http.post("/door/parcel", content=body), Receipt, self.peer.url)
            entries, aside = entries + receipt.entries, aside + receipt.aside
        return entries, aside

    def _lacking_there(self, photos: Sequence[str]) -> list[str]:
        """Those that the other still has, and that were not taken out by what this exchange brought."""
        here = set(self.service.store.held_photos())
        return [sha for sha in photos if sha in here]


def _client(url: str, authority: str, token: str = "") -> httpx.Client:
    trust = ssl.create_default_context(cadata=authority) if authority else ssl.create_default_context()
    headers = {"Authorization": f"Bearer {token}"} if token else {}
    return httpx.Client(base_url=url, verify=trust, headers=headers, timeout=_PATIENCE, trust_env=False)


@contextmanager
def _in_words(url: str) -> Iterator[None]:
    try:
        yield
    except httpx.ConnectTimeout as error:
        raise DoorError(f"{url}: it does not answer; is it on, and in this network?") from error
    except httpx.ConnectError as error:
        raise DoorError(f"{url}: it cannot be reached ({error})") from error
    except httpx.HTTPError as error:
        what = str(error) or type(error).__name__
        raise DoorError(f"{url}: the connection broke ({what}); what came is kept, exchange again") from error


def _good(answer: httpx.Response, url: str) -> httpx.Response:
    if answer.status_code == 401:
        raise DoorError(
            f"{url}: this PC is not paired there, or no more; get a code at its desk and give it with --code"
        )
    if answer.is_success:
        return answer
    raise DoorError(f"{url}: it refused ({answer.status_code}): {_said(answer)}")


def _said(answer: httpx.Response) -> str:
    try:
        return str(answer.json()["error"])
    except (ValueError, KeyError, TypeError):
        return answer.text[:200].strip() or "no reason given"


def _read(answer: httpx.Response, kind: type[Shape], url: str) -> Shape:
    try:
        return msgspec.json.decode(_good(answer, url).content, type=kind)
    except (msgspec.MsgspecError, ValueError) as error:
        raise DoorError(f"{url}: its answer is not one of a workshop PC's door ({error})") from error


def _new_ids(theirs: Inventory, ours: Inventory) -> list[str]:
    """Ids of entries whose content, or whose standing as a desk's, is not known to the other; in their order."""
    known = {(entry_id, digest): trusted for entry_id, digest, trusted in ours.entries}
    return list(
        dict.fromkeys(
            entry_id
            for entry_id, digest, trusted in theirs.entries
            if (here := known.get((entry_id, digest))) is None or (trusted and not here)
        )
    )


def _without(some: Sequence[str], others: Sequence[str]) -> list[str]:
    there = set(others)
    return [one for one in some if one not in there]
