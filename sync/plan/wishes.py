"""What people want of the plan, as the planner takes it: by what it is about, with those who may do it still known."""

from collections.abc import Container, Mapping

from sync.entries import PlanWish
from sync.plan.problem import Wish
from sync.state import Defect, State


def wish_of(said: PlanWish, by: str, people: Container[str]) -> Wish:
    """One wish; whom the fleet's people no longer name is left out of it."""
    who = tuple(dict.fromkeys(name for name in said.who if name in people))
    return Wish(order=said.order, day=said.day, who=who, reason=said.reason or "", by=by)


def wishes_of(state: State, people: Container[str]) -> Mapping[str, Wish]:
    """Wishes about vehicles and tasks, by their names."""
    return {about: wish_of(said, by, people) for one in state.vehicles for about, by, said in one.plans}


def wished(defect: Defect, people: Container[str]) -> Wish | None:
    return wish_of(defect.plan, defect.plan_by, people) if defect.plan is not None else None
