"""`driptray serve` without its command: door, app, trust page and desk opened together, and closed together."""

import asyncio
import contextlib
import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from starlette.routing import BaseRoute
from starlette.types import ASGIApp

from builder.commands import DOOR_PORT, app_files
from builder.edition import compile_edition
from builder.load import load_fleet
from sync.addresses import Announced, Places, places
from sync.certificates import Served, local_certificate, names_in, own_certificate
from sync.desk.app import desk_app
from sync.desk.gate import Gate
from sync.desk.page import Desk
from sync.desk.password import Password
from sync.door.app import Door, door_app
from sync.door.desks import DESK_ROUTES
from sync.door.hosts import Hosts, names_of
from sync.door.limits import Limits
from sync.door.paired import Paired
from sync.door.phones import Address, Phones, phones_routes
from sync.door.site import site
from sync.door.threads import Threads
from sync.door.trust import authority_routes, pairs, trust_app
from sync.door.visits import Visits
from sync.errors import DoorError
from sync.listening import Listener, bound, raise_file_limit, run_all
from sync.pairing import Pairing
from sync.service import Service
from sync.store import Store

log = logging.getLogger("driptray.door")
TRUST_PORT = 8080
DESK_PORT = 8440
#: The desk for other machines, where it is opened to them.
DESK_LAN_PORT = 8441
WATCH_S = 60.0
_DAY = timedelta(days=1)


def door_folder(backlog: Path) -> Path:
    """Where what serving a backlog needs is kept beside it: keys, certificates, the desk's password."""
    return backlog.with_name(f"{backlog.stem}-door")


@dataclass(frozen=True)
class Wanted:
    """What was asked for. Port 0 takes any free one; `name` is the host name that phones shall use.

    `plain` shows the app to this PC's own browser without a certificate: http on loopback is secure enough for it.
    """

    fleet: Path
    backlog: Path
    port: int = DOOR_PORT
    http_port: int = TRUST_PORT
    desk_port: int = DESK_PORT
    lan: bool = True
    certificate: Path | None = None
    key: Path | None = None
    name: str = ""
    plain: bool = False
    desk_password: Password | None = None  # opens the desk to other machines, over https
    desk_lan_port: int = DESK_LAN_PORT
    limits: Limits = field(default_factory=Limits)


@dataclass(frozen=True)
class Opened:
    """What people are told once it is open."""

    fleet: str
    edition: str
    app: str  # the address phones open
    trust: str  # the plain page, "" with a certificate of one's own
    desk: str
    phones: str
    fingerprint: str
    places: Places
    warnings: tuple[str, ...]
    desk_elsewhere: str = ""  # the desk's address for other machines, "" where it is not open to them


@dataclass
class Open:
    """An open door. `now`, `randomness` and `found` (this PC's addresses) are passed in."""

    wanted: Wanted
    now: Callable[[], datetime]
    randomness: Callable[[int], bytes]
    found: Callable[[], tuple[str, ...]] | None = None
    listeners: list[Listener] = field(default_factory=list)
    pairing: Pairing = field(init=False)
    _elsewhere: Listener | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        self.pairing = Pairing(self.now, self.randomness)

    def run(self, tell: Callable[[Opened], None]) -> None:
        """Serve until stopped. Raises DoorError, FleetError or StoreError before anything is open."""
        if self.wanted.plain and self.wanted.lan:
            raise DoorError("without a certificate the app is shown to this PC alone; say so with lan=False")
        if self.wanted.desk_password is not None and not self.wanted.lan:
            raise DoorError("the desk opens to other machines over the local network alone; leave out --no-lan")
        raise_file_limit()
        files = app_files(self.wanted.fleet)
        edition = compile_edition(load_fleet(self.wanted.fleet))  # whole; the phones' own is cut to what they ask
        with Store(self.wanted.backlog) as store, self._threads() as threads:
            self._refuse_wrong_clock(store)
            service = Service(store, self.now, self.randomness)
            service.adopt(edition)
            asyncio.run(self._serve(service, threads, files, tell))

    def stop(self) -> None:
        """From another thread."""
        for listener in self.listeners:
            listener.should_exit = True

    def _close(self) -> None:
        """Ports taken before one that could not be are given back."""
        for listener in self.listeners:
            listener.sock.close()

    async def _serve(
        self, service: Service, threads: Threads, files: dict[str, bytes], tell: Callable[[Opened], None]
    ) -> None:
        edition = service.store.edition()
        there = self._places(edition.code)
        served, names = (None, ("localhost", "127.0.0.1")) if self.wanted.plain else self._certificate(there)
        scheme = "http" if served is None else "https"
        hosts = Hosts(names_of(names), frozenset(edition.origins), scheme)
        paired = Paired(service.store, self.pairing, self.now)
        door = Door(service, paired, hosts, Visits(self.now), threads, self.now, self.wanted.limits)
        with contextlib.ExitStack() as stack:
            stack.callback(self._close)
            besides = [*DESK_ROUTES, *authority_routes(served), *site(files)]
            https = self._listener(door_app(door, besides), self.wanted.port, "--port", served)
            hosts.port = https.port
            name = self.wanted.name or next((n for n in names if not n.startswith("*.")), there.best)
            address = Address(f"{scheme}://{name}:{https.port}/".replace(":443/", "/"))
            trust = ""
            if served is not None and served.authority is not None:
                page = trust_app(served.authority, served.fingerprint, edition.name, address.app, hosts)
                trust = f"http://{name}:{self._listener(page, self.wanted.http_port, '--http-port').port}/"
            lines = pairs(served.fingerprint) if served else ()
            phones = phones_routes(Phones(door, address, trust, lines))
            pages = desk_app(Desk(service.store, service, lambda: self.now().date()), more=phones)
            desk = self._listener(pages, self.wanted.desk_port, "--desk-port", lan=False)
            announced = Announced(edition.code, there, https.port)
            stack.callback(announced.stop)
            besides_it = [asyncio.create_task(self._watch(edition.code, there, https, hosts))]
            if self.wanted.lan and served is not None and served.authority is not None:
                besides_it.append(asyncio.create_task(self._announce(announced, there, https.port)))
            elsewhere = self._desk_elsewhere(service, phones, hosts, served)
            home = f"http://127.0.0.1:{desk.port}/"
            told = Opened(edition.name, edition.fingerprint, address.app, trust, home, f"{home}phones",
                          served.fingerprint if served else "", there, self._warnings(name),
                          f"https://{name}:{elsewhere.port}/" if elsewhere else "")  # fmt: skip
            await run_all(self.listeners, lambda: tell(told), besides_it)

    # --- before anything is open

    def _desk_elsewhere(
        self, service: Service, phones: Sequence[BaseRoute], hosts: Hosts, served: Served | None
    ) -> Listener | None:
        """The desk once more, for other machines: by the door's names and certificate, through the gate."""
        if self.wanted.desk_password is None or served is None:
            return None
        gate = Gate(self.wanted.desk_password, self.now, self.randomness)
        pages = desk_app(
            Desk(service.store, service, lambda: self.now().date()), names=lambda: hosts.names, gate=gate, more=phones
        )
        self._elsewhere = self._listener(pages, self.wanted.desk_lan_port, "--desk-lan-port", served)
        return self._elsewhere

    def _places(self, code: str) -> Places:
        if not self.wanted.lan:
            return Places((f"{code}.local", "localhost"), ("127.0.0.1",))
        there = places(code, found=self.found() if self.found else None)
        if not there.networked:
            raise DoorError(
                "this PC is in no local network, so no phone can reach it; join the workshop's network and start "
                "again, or serve this PC alone with --no-lan"
            )
        return there

    def _certificate(self, there: Places) -> tuple[Served, tuple[str, ...]]:
        """The certificate, and the names that this door then answers to."""
        wanted = self.wanted
        if wanted.certificate is not None and wanted.key is not None:
            served = own_certificate(wanted.certificate, wanted.key, self.now())
            names = names_in(wanted.certificate)
            return served, tuple(dict.fromkeys([*([wanted.name] if wanted.name else []), *names]))
        names = tuple(dict.fromkeys([*([wanted.name] if wanted.name else []), *there.names, *there.addresses]))
        hosts = [name for name in names if name not in there.addresses]
        served = local_certificate(self.folder, hosts, there.addresses, self.now())
        if wanted.name and wanted.name not in names_in(served.certificate):
            raise DoorError(
                f"{wanted.name}: the workshop's own authority speaks for private names alone; give one that ends in "
                ".local or .home.arpa with --name, or that name's own certificate with --cert and --key"
            )
        return served, names

    @property
    def folder(self) -> Path:
        """Where the authority and the door's keys are kept."""
        return door_folder(self.wanted.backlog)

    def _listener(
        self, app: ASGIApp, port: int, option: str, served: Served | None = None, *, lan: bool = True
    ) -> Listener:
        host = "0.0.0.0" if lan and self.wanted.lan else "127.0.0.1"  # noqa: S104 phones are to reach it
        listener = Listener(app, bound(host, port, option), self.wanted.limits, served)
        self.listeners.append(listener)
        return listener

    def _refuse_wrong_clock(self, store: Store) -> None:
        last = store.batches(1)
        now = self.now()
        if last and datetime.fromisoformat(last[0].at) > now + _DAY:
            raise DoorError(
                f"this PC's clock says {now:%Y-%m-%d %H:%M}, and this backlog last took something in on "
                f"{datetime.fromisoformat(last[0].at):%Y-%m-%d}; set the clock right and start again"
            )

    def _warnings(self, name: str) -> tuple[str, ...]:
        if name.replace(".", "").isdigit():
            return (
                f"phones keep their findings under {name}: when this PC gets another address, they start empty there; "
                "give it a name with --name",
            )
        return ()

    # --- while it is open

    async def _announce(self, announced: Announced, there: Places, port: int) -> None:
        await asyncio.to_thread(announced.start)
        if announced.trouble:
            log.warning("%s; phones can use https://%s:%d/", announced.trouble, there.addresses[0], port)

    async def _watch(self, code: str, there: Places, https: Listener, hosts: Hosts) -> None:
        """A new address on the network gets into the certificate, and is answered to, without a restart."""
        while True:
            await asyncio.sleep(WATCH_S)
            if not self.wanted.lan or self.wanted.certificate is not None:
                continue
            found = places(code, found=self.found() if self.found else None)
            if found.addresses == there.addresses:
                continue
            there = found
            served, names = self._certificate(found)
            for listener in (https, self._elsewhere):
                if listener is not None:
                    listener.renew(served)
            hosts.names = names_of(names)
            log.info("this PC is now at %s; its certificate was renewed", ", ".join(found.addresses))

    @contextlib.contextmanager
    def _threads(self) -> Iterator[Threads]:
        threads = Threads()
        try:
            yield threads
        finally:
            threads.stop()
