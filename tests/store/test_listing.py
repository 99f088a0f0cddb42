"""Lists by id, page by page, with filters; inserts move no page."""

from typing import Any

import pytest

from service.store.listing import Filters, audit_after, entries_after
from service.store.store import Store
from tests.store.written import drink, ingredient, offer, put, set_state


def _ids(store: Store, of_kind: str, after: str = "", limit: int = 100, **filters: Any) -> list[str]:
    with store.reading() as connection:
        return [row.id for row in entries_after(connection, of_kind, after, limit, Filters(**filters))]


def test_pages_hold_every_entry_once_while_others_are_written(store: Store) -> None:
    for number in range(0, 40, 2):
        put(store, "ingredients", ingredient(f"i-{number:02}"))
    seen: list[str] = []
    while page := _ids(store, "ingredients", seen[-1] if seen else "", 7):
        seen += page
        put(store, "ingredients", ingredient(f"i-{len(seen) - 3:02}-late"))
    assert [one for one in seen if not one.endswith("late")] == [f"i-{number:02}" for number in range(0, 40, 2)]
    assert len(set(seen)) == len(seen)


def test_ids_are_in_the_order_of_their_bytes_on_each_backend(store: Store) -> None:
    for one in ("b", "a-b", "ab", "a0", "a", "0"):
        put(store, "ingredients", ingredient(one))
    assert _ids(store, "ingredients") == ["0", "a", "a-b", "a0", "ab", "b"]  # ASCII: "-" < "0" < "a"


@pytest.mark.parametrize(("text", "found"), [
    ("RUM", ["dark", "rum-46"]), ("caf\u00c9", ["cafe"]), ("cafe\u0301", ["cafe"]), ("%", ["odd"]), ("_", ["odd"]),
    ("\\", ["odd"]), ("46", ["rum-46"]), ("nothing", []),
])  # fmt: skip
def test_a_search_is_by_name_or_id_whatever_the_case(store: Store, text: str, found: list[str]) -> None:
    put(store, "ingredients", ingredient("dark", name="Dark Rum"))
    put(store, "ingredients", ingredient("rum-46", name="Strong"))
    put(store, "ingredients", ingredient("cafe", name="Caf\u00e9"))
    put(store, "ingredients", ingredient("odd", name="100 %_\\"))
    assert _ids(store, "ingredients", text=text) == found


def test_filters(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "suppliers", {"id": "pier", "name": "Pier"})
    put(store, "ingredients", ingredient("rum", kind="spirit", external_ids=["PLU:1"]))
    put(store, "ingredients", ingredient("ale", kind="beer"))
    put(store, "offers", offer("o-1", "rum"))
    put(store, "offers", offer("o-2", "ale", supplier="pier"))
    put(store, "drinks", drink("punch", ["rum"]))
    put(store, "drinks", drink("shandy", ["ale", "water"]))
    assert _ids(store, "ingredients", kind="spirit") == ["rum"]
    assert _ids(store, "ingredients", external_id="PLU:1") == ["rum"]
    assert _ids(store, "ingredients", external_id="plu:1") == []
    assert _ids(store, "offers", supplier="pier") == ["o-2"]
    assert _ids(store, "offers", item="rum") == ["o-1"]
    assert _ids(store, "drinks", item="ale") == ["shandy"]
    set_state(store, "drinks", "punch", "archived")
    assert _ids(store, "drinks") == ["shandy"]
    assert _ids(store, "drinks", archived="only") == ["punch"]
    assert _ids(store, "drinks", archived="include") == ["punch", "shandy"]


def test_the_trail_is_filtered_and_paged(store: Store) -> None:
    for one in ("a", "b", "c"):
        put(store, "ingredients", ingredient(one))
    put(store, "suppliers", {"id": "a", "name": "A"})
    with store.reading() as connection:
        first = audit_after(connection, 0, 2, None, None)
        rest = audit_after(connection, first[-1].sequence, 2, None, None)
        assert [(row.kind, row.id) for row in first + rest] == [
            ("ingredients", "a"), ("ingredients", "b"), ("ingredients", "c"), ("suppliers", "a"),
        ]  # fmt: skip
        assert [row.kind for row in audit_after(connection, 0, 9, None, "a")] == ["ingredients", "suppliers"]
        assert [row.id for row in audit_after(connection, 0, 9, "suppliers", None)] == ["a"]
