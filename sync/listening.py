"""Sockets and servers: ports taken before anything is said, TLS renewed in place, one clean stop for all."""

import asyncio
import contextlib
import errno
import os
import signal
import socket
import ssl
from collections.abc import Callable, Generator, Sequence

import uvicorn
from starlette.types import ASGIApp

from sync.certificates import Served
from sync.door.limits import Limits
from sync.door.protocol import protocol, quiet
from sync.errors import DoorError

HANDSHAKE_S = 10.0
_FILES_WANTED = 4096


def bound(host: str, port: int, option: str) -> socket.socket:
    """A listening socket; port 0 takes any free one. Raises DoorError in words; `option` names the way out."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name != "nt":  # there it would let two programs share one port
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
    except OSError as error:
        made.close()
        raise DoorError(_why_not(error, port, option)) from error
    made.setblocking(False)
    return made


def _why_not(error: OSError, port: int, option: str) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"port {port} is taken by another program, perhaps by Driptray itself; stop it, or choose {option} PORT"
    if error.errno == errno.EACCES:
        return f"port {port} is kept for the system; choose one above 1023 with {option} PORT"
    return f"port {port} cannot be opened: {error.strerror or error}; choose another with {option} PORT"


class Listener(uvicorn.Server):
    """One server of several: it takes its socket as given, and leaves signals to whoever runs them all."""

    def __init__(self, app: ASGIApp, sock: socket.socket, limits: Limits, served: Served | None = None) -> None:
        tls = {"ssl_certfile": served.certificate, "ssl_keyfile": served.key} if served else {}
        super().__init__(uvicorn.Config(app, http=protocol(limits), **quiet(**tls)))
        self.sock = sock
        try:
            self.config.load()
        except (ssl.SSLError, OSError) as error:
            where = served.certificate if served else "the certificate"
            raise DoorError(f"{where}: the certificate cannot be served ({error}); give another") from error

    @property
    def port(self) -> int:
        return int(self.sock.getsockname()[1])

    def renew(self, served: Served) -> None:
        """Connections from now on get this certificate."""
        if self.config.ssl is not None:
            self.config.ssl.load_cert_chain(served.certificate, served.key)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:  # noqa: ARG002 as its base has it
        await self.lifespan.startup()
        loop = asyncio.get_running_loop()

        def made() -> asyncio.Protocol:
            kind = self.config.http_protocol_class
            return kind(config=self.config, server_state=self.server_state, app_state={}, _loop=loop)  # type: ignore[call-arg]

        handshake = HANDSHAKE_S if self.config.ssl else None
        self.servers = [
            await loop.create_server(
                made, sock=self.sock, ssl=self.config.ssl, backlog=self.config.backlog, ssl_handshake_timeout=handshake
            )
        ]
        self.started = True

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        yield


async def run_all(
    listeners: Sequence[Listener], opened: Callable[[], None], besides: Sequence[asyncio.Task[None]]
) -> None:
    """Until a signal comes, or one of them ends; then all stop, and finish what they have begun."""
    loop = asyncio.get_running_loop()

    def stop(*_: object) -> None:
        for listener in listeners:
            listener.should_exit = True

    with _signals(loop, stop):
        running = [asyncio.create_task(listener.serve()) for listener in listeners]
        while not all(listener.started for listener in listeners) and not any(task.done() for task in running):
            await asyncio.sleep(0.01)
        opened()
        await asyncio.wait(running, return_when=asyncio.FIRST_COMPLETED)
        stop()
        await asyncio.gather(*running)
    for task in besides:
        task.cancel()


@contextlib.contextmanager
def _signals(loop: asyncio.AbstractEventLoop, stop: Callable[..., None]) -> Generator[None, None, None]:
    """SIGINT and SIGTERM stop us; outside the main thread nobody can ask for them."""
    names = (signal.SIGINT, signal.SIGTERM)
    try:
        before = {name: signal.signal(name, lambda *_: loop.call_soon_threadsafe(stop)) for name in names}
    except ValueError:
        yield
        return
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(name, handler)


def raise_file_limit() -> None:
    """Room for a thousand connections, where the system lets us ask for it."""
    with contextlib.suppress(ImportError, OSError, ValueError):
        _raise_files()


def _raise_files() -> None:
    import resource  # noqa: PLC0415 not on Windows

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _FILES_WANTED if hard == resource.RLIM_INFINITY else min(_FILES_WANTED, hard)
    if soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
