"""One drink from request to results, in a straight line: resolve, build, read, price.

Pure: no clock, no database, no HTTP.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

import schemas.pricing as contract
from schemas.drink import Drink
from schemas.evaluation import SECTIONS, EvaluationRequest
from service import advisories
from service.alcohol import Alcohol, alcohol
from service.allergens import Carry, Declaration, declaration
from service.alternatives import alternative_builds, more_of_cautioned, more_sulphites_mg
from service.amounts import Measures
from service.balance import Balance, balance
from service.bands import Bands, bands_of
from service.build import Build, built, of_unknown_amount, with_parts
from service.caution import Caution
from service.costtree import DrinkCost
from service.diet import Diet, diet
from service.energyoptions import ByCode, energies_by_code, with_modifiers
from service.errors import InputFault
from service.evidence import Standing, stale_warnings, standings
from service.housecautions import house_cautions, past_use
from service.item import Item
from service.leaves import Leaf
from service.line import ResolvedLine
from service.lookup import EMPTY_CATALOGUE, Catalogue, Lookup
from service.measured import Reconciliation, measured_water_ml, reconciliation, with_measured_water
from service.mixture import Assumption, Mixture, Substance, mixture, together
from service.nutrition import Nutrition, nutrition
from service.offers import OffersOver, offers_by_item
from service.pack import aged, made_too_late, sold_as
from service.preparation import Warn
from service.quote import Price, drink_cost, drink_price
from service.reference import Reference
from service.resolve import Resolved, Resolver
from service.rules import Rules, jurisdiction
from service.specification import glass_of, method_of
from service.substance import BY_MASS, substance
from service.sulphites import Sulphites, sulphites_of
from service.useby import UseBy, lives, made_later, use_by


class Evaluation(Struct, frozen=True):
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
    consumed: Mixture
    calories: ByCode
    nutrition: Nutrition | None
    declarations: tuple[Declaration, ...] | None
    standings: tuple[Standing, ...]
    sulphites: Sulphites | None
    diet: Diet | None
    balance: Balance | None
    cautions: tuple[Caution, ...]
    lives: Mapping[str, UseBy]
    use_by: UseBy | None
    warnings: tuple[Warn, ...]
    assumptions: tuple[Assumption, ...]
    reference_version: str
    bands: Bands | None = None
    measured: Reconciliation | None = None


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

    ``day`` and ``jurisdictions`` are used where the request states none. The drink is taken as it is written: what
    ``with`` asks for is done by ``variation``.
    """
    day = request.as_of or day
    sections = frozenset(SECTIONS if request.include is None else request.include)
    rules = _rules(request, jurisdictions, day)
    measures = measures_of(request.measures)
    lookup = Lookup(request.ingredients, request.preparations, catalogue, reference)
    own = offers_by_item(request.offers, measures, _by_kind(lookup))
    offers = OffersOver(own, catalogue.offers) if own else catalogue.offers
    resolved = Resolver(lookup, measures, offers, reference_substance).resolved(request.drink)
    drink = request.drink
    fractions = request.measures.fractions()
    build = modelled = built(resolved.lines, method_of(drink), glass_of(drink), drink.serves, fractions)
    house = request.house
    water_ml = measured_water_ml(drink, resolved.lines, build, house is not None and house.use_measured)
    if water_ml is not None:
        drink = with_measured_water(drink, water_ml)
        build = built(resolved.lines, method_of(drink), glass_of(drink), drink.serves, fractions)
    lines = with_parts(resolved.lines, build.fill)
    leaves = leaves_of(lines)
    strength = alcohol(build, *alternative_builds(drink, lines, build, fractions), drink.method.kind == "heated")
    warnings = [*resolved.warnings, *build.warnings, *made_later(resolved.preparations, day)]
    warnings += made_too_late(drink.id, drink.made_on, day)
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
    stood: tuple[Standing, ...] = ()
    if "allergens" in sections:
        stood = standings(leaves.values(), offers, day)
        warnings += stale_warnings(stood)
        milligrams = consumed.content("sulphites_mg") + more_sulphites_mg(lines, drink.serves)
        volume = build.undiluted.volume_ml if liquid_ml is None else liquid_ml
        sulphites = sulphites_of(leaves.values(), milligrams, volume, volume_known=liquid_ml is not None)
        carries = _carries(request)
        declarations = tuple(declaration(regime, drink.id, leaves.values(), sulphites, carries) for regime in rules)
        diets = diet(drink.id, leaves.values())
    contained = frozenset(key for found in declarations or () for key in found.contains)
    prepared_lives = lives(resolved.preparations, resolved.preparation_lines, resolved.items, day)
    life = _life(drink, lines, resolved, prepared_lives, day)
    cautions = advisories.cautions(
        rules, day, leaves, resolved.preparations, drink.method.kind, consumed, liquid_ml, strength, contained,
        more_of_cautioned(lines, drink.serves),
    )  # fmt: skip
    calories: ByCode = {}
    if house is not None and house.chain_menu:
        parts = tuple(resolved.preparations.values())
        calories = with_modifiers(
            energies_by_code(request.drink, rules, parts, lines, build, eaten, fractions), request.drink,
            lambda other: evaluate(_of_energy(request, other), day, jurisdictions, reference, catalogue).calories,
        )  # fmt: skip
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
        consumed=consumed,
        calories=calories,
        nutrition=nutrition(consumed, liquid_ml) if "nutrition" in sections else None,
        declarations=declarations,
        standings=stood,
        sulphites=sulphites,
        diet=diets,
        balance=balance(build.liquid, build.missing) if "balance" in sections else None,
        cautions=(
            *([] if life is None else past_use(life.days, life.path)),
            *cautions,
            *house_cautions(_house_limit(request), rules, strength, lines, poured=sold_as(request) == "poured"),
        ),
        lives=prepared_lives,
        use_by=life,
        warnings=tuple(warnings),
        assumptions=_assumptions(lines, build, cost),
        reference_version=reference.version,
        bands=bands_of(request, drink, resolved, build, eaten, rules, cost, day) if request.bands else None,
        measured=reconciliation(drink, modelled, build, water_ml is not None),
    )


def _of_energy(request: EvaluationRequest, drink: Drink) -> EvaluationRequest:
    """The same question about another drink, of its energy alone."""
    return request.model_copy(
        update={"drink": drink, "include": ("nutrition",), "pricing": None, "bands": False, "trace": False}
    )


def _by_kind(lookup: Lookup) -> Callable[[str], bool]:
    """Whether an item is kept by mass by its kind, which decides what an ounce of its pack is."""

    def by_mass(item_id: str) -> bool:
        item = lookup.item(item_id)
        return item is not None and item.kind in BY_MASS and item.density_g_per_ml is None

    return by_mass


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
            # The sulphites of what may be eaten instead are in no figure; what may be poured instead is counted.
            counted = drunk and (made is line.substance or not line.eaten)
            for item_id, leaf in made.leaves.items():
                known = leaves.get(item_id)
                if known is None:
                    leaves[item_id] = (
                        leaf if leaf.drunk == counted else Leaf(leaf.item, leaf.path, leaf.drunk and counted)
                    )
                elif known.drunk and not (counted and leaf.drunk):
                    leaves[item_id] = Leaf(known.item, known.path, False)
    return leaves


def _eaten(lines: Sequence[ResolvedLine]) -> Mixture | None:
    eaten = [line for line in lines if line.role == "garnish" and line.eaten]
    if not eaten:
        return None
    whole = mixture(line.part for line in eaten if line.part is not None)
    unknown = [of_unknown_amount(line) for line in eaten if line.part is None]
    return replace(whole, unknown=whole.unknown.union(unknown))


def _house_limit(request: EvaluationRequest) -> float | None:
    return None if request.house is None else request.house.max_standard_drinks


def _carries(request: EvaluationRequest) -> tuple[Carry, ...] | None:
    """What the bar's tools carry over to this method; ``None`` where the house has not assessed it.

    An empty list says that no tool carries anything; a list that names other methods alone says nothing of this one.
    """
    house = request.house
    if house is None or house.cross_contact is None:
        return None
    kind = request.drink.method.kind
    used = [tool for tool in house.cross_contact if not tool.methods or kind in tool.methods]
    if house.cross_contact and not used:
        return None
    return tuple([Carry(tool.allergens, tool.equipment, tool.control) for tool in used])


def _assumptions(lines: Sequence[ResolvedLine], build: Build, cost: DrinkCost | None) -> tuple[Assumption, ...]:
    found: dict[tuple[str, str | None], Assumption] = {}
    for line in lines:
        for assumption in line.substance.assumptions:
            found.setdefault((assumption.code, assumption.item), assumption)
    for assumption in (*build.assumptions, *(cost.assumptions if cost is not None else ())):
        found.setdefault((assumption.code, assumption.item), assumption)
    return tuple(found.values())


def _life(
    drink: Drink, lines: Sequence[ResolvedLine], resolved: Resolved, prepared: Mapping[str, UseBy], day: date
) -> UseBy | None:
    """How long the drink keeps from ``day`` on; what was packed has aged since its parts went into it."""
    made_on = drink.made_on
    if made_on is not None and made_on < day:
        prepared = lives(resolved.preparations, resolved.preparation_lines, resolved.items, made_on)
    return aged(use_by(drink.id, lines, prepared, resolved.items), drink.id, made_on, day)
