"""Entries -> statements, heads, conflicts, defects: the merge rule, pure. No clock, no I/O, no arrival order.

A log is folded in three steps, and the whole is the same for the same set of entries, whatever their order:

1. `Context.take` gathers what a place cannot see by itself: walks (what their writers knew), corrections,
   rulings, work, jobs, settlements, clones. It is small: findings pass through it and are not kept.
2. `fold_place` folds the findings at one place (vehicle, check, spot); `extend_place` adds newer ones to a folded
   place, or says None where it is not certain to equal a refold.
3. `fold_vehicle` puts one vehicle's places together: codes, reports, tags, perhaps-the-same; `fold_walks` and
   `fold_rest` give what belongs to none.

`fold` does all three over a whole log.
"""

from sync.fold.context import Context
from sync.fold.log import Logged, Place
from sync.fold.place import FoldedPlace, extend_place, fold_place
from sync.fold.rest import FoldedRest, fold_rest, fold_walks
from sync.fold.touched import Touched
from sync.fold.vehicle import FoldedVehicle, fold_vehicle
from sync.fold.whole import fold

__all__ = [
    "Context",
    "FoldedPlace",
    "FoldedRest",
    "FoldedVehicle",
    "Logged",
    "Place",
    "Touched",
    "extend_place",
    "fold",
    "fold_place",
    "fold_rest",
    "fold_vehicle",
    "fold_walks",
]
