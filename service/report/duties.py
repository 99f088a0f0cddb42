"""Duties of menus and labels as the contract writes them: what may apply to whom, since when, and what it lacks."""

from collections.abc import Mapping, Sequence

from service.alternatives import more_of_cautioned
from service.duties import CaloriesText, Duty, Sale, added_calories, duties, menu_calories
from service.evaluate import Evaluation
from service.labelling import NOT_KNOWN, standard_drink_count
from service.language import ENGLISH, Text
from service.mixture import Mixture
from service.nutrition import NUTRIENT_FIELDS, energy
from service.pack import net_quantity_ml, pack_of, sold_as
from service.report.claims import only_kind
from service.report.figures import Json
from service.report.wording import Wording
from service.rulekinds import Statement
from service.rules import Rules

SECTIONS = frozenset(("alcohol", "nutrition", "allergens"))
"""Sections of which any one brings the duties with it."""

MENU_CALORIES = "menu_calories"
"""The duty that the calories of a chain's menu are declared under."""

ENERGY = ("energy_kj", "energy_kcal")
NUTRIENTS = frozenset(name for name, _ in NUTRIENT_FIELDS)
DRUNK = ("pour", "top", "rinse")
MEASURES = ("caffeine_mg", "glycyrrhizin_mg", "quinine_mg", "sulphites_mg", "polyols_g")


def duty_rows(evaluation: Evaluation, wording: Wording) -> list[Json]:
    """Every jurisdiction's duties that a drink so sold may meet, none of them decided here."""
    return [row for regime in evaluation.rules for row in _rows(evaluation, regime, wording)]


def _rows(evaluation: Evaluation, regime: Rules, wording: Wording) -> list[Json]:
    how = sold_as(evaluation.request)
    asked = [one for one in (*regime.statements, *regime.ahead) if not one.sold_as or how in one.sold_as]
    if not asked:
        return []
    sale = sale_of(evaluation, regime, asked)
    declared, added = _calories(evaluation, regime), _add_ons(evaluation, regime)
    return [_row(regime, duty, declared, added, wording) for duty in duties(regime, sale)]


def _row(regime: Rules, duty: Duty, declared: CaloriesText | None, added: list[Json], wording: Wording) -> Json:
    statement = duty.statement
    official = statement.binding == "text"
    calories = declared if statement.key == MENU_CALORIES else None
    refused, missing = _refusal(duty), list(duty.missing)
    if calories is not None and calories.reason is not None:
        refused, missing = calories.reason, list(dict.fromkeys([*missing, "energy_kcal"]))
    text = wording.official(regime, statement) if official else None
    marks: Json = {}
    if wording.marked:
        marks = {"lang": ENGLISH, "fallback": None if text is None else text.fallback}
    return {
        "jurisdiction": regime.code,
        "code": statement.key,
        "title": statement.title or statement.key.replace("_", " ").capitalize(),
        "asks": None if official else statement.text,
        "applies_to": statement.who or "whoever sells the drink so",
        "applies": duty.applies,
        "status": statement.status,
        "statement": None if text is None else official_text(duty, text, wording),
        "statement_lang": None if text is None else text.lang,
        "declaration": None if calories is None else calories.text,
        "add_ons": [] if calories is None else added,
        "missing": missing,
        "refused": refused,
        "article": statement.article or statement.source,
        "standing": statement.standing,
        "note": statement.detail,
        "defer": f"Whether it binds you is for {regime.authority} to say; this is not legal advice.",
        **marks,
    }


def official_text(duty: Duty, text: Text, wording: Wording) -> str:
    """The official text, with what follows it in brackets where that is known."""
    if not duty.statement.followed_by or duty.per_100_ml is None:
        return text.text
    figure = f"{duty.per_100_ml:f}"
    figure = wording.language.number(figure) if text.lang == wording.language.code else figure
    return f"{text.text} {duty.statement.followed_by.format(n=figure)}"


def _refusal(duty: Duty) -> str | None:
    if not duty.missing:
        return None
    named = ", ".join(duty.missing)
    return f"{NOT_KNOWN.capitalize()}: {named}. Nothing is declared in its place, and no zero."


def sale_of(evaluation: Evaluation, regime: Rules, asked: Sequence[Statement]) -> Sale:
    """What the duties ``asked`` about look at in this drink; figures that none of them needs are not read."""
    house, build, drink = evaluation.request.house, evaluation.build, evaluation.consumed
    volume = drink.volume_ml if build.liquid is None else build.liquid.volume_ml
    needs = frozenset([name for one in asked for name in one.needs])
    per_l, more_of = _per_l(evaluation, drink, volume) if any(one.measure for one in asked) else ({}, frozenset())
    return Sale(
        sold_as=sold_as(evaluation.request),
        abv_upper_percent=evaluation.alcohol.abv_upper_percent,
        per_l=per_l,
        more_of=more_of,
        kind=only_kind(evaluation) if any(one.only for one in asked) else None,
        figures=_figures(evaluation, regime, needs),
        options=frozenset(["chain_menu"] if house is not None and house.chain_menu else []),
        cautions=frozenset([one.code for one in evaluation.cautions]),
    )


def _figures(evaluation: Evaluation, regime: Rules, needs: frozenset[str]) -> Mapping[str, float | None]:
    """Those figures of one serve that are needed; a name that is not here is never known."""
    drink, own = evaluation.consumed, evaluation.alcohol.strength
    found: dict[str, float | None] = {"abv_percent": own.abv_percent, "ethanol_g": own.ethanol_g}
    if "net_quantity_ml" in needs:
        found["net_quantity_ml"] = net_quantity_ml(pack_of(evaluation.request))
    if not needs.isdisjoint(ENERGY):
        figures = energy(drink, regime)
        found |= {"energy_kj": figures.energy_kj, "energy_kcal": figures.energy_kcal}
    if not needs.isdisjoint(NUTRIENTS):
        unknown = drink.unknown.fields
        found |= {name: None if name in unknown else drink.content(key) for name, key in NUTRIENT_FIELDS}
    if "standard_drinks" in needs:
        counted = standard_drink_count(regime, own.ethanol_g)
        found["standard_drinks"] = None if counted is None or counted.count is None else float(counted.count)
    return found


def _per_l(evaluation: Evaluation, drink: Mixture, volume: float) -> tuple[Mapping[str, float | None], frozenset[str]]:
    """mg (polyols: g) in one litre as far as they are known, with the alternatives that have most of them, and the
    measures of which more may be there."""
    more = more_of_cautioned(evaluation.lines, evaluation.request.drink.serves)
    held = {
        name: (drink.polyols_g if name == "polyols_g" else drink.content(name)) + more.get(name, 0.0)
        for name in MEASURES
    }
    per_l: dict[str, float | None] = {
        name: 1000.0 * amount / volume if volume > 0 else None for name, amount in held.items()
    }
    beside = [made for line in evaluation.lines if line.role in DRUNK for made in line.alternatives]
    unstated = {name for made in beside for _, name in made.unknown}
    more_of = {name for name in MEASURES if name in unstated or drink.missing(name)}
    sulphites = evaluation.sulphites
    if sulphites is not None:
        per_l["sulphites_mg"] = sulphites.known_mg_per_l
        more_of.discard("sulphites_mg")
        more_of |= {"sulphites_mg"} if sulphites.mg_per_l is None else set()
    return per_l, frozenset(more_of)


def _calories(evaluation: Evaluation, regime: Rules) -> CaloriesText | None:
    """The calories of a chain's menu, where the house has asked for them."""
    found = evaluation.calories.get(regime.code)
    return None if found is None else menu_calories(regime, found.low_kcal, found.high_kcal, found.options)


def _add_ons(evaluation: Evaluation, regime: Rules) -> list[Json]:
    """What may be added to the drink, with the calories that it adds."""
    found = evaluation.calories.get(regime.code)
    rows = () if found is None else found.add_ons
    return [
        {"modifier": row.modifier, "name": row.name, "text": added_calories(regime, row.kcal) or NOT_KNOWN}
        for row in rows
    ]
