"""`driptray` that dies right after the first hand-in is committed: its sender never hears of it."""

import os
from typing import Any

from sync.cli import run
from sync.service import Service

_take = Service.take_in_all


def take_and_die(self: Service, *given: Any, **named: Any) -> Any:
    _take(self, *given, **named)
    os._exit(9)


Service.take_in_all = take_and_die  # type: ignore[method-assign]
run()
