"""Sets of what is not known behave as sets of pairs do."""

from hypothesis import given
from hypothesis import strategies as st

from service.unknown import KNOWN, Unknown, unknown_of

PAIRS = st.frozensets(st.tuples(st.sampled_from("abcd"), st.sampled_from(("x", "y", "z"))))


@given(st.lists(PAIRS, max_size=5))
def test_a_union_holds_what_any_holds(sets: list[frozenset[tuple[str, str]]]) -> None:
    found = KNOWN.union(map(unknown_of, sets))
    assert set(found) == set().union(*sets)
    assert len(found) == len(set(found))
    assert bool(found) == any(sets)


@given(PAIRS, st.frozensets(st.sampled_from(("x", "y", "z", "w"))))
def test_fields_are_taken_out_and_picked(pairs: frozenset[tuple[str, str]], names: frozenset[str]) -> None:
    found = unknown_of(pairs)
    assert set(found.without(names)) == {pair for pair in pairs if pair[1] not in names}
    assert set(found.among(names)) == {pair for pair in pairs if pair[1] in names}
    assert found.fields == {name for _, name in pairs}
    assert set(found.with_pairs([("q", "x")])) == pairs | {("q", "x")}
    assert all(pair in found for pair in pairs)
    assert ("nobody", "x") not in found


def test_a_union_that_adds_nothing_is_the_larger_set_itself() -> None:
    large, small = unknown_of([("a", "x"), ("b", "x")]), unknown_of([("a", "x")])
    assert small.union([large]) is large
    assert large.union([small, KNOWN]) is large
    assert KNOWN.union([]) is KNOWN


def test_sets_are_hashed_as_they_are_compared() -> None:
    assert len({unknown_of([("a", "x")]), unknown_of([("a", "x")]), Unknown({})}) == 2
