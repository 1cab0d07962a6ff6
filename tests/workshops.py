"""A workshop PC as people start it: `driptray serve`, stopped, killed and started again."""

import contextlib
import random
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from sync.store import Store
from tests.builder.fleets import write_fleet

ROOT = Path(__file__).resolve().parent.parent
CODE = "trial-shed"
HOST = f"{CODE}.local"


class Workshop:
    """The serving program in a folder; it can be stopped, killed, and started again on its own ports."""

    def __init__(
        self,
        folder: Path,
        *,
        fleet: Path | None = None,
        command: Sequence[str] = ("-m", "sync"),
        within: Sequence[str] = (),
        lan: bool = False,
    ) -> None:
        self.within, self.lan = within, lan
        self.folder = folder
        self.fleet = fleet or write_fleet(folder / "fleet")
        self.backlog = folder / "backlog.db"
        self.command = command
        self.ports = {option: free_port() for option in ("--port", "--http-port", "--desk-port")}
        self.process: subprocess.Popen[str] | None = None
        self.said: list[str] = []
        self.errors = folder / "stderr.txt"

    def start(self) -> "Workshop":
        ports = [text for option, port in self.ports.items() for text in (option, str(port))]
        arguments = ["serve", str(self.fleet), "--backlog", str(self.backlog), "--lan" if self.lan else "--no-lan"]
        command = [*self.within, sys.executable, *self.command, *arguments, *ports]
        with self.errors.open("a") as errors:
            self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=errors, text=True, cwd=ROOT)
        assert self.process.stdout is not None
        self.said = []
        for line in self.process.stdout:
            self.said.append(line.rstrip("\n"))
            if line.startswith("Ctrl-C"):
                break
        else:
            raise AssertionError(f"it did not open: {self.said} {self.errors.read_text()}")
        return self

    def stop(self) -> int:
        """As with Ctrl-C; the exit code."""
        assert self.process is not None
        self.process.send_signal(signal.SIGINT)
        code = self.process.wait(20)
        self.kill()
        return code

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process.stdout.close()  # type: ignore[union-attr]

    def line(self, beginning: str) -> str:
        return next(line for line in self.said if line.startswith(beginning)).partition(":")[2].strip()

    @property
    def app(self) -> str:
        return self.line("Phones open")

    @property
    def trust(self) -> str:
        return self.line("First, once each").split(" ")[0]

    @property
    def desk(self) -> str:
        return self.line("Desk, on this PC")

    @property
    def code(self) -> str:
        """The first pairing code, as it was said when the door opened."""
        return re.sub(r"\s", "", self.said[-2].rpartition(":")[2])

    def new_code(self, whom: str = "phone") -> str:
        """A code made at the desk."""
        page = self.ask_desk("phones/code", {"for": whom})
        return re.findall(r'<strong class="pairing">([^<]+)</strong>', page)[0].replace(" ", "")

    def ask_desk(self, path: str, form: dict[str, str] | None = None) -> str:
        if self.within:
            return self._ask_within(path, form)
        data = urllib.parse.urlencode(form).encode() if form is not None else None
        with urllib.request.urlopen(self.desk + path, data) as answer:  # noqa: S310 our own address
            return str(answer.read().decode())

    def _ask_within(self, path: str, form: dict[str, str] | None) -> str:
        """From a program on the workshop PC itself, where that is another host than this."""
        script = "import sys, httpx; print(httpx.post(sys.argv[1], data=eval(sys.argv[2]), follow_redirects=True).text)"
        command = [*self.within, sys.executable, "-c", script, self.desk + path, repr(form or {})]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout

    def authority_file(self) -> bytes:
        return (self.folder / "backlog-door" / "authority.pem").read_bytes()

    def client(self) -> httpx.Client:
        """Trusts this workshop's authority and nothing else."""
        trust = ssl.create_default_context(cafile=str(self.folder / "backlog-door" / "authority.pem"))
        return httpx.Client(base_url=f"https://localhost:{self.ports['--port']}", verify=trust, trust_env=False)

    def store(self) -> Store:
        return Store(self.backlog, create=False)

    def authority(self, host: str = HOST) -> bytes:
        """The certificate as the plain page gives it."""
        request = urllib.request.Request(f"http://127.0.0.1:{self.ports['--http-port']}/workshop.crt")
        request.add_header("Host", host)
        with urllib.request.urlopen(request) as answer:  # noqa: S310 our own address
            return bytes(answer.read())


def free_port() -> int:
    """One that stays free while a workshop is down: the system gives those above 32767 to whoever asks."""
    while True:
        port = random.randrange(20_000, 32_000)
        with contextlib.suppress(OSError), socket.create_server(("127.0.0.1", port)):
            return port


@contextmanager
def workshop(folder: Path, **given: Any) -> Iterator[Workshop]:
    made = Workshop(folder, **given)
    try:
        yield made.start()
    finally:
        made.kill()


def until(true: Callable[[], bool], seconds: float = 30.0) -> None:
    """Waits until something has come about."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.1)
