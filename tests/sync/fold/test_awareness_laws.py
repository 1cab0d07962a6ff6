"""Awareness as masks says what it says pair by pair."""

from dataclasses import dataclass, field

import networkx
from hypothesis import given
from hypothesis import strategies as st

from sync.fold.awareness import bits, by_id, claims, known, order
from tests.sync.fold.shed import entry_id

DEVICES = ("a", "b", "c")


@dataclass(frozen=True)
class Item:
    entry: str
    device: str
    seq: int
    knows: dict[str, int] = field(default_factory=dict)
    names: tuple[str, ...] = ()


@st.composite
def items(draw):
    """Up to nine entries of three devices, some under one number, with claims of every kind."""
    count = draw(st.integers(0, 9))
    found = []
    for n in range(count):
        device = draw(st.sampled_from(DEVICES))
        knows = draw(st.dictionaries(st.sampled_from(DEVICES), st.integers(0, 6)))
        names = tuple(draw(st.lists(st.integers(0, count), max_size=1).map(lambda ns: [entry_id(i) for i in ns])))
        found.append(Item(entry_id(n), device, draw(st.integers(1, 6)), knows, names))
    return found


cloned = st.dictionaries(st.sampled_from(DEVICES), st.integers(1, 6), max_size=1)


def pairwise_claims(said, tails) -> dict[int, set[int]]:
    """Who claims whom, told apart one by one."""
    return {
        i: {j for j, other in enumerate(said) if i != j and claims(one, other, tails)} for i, one in enumerate(said)
    }


@given(items(), cloned)
def test_the_masks_are_the_claims_without_those_that_cross(said, tails):
    claimed = pairwise_claims(said, tails)
    graph = networkx.DiGraph()
    graph.add_nodes_from(range(len(said)))
    graph.add_edges_from((i, j) for i, those in claimed.items() for j in those if i not in claimed[j])
    for ring in list(networkx.strongly_connected_components(graph)):
        graph.remove_edges_from([(i, j) for i in ring for j in ring if graph.has_edge(i, j)])
    assert [set(bits(mask)) for mask in known(said, tails)] == [set(graph.successors(i)) for i in range(len(said))]


@given(items(), cloned)
def test_in_order_each_comes_after_all_it_knew(said, tails):
    masks = known(said, tails)
    found = order(masks)
    assert sorted(found) == list(range(len(said)))
    place = {i: n for n, i in enumerate(found)}
    assert all(place[j] < place[i] for i, mask in enumerate(masks) for j in bits(mask))


def test_a_device_knows_its_own_earlier_ones_and_not_itself():
    first, second = Item("x", "a", 1), Item("y", "a", 2)
    assert claims(second, first, {})
    assert not claims(first, second, {})
    assert not claims(first, first, {})


def test_a_number_reaches_up_to_itself():
    later = Item("x", "a", 1, {"b": 3})
    assert [claims(later, Item("y", "b", seq), {}) for seq in (2, 3, 4)] == [True, True, False]


def test_of_a_clone_numbers_tell_only_what_came_before_the_copy():
    later = Item("x", "a", 9, {"b": 9})
    assert [claims(later, Item("y", "b", seq), {"b": 4}) for seq in (3, 4, 5)] == [True, False, False]
    assert [claims(later, Item("y", "a", seq), {"a": 4}) for seq in (3, 4)] == [True, False]


def test_an_id_tells_in_any_case():
    later = Item("x", "a", 1, {}, ("y",))
    assert claims(later, Item("y", "b", 7), {"b": 1})


def test_of_a_knows_the_keys_that_are_entry_ids_are_told_from_devices():
    assert by_id({"d-a": 3, entry_id(7): 3, "x" * 36: 1}) == (entry_id(7),)
