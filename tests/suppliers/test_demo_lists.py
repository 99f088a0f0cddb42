"""The demo's two lists are read by their kept options, beside the demo's own offers."""

import tomllib
from datetime import date

import pytest

from schemas.offer import Offer
from schemas.price_list import PriceListOptions, PriceListReport
from service.demo import FOLDER, demo
from service.reference import reference
from service.suppliers.current import current_offers
from service.suppliers.itemfacts import ItemFacts, facts_of
from service.suppliers.price_list import PriceList, offers_to_write
from service.suppliers.reporting import report
from tests.suppliers.lists import CSV, doubts

NAMES = ("osk-lane", "tarrick-wharf")
DAY = date(2026, 12, 1)


def facts(item: str) -> ItemFacts | None:
    found = demo().items.get(item) or reference().items.get(item)
    return None if found is None else facts_of(found)


def listed(name: str, confirm: tuple[int, ...] = ()) -> PriceList:
    folder = FOLDER / "price_lists"
    stated = tomllib.loads((folder / f"{name}.toml").read_text("utf-8"))
    options = PriceListOptions.model_validate({**stated, "confirm": confirm})
    offers = current_offers(demo().offers, options.supplier, DAY)
    return PriceList((folder / f"{name}.csv").read_bytes(), CSV, options, offers, facts)


def read(name: str) -> PriceListReport:
    return report(listed(name))


def test_every_list_has_its_options() -> None:
    folder = FOLDER / "price_lists"
    for suffix in (".csv", ".toml"):
        assert sorted(path.stem for path in folder.glob(f"*{suffix}")) == list(NAMES)
    assert {listed(name).options.supplier for name in NAMES} == {offer.supplier for offer in demo().offers}


# Counted by hand from the lists and offers.toml: new, up, down, unchanged.
@pytest.mark.parametrize(("name", "counts"), [("tarrick-wharf", (1, 4, 3, 3)), ("osk-lane", (1, 3, 2, 3))])
def test_outcomes(name: str, counts: tuple[int, ...]) -> None:
    found = read(name).counts
    assert (found.new, found.up, found.down, found.unchanged) == counts
    assert (found.refused, found.left_out) == (0, 0)


def test_the_two_are_written_differently() -> None:
    first, second = (read(name).read_as for name in NAMES)
    assert (first.delimiter, first.decimal, first.header_row) == (",", ".", 1)
    assert (second.delimiter, second.decimal, second.header_row) == (";", ",", 3)


def test_one_row_must_be_confirmed_before_the_list_can_be_taken_in() -> None:
    found = read("tarrick-wharf")
    doubtful = [row for row in found.rows if row.must_confirm]
    assert [row.row for row in doubtful] == [9]
    # 28.00 is a sixth of 168.00.
    assert doubts(doubtful[0]) == ["near_pack_count", "over_limit"]
    assert not found.committable
    assert report(listed("tarrick-wharf", (9,))).committable
    assert read("osk-lane").committable


def test_what_is_written_are_offers_of_known_items() -> None:
    written = [one for name, rows in zip(NAMES, ((), (9,)), strict=True) for one in offers_to_write(listed(name, rows))]
    # 1 + 3 + 2 and 1 + 4 + 3 by the counts above.
    assert len(written) == 14
    known = {offer.id for offer in demo().offers}
    for one in written:
        offer = Offer.model_validate(one.offer)
        assert facts(offer.item) is not None
        assert (offer.id in known) == (one.changes is not None)
