"""One drink from request to results, in a straight line: resolve, build, read, price.

Pure: no clock, no database, no HTTP.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache

import schemas.pricing as contract
from schemas.evaluation import SECTIONS, EvaluationRequest
from service import advisories
from service.alcohol import Alcohol, alcohol
from service.allergens import Carry, Declaration, declaration
from service.amounts import Measures
from service.balance import Balance, balance
from service.build import CONSTITUENTS, Build, built, with_parts
from service.costtree import DrinkCost
from service.diet import Diet, diet
from service.errors import InputFault
from service.item import Item
from service.line import ResolvedLine, part_of, quantities_of
from service.lookup import EMPTY_CATALOGUE, Catalogue, Lookup
from service.mixture import Assumption, Leaf, Mixture, Part, Substance, mixture, together
from service.nutrition import Nutrition, nutrition
from service.offers import offers_by_item
from service.preparation import Warn
from service.quote import Price, drink_cost, drink_price
from service.reference import Reference
from service.resolve import Resolved, Resolver, glass_of, method_of
from service.rules import Rules, jurisdiction
from service.substance import substance
from service.sulphites import Sulphites, sulphites_of
from service.useby import UseBy, lives, use_by


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
    offers = {**catalogue.offers, **offers_by_item(request.offers, measures)}
    resolved = Resolver(lookup, measures, offers, reference_substance).resolved(request.drink)
    drink = request.drink
    build = built(resolved.lines, method_of(drink), glass_of(drink), drink.serves, _water_fractions(request))
    lines = with_parts(resolved.lines, build.fill)
    leaves = leaves_of(lines)
    strength = alcohol(build, *_alternative_builds(request, lines), drink.method.kind == "heated")
    warnings = [*resolved.warnings, *build.warnings]
    cost = price = None
    if sections & {"cost", "price"}:
        cost = drink_cost(request, resolved, lines, build, offers, day)
        if "price" in sections:
            price = drink_price(request, cost, strength, rules, warnings)
    eaten = _eaten(lines)
    liquid_ml = None if build.liquid is None else build.liquid.volume_ml
    consumed = (
        together(build.liquid or build.undiluted, eaten) if eaten is not None else build.liquid or build.undiluted
    )
    declarations = sulphites = diets = None
    if "allergens" in sections:
        milligrams = consumed.content("sulphites_mg") + _more_sulphites_mg(request, lines)
        volume = build.undiluted.volume_ml if liquid_ml is None else liquid_ml
        sulphites = sulphites_of(leaves.values(), milligrams, volume, volume_known=liquid_ml is not None)
        carries = _carries(request)
        declarations = tuple(declaration(regime, drink.id, leaves.values(), sulphites, carries) for regime in rules)
        diets = diet(drink.id, leaves.values())
    contained = frozenset(key for found in declarations or () for key in found.contains)
    prepared_lives = lives(resolved.preparations, resolved.preparation_lines, resolved.items, day)
    life = use_by(drink.id, lines, prepared_lives, resolved.items)
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
        cautions=(
            *_past_use(life),
            *cautions,
            *advisories.house_cautions(_house_limit(request), rules, strength, lines),
        ),
        lives=prepared_lives,
        use_by=life,
        warnings=tuple(warnings),
        assumptions=_assumptions(lines, build, cost),
        reference_version=reference.version,
    )


def _water_fractions(request: EvaluationRequest) -> dict[str, float]:
    """The house's water by method."""
    return {str(kind): fraction for kind, fraction in request.measures.water_fraction.items()}


def measures_of(measures: contract.MeasuresIn) -> Measures:
    """The house's measures as the amount reader wants them."""
    return Measures(measures.ounce, _plain(measures.dash_ml), _plain(measures.drop_ml), _plain(measures.barspoon_ml))


def _plain(figure: float) -> Decimal:
    return Decimal(repr(figure))


def _rules(request: EvaluationRequest, defaults: Sequence[str], day: date) -> tuple[Rules, ...]:
    codes = defaults if request.jurisdictions is None else request.jurisdictions
    found = []
    for index, code in enumerate(dict.fromkeys(codes)):
        try:
            found.append(jurisdiction(code).on(day))
        except InputFault as fault:
            too_early = fault.code == "rules_not_held" and request.as_of is not None
            raise fault.at("/as_of" if too_early else f"/jurisdictions/{index}") from None
    return tuple(found)


def leaves_of(lines: Sequence[ResolvedLine]) -> dict[str, Leaf]:
    """Every bought item in the drink, garnish and alternatives included, each with its first path; consumables apart.

    One counts as drunk only where all of it is: not strained out, left as garnish, rinsed away or of unknown amount.
    """
    leaves: dict[str, Leaf] = {}
    for line in lines:
        if line.role == "consumable":
            continue
        drunk = line.role in ("pour", "top") or (line.role == "rinse" and line.residue_ml > 0) or line.eaten
        drunk = drunk and line.part is not None
        for made in (line.substance, *line.alternatives):
            for item_id, leaf in made.leaves.items():
                known = leaves.get(item_id)
                if known is None:
                    leaves[item_id] = leaf if leaf.drunk == drunk else Leaf(leaf.item, leaf.path, leaf.drunk and drunk)
                elif known.drunk and not (drunk and leaf.drunk):
                    leaves[item_id] = Leaf(known.item, known.path, False)
    return leaves


def _eaten(lines: Sequence[ResolvedLine]) -> Mixture | None:
    eaten = [line for line in lines if line.role == "garnish" and line.eaten]
    if not eaten:
        return None
    whole = mixture(line.part for line in eaten if line.part is not None)
    unknown = {(line.ref, name) for line in eaten if line.part is None for name in CONSTITUENTS}
    return whole._replace(unknown=whole.unknown | unknown)


def _alternative_builds(request: EvaluationRequest, lines: Sequence[ResolvedLine]) -> tuple[Build | None, Build | None]:
    """The drink with the weakest and with the strongest of every line's alternatives."""
    low: dict[int, Part] = {}
    high: dict[int, Part] = {}
    for line in lines:
        if not line.alternatives or line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        choices = [line.part, *(_alternative_part(line, made, request.drink.serves) for made in line.alternatives)]
        low[line.number] = min(choices, key=lambda part: (_knows_strength(part), part.content("ethanol")))
        high[line.number] = max(choices, key=lambda part: (not _knows_strength(part), part.content("ethanol")))
    if not low:
        return None, None
    drink, fractions = request.drink, _water_fractions(request)
    weak, strong = (
        built(with_parts(lines, chosen), method_of(drink), glass_of(drink), drink.serves, fractions)
        for chosen in (low, high)
    )
    return weak, strong


def _more_sulphites_mg(request: EvaluationRequest, lines: Sequence[ResolvedLine]) -> float:
    """Milligrams of sulphites by which the alternatives with the most exceed what is poured."""
    more = 0.0
    for line in lines:
        if not line.alternatives or line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        share = 1.0
        if line.role == "rinse":
            share = line.residue_ml / line.part.volume_ml if line.part.volume_ml else 0.0
        serves = request.drink.serves
        most = max(_alternative_part(line, made, serves).content("sulphites_mg") for made in line.alternatives)
        more += max(most - line.part.content("sulphites_mg"), 0.0) * share
    return more


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


def _past_use(life: UseBy | None) -> list[advisories.Caution]:
    """A part past the life that the house has set for it."""
    if life is None or life.days >= 0:
        return []
    text = f"{life.path[-1]} is {-life.days} days past the life set for it: discard it."
    deferral = "Local food codes and licensed practice decide on what may be served."
    return [
        advisories.Caution("past_use_by", "serious", text, deferral, "shelf life as stated", "house", (), life.path)
    ]
