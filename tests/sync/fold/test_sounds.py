"""Which sounds matter beside what else was said, told again one by one."""

from hypothesis import given, settings
from hypothesis import strategies as st

from sync.fold.awareness import bits, claims
from sync.fold.sounds import Sound, kept_sounds
from tests.sync.fold.shed import entry_id
from tests.sync.fold.test_awareness_laws import DEVICES, Item, items

ON = st.tuples(st.sampled_from(["2026-10-18", "2026-10-25", "~"]), st.integers(0, 4))
CLONED = st.dictionaries(st.just("z"), st.integers(1, 3), max_size=1)


@st.composite
def sounds(draw):
    """Up to eight sounds, each under its device's next number and some time."""
    seqs = dict.fromkeys((*DEVICES, "z"), 0)
    found = []
    for n in range(draw(st.integers(0, 8))):
        device = draw(st.sampled_from([*DEVICES, "z"]))
        seqs[device] += draw(st.integers(1, 3))
        knows = draw(st.dictionaries(st.sampled_from(DEVICES), st.integers(0, 6)))
        names = tuple(draw(st.lists(st.integers(0, 9), max_size=1).map(lambda ns: [entry_id(i) for i in ns])))
        found.append(Sound(device, seqs[device], entry_id(100 + n), knows, draw(ON), None, names))
    return sorted(found, key=lambda sound: sound[:2])


def who(sound, loud, cloned):
    """(those it knew, those that knew it)"""
    knew = {j for j, item in enumerate(loud) if claims(sound, item, cloned)}
    return knew, {j for j, item in enumerate(loud) if claims(item, sound, {})}


def matter(found, loud, cloned):
    """The sounds that matter, by their ids."""
    known = [who(sound, loud, cloned) for sound in found]
    every = set(range(len(loud)))
    if any(knew & by for knew, by in known):
        return {sound.entry for sound in found}
    named = {name for item in loud for name in item.names}
    kept = {sound.entry for sound in found if sound.entry in named or sound.device in cloned}
    classes = {}
    for i, sound in enumerate(found):
        knew, by = known[i]
        newer = [known[k][0] for k in range(i + 1, len(found)) if found[k].device == sound.device]
        if any(all(j in later for later in newer) for j in every - knew - by):
            kept.add(sound.entry)
        if knew:
            classes.setdefault((frozenset(knew), frozenset(by)), []).append((sound.on, i))
    for (knew, by), alike in classes.items():
        kept.add(found[min(alike)[1]].entry)
        if every - knew - by:
            kept.add(found[max(alike)[1]].entry)
    return kept


@settings(max_examples=150, deadline=None)
@given(sounds(), items(), CLONED)
def test_those_are_kept_that_matter_with_what_they_knew(found, loud, cloned):
    found = [sound._replace(entry=entry_id(len(loud) + i)) for i, sound in enumerate(found)]  # some may name the first
    kept = kept_sounds(found, loud, cloned)
    assert {one.sound.entry for one in kept} == matter(found, loud, cloned)
    for one in kept:
        assert (set(bits(one.knew)), set(bits(one.known_by))) == who(one.sound, loud, cloned)


@settings(max_examples=100, deadline=None)
@given(sounds(), items())
def test_keeping_from_what_was_kept_is_keeping_from_all(found, loud):
    some = [one.sound for one in kept_sounds(found, loud, {})]
    assert kept_sounds(some, loud, {}) == kept_sounds(found, loud, {})


def test_of_many_that_knew_all_there_is_the_first_stands_for_all():
    opening = Item(entry_id(1), "a", 1)
    looks = [Sound("b", n, entry_id(n + 1), {"a": 1}, (f"2026-10-1{n}", 2), None) for n in (1, 2, 3)]
    assert [one.sound.seq for one in kept_sounds(looks, [opening], {})] == [1]
