"""The merge's laws, over random histories.

In a run of the suite a few hundred each; `HYPOTHESIS_PROFILE=nightly python -m pytest tests/sync/fold/test_laws.py`
runs ten thousand.
"""

import os

from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from tests.sync.fold.histories import histories, told
from tests.sync.fold.shed import fold_all, shed, state_bytes
from tests.sync.naive import Subject, naive

settings.register_profile("default", max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
settings.register_profile("nightly", max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "default"))


@given(histories(), st.randoms(use_true_random=False))
def test_any_order_gives_the_same_bytes(entries, random):
    shuffled = list(entries)
    random.shuffle(shuffled)
    assert state_bytes(fold_all(shuffled)) == state_bytes(fold_all(entries))


@given(histories(), st.randoms(use_true_random=False))
def test_any_repetition_gives_the_same_bytes(entries, random):
    again = [*entries, *random.sample(entries, len(entries) // 2)]
    assert state_bytes(fold_all(again)) == state_bytes(fold_all(entries))


@given(histories())
def test_a_second_slow_telling_of_the_rule_agrees(entries):
    note(told(entries))
    state = fold_all(entries)
    slow = naive(entries, shed())
    sides: dict[Subject, frozenset[str]] = {}
    for found in state.conflicts:
        if found.kind != "field":
            sides[Subject(found.check, found.spot, found.fault)] = frozenset(s.entry for s in found.sides)
    assert sides == {subject: one.sides for subject, one in slow.items() if one.sides}
    still = {
        Subject(d.check, d.spot, d.fault): (d.severity, frozenset(s.entry for s in d.sightings))
        for d in state.defects
        if d.closed is None
    }
    assert still == {
        subject: (one.severity or still.get(subject, ("",))[0], one.sightings)
        for subject, one in slow.items()
        if one.open
    }
