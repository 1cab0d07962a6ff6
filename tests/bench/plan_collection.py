"""An invented collection of any size for the planner's bench: the same seed, the same collection."""

import random
from datetime import date, timedelta

from sync.plan.problem import (
    DisplayDay,
    Item,
    Part,
    Problem,
    Severity,
    Step,
    Task,
    Vehicle,
    Wait,
    Workshop,
)

AS_OF = date(2026, 10, 19)
STEPS = [
    ("deck-clear", "Deck clear", (), 1.0, 1.5, 2, ()),
    ("pack-out", "Engine pack out", ("deck-clear",), 6.0, 8.0, 3, ("lifting",)),
    ("track-off", "Track off", (), 2.0, 3.0, 2, ()),
    ("floor-out", "Floor plates out", (), 1.5, 2.0, 1, ()),
    ("drum-off", "Drum off", ("track-off",), 1.0, 1.0, 1, ()),
    ("tank-out", "Tank out", ("floor-out",), 3.0, 3.0, 2, ("pit",)),
]
SEVERITIES: list[Severity] = ["dangerous", "major", "minor", "advisory"]


SMALL_SHED = Workshop(hours_per_week=30, people_at_once=3, resources={"lifting": 1, "pit": 1})
MUSEUM = Workshop(hours_per_week=128, people_at_once=8, resources={"lifting": 2, "pit": 1}, open_days=(2, 5))


def collection(vehicles: int, defects: int, steps: int, workshop: Workshop = MUSEUM, seed: int = 7) -> Problem:
    """`steps` are shared out over the vehicles, as many to each as there are; defects fall where they like."""
    rng = random.Random(seed)
    fleet = [_vehicle(n, min(len(STEPS), steps // vehicles + (n < steps % vehicles)), rng) for n in range(vehicles)]
    return Problem(
        as_of=AS_OF,
        workshop=workshop,
        vehicles=tuple(fleet),
        items=tuple(_item(n, rng.choice(fleet), rng) for n in range(defects)),
        tasks=tuple(
            Task(
                id=f"{v.id}/mounts", vehicle=v.id, title="Engine mounts", step="pack-out", hours=4, accepted=n % 3 == 0
            )
            for n, v in enumerate(fleet)
            if "pack-out" in v.by_step
        ),
        display_days=(DisplayDay(name="Frost Run", date=AS_OF + timedelta(weeks=8)),),
    )


def _vehicle(number: int, steps: int, rng: random.Random) -> Vehicle:
    chosen = [
        Step(id=i, name=n, needs=needs, hours_out=out, hours_back=back, people=people, uses=uses)
        for i, n, needs, out, back, people, uses in STEPS[:steps]
    ]
    return Vehicle(
        id=f"v{number:02}",
        name=f"Vehicle {number:02}",
        display_weight=rng.choice([0, 1, 1, 2, 3, 5]),
        steps=tuple(chosen),
    )


def _item(number: int, vehicle: Vehicle, rng: random.Random) -> Item:
    least = rng.choice([0.5, 1, 1, 2, 2, 3, 4])
    severity = rng.choices(SEVERITIES, [8, 32, 40, 20])[0]
    needs = (rng.choice(vehicle.steps).id,) if rng.random() < 0.4 else ()
    holds = ()
    if not needs and rng.random() < 0.04:
        holds = (rng.choice(vehicle.steps).id,)
    waits: tuple[Wait, ...] = ()
    if rng.random() < 0.15:
        due = None if rng.random() < 0.1 else AS_OF + timedelta(days=rng.randint(5, 100))
        waits = (Wait(what="parts", kind=rng.choice(["part", "sent out"]), due=due),)
    return Item(
        id=f"{vehicle.id}-{number:03}",
        vehicle=vehicle.id,
        title=f"Defect {number}",
        severity=severity,
        hours=None if rng.random() < 0.05 else (least, least * rng.choice([1, 1.5, 2])),
        people=rng.choices([1, 2, 3], [70, 25, 5])[0],
        needs=needs,
        holds=holds,
        uses=("pit",) if rng.random() < 0.05 else (),
        waits=waits,
        parts=(Part(name=rng.choice(["gasket", "seal", "hose", "split pins"])),) if rng.random() < 0.3 else (),
        status="in hand" if not needs and rng.random() < 0.015 else "waiting" if waits else "open",
    )
