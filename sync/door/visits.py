"""Who is at the door just now and how far each has got, for the desk to show; lives as long as the server does."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

_SHOWN = timedelta(hours=12)


@dataclass(frozen=True)
class Visit:
    """`taken` and `photos` count since the device came; the rest is how it stands now."""

    device: str
    name: str
    at: datetime
    entries_to_come: int = 0
    photos_to_come: int = 0
    taken: int = 0
    photos: int = 0
    set_aside: int = 0
    step: str = ""


@dataclass
class Visits:
    now: Callable[[], datetime]
    _by_device: dict[str, Visit] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def latest(self) -> tuple[Visit, ...]:
        """Newest first; those of half a day ago are gone."""
        with self._lock:
            since = self.now() - _SHOWN
            self._by_device = {device: visit for device, visit in self._by_device.items() if visit.at > since}
            return tuple(sorted(self._by_device.values(), key=lambda visit: visit.at, reverse=True))

    def asked(self, device: str, name: str, entries: int, photos: int) -> None:
        step = "all here" if not entries and not photos else "sending"
        self._change(device, name, entries_to_come=entries, photos_to_come=photos, step=step)

    def took(self, device: str, name: str, entries: int, set_aside: int) -> None:
        before = self._of(device, name)
        self._change(
            device,
            name,
            taken=before.taken + entries,
            set_aside=before.set_aside + set_aside,
            entries_to_come=max(0, before.entries_to_come - entries - set_aside),
            step="sending",
        )

    def photo(self, device: str, name: str) -> None:
        before = self._of(device, name)
        self._change(
            device, name, photos=before.photos + 1, photos_to_come=max(0, before.photos_to_come - 1), step="sending"
        )

    def _of(self, device: str, name: str) -> Visit:
        return self._by_device.get(device, Visit(device, name, self.now()))

    def _change(self, device: str, name: str, **said: int | str) -> None:
        with self._lock:
            self._by_device[device] = replace(self._of(device, name), name=name, at=self.now(), **said)  # type: ignore[arg-type]
