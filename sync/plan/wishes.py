"""What people want of the plan, as the planner takes it: by what it is about, with those who may do it still known."""

from collections.abc import Iterable, Iterator, Mapping

from builder.edition import Edition
from sync.entries import PlanWish
from sync.plan.problem import Item, Wish
from sync.state import Defect, State


def wished(defect: Defect, title: str, edition: Edition) -> Wish | None:
    """What somebody wants of one defect's mending."""
    if defect.plan is None:
        return None
    return _wish(defect.plan, defect.plan_by, edition, defect.opening, title)


def wishes_of(state: State, edition: Edition) -> Mapping[str, Wish]:
    """Wishes about vehicles and their tasks, by what they are about."""
    said = [one for vehicle in state.vehicles for one in vehicle.plans]
    return {about: _wish(wish, by, edition, about, _title(about, edition)) for about, by, wish in said}


def every(items: Iterable[Item], others: Mapping[str, Wish]) -> Iterator[Wish]:
    """Every wish once, those about vehicles first."""
    found = {**others, **{item.wish.about: item.wish for item in items if item.wish}}
    yield from (found[about] for about in sorted(found, key=lambda about: ("/" in about or about not in others, about)))


def _wish(said: PlanWish, by: str, edition: Edition, about: str, title: str) -> Wish:
    """Whom the fleet's people no longer name is left out of it."""
    who = tuple(dict.fromkeys(name for name in said.who if name in edition.by_initials))
    return Wish(about=about, title=title, order=said.order, day=said.day, who=who, reason=said.reason or "", by=by)


def _title(about: str, edition: Edition) -> str:
    view = edition.by_vehicle.get(about)
    return f"All work on {view.name}" if view else about
