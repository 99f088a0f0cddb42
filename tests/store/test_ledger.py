"""What a committed change leaves behind: history, uses, names, feeds; and what it refuses. Expectations by hand."""

from datetime import UTC, date, datetime
from functools import partial

import pytest
from sqlalchemy import event, select, text
from sqlalchemy.exc import DBAPIError

from service.errors import Conflict, InputFaults, InUse
from service.store.changes import changes_from
from service.store.held import EVER
from service.store.ledger import Ledger
from service.store.listing import audit_after, history_of
from service.store.store import Store
from service.store.tables import AUDIT, ENTRIES, REVISIONS, USES
from tests.store.written import Body, body_of, change, drink, held, ingredient, offer, part, put, remove, set_state

LATER = datetime(2026, 12, 1, 12, tzinfo=UTC)


def _faults(store: Store, kind: str, body: Body) -> list[tuple[str, str]]:
    with pytest.raises(InputFaults) as caught:
        put(store, kind, body)
    return [(fault.code, fault.pointer) for fault in caught.value.faults]


def test_nothing_is_overwritten(store: Store) -> None:
    put(store, "ingredients", ingredient("rum", abv_percent="40"))
    put(store, "ingredients", ingredient("rum", abv_percent="46"), now=LATER)
    with store.reading() as connection:
        rows = history_of(connection, "ingredients", "rum", 0, 10)
    assert [(row.revision, row.valid_from, row.version) for row in rows] == [(1, EVER, 1), (2, "2026-12-01", 2)]
    assert '"40"' in rows[0].text
    assert '"46"' in rows[1].text


def test_an_offer_holds_from_its_own_day_and_a_change_of_it_from_today(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    first = put(store, "offers", offer("o", "water", valid_from="2026-09-01"))
    second = put(store, "offers", offer("o", "water", "11.00", valid_from="2026-09-01"))
    third = put(store, "offers", offer("o", "water", "12.00", valid_from="2027-01-01"))
    fourth = put(store, "offers", offer("o", "water", "9.00"), date(2026, 10, 1))
    days = [one.valid_from for one in (first, second, third, fourth)]
    assert days == ["2026-09-01", "2026-11-25", "2027-01-01", "2026-10-01"]


def test_versions_count_changes_and_labels_apart(store: Store) -> None:
    put(store, "ingredients", ingredient("rum"))
    assert store.versions()[:2] == (1, 1)
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    assert store.versions()[:2] == (1, 2)
    put(store, "offers", offer("o", "rum"))
    put(store, "offers", offer("o", "rum", "12.00"))
    assert store.versions()[:2] == (1, 4)
    assert change(store, lambda _: None) == 4
    assert store.versions()[:2] == (1, 4)


@pytest.mark.parametrize(("sizes", "moves"), [
    (["700 ml", "1 l"], [False, False]),  # sold by volume alone: kept as one without offers
    (["500 g"], [True]),  # the first one by mass: a bare ounce of it is a mass from now on
    (["500 g", "1 kg"], [True, False]),  # another one by mass changes nothing
    (["500 g", "1 l"], [True, True]),  # by both: by volume again
    (["1 each"], [True]),  # counted with the bases, though it decides nothing: once too often, never too seldom
])  # fmt: skip
def test_a_new_offer_moves_a_label_only_by_how_its_item_is_kept(
    store: Store, sizes: list[str], moves: list[bool]
) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    for number, (size, moved) in enumerate(zip(sizes, moves, strict=True)):
        before = store.versions().data
        put(store, "offers", offer(f"o-{number}", "water", pack={"size": size}))
        assert store.versions().data - before == int(moved), size
        before = store.versions().data
        put(store, "offers", offer(f"o-{number}", "water", "99.00", pack={"size": size}))
        assert store.versions().data == before


def test_a_deleted_entry_leaves_its_history_and_goes_on_counting(store: Store) -> None:
    put(store, "ingredients", ingredient("rum", name="Rum"))
    remove(store, "ingredients", "rum")
    assert held(store, "ingredients", "rum") is None
    put(store, "ingredients", ingredient("cane-rum", name="RUM"))
    made = put(store, "ingredients", ingredient("rum", name="Another"))
    assert (made.revision, made.valid_from) == (3, "2026-11-25")
    with store.reading() as connection:
        states = [row.state for row in history_of(connection, "ingredients", "rum", 0, 10)]
    assert states == ["live", "gone", "live"]


def test_what_is_named_cannot_be_deleted_and_the_users_are_told(store: Store) -> None:
    put(store, "ingredients", ingredient("rum"))
    put(store, "preparations", part("syrup", ["rum"], outputs=[
        {"id": "curd", "amount": "5 ml", "cost_share_percent": "40"},
        {"id": "whey", "amount": "5 ml", "cost_share_percent": "60"}]))  # fmt: skip
    put(store, "drinks", drink("punch", ["rum", "whey"]))
    for kind, entry_id, users in (
        ("ingredients", "rum", [("drinks", "punch"), ("preparations", "syrup")]),
        ("preparations", "syrup", [("drinks", "punch")]),
    ):
        with pytest.raises(InUse) as caught:
            remove(store, kind, entry_id)
        assert list(caught.value.users) == users
    with pytest.raises(InUse) as caught:  # a product that a drink names cannot vanish, the other one may
        put(store, "preparations", part("syrup", ["rum"]))
    assert list(caught.value.users) == [("drinks", "punch")]
    put(store, "preparations", part("syrup", ["rum"], outputs=[
        {"id": "whey", "amount": "5 ml", "cost_share_percent": "100"}]))  # fmt: skip
    remove(store, "drinks", "punch")
    remove(store, "preparations", "syrup")
    remove(store, "ingredients", "rum")
    with store.reading() as connection:
        assert connection.execute(select(ENTRIES)).all() == []
        assert connection.execute(select(USES)).all() == []


def test_what_does_not_exist_is_told_at_its_place(store: Store) -> None:
    assert _faults(store, "preparations", part("syrup", ["water", "nothing"])) == [("item_unknown", "/lines/1/item")]
    assert _faults(store, "offers", offer("o", "water", venue="nowhere")) == [
        ("unknown_supplier", "/supplier"),
        ("unknown_venue", "/venue"),
    ]
    menu: Body = {"id": "m", "name": "M", "entries": [{"drink": "none"}]}
    assert _faults(store, "menus", menu) == [("unknown_drink", "/entries/0/drink")]
    assert store.versions().cost == 0


def test_what_is_archived_serves_its_old_users_and_no_new_ones(store: Store) -> None:
    put(store, "ingredients", ingredient("rum"))
    put(store, "drinks", drink("punch", ["rum"]))
    set_state(store, "ingredients", "rum", "archived")
    put(store, "drinks", drink("punch", ["rum", "water"]))
    assert _faults(store, "drinks", drink("sour", ["rum"])) == [("archived", "/lines/0/item")]
    set_state(store, "ingredients", "rum", "live")
    put(store, "drinks", drink("sour", ["rum"]))


def test_products_are_archived_with_their_preparation(store: Store) -> None:
    put(store, "preparations", part("split", ["water"], outputs=[
        {"id": "whey", "amount": "5 ml", "cost_share_percent": "100"}]))  # fmt: skip
    set_state(store, "preparations", "split", "archived")
    assert _faults(store, "drinks", drink("sour", ["whey"])) == [("archived", "/lines/0/item")]


def test_a_cycle_is_refused_with_its_path(store: Store) -> None:
    assert _faults(store, "preparations", part("own", ["own"])) == [("item_unknown", "/lines/0/item")]
    put(store, "preparations", part("own", ["water"]))
    assert _faults(store, "preparations", part("own", ["own"])) == [("cycle", "/lines")]
    put(store, "preparations", part("c", ["water"]))
    put(store, "preparations", part("b", ["c"]))
    put(store, "preparations", part("a", ["b"]))
    with pytest.raises(InputFaults) as caught:
        put(store, "preparations", part("c", ["water", "a"]))
    (fault,) = caught.value.faults
    assert (fault.code, fault.pointer) == ("cycle", "/lines")
    assert "c > a > b > c" in fault.detail
    now = held(store, "preparations", "c")
    assert now is not None
    assert now.revision == 1


def test_a_cycle_through_a_product_is_one(store: Store) -> None:
    put(store, "preparations", part("split", ["water"], outputs=[
        {"id": "whey", "amount": "5 ml", "cost_share_percent": "100"}]))  # fmt: skip
    put(store, "preparations", part("foam", ["whey"]))
    body = part("split", ["foam"], outputs=[{"id": "whey", "amount": "5 ml", "cost_share_percent": "100"}])
    assert _faults(store, "preparations", body) == [("cycle", "/lines")]


# Unicode 15, section 3.13: caseless matching; "e" + U+0301 is U+00E9 in NFC; sharp s folds to "ss".
@pytest.mark.parametrize("twins", [
    ("Caf\u00e9", "Cafe\u0301"), ("STRASSE", "stra\u00dfe"), ("Long  Jetty", "long jetty"),
    ("\u212bngstrom", "\u00e5NGSTROM"),
])  # fmt: skip
def test_names_are_one_whatever_their_case_or_form(store: Store, twins: tuple[str, str]) -> None:
    put(store, "ingredients", ingredient("one", name=twins[0]))
    with pytest.raises(Conflict, match="name_taken"):
        put(store, "ingredients", ingredient("two", name=twins[1]))
    put(store, "preparations", part("two", ["water"], name=twins[1]))
    put(store, "ingredients", ingredient("one", name=twins[1]))


def test_dotted_and_dotless_i_are_two_names(store: Store) -> None:
    for number, name in enumerate(("I", "\u0131", "\u0130")):  # folding without a language keeps the three apart
        put(store, "ingredients", ingredient(f"i-{number}", name=name))


def test_an_external_id_names_one_entry_of_its_kind(store: Store) -> None:
    put(store, "ingredients", ingredient("one", external_ids=["PLU:1", "PLU:2"]))
    with pytest.raises(Conflict, match="external_id_taken"):
        put(store, "ingredients", ingredient("two", external_ids=["PLU:2"]))
    put(store, "preparations", part("three", ["water"], external_ids=["PLU:2"]))
    put(store, "ingredients", ingredient("one", external_ids=["PLU:1"]))
    put(store, "ingredients", ingredient("two", external_ids=["PLU:2"]))


def test_ids_that_lines_may_name_are_one_space(store: Store) -> None:
    put(store, "ingredients", ingredient("rum"))
    with pytest.raises(Conflict, match="id_taken"):
        put(store, "preparations", part("rum", ["water"]))
    put(store, "preparations", part("syrup", ["water"]))
    with pytest.raises(Conflict, match="id_taken"):
        put(store, "ingredients", ingredient("syrup"))


NEXT = date(2027, 1, 1)


def test_a_name_is_kept_until_the_day_on_which_it_changes(store: Store) -> None:
    put(store, "ingredients", ingredient("one", name="Old", external_ids=["PLU:1"]))
    put(store, "ingredients", ingredient("one", name="New", external_ids=["PLU:2"]), NEXT)
    free, planned = "it is free on 2027-01-01, so ask for it again", "planned from 2027-01-01 on"
    for name, why in (("OLD", free), ("new", planned)):
        with pytest.raises(Conflict, match=f"name_taken.*{why}"):
            put(store, "ingredients", ingredient("two", name=name))
    for value, why in (("PLU:1", free), ("PLU:2", planned)):
        with pytest.raises(Conflict, match=f"external_id_taken.*{why}"):
            put(store, "ingredients", ingredient("two", external_ids=[value]))
    later = datetime(2027, 1, 1, 12, tzinfo=UTC)  # the old ones are free from that day on
    put(store, "ingredients", ingredient("two", name="Old", external_ids=["PLU:1"]), now=later)
    with pytest.raises(Conflict, match="name_taken"):
        put(store, "ingredients", ingredient("three", name="New"), now=later)


def test_two_swap_their_names_on_the_day_itself_and_not_ahead(store: Store) -> None:
    """One write changes one entry, so on the way a third name is needed; ahead of the day either name has an owner."""
    put(store, "ingredients", ingredient("one", name="First"))
    put(store, "ingredients", ingredient("two", name="Second"))
    with pytest.raises(Conflict, match="name_taken"):
        put(store, "ingredients", ingredient("one", name="Second"), NEXT)
    on_the_day = datetime(2027, 1, 1, 12, tzinfo=UTC)
    for entry_id, name in (("one", "On the way"), ("two", "First"), ("one", "Second")):
        put(store, "ingredients", ingredient(entry_id, name=name), now=on_the_day)
    names = [body_of(entry)["name"] for entry in (held(store, "ingredients", one) for one in ("one", "two")) if entry]
    assert names == ["Second", "First"]


def test_what_is_named_until_a_day_cannot_be_deleted_before(store: Store) -> None:
    for item in ("rum", "gin"):
        put(store, "ingredients", ingredient(item))
    put(store, "drinks", drink("sour", ["rum"]))
    put(store, "drinks", drink("sour", ["gin"]), NEXT)
    for item in ("rum", "gin"):
        with pytest.raises(InUse) as caught:
            remove(store, "ingredients", item)
        assert list(caught.value.users) == [("drinks", "sour")]
    remove(store, "ingredients", "rum", datetime(2027, 1, 1, 12, tzinfo=UTC))


def test_a_circle_of_one_day_is_refused(store: Store) -> None:
    put(store, "preparations", part("a", ["water"]))
    put(store, "preparations", part("b", ["a"]))
    put(store, "preparations", part("b", ["water"]), NEXT)  # until then it is made of the first
    with pytest.raises(InputFaults, match="cycle"):
        put(store, "preparations", part("a", ["b"]))


def test_a_spec_that_is_to_change_moves_what_it_is_made_of_until_then(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    for item in ("rum", "gin"):
        put(store, "ingredients", ingredient(item))
    put(store, "drinks", drink("sour", ["rum"]))
    put(store, "drinks", drink("sour", ["gin"]), NEXT)
    start = store.versions()
    put(store, "offers", offer("o", "rum"))
    put(store, "ingredients", ingredient("rum", abv_percent="40"))
    put(store, "ingredients", ingredient("rum", abv_percent="40"), NEXT)  # as it is said already
    with store.reading() as connection:
        costs = changes_from(connection, "costs", start.cost, "~", None, 10)
        labels = changes_from(connection, "labels", start.data, "~", None, 10)
    assert [(row.drink, row.why) for row in costs] == [("sour", "price"), ("sour", "spec")]
    assert [(row.drink, row.since) for row in labels] == [("sour", "2026-11-25")]


def test_what_was_planned_and_comes_at_once_moves_a_label(store: Store) -> None:
    put(store, "ingredients", ingredient("rum", abv_percent="40"))
    put(store, "ingredients", ingredient("rum", abv_percent="50"), NEXT)
    before = store.versions().data
    put(store, "ingredients", ingredient("rum", abv_percent="50"))  # the newest revision says so, but not yet
    assert store.versions().data == before + 1


@pytest.mark.parametrize(("evidence", "moved"), [({"supplier": "quay"}, 1), ({"issuer": "Quay"}, 0)])
def test_the_end_of_an_offer_moves_a_label_where_a_declaration_is_about_one_supplier(
    store: Store, evidence: dict[str, str], moved: int
) -> None:
    for supplier in ("quay", "pier"):
        put(store, "suppliers", {"id": supplier, "name": supplier})
    put(store, "ingredients", ingredient("rum", allergens_declared="complete", evidence=evidence))
    put(store, "offers", offer("own", "rum"))
    put(store, "offers", offer("other", "rum", supplier="pier"))
    before = store.versions().data
    put(store, "offers", offer("other", "rum", supplier="pier", valid_to="2026-12-31"))
    assert store.versions().data - before == moved
    put(store, "offers", offer("other", "rum", "99.00", supplier="pier", valid_to="2026-12-31"))
    assert store.versions().data - before == moved  # a price never does


def test_a_way_of_selling_that_is_over_stands_for_no_other_offer(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "offers", offer("one", "water", pack={"size": "1 kg"}))
    put(store, "offers", offer("one", "water", pack={"size": "1 l"}))  # by mass until yesterday
    before = store.versions().data
    put(store, "offers", offer("two", "water", pack={"size": "1 kg"}))
    assert store.versions().data == before + 1


def test_the_day_from_which_drinks_move_is_the_first_of_a_list(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "drinks", drink("sour", ["lime-juice"]))
    rows = [(offer(f"o-{day}", "lime", valid_from=day), None, day) for day in ("2027-03-01", "2027-02-01")]
    version = change(store, lambda ledger: ledger.put_offers(rows))
    with store.reading() as connection:
        (row,) = changes_from(connection, "costs", version - 1, "~", None, 10)
    assert (row.drink, row.since) == ("sour", "2027-02-01")


def test_a_menu_moves_the_drinks_on_it_but_no_label_of_them(store: Store) -> None:
    for name in ("sour", "punch"):
        put(store, "drinks", drink(name, ["water"]))
    put(store, "menus", {"id": "m", "name": "M", "entries": [{"drink": "sour", "menu_price": "9.00"}]})
    start = store.versions()
    put(store, "menus", {"id": "m", "name": "M", "entries": [{"drink": "punch", "menu_price": "9.00"}]})
    set_state(store, "menus", "m", "archived")
    with store.reading() as connection:
        costs = changes_from(connection, "costs", start.cost, "~", None, 10)
        labels = changes_from(connection, "labels", start.data, "~", None, 10)
    assert [(row.drink, row.why) for row in costs] == [("punch", "price"), ("sour", "price"), ("punch", "price")]
    assert labels == []


def test_the_currency_of_public_prices_is_announced_and_no_other_pricing(store: Store) -> None:
    """A board with prices for everyone is kept by the version of labels; what they are in is as public as they are."""

    def priced(**pricing: str) -> int:
        put(store, "venues", {"id": "group", "name": "All", "pricing": pricing})
        return store.versions().data

    put(store, "drinks", drink("sour", ["water"]))
    first = priced(currency="EUR")
    assert priced(currency="EUR", menu_price="9.00") == first
    assert priced(currency="USD", menu_price="9.00") == first + 1


def test_a_list_of_many_items_asks_the_store_no_more_often_than_one_of_few(store: Store) -> None:
    """The shape of an import: statements a batch, whatever the number of its items and of what is stored."""
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    asked: list[str] = []
    event.listen(store.engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    counts = []
    for name, items in (("few", 30), ("many", 480)):
        rows = [(offer(f"{name}-{one}", f"{name}-{one}", pack={"size": "1 kg"}), None, None) for one in range(items)]
        asked.clear()
        change(store, partial(Ledger.put_offers, rows=rows))
        counts.append(len(asked))
    assert counts[0] == counts[1] < 30


def test_history_is_only_ever_added_to(store: Store) -> None:
    put(store, "ingredients", ingredient("rum"))
    for table in (AUDIT, REVISIONS):
        for statement in (f"UPDATE {table.name} SET version = 7", f"DELETE FROM {table.name}"):
            with pytest.raises(DBAPIError, match="history is not changed"), store.writing() as connection:
                connection.execute(text(statement))
    with store.reading() as connection:
        assert len(history_of(connection, "ingredients", "rum", 0, 10)) == 1


def test_the_trail_tells_who_did_what_before_and_after(store: Store) -> None:
    put(store, "ingredients", ingredient("rum", name="A"))
    put(store, "ingredients", ingredient("rum", name="B"))
    set_state(store, "ingredients", "rum", "archived")
    set_state(store, "ingredients", "rum", "live")
    remove(store, "ingredients", "rum")
    with store.reading() as connection:
        rows = audit_after(connection, 0, 100, None, None)
    assert [row.action for row in rows] == ["create", "replace", "archive", "reinstate", "delete"]
    assert [row.version for row in rows] == [1, 2, 3, 4, 5]
    assert {(row.key_id, row.request_id) for row in rows} == {("key-1", "request-1")}
    a, b = '{"id":"rum","name":"A"}', '{"id":"rum","name":"B"}'
    assert [(row.before, row.after) for row in rows] == [(None, a), (a, b), (b, b), (b, b), (b, None)]
    sequences = [row.sequence for row in rows]
    assert sequences == sorted(set(sequences))


def test_a_change_reaches_the_drinks_it_is_in_however_deep(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "ingredients", ingredient("rum"))
    put(store, "preparations", part("syrup", ["rum"]))
    put(store, "preparations", part("cordial", ["syrup"]))
    put(store, "drinks", drink("punch", ["cordial"]))
    put(store, "drinks", drink("sour", ["lime-juice"]))
    start = store.versions()
    put(store, "offers", offer("o", "rum"))
    put(store, "offers", offer("l", "lime", pack={"size": "1 l"}))  # the juice is priced from the fruit
    put(store, "preparations", part("syrup", ["rum", "water"]))
    with store.reading() as connection:
        costs = changes_from(connection, "costs", start.cost, "~", None, 10)
        labels = changes_from(connection, "labels", start.data, "~", None, 10)
    assert [(row.drink, row.why) for row in costs] == [("punch", "price"), ("sour", "price"), ("punch", "spec")]
    assert [(row.drink, row.why) for row in labels] == [("punch", "spec")]
