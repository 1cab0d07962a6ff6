"""What a form asks of one thing at the desk, read once: who asks, the thing, the fleet; and the answer."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from builder.edition import Edition, VehicleView
from sync.desk.page import Desk, back, by, day_of, desk_of, number_of, of_ours, text_of, write
from sync.errors import DeskError, NotHereError
from sync.service import Draft
from sync.state import Defect

NAME_MOST = 200
LINE_MOST = 1000


@dataclass(frozen=True)
class Asked:
    """One form, filled in by one person."""

    request: Request
    form: FormData
    desk: Desk
    by: str
    edition: Edition

    @classmethod
    def of(cls, request: Request, form: FormData) -> "Asked":
        desk = desk_of(request)
        return cls(request, form, desk, by(request, form), desk.store.edition())

    @property
    def today(self) -> date:
        return self.desk.today()

    def text(self, name: str, needed: str = "") -> str:
        return text_of(self.form, name, needed=needed)

    def line(self, name: str, needed: str = "") -> str:
        """A text that goes on one line."""
        text = " ".join(self.text(name, needed).split())
        if len(text) > LINE_MOST:
            raise DeskError(f"{needed or name} has {len(text)} letters; at most {LINE_MOST} fit on a line")
        return text

    def day(self, name: str, needed: str = "") -> date | None:
        text = day_of(self.form, name, needed=needed)
        return date.fromisoformat(text) if text else None

    def number(self, name: str) -> float | None:
        return number_of(self.form, name)

    def ticked(self, name: str) -> bool:
        return self.text(name) == "yes"

    def every(self, name: str) -> list[str]:
        """All values of a field that may come several times."""
        return [value for value in self.form.getlist(name) if isinstance(value, str) and value]

    def view(self, vehicle: str) -> VehicleView:
        view = self.edition.by_vehicle.get(vehicle)
        if view is None:
            raise NotHereError(f"there is no vehicle {vehicle!r} in the fleet {self.edition.name}")
        return view

    def write(self, *drafts: Draft) -> tuple[str, ...]:
        return write(self.request, self.form, *drafts)

    def back(self, path: str, said: str) -> Response:
        """To where the form says it came from, else to `path`."""
        return back(of_ours(self.text("to"), path), said)


Change = Callable[[Asked, Defect], str]


def ruling(about: str, vehicle: str, **values: object) -> Draft:
    """What is ruled about one thing; None takes a value back."""
    return Draft("ruling", {"about": about, **({"vehicle": vehicle} if vehicle else {}), "set": values})


def filled(values: Mapping[str, object]) -> dict[str, object]:
    """What was filled in, without what was left empty."""
    return {name: value for name, value in values.items() if value not in ("", None)}
