"""What a list would change, as answered."""

from schemas.price_list import (
    ListedPack,
    OutcomeCounts,
    PriceListOptions,
    PriceListReport,
    PriceListRow,
    Reason,
    SuggestedItem,
)
from service.suppliers.judging import Judged
from service.suppliers.price_list import PriceList, Tally


def report(price_list: PriceList) -> PriceListReport:
    """Everything that a list would change, in one answer; a caller that pages uses ``judged()`` and ``row_report``."""
    tally = Tally()
    rows = []
    for judged in price_list.judged():
        tally.add(judged)
        rows.append(row_report(judged, price_list.options))
    return PriceListReport(
        supplier=price_list.options.supplier,
        sha256=price_list.sha256,
        read_as=price_list.read_as,
        mapping=price_list.options.mapping,
        counts=counts_of(tally),
        committable=tally.committable,
        rows=tuple(rows),
    )


def counts_of(tally: Tally) -> OutcomeCounts:
    """The counts of an answer."""
    return OutcomeCounts(**tally.counts, to_confirm=tally.to_confirm)


def row_report(judged: Judged, options: PriceListOptions) -> PriceListRow:
    """One row of the answer."""
    listed, change, offer, suggestion = judged.listed, judged.change, judged.match.offer, judged.suggestion
    pack = listed.pack
    percent = None if change is None else change.percent
    return PriceListRow(
        row=listed.row,
        outcome=judged.outcome,
        code=listed.code,
        gtin=listed.gtin,
        name=listed.name,
        item=judged.item,
        offer=judged.offer,
        matched_by=judged.match.by,
        pack_text=listed.pack_text,
        pack=None if pack is None else ListedPack(count=pack.count, size=pack.size),
        currency=options.currency,
        old_price=None if offer is None else format(offer.price, "f"),
        new_price=None if listed.price is None else format(listed.price, "f"),
        change_percent=None if percent is None else format(percent, "f"),
        reasons=tuple(Reason(code=fault.code, detail=fault.detail) for fault in judged.reasons),
        must_confirm=tuple(Reason(code=doubt.code, detail=doubt.detail) for doubt in judged.doubts),
        confirmed=judged.confirmed,
        suggested_item=None if suggestion is None else SuggestedItem(**suggestion._asdict()),
    )
