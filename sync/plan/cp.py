"""The one door to the solver: OR-Tools CP-SAT, an extra, so its absence is told in a line and not as a traceback.

Every solve here can be repeated: a fixed seed, and a limit in the solver's own deterministic time, in which the
same input gives the same answer on any machine and any number of cores. A limit on the clock stands behind it for
slow machines only, and the answer says when it was the clock that stopped it.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from math import ceil

from sync.errors import PlanError

HOW_TO_GET_IT = "the plan needs OR-Tools, which is not installed: pip install 'driptray[plan]'"
HAVE_SOLVER = find_spec("ortools") is not None
if HAVE_SOLVER:
    from ortools.sat.python import cp_model

#: How many seconds on the clock a second of deterministic time may take before the clock stops it. On large plans it
#: takes about ten here; the rest is for slower and busier machines.
CLOCK_FACTOR = 60.0
#: From this many activities on, several strategies take turns; below it one strategy alone proves faster.
TURNS_FROM = 40
#: Those that take turns: one that learns from conflicts, one that leans on bounds; neighbourhood searches join them.
STRATEGIES = ("default_lp", "max_lp")
LEFT_OUT = ("fj*", "fs_random*", "ls*")


def need_solver() -> None:
    """Raises PlanError, with the way to get it, where OR-Tools is not installed."""
    if not HAVE_SOLVER:
        raise PlanError(HOW_TO_GET_IT)


@dataclass(frozen=True)
class Limit:
    """How long one solve may take: `effort` in deterministic seconds; `workers` share it and change no answer."""

    effort: float
    workers: int = 2


@dataclass(frozen=True)
class Outcome:
    """What a solve came to: `proven` best or not, the bound it proved, and whether the clock cut it short."""

    found: bool
    proven: bool
    value: int
    bound: int
    by_clock: bool
    effort: float
    impossible: bool = False


def solve(model: "cp_model.CpModel", limit: Limit, size: int) -> "tuple[cp_model.CpSolver, Outcome]":
    """Solve a model that minimises; the solver holds the values found."""
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.random_seed = 1
    parameters.max_deterministic_time = limit.effort
    parameters.max_time_in_seconds = limit.effort * CLOCK_FACTOR + 10
    if size >= TURNS_FROM:
        parameters.num_workers = limit.workers
        parameters.interleave_search = True
        parameters.subsolvers.extend(STRATEGIES)
        parameters.ignore_subsolvers.extend(LEFT_OUT)
    else:
        parameters.num_workers = 1
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    outcome = Outcome(
        found=found,
        proven=status == cp_model.OPTIMAL,
        value=round(solver.objective_value) if found else 0,
        bound=ceil(round(solver.best_objective_bound, 6)) if found else 0,
        by_clock=status == cp_model.FEASIBLE and solver.wall_time >= parameters.max_time_in_seconds,
        effort=solver.deterministic_time,
        impossible=status == cp_model.INFEASIBLE,
    )
    return solver, outcome
