"""Phones that trust one workshop's authority and nothing else, each with a home and a store of its own."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, BrowserType

from tests.app.browsers import CHROMIUM_ARGS, PHONE, found
from tests.workshops import HOST


def trusting(home: Path, *authorities: bytes) -> Path:
    """A home folder whose certificate store holds these authorities, and nothing else of ours."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    subprocess.run(["certutil", "-d", f"sql:{store}", "-N", "--empty-password"], check=True)
    for number, authority in enumerate(authorities):
        add = ["certutil", "-d", f"sql:{store}", "-A", "-t", "C,,", "-n", f"authority {number}"]
        subprocess.run([*add, *(["-a"] if authority.startswith(b"-----") else [])], input=authority, check=True)
    return home


@contextmanager
def phone_of(
    kind: BrowserType, home: Path, *, maps: str = f"MAP {HOST} 127.0.0.1", launcher: str | None = None
) -> Iterator[BrowserContext]:
    """A phone whose browser trusts what its home trusts; its storage lives in the home too, so it can come back."""
    options: dict[str, Any] = found() if launcher is None else {"executable_path": launcher}
    context = kind.launch_persistent_context(
        str(home / "profile"),
        args=[*CHROMIUM_ARGS, f"--host-resolver-rules={maps}"],
        env={**os.environ, "HOME": str(home)},
        **options,
        **PHONE,
    )
    context.set_default_timeout(20_000)
    try:
        yield context
    finally:
        context.close()
