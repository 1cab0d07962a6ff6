"""Two hosts of our own on one machine: a workshop PC and a phone in network namespaces, joined by a cable (as root)."""

import os
import subprocess
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

PC_ADDRESS = "10.77.0.1"
PHONE_ADDRESS = "10.77.0.2"


@dataclass(frozen=True)
class Cable:
    """Names of the two namespaces."""

    pc: str
    phone: str

    def inside(self, space: str, *command: str) -> list[str]:
        """A command as it is run inside one of them."""
        return ["ip", "netns", "exec", space, *command]

    def plug(self, *, in_: bool) -> None:
        """Pull the cable out, or put it back in."""
        _ip("-n", self.phone, "link", "set", "wire", "up" if in_ else "down")

    def launcher(self, folder: Path, program: str) -> str:
        """A program that starts another inside the phone's namespace."""
        path = folder / "in-the-field"
        path.write_text(f'#!/bin/sh\nexec ip netns exec {self.phone} {program} "$@"\n', "utf-8")
        path.chmod(0o755)
        return str(path)


def _ip(*arguments: str) -> None:
    subprocess.run(["ip", *arguments], check=True, capture_output=True, env={**os.environ, "LC_ALL": "C"})


@contextmanager
def cable() -> Iterator[Cable]:
    mark = uuid.uuid4().hex[:6]
    made = Cable(f"dt-pc-{mark}", f"dt-phone-{mark}")
    for space in (made.pc, made.phone):
        _ip("netns", "add", space)
    try:
        _ip("-n", made.pc, "link", "add", "wire", "type", "veth", "peer", "name", "wire", "netns", made.phone)
        for space, address in ((made.pc, PC_ADDRESS), (made.phone, PHONE_ADDRESS)):
            _ip("-n", space, "addr", "add", f"{address}/24", "dev", "wire")
            _ip("-n", space, "link", "set", "wire", "up")
            _ip("-n", space, "link", "set", "lo", "up")
        yield made
    finally:
        for space in (made.pc, made.phone):
            _ip("netns", "del", space)
