"""Allergens and diets of a drink as answered, by jurisdiction and by route."""

from typing import Literal

from schemas._base import Output

State = Literal["contains", "may_contain", "unknown"]
YesNo = Literal["yes", "no", "unknown"]


class Exempt(Output):
    """An allergen that need not be declared."""

    allergen: str
    """Key."""
    item: str
    """The item it is in."""
    source: str
    """The exemption."""
    standing: str
    """How far it was checked."""


class Declaration(Output):
    """Allergens as one jurisdiction asks for them."""

    jurisdiction: str
    """Code."""
    contains: tuple[str, ...]
    """Contained: keys in the regime's order."""
    may_contain: tuple[str, ...]
    """Possibly there, by a part or by the bar's tools."""
    unknown: tuple[str, ...]
    """Not known; never to be read as absent."""
    partly_unknown: tuple[str, ...]
    """Groups in `contains` or `may_contain` of which some member is named and others are not known: other nuts may be
    there."""
    recommended: tuple[str, ...]
    """Those of the keys above that are recommended there and not mandatory."""
    exempt: tuple[Exempt, ...]
    """Present in a source and not to be declared."""
    cross_contact: Literal["assessed", "not_assessed"]
    """Whether the house has assessed its tools."""
    rules_held: bool
    """False where the list shown is another jurisdiction's."""
    statement: str
    """The declaration in words."""
    source: str
    """The list."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class RouteRow(Output):
    """How an allergen comes into the drink."""

    allergen: str
    """Key."""
    state: State
    """Its state by this route."""
    path: tuple[str, ...]
    """Ids from the drink to the bought item."""
    equipment: str | None
    """The tool that carries it over; null for an ingredient."""
    gs1: str | None
    """GS1 allergen type code."""


class DietRoute(Output):
    """What decides a diet."""

    diet: Literal["vegan", "vegetarian"]
    """Which diet."""
    answer: YesNo
    """What this part makes of it."""
    path: tuple[str, ...]
    """Ids from the drink to the bought item."""


class DietAssumed(Output):
    """An item without a stated origin that is taken as suitable."""

    item: str
    """Id of the item."""
    detail: str
    """Why."""


class Diet(Output):
    """Vegan and vegetarian; not an allergen statement."""

    vegan: YesNo
    """Nothing of animal origin."""
    vegetarian: YesNo
    """Nothing of a killed animal."""
    routes: tuple[DietRoute, ...]
    """What stands against it."""
    assumed: tuple[DietAssumed, ...]
    """What was taken for granted."""
    note: str
    """How not to read it."""


class EvidenceRow(Output):
    """How far the allergen declaration of one bought item stands on the day of the answer."""

    item: str
    """Id."""
    state: Literal["declared", "declared_unverified", "stale", "partial", "undeclared", "reference"]
    """`declared`: complete, with its evidence, in date. `stale` has to be renewed; what it says stays in the answer."""
    why: Literal["past_review_by", "supplier_changed", "no_evidence", "evidence_incomplete", "not_yet_dated"] | None
    """What it lacks; null where the state says all."""
    review_by: str | None
    """Last day on which it counts, YYYY-MM-DD; null where none is stated."""


class FoodClaimRow(Output):
    """Whether a word about what the drink holds may be used."""

    jurisdiction: str
    """Code."""
    word: str
    """The word, such as gluten-free."""
    allowed: bool
    """Judged on what was measured alone."""
    measure: str
    """What has to be measured, with its unit."""
    limit: float
    """The most that the word allows."""
    figure: float | None
    """What was measured; null where nothing was."""
    text: str
    """The judgement in words."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""
    condition: str | None = None
    """What the rule says beside, as it ends the text; absent where it says nothing or no language was asked for."""
    condition_lang: str | None = None
    """Language of that; absent with it."""


class AllergensAnswer(Output):
    """Allergens by jurisdiction, with their routes; unknown is never absent."""

    declarations: tuple[Declaration, ...]
    """One for each jurisdiction."""
    routes: tuple[RouteRow, ...]
    """Of every allergen in any declaration."""
    evidence: tuple[EvidenceRow, ...]
    """How far each item's declaration stands; no price decides on it."""
    claims: tuple[FoodClaimRow, ...]
    """Words about what it holds; that nothing is declared allows none."""
    sulphites_mg_per_l: float | None
    """Of the finished drink, upper end over alternatives; null where a source has no quantity."""
    diet: Diet
    """Vegan and vegetarian."""
