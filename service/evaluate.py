"""One drink from request to results, in a straight line: resolve, build, read, price. Pure: no clock, no database, no HTTP."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache

import schemas.pricing as contract
from schemas.evaluation import SECTIONS, EvaluationRequest
from service import advisories, pricing
from service.alcohol import Alcohol, alcohol
from service.allergens import Carry, Declaration, Diet, Sulphites, declaration, diet, sulphites_of
from service.amounts import Measures
from service.balance import Balance, balance
from service.build import Build, built, with_parts
from service.costing import Allowances, Offer, Terms
from service.costtree import CostTree, DrinkCost, Labour
from service.errors import InputFault
from service.item import Item
from service.labelling import price_floor
from service.line import ResolvedLine, part_of, quantities_of
from service.lookup import EMPTY_CATALOGUE, Catalogue, Lookup
from service.mixture import Assumption, Leaf, Mixture, Part, Substance, mixture, together
from service.money import Rate
from service.nutrition import Nutrition, nutrition
from service.offers import offers_by_item
from service.preparation import Warn
from service.reference import Reference
from service.resolve import Resolved, Resolver, glass_of, method_of
from service.rules import Rules, jurisdiction
from service.substance import substance
from service.useby import UseBy, lives, use_by


@dataclass(frozen=True, slots=True)
class Price:
    """The suggested price (``None`` without a target or a complete cost) and what the menu price comes to."""

    suggestion: pricing.Suggestion | None
    menu: pricing.AtMenuPrice | None


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Everything that is known of one drink, unrounded; sections that were not asked for are ``None``."""

    request: EvaluationRequest
    day: date
    sections: frozenset[str]
    rules: tuple[Rules, ...]
    resolved: Resolved
    lines: tuple[ResolvedLine, ...]
    build: Build
    leaves: Mapping[str, Leaf]
    alcohol: Alcohol
    cost: DrinkCost | None
    price: Price | None
    nutrition: Nutrition | None
    declarations: tuple[Declaration, ...] | None
    sulphites: Sulphites | None
    diet: Diet | None
    balance: Balance | None
    cautions: tuple[advisories.Caution, ...]
    lives: Mapping[str, UseBy]
    use_by: UseBy | None
    warnings: tuple[Warn, ...]
    assumptions: tuple[Assumption, ...]
    reference_version: str


@cache
def _reference_substances() -> dict[str, tuple[Item, Substance]]:
    return {}


def reference_substance(item: Item) -> Substance:
    """The substance of an embedded item, computed once in the life of the service."""
    known = _reference_substances().get(item.id)
    if known is None or known[0] is not item:
        known = (item, substance(item))
        _reference_substances()[item.id] = known
    return known[1]


def evaluate(
    request: EvaluationRequest,
    day: date,
    jurisdictions: Sequence[str],
    reference: Reference,
    catalogue: Catalogue = EMPTY_CATALOGUE,
) -> Evaluation:
    """The evaluation of one drink on one day. Raises ``InputFault`` or ``InputFaults`` with pointers into the request.

    ``day`` and ``jurisdictions`` are used where the request states none.
    """
    day = request.as_of or day
    sections = frozenset(SECTIONS if request.include is None else request.include)
    rules = _rules(request, jurisdictions, day)
    measures = measures_of(request.measures)
    lookup = Lookup(request.ingredients, request.preparations, catalogue, reference)
    offers = offers_by_item(request.offers, measures)
    resolved = Resolver(lookup, measures, offers, reference_substance).resolved(request.drink)
    drink = request.drink
    build = built(
        resolved.lines, method_of(drink), glass_of(drink), drink.serves, request.measures.water_fraction
    )
    lines = with_parts(resolved.lines, build.fill)
    leaves = leaves_of(lines)
    strength = alcohol(build, *_alternative_builds(request, lines), drink.method.kind == "heated")
    warnings = [*resolved.warnings, *build.warnings]
    cost = price = None
    if sections & {"cost", "price"}:
        cost = _cost(request, resolved, lines, build, offers, day)
        if "price" in sections:
            price = _price(request, cost, strength, rules, warnings)
    eaten = _eaten(lines)
    liquid_ml = None if build.liquid is None else build.liquid.volume_ml
    consumed = together(build.liquid or build.undiluted, eaten) if eaten is not None else build.liquid or build.undiluted
    declarations = sulphites = diets = None
    if "allergens" in sections:
        sulphites = sulphites_of(leaves.values(), build.undiluted, liquid_ml)
        carries = _carries(request)
        declarations = tuple(declaration(regime, drink.id, leaves.values(), sulphites, carries) for regime in rules)
        diets = diet(drink.id, leaves.values())
    contained = frozenset(key for found in declarations or () for key in found.contains)
    prepared_lives = lives(resolved.preparations, resolved.preparation_lines, resolved.items, day)
    cautions = advisories.cautions(
        rules, day, leaves, resolved.preparations, drink.method.kind, consumed, liquid_ml, strength, contained
    )
    return Evaluation(
        request=request,
        day=day,
        sections=sections,
        rules=rules,
        resolved=resolved,
        lines=lines,
        build=build,
        leaves=leaves,
        alcohol=strength,
        cost=cost,
        price=price,
        nutrition=nutrition(consumed, liquid_ml) if "nutrition" in sections else None,
        declarations=declarations,
        sulphites=sulphites,
        diet=diets,
        balance=balance(build.liquid, build.missing) if "balance" in sections else None,
        cautions=(*cautions, *advisories.house_cautions(_house_limit(request), rules, strength, lines)),
        lives=prepared_lives,
        use_by=use_by(drink.id, lines, prepared_lives, resolved.items),
        warnings=tuple(warnings),
        assumptions=_assumptions(lines, build, cost),
        reference_version=reference.version,
    )


def measures_of(measures: contract.MeasuresIn) -> Measures:
    """The house's measures as the amount reader wants them."""
    return Measures(
        measures.ounce, _plain(measures.dash_ml), _plain(measures.drop_ml), _plain(measures.barspoon_ml)
    )


def _plain(figure: float) -> Decimal:
    return Decimal(repr(figure))


def _rules(request: EvaluationRequest, defaults: Sequence[str], day: date) -> tuple[Rules, ...]:
    codes = defaults if request.jurisdictions is None else request.jurisdictions
    found = []
    for index, code in enumerate(dict.fromkeys(codes)):
        try:
            found.append(jurisdiction(code).on(day))
        except InputFault as fault:
            raise fault.at(f"/jurisdictions/{index}") from None
    return tuple(found)


def leaves_of(lines: Sequence[ResolvedLine]) -> dict[str, Leaf]:
    """Every bought item in the drink, garnish and alternatives included, each with its first path; consumables apart."""
    leaves: dict[str, Leaf] = {}
    for line in lines:
        if line.role == "consumable":
            continue
        drunk = line.role in ("pour", "top") or (line.role == "rinse" and line.residue_ml > 0) or line.eaten
        for made in (line.substance, *line.alternatives):
            for item_id, leaf in made.leaves.items():
                known = leaves.get(item_id)
                if known is None:
                    leaves[item_id] = leaf if leaf.drunk == drunk else Leaf(leaf.item, leaf.path, leaf.drunk and drunk)
                elif drunk and leaf.drunk and not known.drunk:
                    leaves[item_id] = Leaf(known.item, known.path, True)
    return leaves


def _eaten(lines: Sequence[ResolvedLine]) -> Mixture | None:
    parts = [line.part for line in lines if line.role == "garnish" and line.eaten and line.part is not None]
    return mixture(parts) if parts else None


def _alternative_builds(
    request: EvaluationRequest, lines: Sequence[ResolvedLine]
) -> tuple[Build | None, Build | None]:
    """The drink with the weakest and with the strongest of every line's alternatives."""
    low: dict[int, Part] = {}
    high: dict[int, Part] = {}
    for line in lines:
        if not line.alternatives or line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        choices = [line.part, *(_alternative_part(line, made, request.drink.serves) for made in line.alternatives)]
        low[line.index] = min(choices, key=lambda part: (_knows_strength(part), part.content("ethanol")))
        high[line.index] = max(choices, key=lambda part: (not _knows_strength(part), part.content("ethanol")))
    if not low:
        return None, None
    drink, fractions = request.drink, request.measures.water_fraction
    weak, strong = (
        built(with_parts(lines, chosen), method_of(drink), glass_of(drink), drink.serves, fractions) for chosen in (low, high)
    )
    return weak, strong


def _knows_strength(part: Part) -> bool:
    return all(field != "abv_percent" for _, field in part.substance.unknown)


def _alternative_part(line: ResolvedLine, made: Substance, serves: int) -> Part:
    if line.amount.dimension == "fill":
        assert line.part is not None
        return Part(made, line.part.base)
    try:
        part = part_of(line.amount, made, quantities_of(line.amount, made), serves)
    except InputFault as fault:
        raise fault.at(line.pointer + "/alternatives") from None
    if part is None:
        detail = f"A piece of {made.id} has no known mass, so it cannot stand in for this line."
        raise InputFault("piece_mass_unknown", detail, line.pointer + "/alternatives")
    return part


def _cost(
    request: EvaluationRequest,
    resolved: Resolved,
    lines: Sequence[ResolvedLine],
    build: Build,
    offers: Mapping[str, Sequence[Offer]],
    day: date,
) -> DrinkCost:
    asked = request.pricing
    allowances, labour, choose, rates = Allowances(), None, "cheapest", ()
    if asked is not None:
        currency = asked.currency
        given = asked.allowances
        allowances = Allowances(given.over_pour_percent, given.spillage_percent)
        if asked.labour is not None:
            labour = Labour(asked.labour.minutes, asked.labour.rate_per_hour)
        choose = asked.choose  # type: ignore[assignment]  # a literal word or a mapping, as the terms take it
        rates = tuple(Rate(rate.from_, rate.to, rate.rate, rate.as_of) for rate in asked.rates)  # type: ignore[assignment]  # an empty tuple came first
    else:
        currency = _single_currency(request)
    terms = Terms(currency, day, choose, rates)
    fill = {index: part.base for index, part in build.fill.items()}
    return CostTree(resolved, offers, terms).drink_cost(lines, allowances, labour, fill)


def _single_currency(request: EvaluationRequest) -> str:
    currencies = {offer.price.currency for offer in request.offers}
    if len(currencies) > 1:
        detail = "The offers are in several currencies; name the one to cost in and the rates."
        raise InputFault("currency_required", detail, "/pricing")
    return currencies.pop() if currencies else ""


def _price(
    request: EvaluationRequest, cost: DrinkCost, strength: Alcohol, rules: Sequence[Rules], warnings: list[Warn]
) -> Price | None:
    asked = request.pricing
    if asked is None:
        return None
    currency = asked.currency
    tax = _tax(asked.tax)
    target = None
    if asked.target is not None:
        wanted = asked.target
        target = pricing.Target(
            wanted.gross_margin_percent, wanted.pour_cost_percent, wanted.markup_percent, wanted.cash_margin
        )
    steps = None
    if asked.round is not None:
        if asked.round.ending is not None:
            steps = pricing.PriceRound.ending(asked.round.ending, currency)
        else:
            assert asked.round.to is not None
            steps = pricing.PriceRound.to(asked.round.to, asked.round.mode or "nearest", currency)
    suggestion = None
    pour_cost = cost.serve.pour_cost
    if target is not None and pour_cost is not None:
        floors = _floors(rules, strength, currency, warnings)
        suggestion = pricing.suggestion(pour_cost, target, tax, steps, currency, floors)
        warnings += [Warn(found.code, found.detail) for found in suggestion.warnings]
    menu = None
    if asked.menu_price is not None:
        menu = pricing.at_menu_price(asked.menu_price, pour_cost, tax, target, currency)
    return Price(suggestion, menu)


def _tax(tax: "contract.Tax | tuple[contract.TaxLine, ...] | None") -> pricing.Tax:
    if tax is None:
        return pricing.NO_TAX
    if isinstance(tax, contract.Tax):
        return pricing.Tax.at_rate(tax.rate_percent, tax.included)
    return pricing.Tax(tuple(pricing.TaxLine(line.name, line.rate_percent, line.on) for line in tax))


def _floors(
    rules: Sequence[Rules], strength: Alcohol, currency: str, warnings: list[Warn]
) -> list[tuple[str, Decimal]]:
    """Legal floors of the jurisdictions asked for; one that cannot be checked is named in a warning."""
    floors = []
    for regime in rules:
        if regime.price_floor is None:
            continue
        ethanol = strength.ethanol_upper_g
        floor = None if ethanol is None else price_floor(regime, ethanol, currency)
        if floor is None:
            detail = f"The legal minimum price of {regime.code} could not be checked: strength or currency differ."
            warnings.append(Warn("price_floor_not_checked", detail))
        else:
            floors.append((regime.code, floor))
    return floors


def _house_limit(request: EvaluationRequest) -> float | None:
    return None if request.house is None else request.house.max_standard_drinks


def _carries(request: EvaluationRequest) -> tuple[Carry, ...] | None:
    """What the bar's tools carry over to this method; ``None`` where the house has not assessed it."""
    house = request.house
    if house is None or house.cross_contact is None:
        return None
    kind = request.drink.method.kind
    return tuple(
        Carry(tool.allergens, tool.equipment, tool.control)
        for tool in house.cross_contact
        if not tool.methods or kind in tool.methods
    )


def _assumptions(lines: Sequence[ResolvedLine], build: Build, cost: DrinkCost | None) -> tuple[Assumption, ...]:
    found: dict[tuple[str, str | None], Assumption] = {}
    for line in lines:
        for assumption in line.substance.assumptions:
            found.setdefault((assumption.code, assumption.item), assumption)
    for assumption in (*build.assumptions, *(cost.assumptions if cost is not None else ())):
        found.setdefault((assumption.code, assumption.item), assumption)
    return tuple(found.values())
