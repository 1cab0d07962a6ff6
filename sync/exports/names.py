"""A backlog's names for its ids, as every export tells them."""

from builder.edition import Edition, VehicleView
from sync.errors import DeskError
from sync.paper.words import task_name
from sync.state import Defect
from sync.store import Store


class Names:
    """Looks ids up in the edition in force and in the backlog; what is unknown keeps its id."""

    def __init__(self, store: Store, edition: Edition) -> None:
        self._store = store
        self._edition = edition

    def view(self, vehicle: str) -> VehicleView | None:
        return self._edition.by_vehicle.get(vehicle)

    def name(self, vehicle: str) -> str:
        view = self.view(vehicle)
        return view.name if view else vehicle

    def defect(self, key: str) -> Defect | None:
        try:
            return self._store.defect(key) if key else None
        except DeskError:
            return None

    def task(self, about: str) -> str:
        """ "vehicle/kind/id" as its vehicle's edition names it."""
        view = self.view(about.partition("/")[0])
        return task_name(about, view) if view else about
