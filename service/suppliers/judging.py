"""What one row would change: the offer it is about, the item it sells, and whether the change must be confirmed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from schemas.price_list import Outcome, PriceListOptions
from service.errors import InputFault
from service.suppliers.changes import Change, Doubt, Terms, change_between, same_currency
from service.suppliers.current import CurrentOffer
from service.suppliers.itemfacts import FactsOf, usable_pack
from service.suppliers.listed import Listed, gtin_text
from service.suppliers.matching import NO_MATCH, Match, NameIndex, OfferIndex, Suggestion, code_key
from service.suppliers.newids import NewIds, Taken
from service.suppliers.packs import WrittenPack
from service.suppliers.rows import clean, kept
from service.suppliers.workings import Workings


class Writing(NamedTuple):
    """One offer to write: ``offer`` holds what the list states, in the form of :class:`schemas.offer.Offer`.

    Where ``changes`` names an offer, that one keeps whatever the list does not state (deposit, discount and so on).
    """

    row: int
    changes: str | None
    offer: dict[str, Any]


@dataclass(slots=True)
class Judged:
    """What one row would change; ``offer`` is the id of the offer that it is about, ``writes`` if it writes it."""

    listed: Listed
    options: PriceListOptions
    outcome: Outcome = "refused"
    match: Match = NO_MATCH
    item: str | None = None
    offer: str | None = None
    change: Change | None = None
    reasons: list[InputFault] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    confirmed: bool = False
    suggestion: Suggestion | None = None
    writes: bool = False

    @property
    def blocks(self) -> bool:
        """Whether the list cannot be taken in because of this row."""
        return self.outcome == "refused" or bool(self.doubts and not self.confirmed)

    @property
    def writing(self) -> Writing | None:
        """What the row writes, put together when it is asked for."""
        listed, pack, price = self.listed, self.listed.pack, self.listed.price
        if not self.writes or pack is None or price is None:
            return None
        stated: dict[str, Any] = {
            "id": self.offer,
            "item": self.item,
            "supplier": self.options.supplier,
            "code": listed.code,
            "gtin": gtin_text(listed),
            "pack": {"count": pack.count, "size": pack.size},
            "price": {"amount": format(price, "f"), "currency": self.options.currency},
            "tax_included": listed.tax_included,
            "tax_rate_percent": None if listed.tax_rate_percent is None else format(listed.tax_rate_percent, "f"),
            "valid_from": None if listed.valid_from is None else listed.valid_from.isoformat(),
        }
        changes = None if self.match.offer is None else self.match.offer.id
        return Writing(listed.row, changes, {key: value for key, value in stated.items() if value is not None})


class Judge:
    """Judges the rows of one reading in the order of the file, a page of them looked up at once.

    ``workings`` remember which codes stand in several rows, which offers were met and which ids were given.
    """

    def __init__(
        self, options: PriceListOptions, facts: FactsOf, names: NameIndex, taken: Taken, workings: Workings
    ) -> None:
        self.options = options
        self._facts = facts
        self._names = names
        self._workings = workings
        self._new_ids = NewIds(options.offer_prefix, taken, workings)
        self._items = {_item_key(key): item for key, item in options.items.items()}
        self._confirm = frozenset(options.confirm)
        own = () if options.tax_rate_percent is None else (options.tax_rate_percent,)
        self._rates = tuple(dict.fromkeys((*options.tax_rates_percent, *own)))
        self._offers = OfferIndex(())
        self._places: dict[str, int] = {}
        self._matched: dict[str, int] = {}
        self._met: list[tuple[int, int]] = []
        workings.begin()

    def look_up(self, page: Sequence[Listed]) -> None:
        """Finds the offers that the next rows may be about; these rows are judged before others are looked up."""
        self._workings.keep_met(self._met)
        self._met.clear()
        gtins = [listed.gtin_14 for listed in page if listed.gtin_14 is not None]
        codes = [listed.code_key for listed in page if listed.code_key is not None]
        found = list(self._workings.offers_of(gtins, codes))
        self._offers = OfferIndex(one.offer for one in found)
        self._places = {one.offer.id: one.place for one in found}
        self._matched = {one.offer.id: one.row for one in found if one.row is not None}
        self._new_ids.look_up(
            listed
            for listed in page
            if (listed.code_key or listed.gtin_14) and not self._offers.has(listed.gtin_14, listed.code_key)
        )

    def judged(self, listed: Listed) -> Judged:
        """What the row changes, with all that is wrong with it."""
        judged = Judged(listed, self.options, item=listed.item, reasons=listed.faults)
        if listed.code_key is None and listed.gtin_14 is None:
            return judged
        if self._workings.twice:
            judged.reasons += self._duplicates(listed)
        try:
            judged.match = self._offers.match(listed.gtin_14, listed.code_key)
            if judged.match.offer is not None:
                self._check_matched(judged, judged.match.offer)
            else:
                judged.item = self._item(judged)
            pack = self._usable(judged)
            if judged.reasons or pack is None or listed.price is None:
                return judged
            self._compare(judged, pack, listed.price)
        except InputFault as fault:
            judged.reasons.append(kept(fault))
            return judged
        judged.confirmed = bool(judged.doubts) and listed.row in self._confirm
        return judged

    def _duplicates(self, listed: Listed) -> list[InputFault]:
        found = []
        for key in listed.marks():
            rows = self._workings.rows_of(key)
            if rows:
                others = ", ".join(str(row) for row in rows if row != listed.row)
                word = "GTIN" if key[0] == "g" else "code"
                found.append(InputFault("duplicate", f"The same {word} stands in row {others}."))
        return found

    def _check_matched(self, judged: Judged, offer: CurrentOffer) -> None:
        listed = judged.listed
        judged.offer, judged.item = offer.id, offer.item
        other = self._matched.setdefault(offer.id, listed.row)
        if other == listed.row:
            self._met.append((self._places[offer.id], listed.row))
        else:
            raise InputFault("duplicate", f"Row {other} is about the same offer.")
        if listed.item is not None and listed.item != offer.item:
            detail = f"The offer with this GTIN or code sells {offer.item}; end it first, or correct the item."
            raise InputFault("item_differs", detail)
        same_currency(offer.currency, self.options.currency)

    def _item(self, judged: Judged) -> str:
        """The item of an article without an offer: stated by the row or by the options, never taken from its name."""
        listed = judged.listed
        named = (self._items.get(key) for key in (listed.code_key, listed.gtin_14) if key)
        item = listed.item or next((one for one in named if one), None)
        if item is None:
            judged.suggestion = self._names.suggestion(listed.name) if listed.name else None
            detail = "No offer has this GTIN or code; say in items which item it is, or leave the row out."
            raise InputFault("item_needed", detail)
        return item

    def _usable(self, judged: Judged) -> WrittenPack | None:
        facts = self._facts(judged.item) if judged.item else None
        if facts is None:
            raise InputFault("item_unknown", "There is no item of this id.")
        pack = judged.listed.pack
        if pack is None:
            return None
        pack = usable_pack(pack, facts)
        judged.listed.pack = pack
        return pack

    def _compare(self, judged: Judged, pack: WrittenPack, price: Decimal) -> None:
        listed, offer = judged.listed, judged.match.offer
        if offer is None:
            judged.outcome = "new"
            judged.offer = self._new_ids.of(listed)
            judged.writes = True
            return
        old = Terms(offer.count, offer.size, offer.price, offer.tax_rate_percent if offer.tax_included else None)
        new = Terms(pack.count, pack.size, price, listed.tax_rate_percent)
        judged.change = change_between(old, new, self._rates, self.options.change_limit_percent)
        judged.outcome = judged.change.outcome
        judged.doubts += judged.change.doubts
        if judged.match.changed == "gtin":
            judged.doubts.append(
                Doubt("gtin_changed", "The offer of this code has another GTIN: is it the same article?")
            )
        if judged.match.changed == "code":
            judged.doubts.append(
                Doubt("code_changed", "The offer of this GTIN has another code: is it the same article?")
            )
        judged.writes = judged.change.differs or judged.match.changed is not None


def _item_key(key: str) -> str:
    """A key of ``items`` as codes and GTINs are compared."""
    text = code_key(clean(key))
    return text.zfill(14) if text.isascii() and text.isdigit() and len(text) in (8, 12, 13) else text
