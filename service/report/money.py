"""Cost and price as the contract writes them: decimal text, half up at the currency's minor unit."""

from decimal import Decimal

from service.choosing import Choice
from service.costtree import DrinkCost, PricedLine
from service.evaluate import Evaluation
from service.money import half_up, money_text
from service.pricing import Margins
from service.quote import Price
from service.report.figures import Json, missing_rows

LINE_PLACES = 6


def cost_section(cost: DrinkCost) -> Json:
    """The cost of one serve, with what is missing and why each offer was chosen."""
    serve, currency = cost.serve, cost.currency
    return {
        "currency": currency or None,
        "complete": serve.complete,
        "missing": missing_rows(serve.missing),
        "pour_cost": _text(serve.pour_cost, currency),
        "ingredients": _text(serve.ingredients, currency),
        "garnish": _text(serve.garnish, currency),
        "allowances": _text(serve.allowances, currency),
        "consumables": _text(serve.consumables, currency),
        "labour": _text(serve.labour, currency),
        "serve_cost": _text(serve.serve_cost, currency),
        "at_least": {
            "pour_cost": _text(serve.at_least, currency),
            "serve_cost": _text(serve.at_least_serve, currency),
        },
        "choices": choices(cost),
    }


def _text(amount: Decimal | None, currency: str) -> str | None:
    if amount is None or not currency:
        return None
    return money_text(amount, currency)


def exact_text(amount: Decimal | None, places: int = LINE_PLACES) -> str | None:
    """A cost to six decimals, as text."""
    return None if amount is None else format(half_up(amount, places), "f")


def choices(cost: DrinkCost) -> list[Json]:
    """Every bought item once: the offer it is costed by, why, and what else was considered where there is a choice."""
    rows: dict[str, Json] = {}
    priced: list[PricedLine] = [*cost.lines, *(line for lines in cost.preparation_lines.values() for line in lines)]
    for line in priced:
        unit = line.unit
        if not isinstance(unit, Choice) or line.line.ref in rows:
            continue
        text = exact_text(unit.unit_cost, 9)
        rows[line.line.ref] = {
            "item": line.line.ref,
            "priced_from": line.priced_from,
            "offer": None if unit.offer is None else unit.offer.id,
            "supplier": None if unit.offer is None else unit.offer.supplier,
            "reason": unit.reason,
            "per": unit.base,
            "unit_cost": text,
            "considered": [
                {
                    "offer": seen.offer,
                    "unit_cost": text if seen.unit_cost is unit.unit_cost else exact_text(seen.unit_cost, 9),
                    "reason": seen.reason,
                }
                for seen in (unit.considered if len(unit.offers) > 1 else ())
            ],
        }
    return list(rows.values())


def price_section(evaluation: Evaluation, price: Price) -> Json:
    """The suggested price with its margins, and what the menu price comes to."""
    asked = evaluation.request.pricing
    assert asked is not None
    currency = asked.currency
    row: Json = {
        "currency": currency,
        "suggested": None,
        "net": None,
        "tax": None,
        "tax_on_bill": None,
        "unrounded": None,
        "gross_margin_percent": None,
        "pour_cost_percent": None,
        "determined_by": None,
        "floor": None,
        "at_menu_price": None,
    }
    found = price.suggestion
    if found is not None:
        row["suggested"] = money_text(found.suggested, currency)
        row |= _margins(found.margins, currency)
        row["unrounded"] = format(found.unrounded, "f")
        row["determined_by"] = found.determined_by
        row["floor"] = _floor(price, found.floor, currency)
    menu = price.menu
    if menu is not None:
        row["at_menu_price"] = {
            "menu_price": money_text(menu.menu_price, currency),
            **_margins(menu.margins, currency),
            "meets_target": menu.meets_target,
        }
    return row


def _floor(price: Price, code: str | None, currency: str) -> Json | None:
    """The legal minimum price that set the suggestion."""
    for jurisdiction, floor in price.floors:
        if jurisdiction == code:
            return {"jurisdiction": code, "amount": money_text(floor, currency), "currency": currency}
    return None


def _margins(margins: Margins, currency: str) -> Json:
    return {
        "net": money_text(margins.net, currency),
        "tax": money_text(margins.tax, currency),
        "tax_on_bill": money_text(margins.tax_on_bill, currency),
        "gross_margin_percent": _percent(margins.gross_margin_percent),
        "pour_cost_percent": _percent(margins.pour_cost_percent),
    }


def _percent(figure: Decimal | None) -> str | None:
    return None if figure is None else format(figure, "f")
