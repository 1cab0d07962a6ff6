"""The critical path method against two worked examples, networkx and PSPLIB's first instance."""

import subprocess
import sys
import tarfile
from datetime import date
from pathlib import Path

import networkx as nx
import psplib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.plan.cp import Limit
from sync.plan.critical import Leg, critical_path, critical_times
from sync.plan.goal import Goal, Question
from sync.plan.greedy import Capacity
from sync.plan.network import Activity, Network
from sync.plan.problem import Workshop
from sync.plan.schedule import schedule
from sync.plan.sessions import Calendar
from sync.plan.verify import violations

#: Worked example of a course handout on the critical path method, reproduced with networkx:
#: activity: duration, after what, then ES, EF, LS, LF, slack.
HANDOUT = {
    "A": (6, "", (0, 6, 0, 6, 0)),
    "B": (2, "A", (6, 8, 6, 8, 0)),
    "C": (2, "A", (6, 8, 7, 9, 1)),
    "D": (3, "B", (8, 11, 8, 11, 0)),
    "F": (2, "C", (8, 10, 9, 11, 1)),
    "E": (4, "DF", (11, 15, 11, 15, 0)),
    "G": (1, "E", (15, 16, 15, 16, 0)),
}
#: A second: A4; B3, C5, D2 after A; E5 after B and C; F6 after C and D; G4 after E and F; H3 after G. Its path is
#: A C F G H and takes 22; slack of B 3, D 3, E 1.
SECOND = {"A": (4, ""), "B": (3, "A"), "C": (5, "A"), "D": (2, "A"), "E": (5, "BC"), "F": (6, "CD"), "G": (4, "EF"),
          "H": (3, "G")}  # fmt: skip
SECOND_SLACK = {"A": 0, "B": 3, "C": 0, "D": 3, "E": 1, "F": 0, "G": 0, "H": 0}
#: Optimum and critical path of PSPLIB's j301_1.
J301_1_OPTIMUM = 43
J301_1_CRITICAL_PATH = 38


def legs(example: dict[str, tuple[int, str, object]] | dict[str, tuple[int, str]]) -> dict[str, Leg]:
    return {name: Leg(row[0], tuple(row[1])) for name, row in example.items()}


@pytest.mark.parametrize("name", HANDOUT)
def test_an_activity_of_the_handout_has_its_times_and_slack(name: str) -> None:
    found = critical_times(legs(HANDOUT))[name]
    times = (found.earliest_start, found.earliest_end, found.latest_start, found.latest_end, found.slack)
    assert times == HANDOUT[name][2]


def test_the_handouts_critical_path_is_found() -> None:
    assert critical_path(legs(HANDOUT)) == list("ABDEG")


@pytest.mark.parametrize("name", SECOND)
def test_an_activity_of_the_second_example_has_its_slack(name: str) -> None:
    assert critical_times(legs(SECOND))[name].slack == SECOND_SLACK[name]


def test_the_second_examples_critical_path_takes_22() -> None:
    assert critical_path(legs(SECOND)) == list("ACFGH")
    assert critical_times(legs(SECOND))["H"].earliest_end == 22


@st.composite
def networks(draw: st.DrawFn) -> dict[str, Leg]:
    """Acyclic networks: each activity after some of those before it."""
    durations = draw(st.lists(st.integers(0, 20), min_size=1, max_size=14))
    found: dict[str, Leg] = {}
    for number, slots in enumerate(durations):
        after = draw(st.sets(st.sampled_from(sorted(found)), max_size=4)) if found else set()
        found[f"n{number}"] = Leg(slots, tuple(sorted(after)))
    return found


@given(networks())
def test_the_end_is_networkxs_longest_path(found: dict[str, Leg]) -> None:
    graph = nx.DiGraph()
    for name, leg in found.items():
        graph.add_edge(name, "end", weight=leg.slots)
        graph.add_edges_from((one, name, {"weight": found[one].slots}) for one in leg.after)
    end = max(times.earliest_end for times in critical_times(found).values())
    assert end == nx.dag_longest_path_length(graph)


@given(networks())
def test_slack_is_how_far_one_activity_can_slip(found: dict[str, Leg]) -> None:
    times = critical_times(found)
    end = max(one.earliest_end for one in times.values())
    for name, leg in found.items():
        slipped = {**found, name: Leg(leg.slots, leg.after, times[name].earliest_start + times[name].slack)}
        later = {**found, name: Leg(leg.slots, leg.after, times[name].earliest_start + times[name].slack + 1)}
        assert max(one.earliest_end for one in critical_times(slipped).values()) == end
        assert max(one.earliest_end for one in critical_times(later).values()) == end + 1


@pytest.fixture(scope="session")
def j301_1(request: pytest.FixtureRequest) -> psplib.ProjectInstance:
    """PSPLIB's j301_1, out of the source distribution of the package psplib; kept in pytest's cache."""
    folder: Path = request.config.cache.mkdir("psplib")
    kept = folder / "j301_1.sm"
    if not kept.exists():
        wanted = ["download", "--no-deps", "--no-binary", "psplib", "--dest", str(folder), "psplib==0.4.0"]
        done = subprocess.run([sys.executable, "-m", "pip", *wanted], capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"psplib's source distribution could not be fetched:\n{done.stderr}"
        with tarfile.open(next(folder.glob("psplib-*.tar.gz"))) as archive:
            member = next(name for name in archive.getnames() if name.endswith("/data/j301_1.sm"))
            file = archive.extractfile(member)
            assert file is not None
            kept.write_bytes(file.read())
    return psplib.parse(kept, "psplib")


def network_of(instance: psplib.ProjectInstance) -> Network:
    """The instance as a network of ours: its first resource as people, the others as the workshop's resources."""
    after: dict[int, list[str]] = {}
    for number, activity in enumerate(instance.activities):
        for successor in activity.successors:
            after.setdefault(successor, []).append(f"{number:02}")
    made = []
    for number, activity in enumerate(instance.activities):
        mode = activity.modes[0]
        people, *others = mode.demands
        uses = [f"R{n}" for n, amount in enumerate(others, start=2) for _ in range(amount)]
        made.append(
            Activity(
                f"{number:02}", "project", "work", f"{number:02}", "", mode.duration, mode.duration, people,
                uses=tuple(uses), after=tuple(after.get(number, ())),
            )
        )  # fmt: skip
    return Network(tuple(made), ())


def test_psplibs_first_instance_is_solved_to_its_optimum(j301_1: psplib.ProjectInstance) -> None:
    net = network_of(j301_1)
    people, *others = (resource.capacity for resource in j301_1.resources)
    resources = {f"R{n}": capacity for n, capacity in enumerate(others, start=2)}
    workshop = Workshop(hours_per_week=10 * people, people_at_once=people, resources=resources)
    calendar = Calendar(workshop, date(2026, 10, 19))
    goal = Goal(weight={}, vehicles=("project",))
    found = schedule(Question(net, Capacity(calendar, resources), goal), Limit(5.0))
    assert violations(net, found.starts, calendar, workshop) == []
    assert max(found.starts[a.id] + a.slots for a in net.activities) == J301_1_OPTIMUM
    assert all(stage.proven for stage in found.stages)


def test_psplibs_first_instance_has_its_critical_path(j301_1: psplib.ProjectInstance) -> None:
    net = network_of(j301_1)
    times = critical_times({a.id: Leg(a.slots, a.after) for a in net.activities})
    assert max(one.earliest_end for one in times.values()) == J301_1_CRITICAL_PATH
