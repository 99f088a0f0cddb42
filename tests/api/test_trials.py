"""What is refused when it is written, since answers could not be made of it; and what stays as it was then."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine

from service.settings import Settings
from tests.api.bar import write
from tests.api.conftest import Client

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
RUM = [{"item": "pier-rum", "amount": "50 ml"}]


def _bar() -> Iterator[Client]:
    made = Client(Settings())
    with time_machine.travel(NOW, tick=False):
        write(made)
        yield made
    made.close()


bar = pytest.fixture(_bar, name="bar")
"""The bar of the stored resources, at noon of one day."""
kept = pytest.fixture(_bar, name="kept", scope="module")
"""The same for all tests that change nothing of it."""


def _put(bar: Client, path: str, body: object, **headers: str) -> Any:
    return bar.ask("PUT", path, json=body, headers={"If-Match": "*"} if headers.pop("replace", None) else headers)


def _patched(bar: Client, path: str, body: object) -> Any:
    return bar.ask("PATCH", path, json=body, headers={"If-Match": "*"})


def _told(bar: Client, path: str, **headers: str) -> Any:
    answer = bar.get(path, headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()


def _refused(answer: Any) -> list[tuple[str, str]]:
    assert answer.status_code == 422, answer.text
    return [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({"jurisdictions": ["EU", "UK"]}, ("jurisdiction_unknown", "/jurisdictions/1")),
        ({"pricing": {"currency": "XXQ"}}, ("currency_unknown", "/pricing/currency")),
        ({"pricing": {"choose": {"pier-rum": "nope"}}}, ("unknown_offer", "/pricing/choose/pier-rum")),
        ({"pricing": {"choose": {"orgeat": "rum-case"}}}, ("offer_unknown", "/pricing/choose/orgeat")),
    ],
)
def test_a_venue_that_no_answer_could_be_made_for_is_refused(
    kept: Client, body: dict[str, Any], fault: tuple[str, str]
) -> None:
    assert _refused(_put(kept, "/v1/venues/new", {"name": "New", **body})) == [fault]
    assert _refused(_patched(kept, "/v1/venues/terrace", body)) == [fault]


def test_an_offer_that_a_venue_chooses_is_not_deleted(bar: Client) -> None:
    assert _patched(bar, "/v1/venues/terrace", {"pricing": {"choose": {"pier-rum": "rum-case"}}}).status_code == 200
    answer = bar.ask("DELETE", "/v1/offers/rum-case", headers={"If-Match": "*"})
    assert answer.status_code == 409
    assert [fault["detail"] for fault in answer.json()["errors"]] == ["venues/terrace"]
    _told(bar, "/v1/drinks/quay-sour/cost?venue=terrace")


def test_the_houses_own_floor_holds_for_stored_drinks(bar: Client) -> None:
    """50 ml of rum at a margin of 78 % ask for 10.00 (tests/api/test_venues.py has it by hand): a floor of 15.20 is
    over it, and on steps of 0.50, upwards, 15.50.
    """
    assert _patched(bar, "/v1/venues/group", {"pricing": {"floor": "15.20"}}).status_code == 200
    assert _put(bar, "/v1/drinks/rum", {"name": "Rum", "lines": RUM}).status_code == 201
    price = _told(bar, "/v1/drinks/rum/cost")["price"]
    assert (price["suggested"], price["floor"]["amount"]) == ("15.50", "15.20")


@pytest.mark.parametrize(
    ("name", "stated"),
    [
        ("floor", "15.00"),
        ("labour", {"minutes": "2", "rate_per_hour": "30.00"}),
        ("target", {"gross_margin_percent": "78", "cash_margin": "8.00"}),
    ],
)
def test_a_sum_of_the_group_is_never_read_in_the_currency_of_a_venue(bar: Client, name: str, stated: object) -> None:
    """30.00 EUR an hour are not 30.00 GBP an hour."""
    rates = [{"from": "EUR", "to": "GBP", "rate": "0.87"}, {"from": "USD", "to": "GBP", "rate": "0.78"}]
    pounds = {"name": "Quayside", "pricing": {"currency": "GBP", "rates": rates}}
    assert _put(bar, "/v1/venues/quayside", pounds).status_code == 201
    answer = _patched(bar, "/v1/venues/group", {"pricing": {name: stated}})
    assert _refused(answer) == [("pricing_mixed", f"/pricing/{name}")]
    assert "quayside" in answer.json()["errors"][0]["detail"]
    own: object = {"cash_margin": "7.00"} if name == "target" else stated
    assert _patched(bar, "/v1/venues/quayside", {"pricing": {name: own}}).status_code == 200
    assert _patched(bar, "/v1/venues/group", {"pricing": {name: stated}}).status_code == 200
    assert _told(bar, "/v1/drinks/quay-sour/cost?venue=quayside")["cost"]["currency"] == "GBP"
    assert _refused(_patched(bar, "/v1/venues/quayside", {"pricing": {name: None}})) == [
        ("pricing_mixed", f"/pricing/{name}")
    ]


def test_a_menu_of_no_venue_asks_no_price_where_there_is_another_currency(bar: Client) -> None:
    """12.00 on the evening's menu are euros, the group's, and never 12.00 pounds."""
    rates = [{"from": "EUR", "to": "GBP", "rate": "0.87"}, {"from": "USD", "to": "GBP", "rate": "0.78"}]
    assert (
        _put(bar, "/v1/venues/quayside", {"name": "Quayside", "pricing": {"currency": "GBP", "rates": rates}})
    ).status_code == 201
    here = _told(bar, "/v1/drinks/quay-sour/cost?menu=evening")["price"]["at_menu_price"]
    assert here["menu_price"] == "12.00"
    for path in ("/v1/drinks/quay-sour/cost?venue=quayside", "/v1/drinks/quay-sour/cost?venue=quayside&menu=evening"):
        assert _told(bar, path)["price"]["at_menu_price"] is None
    printed = _told(bar, "/v1/menus/evening/label?venue=quayside")["drinks"]
    assert printed
    assert all("menu_price" not in row for row in printed)
    books = _told(bar, "/v1/menus/evening/margins?venue=quayside")
    assert (books["total"]["gross"], {row["field"] for row in books["missing"]}) == ("0.00", {"menu_price"})


def test_a_menu_price_that_nobody_can_pay_is_refused(kept: Client) -> None:
    entries = [{"drink": "quay-sour", "menu_price": price} for price in ("12.345",)]
    answer = _put(kept, "/v1/menus/odd", {"name": "Odd", "entries": entries})
    assert _refused(answer) == [("menu_price_not_payable", "/entries/0/menu_price")]
    _told(kept, "/v1/drinks/quay-sour/cost")


def test_a_currency_in_which_no_menu_could_be_paid_is_refused(bar: Client) -> None:
    """The yen has no smaller unit (ISO 4217): 12.50 of them are no price, 12 are."""
    entries = [{"drink": "quay-sour", "menu_price": "12.50"}]
    assert _patched(bar, "/v1/menus/deck", {"entries": entries}).status_code == 200
    answer = _patched(bar, "/v1/venues/terrace", {"pricing": {"currency": "JPY"}})
    assert _refused(answer) == [("menu_price_not_payable", "/pricing/currency")]
    assert "deck" in answer.json()["errors"][0]["detail"]
    assert _patched(bar, "/v1/menus/deck", {"entries": [{**entries[0], "menu_price": "12.00"}]}).status_code == 200
    assert _patched(bar, "/v1/venues/terrace", {"pricing": {"currency": "JPY"}}).status_code == 200


def test_one_drink_has_one_price_on_a_menu_on_one_day(bar: Client) -> None:
    first = {"drink": "quay-sour", "menu_price": "10.00", "section": "Short", "valid_to": "2026-11-30"}
    again = {"drink": "quay-sour", "menu_price": "11.00", "section": "Ours", "valid_from": "2026-11-30"}
    menu = {"name": "Twice", "entries": [first, again]}
    assert _refused(_put(bar, "/v1/menus/twice", menu)) == [("menu_price_differs", "/entries/1/menu_price")]
    for row in ({**again, "valid_from": "2026-12-01"}, {**again, "menu_price": "10.00"}):
        body = {"name": "Twice", "entries": [first, row]}
        replaced = {"replace": "yes"} if row["menu_price"] == "10.00" else {}
        assert _put(bar, "/v1/menus/twice", body, **replaced).is_success


def test_a_menu_and_its_drinks_agree_on_modifiers(bar: Client) -> None:
    long = {"id": "long", "name": "Long", "scale": "1.5"}
    entries = [{"drink": "quay-sour"}, {"drink": "quay-sour", "with": ["long"]}]
    menu = {"name": "Long ones", "entries": entries}
    assert _refused(_put(bar, "/v1/menus/long", menu)) == [("modifier_unknown", "/entries/1/with/0")]
    assert _patched(bar, "/v1/drinks/quay-sour", {"modifiers": [long]}).status_code == 200
    assert _put(bar, "/v1/menus/long", menu).status_code == 201
    answer = _patched(bar, "/v1/drinks/quay-sour", {"modifiers": [{**long, "id": "longer"}]})
    assert (answer.status_code, answer.json()["errors"][0]["detail"]) == (409, "menus/long")
    assert _patched(bar, "/v1/menus/long", {"entries": entries[:1]}).status_code == 200
    assert _patched(bar, "/v1/drinks/quay-sour", {"modifiers": []}).status_code == 200


def test_a_modifier_of_days_to_come_may_be_on_a_menu(bar: Client) -> None:
    long = {"id": "long", "name": "Long", "scale": "1.5"}
    later = bar.ask(
        "PATCH", "/v1/drinks/quay-sour?valid_from=2027-01-01", json={"modifiers": [long]}, headers={"If-Match": "*"}
    )
    assert later.status_code == 200, later.text
    entries = [{"drink": "quay-sour", "with": ["long"], "valid_from": "2027-01-01"}]
    assert _put(bar, "/v1/menus/long", {"name": "Long ones", "entries": entries}).status_code == 201


@pytest.mark.parametrize(
    ("modifier", "fault"),
    [
        ({"remove": ["egg-white"]}, ("modifier_item_missing", "/modifiers/1/remove/0")),
        ({"scale": [{"item": "egg-white", "factor": 2}]}, ("modifier_item_missing", "/modifiers/1/scale/0/item")),
        ({"scale": [{"role": "garnish", "factor": 2}]}, ("modifier_item_missing", "/modifiers/1/scale/0/role")),
        ({"replace": [{"item": "egg-white", "with": "orgeat"}]},
         ("modifier_item_missing", "/modifiers/1/replace/0/item")),
        ({"remove": ["pier-rum"]}, ("modifier_leaves_nothing", "/modifiers/1")),
        ({"add": [{"item": "orgeat", "amount": "1 wheel"}]}, ("unit_unknown", "/modifiers/1/add/0/amount")),
    ],
)  # fmt: skip
def test_a_modifier_that_never_works_is_refused_with_its_drink(
    kept: Client, modifier: dict[str, Any], fault: tuple[str, str]
) -> None:
    """The till would learn of it at the bar."""
    double = {"id": "double", "name": "Double", "scale": "2"}
    body = {"name": "Rum", "lines": RUM, "modifiers": [double, {"id": "odd", "name": "Odd", **modifier}]}
    assert _refused(_put(kept, "/v1/drinks/rum", body)) == [fault]


def test_a_modifier_may_act_on_what_another_one_brings(bar: Client) -> None:
    modifiers = [
        {"id": "foam", "name": "With foam", "add": [{"item": "egg-white", "amount": "1 each"}]},
        {"id": "no-foam", "name": "No foam", "remove": ["egg-white"]},
        {"id": "gin", "name": "With orgeat", "replace": [{"item": "pier-rum", "with": "orgeat"}]},
        {"id": "more", "name": "More of it", "scale": [{"item": "orgeat", "factor": 2}]},
    ]
    assert _put(bar, "/v1/drinks/rum", {"name": "Rum", "lines": RUM, "modifiers": modifiers}).status_code == 201
    assert _told(bar, "/v1/drinks/rum/evaluation?with=gin,more")["lines"][0]["volume_ml"] == 100


def test_a_patch_of_today_leaves_what_is_planned_for_later(bar: Client) -> None:
    """Rum at 141.00 today and at 170.00 from March: a new code today is no new price today."""
    offer, unit = "/v1/offers/rum-case", _told(bar, "/v1/drinks/quay-sour/cost")["cost"]["pour_cost"]
    today = _told(bar, offer)["price"]["amount"]
    plan = {"price": {"amount": "170.00", "currency": "EUR"}}
    bar.ask("PATCH", f"{offer}?valid_from=2027-03-01", json=plan, headers={"If-Match": "*"})
    assert _told(bar, offer)["price"]["amount"] == "170.00"
    assert _told(bar, f"{offer}?as_of=2026-11-25")["price"]["amount"] == today
    answer = _patched(bar, offer, {"code": "R-46"})
    assert (answer.json()["code"], answer.json()["price"]["amount"]) == ("R-46", today)
    assert _told(bar, "/v1/drinks/quay-sour/cost")["cost"]["pour_cost"] == unit
    assert _told(bar, f"{offer}?as_of=2027-03-01")["price"]["amount"] == "170.00"
    later = bar.ask("PATCH", f"{offer}?valid_from=2027-03-01", json={"code": "R-46"}, headers={"If-Match": "*"})
    assert (later.json()["code"], later.json()["price"]["amount"]) == ("R-46", "170.00")


def test_a_patch_that_names_its_day_is_merged_into_what_holds_on_it(bar: Client) -> None:
    """A plan of June is no part of what is asked for in January."""
    offer, headers = "/v1/offers/rum-cellar", {"If-Match": "*"}
    held = _told(bar, offer)
    plan = {**held, "code": "SUMMER", "valid_from": "2027-06-01"}
    assert _put(bar, offer, plan, replace="yes").status_code == 200
    asked = {"valid_from": "2027-01-01", "gtin": "9520410001370"}
    answer = bar.ask("PATCH", offer, json=asked, headers=headers)
    assert answer.status_code == 200, answer.text
    told = [_told(bar, f"{offer}?as_of={day}") for day in ("2026-12-31", "2027-01-01", "2027-06-01")]
    assert [(one.get("code"), one.get("gtin")) for one in told] == [
        (held.get("code"), held.get("gtin")), (held.get("code"), asked["gtin"]), ("SUMMER", held.get("gtin")),
    ]  # fmt: skip


def test_an_entry_is_read_as_of_a_day(bar: Client) -> None:
    almond = "/v1/drinks/almond-light"
    with time_machine.travel(datetime(2026, 11, 27, 12, tzinfo=UTC), tick=False):
        assert _patched(bar, almond, {"name": "Almond Lighter"}).status_code == 200
        assert _told(bar, f"{almond}?as_of=2026-11-26")["name"] == "Almond Light"
        menus = ("evening", "deck", "board")
        for menu in menus:
            assert _patched(bar, f"/v1/menus/{menu}", {"entries": []}).status_code == 200
        assert bar.ask("DELETE", almond, headers={"If-Match": "*"}).status_code == 204
        assert _told(bar, f"{almond}?as_of=2026-11-26")["name"] == "Almond Light"
        for path in (almond, f"{almond}?as_of=2026-11-27"):
            gone = bar.get(path)
            assert (gone.status_code, gone.json()["detail"]) == (404, "There is no drink of this id.")
    assert bar.get("/v1/offers/rum-cellar?as_of=2026-13-01").status_code == 422
    elsewhere = bar.key("costs:read", venue="terrace")
    assert bar.get("/v1/offers/rum-cellar?as_of=2026-11-25", headers=elsewhere).status_code == 404


@pytest.mark.parametrize(
    ("path", "detail"),
    [
        ("/v1/drinks/nope", "There is no drink of this id."),
        ("/v1/drinks/nope/cost", "There is no drink of this id on this day."),
        ("/v1/drinks/quay-sour/cost?venue=nope", "There is no venue of this id on this day."),
        ("/v1/drinks/quay-sour/cost?menu=nope", "There is no menu of this id on this day at this venue."),
        ("/v1/drinks/quay-sour/cost?menu=deck&venue=cellar", "There is no menu of this id on this day at this venue."),
        ("/v1/keys/nope", "There is no key of this id."),
        ("/v1/nope", "Nothing is served at this address."),
    ],
)
def test_what_is_not_there_is_named(kept: Client, path: str, detail: str) -> None:
    answer = kept.get(path, headers=kept.key("costs:read", "labels:read", "keys:admin"))
    assert (answer.status_code, answer.json()["detail"]) == (404, detail)


def test_a_drink_of_days_to_come_is_a_problem_of_its_own_line(bar: Client) -> None:
    body = {"name": "Later", "lines": RUM}
    assert bar.ask("PUT", "/v1/drinks/later?valid_from=2027-01-01", json=body).status_code == 201
    assert _put(bar, "/v1/menus/new", {"name": "New", "entries": [{"drink": "quay-sour"}, {"drink": "later"}]})
    for path in ("/v1/costs?menu=new", "/v1/labels?menu=new", "/v1/menus/new/label"):
        known, later = _told(bar, path)["drinks"]
        assert "problem" not in known
        assert later["problem"]["status"] == 404
    assert [row["drink"] for row in _told(bar, "/v1/allergen-work?menu=new")["problems"]] == ["later"]


def test_the_costs_of_another_venues_menu_are_no_history_of_a_key(kept: Client) -> None:
    path = "/v1/costs/history?from=2026-11-20&to=2026-11-25&menu=deck"
    own, other = (kept.key("costs:read", "margins:read", venue=venue) for venue in ("terrace", "cellar"))
    assert kept.get(path, headers=own).status_code == 200
    assert kept.get(path, headers=other).status_code == 404


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/v1/drinks?page_size=abc", "Expected a whole number."),
        ("/v1/drinks?external_id=PLU%207301", "external id"),
        ("/v1/menus/evening/margins?month=2026-13", "a month written YYYY-MM"),
    ],
)
def test_a_parameter_that_cannot_be_read_is_told_in_words(kept: Client, path: str, said: str) -> None:
    answer = kept.get(path)
    assert answer.status_code == 422
    assert said in answer.json()["errors"][0]["detail"]
    assert "^" not in answer.text


def _oat(bar: Client) -> None:
    """A drink with a modifier that brings what nobody declared anything of, on a menu of the terrace."""
    assert _put(bar, "/v1/ingredients/oat-cream", {"name": "Oat cream", "kind": "other"}).status_code == 201
    modifiers = [
        {"id": "oat", "name": "With oat cream", "add": [{"item": "oat-cream", "amount": "20 ml"}]},
        {"id": "long", "name": "Long", "scale": "1.5"},
    ]
    assert _put(bar, "/v1/drinks/rum", {"name": "Rum", "lines": RUM, "modifiers": modifiers}).status_code == 201


@pytest.mark.parametrize("entries", [[{"drink": "rum", "with": ["oat"]}], [{"drink": "rum"}]])
def test_what_a_modifier_brings_is_asked_of_suppliers_too(bar: Client, entries: list[dict[str, Any]]) -> None:
    """The label of rum with oat cream lists unknowns, so the work for its menu has to."""
    _oat(bar)
    assert _put(bar, "/v1/menus/oat", {"name": "Oat", "venue": "terrace", "entries": entries}).status_code == 201
    label = _told(bar, "/v1/drinks/rum/label?with=oat&venue=terrace")["allergens"]["declarations"]
    assert [row["jurisdiction"] for row in label] == ["US"]
    unknown = set(label[0]["unknown"])
    assert {"milk", "sesame"} <= unknown
    for path in ("/v1/allergen-work?menu=oat", "/v1/allergen-work?venue=terrace"):
        work = _told(bar, path)
        asked = {row["item"]: row for row in work["questions"]}["oat-cream"]
        assert asked["drinks"] == ["rum+oat"]
        assert set(asked["allergens"]) == unknown  # by the rules of the menu's own venue
        assert work["problems"] == []
        assert not any("long" in drink for row in work["questions"] for drink in row["drinks"])


def test_a_key_that_could_never_work_is_not_made(kept: Client) -> None:
    admin = kept.key("keys:admin")
    for day, status in (("2026-11-24", 422), ("2026-11-25", 201)):
        body = {"name": "Till", "scopes": ["costs:read"], "expires_on": day}
        answer = kept.ask("POST", "/v1/keys", json=body, headers=admin)
        assert answer.status_code == status, answer.text
        if status == 422:
            assert _refused(answer) == [("past", "/expires_on")]


def test_the_books_compare_no_menu_price_with_costs_in_another_currency(bar: Client) -> None:
    """12.00 and 13.00 on the evening's menu are euros, so that costs in pounds have nothing beside them."""
    rates = [{"from": "USD", "to": "EUR", "rate": "0.9"}]
    rates += [{"from": one, "to": "GBP", "rate": rate} for one, rate in (("EUR", "0.87"), ("USD", "0.78"))]
    assert _patched(bar, "/v1/venues/group", {"pricing": {"rates": rates}}).status_code == 200
    for currency, prices in (("EUR", {"12.00", "13.00", "14.00"}), ("GBP", {None})):
        body = {"menu": "evening", "currency": currency, "changes": [{"item": "pier-rum", "percent": "10"}]}
        answer = bar.ask("POST", "/v1/margins/moves", json=body)
        assert answer.status_code == 200, answer.text
        told = answer.json()["drinks"]
        assert told
        assert {row["menu_price"] for row in told} <= prices
        assert all((row["gross_margin_before"] is None) is (currency == "GBP") for row in told if row["cost_before"])
