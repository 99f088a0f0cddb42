"""The straight line of what perishes, from stated figures."""

from decimal import Decimal

from schemas.perishing import PerishableIn, PerishingRequest
from service.errors import InputFault
from service.margins.perishing import Batch, Keg, Perishable, batches, best_batch
from service.money import EXACT, HUNDRED, half_up
from service.offers import known_currency
from service.report import books as told
from service.report.figures import Json

ASSUMES = (
    "Serves over a life are a Poisson count with the stated mean (common practice for slow movers, no source); days "
    "that differ much make the true waste larger. A batch that sells out is followed by the next at once."
)


def perishing_body(asked: PerishingRequest) -> Json:
    """What of each thing is thrown away."""
    known_currency(asked.currency, "/currency")
    rows = []
    for number, one in enumerate(asked.items):
        try:
            rows.append(_perishable(one))
        except InputFault as fault:
            raise InputFault(fault.code, fault.detail, f"/items/{number}") from None
    return {"currency": asked.currency, "assumes": ASSUMES, "items": rows}


def _perishable(one: PerishableIn) -> Json:
    loss = None
    if one.keg is not None:
        keg = Keg(one.keg.size_ml, one.keg.serve_ml, one.keg.line_loss_ml, one.keg.cleanings, one.keg.left_ml)
        serve_cost = EXACT.divide(one.keg.cost, Decimal(keg.serves))
        sizes = [keg.serves]
        wanted: int | None = keg.serves
        loss = keg.loss_each(one.keg.cost)
    else:
        assert one.serve_cost is not None
        serve_cost, sizes, wanted = one.serve_cost, list(one.sizes) or list(range(1, one.largest + 1)), one.wanted
    found = Perishable(one.sales_a_day, one.life_days, serve_cost, one.batch_cost)
    best = best_batch(found, sizes)
    made = None if wanted is None else list(batches(found, wanted))[-1]
    dearer = None
    if best is not None and made is not None and best.cost_each is not None and made.cost_each is not None:
        dearer = EXACT.subtract(made.cost_each, best.cost_each)
    return {
        "id": one.id, "mean_demand": told.quantity(found.mean), "best": _batch(best), "wanted": _batch(made),
        "dearer_each": _six(dearer), "line_loss_each": _six(loss),
    }  # fmt: skip


def _six(figure: Decimal | None) -> str | None:
    return None if figure is None else format(half_up(figure, 6), "f")


def _batch(one: Batch | None) -> Json | None:
    if one is None:
        return None
    share = EXACT.divide(EXACT.multiply(HUNDRED, one.thrown), Decimal(one.serves))
    return {
        "serves": one.serves, "sold": format(half_up(one.sold, 2), "f"), "thrown": format(half_up(one.thrown, 2), "f"),
        "thrown_percent": told.percent(share), "waste_each": _six(one.waste_each), "cost_each": _six(one.cost_each),
    }  # fmt: skip
