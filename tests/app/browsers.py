"""Real browsers and a local web server for the app's tests: where they are found and how they are started."""

import functools
import http.server
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Playwright

SYSTEM_CHROMIUM = Path("/usr/bin/chromium")
#: Quiet starts: nothing is asked of any host but the test's own.
CHROMIUM_ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
#: A small phone of five years ago.
PHONE: dict[str, Any] = {
    "viewport": {"width": 360, "height": 740},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
    "locale": "en-GB",
    "timezone_id": "Europe/London",
}
TYPES = {".js": "text/javascript", ".webmanifest": "application/manifest+json", ".json": "application/json"}


def chromium(playwright: Playwright, **options: Any) -> Browser:
    """Debian's Chromium where there is one, Playwright's own elsewhere."""
    return playwright.chromium.launch(args=list(CHROMIUM_ARGS), **found(), **options)


def found() -> dict[str, Any]:
    """Launch options that say which Chromium."""
    return {"executable_path": str(SYSTEM_CHROMIUM)} if SYSTEM_CHROMIUM.exists() else {}


def phone(browser: Browser, **options: Any) -> BrowserContext:
    """A fresh phone: its own storage, its own worker."""
    context = browser.new_context(**{**PHONE, **options})
    context.set_default_timeout(15_000)
    return context


class Site:
    """A folder of files served under a path, as a static host would; can go away and come back on the same port."""

    def __init__(self, folder: Path, path: str = "/", port: int = 0) -> None:
        self.folder = folder
        self.path = path
        handler = functools.partial(_Files, folder=folder, prefix=path)
        self.server = _Server(("127.0.0.1", port), handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        self.thread.start()

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}{self.path}"

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()
        self.server.hang_up()
        self.thread.join()


@contextmanager
def served(folder: Path, path: str = "/") -> Iterator[Site]:
    site = Site(folder, path)
    try:
        yield site
    finally:
        site.stop()


class _Server(http.server.ThreadingHTTPServer):
    """Hangs up at its end: a connection kept alive would go on answering after the server has stopped."""

    def __init__(self, *args: Any) -> None:
        self.open: set[socket.socket] = set()
        super().__init__(*args)

    def process_request(self, request: Any, client_address: Any) -> None:
        self.open.add(request)
        super().process_request(request, client_address)

    def shutdown_request(self, request: Any) -> None:
        self.open.discard(request)
        super().shutdown_request(request)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that hangs up is no error; any other is told by the test that it fails."""

    def hang_up(self) -> None:
        for request in list(self.open):
            with suppress(OSError):
                request.shutdown(socket.SHUT_RDWR)


class _Files(http.server.SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, **TYPES}  # noqa: RUF012 as its base has it

    def __init__(self, *args: Any, folder: Path, prefix: str) -> None:
        self.prefix = prefix
        super().__init__(*args, directory=str(folder))

    def translate_path(self, path: str) -> str:
        bare = path.split("?", 1)[0]
        if bare in ("/blank.html", "/fake_door.js"):
            return str(Path(__file__).with_name(bare[1:]))
        if not bare.startswith(self.prefix):
            return str(Path(self.directory) / "no such file")
        return super().translate_path("/" + bare.removeprefix(self.prefix))

    def end_headers(self) -> None:
        """Nothing is kept but by the app's own worker: what works offline works through it, however answers vary."""
        self.send_header("Cache-Control", "no-store")
        self.send_header("Vary", "Accept-Encoding, Origin")
        super().end_headers()

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing: a test's output is its own."""
