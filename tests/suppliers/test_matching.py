"""Rows are matched by GTIN, then by code, never by name. GTINs lie in the range that GS1 keeps for demonstrations."""

import time
from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from schemas.offer import Offer
from service.amounts import Measures
from service.errors import InputFault
from service.suppliers.current import CurrentOffer, current_offers
from service.suppliers.listed import Listed
from service.suppliers.matching import NameIndex, OfferIndex, code_key, gtin_of
from service.suppliers.newids import NewIds
from service.suppliers.rows import NumberText
from service.suppliers.workings import Workings


def offer(id: str, code: str | None = None, gtin: str | None = None) -> CurrentOffer:
    return CurrentOffer(id, "gin", code, gtin, None, 6, "70 cl", Decimal(100), "EUR")


def test_gtins_of_every_length_are_compared_by_14_digits() -> None:
    # GS1 General Specifications, 7.9: 3 and 1 in turn from the right. 96385074: 3*7+0+3*5+8+3*3+6+3*9 = 86, so 4.
    assert gtin_of("96385074") == "00000096385074"
    assert gtin_of("9520410001370") == gtin_of("09520410001370") == gtin_of("952-0410-00137 0")
    # A number cell has lost the zero before a GTIN-12: 036000291452 of the same document's examples.
    assert gtin_of(NumberText("36000291452")) == gtin_of("036000291452") == "00036000291452"


@pytest.mark.parametrize(
    ("text", "code"),
    [("9520410001371", "gtin_check_digit"), ("96385075", "gtin_check_digit"), ("9.52041E+12", "gtin_unreadable"),
     ("123", "gtin_unreadable"), ("36000291452", "gtin_unreadable"),
     ("٩٦٣٨٥٠٧٤", "gtin_unreadable"), ("none", "gtin_unreadable")],
)  # fmt: skip
def test_a_gtin_that_is_wrong_is_refused(text: str, code: str) -> None:
    with pytest.raises(InputFault) as caught:
        gtin_of(text)
    assert caught.value.code == code


def test_the_gtin_decides_before_the_code() -> None:
    index = OfferIndex([offer("a", "A", "9520410001370"), offer("b", "B")])
    assert index.match("09520410001370", "a").by == "gtin"
    assert index.match(None, "b").offer == offer("b", "B")
    assert index.match("00000096385074", "b").by == "code"
    assert index.match("00000096385074", "c").offer is None
    with pytest.raises(InputFault, match="match_conflict"):
        index.match("09520410001370", "b")


def test_another_mark_of_the_same_article_is_told() -> None:
    index = OfferIndex([offer("a", "A", "9520410001370")])
    assert index.match("00000096385074", "a").changed == "gtin"
    assert index.match("09520410001370", "z").changed == "code"
    assert index.match("09520410001370", "a").changed is None
    assert index.match("09520410001370", None).changed is None


def test_two_offers_of_one_mark_are_refused_unless_the_other_mark_tells() -> None:
    index = OfferIndex([offer("a", "A", "9520410001370"), offer("b", "A", "96385074")])
    assert index.match("00000096385074", "a").offer == offer("b", "A", "96385074")
    with pytest.raises(InputFault, match="match_ambiguous"):
        index.match(None, "a")


def test_codes_are_compared_without_case_in_one_normal_form() -> None:
    assert code_key("Cafe\u0301-1") == code_key("CAF\u00c9-1 ")
    assert code_key("A 1") != code_key("A1")


def test_a_name_suggests_the_item_that_shares_most_words() -> None:
    index = NameIndex({"gin": "Harbour gin", "rum": "Harbour rum, dark", "lime": "Lime"})
    suggestion = index.suggestion("HARBOUR GIN 44 %")
    assert suggestion is not None
    assert (suggestion.id, suggestion.name) == ("gin", "Harbour gin")
    assert suggestion.why == "Both names have: gin, harbour."
    assert index.suggestion("Tonic") is None
    # "Harbour" alone is half of the words of one and less of the other; a tie suggests nothing.
    assert NameIndex({"a": "Old tom", "b": "Old jack"}).suggestion("old") is None


def test_a_suggestion_costs_a_bounded_number_of_steps() -> None:
    index = NameIndex({f"item-{number}": f"gin {number % 70} {number % 900}" for number in range(50_000)})
    start = time.perf_counter()
    for _ in range(100):
        index.suggestion("gin " * 200)
        index.suggestion("gin 7 77 777 " + "x" * 1000)
    assert time.perf_counter() - start < 2


def test_current_offers_are_those_of_the_supplier_on_the_day() -> None:
    def stored(id: str, **more: object) -> Offer:
        base = {
            "id": id, "item": "gin", "supplier": "A", "pack": {"count": 6, "size": "70 cl"},
            "price": {"amount": "10", "currency": "EUR"},
        }  # fmt: skip
        return Offer.model_validate({**base, **more})

    offers = [
        stored("a"),
        stored("b", valid_from="2026-12-02"),
        stored("c", valid_to="2026-11-30"),
        stored("d", supplier="B"),
        stored("e", valid_from="2026-12-01", valid_to="2026-12-01", pack={"size": {"value": "0.7", "unit": "l"}}),
    ]
    found = list(current_offers(offers, "A", date(2026, 12, 1), {"gin": "Gin"}))
    assert [one.id for one in found] == ["a", "e"]
    assert (found[0].name, found[0].count, found[0].price) == ("Gin", 6, Decimal(10))
    assert (found[1].size, found[1].count) == ("0.7 l", 1)


@pytest.mark.parametrize(
    ("size", "ounce", "by_mass", "plain"),
    # The imperial ounce is 28.4130625 ml (Weights and Measures Act 1985), the pound's sixteenth 28.349523125 g (1959).
    [("16 oz", "imperial", False, "454.609 ml"), ("16 oz", "us", False, "16 oz"), ("16 oz", "us", True, "453.59237 g"),
     ("70 cl", "imperial", False, "70 cl"), ("2 limes", "us", False, "2 limes")],
)  # fmt: skip
def test_a_size_without_a_system_is_read_by_the_house(size: str, ounce: Any, by_mass: bool, plain: str) -> None:
    stored = Offer.model_validate(
        {"id": "a", "item": "x", "supplier": "A", "pack": {"size": size}, "price": {"amount": "1", "currency": "EUR"}}
    )
    day = date(2026, 12, 1)
    (found,) = current_offers([stored], "A", day, measures=Measures(ounce), kept_by_mass=lambda _: by_mass)
    assert found.size == plain


def new_ids(codes: Sequence[str], taken: Collection[str] = ()) -> list[str]:
    rows = [Listed(number, code=code) for number, code in enumerate(codes, 2)]
    ids = NewIds("bc", lambda asked: [one for one in asked if one in taken], Workings(()))
    ids.look_up(rows)
    return [ids.of(listed) for listed in rows]


@pytest.mark.parametrize("code", ["A/1", "A-1 ", "Å1", "-", "x" * 100, "A--1"])
def test_a_code_that_does_not_read_as_an_id_gets_a_digest(code: str) -> None:
    (found,) = new_ids([code])
    assert new_ids([code]) == [found]
    assert found.startswith("bc-")
    assert Offer.model_validate(
        {
            "id": found,
            "item": "x",
            "supplier": "A",
            "pack": {"size": "1 l"},
            "price": {"amount": "1", "currency": "EUR"},
        }
    )
    assert new_ids([code], {found})[0] not in (found, "")


def test_ids_of_codes_that_look_alike_differ() -> None:
    ids = new_ids(["A-1", "A/1", "A 1", "A.1", "A--1"])
    assert len(set(ids)) == 5
    assert "bc-a-1" in ids


def test_an_id_that_is_taken_is_not_given_again() -> None:
    taken = {"bc-a-1"}
    (found,) = new_ids(["A-1"], taken)
    assert found not in taken
    assert found.startswith("bc-a-1-")


def test_one_id_is_given_once_in_a_page_and_in_the_next() -> None:
    """A GTIN and a code of the same digits are two articles, whose plain ids would be one."""
    digits = "09520410001370"
    ids = NewIds("bc", lambda asked: (), Workings(()))
    given = []
    for page in ([Listed(2, code=digits), Listed(3, gtin_14=digits)], [Listed(4, gtin_14=digits)]):
        ids.look_up(page)
        given += [ids.of(listed) for listed in page]
    assert len(set(given)) == 3
    assert given[0] == f"bc-{digits}"
