"""From the store to papers: which cards, notices and sheets are asked for, and where their QR symbols lead."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, partial

from builder.edition import Edition
from builder.fleet import Round
from sync.errors import DeskError, NotHereError, StoreError
from sync.exports.photos import embedded
from sync.measured import Measures
from sync.paper import printed
from sync.paper.cards import Bench, defect_card, job_card
from sync.paper.models import Notice, WalkSheet
from sync.paper.notices import notice
from sync.paper.sheets import walk_sheet
from sync.planned import planned
from sync.store import Store

PHOTO_WIDE = 1200


@dataclass(frozen=True)
class Printing:
    """One backlog's papers as of one day.

    Args:
        address: where the desk is opened from a phone, as "https://host"; without one a symbol holds the code alone.
    """

    store: Store
    as_of: date
    address: str = ""

    def cards(self, keys: Sequence[str], a_page: int = 1) -> bytes:
        """Job cards of the defects named (by code or opening id), in the order given, as HTML.

        Raises DeskError where one is not there, or nothing is asked for.
        """
        if not keys:
            raise DeskError("no defect was chosen; choose those to print cards of")
        bench = cache(self._bench)
        defects = map(self.store.defect, keys)
        return printed.job_cards((defect_card(one, bench(one.vehicle)) for one in defects), a_page)

    def job(self, job: str) -> bytes:
        """One job's card as HTML. Raises DeskError where there is no such job or none of its defects is here."""
        found = next((one for one in self.store.jobs() if one.job == job), None)
        if found is None:
            raise NotHereError(f"there is no job {job!r} in this backlog")
        defects = [self.store.defect(key) for key in found.defects]
        vehicle = found.vehicle or next((one.vehicle for one in defects), "")
        return printed.job_cards([job_card(found, defects, self._bench(vehicle))])

    def notices(self, vehicles: Iterable[str] = ()) -> bytes:
        """Do-not-move notices as HTML, one for each vehicle named, or for every stopped one.

        Raises DeskError where none is stopped, or a vehicle named is not in the fleet.
        """
        stopped = [row.vehicle for row in self.store.standing(self.as_of) if row.standing == "stopped"]
        wanted = [self._known(vehicle) for vehicle in vehicles] or [v for v in stopped if v in self._edition.by_vehicle]
        if not wanted:
            raise DeskError("no vehicle is stopped: there is nothing to put a notice on")
        return printed.notices(map(self._notice, wanted))

    def sheets(self, vehicles: Iterable[str], rounds: Iterable[Round]) -> bytes:
        """Blank walk-round sheets as HTML, for each vehicle named and each round that asks it anything."""
        asked = tuple(rounds)
        papers = [self._sheet(self._known(vehicle), one) for vehicle in vehicles for one in asked]
        return printed.walk_sheets(paper for paper in papers if paper.stations)

    @property
    def _edition(self) -> Edition:
        return self.store.edition()

    def _known(self, vehicle: str) -> str:
        if vehicle not in self._edition.by_vehicle:
            raise NotHereError(f"there is no vehicle {vehicle!r} in the fleet {self._edition.name}")
        return vehicle

    def _notice(self, vehicle: str) -> Notice:
        standing = self.store.standing_of(vehicle, self.as_of)
        return notice(
            self._edition, standing, self.store.defects(vehicle), self.as_of.isoformat(), self._link("vehicle")
        )

    def _sheet(self, vehicle: str, walk_round: Round) -> WalkSheet:
        standing = self.store.standing_of(vehicle, self.as_of)
        known = self.store.defects(vehicle)
        return walk_sheet(self._edition, standing, walk_round, known, self.as_of.isoformat())

    def _bench(self, vehicle: str) -> Bench:
        self._known(vehicle)
        return Bench(
            edition=self._edition,
            as_of=self.as_of.isoformat(),
            standing=self.store.standing_of(vehicle, self.as_of),
            link=self._link("defect"),
            photo=self._photo,
            open_defects=self.store.defects(vehicle),
            conflicts=self.store.conflicts(vehicle),
            parts=self.store.parts(),
            plan=planned(self.store, self.as_of, vehicle),
            figures=partial(Measures(self.store).reckoned, self._edition.by_vehicle[vehicle]),
        )

    def _link(self, kind: str) -> Callable[[str], str]:
        base = self.address.rstrip("/")
        return lambda key: f"{base}/{kind}/{key}" if base else key

    def _photo(self, photo: str) -> str:
        try:
            return embedded(self.store.photo_path(photo), PHOTO_WIDE)
        except StoreError:
            return ""
