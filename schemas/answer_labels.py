"""What menus and labels need of a drink, as answered: strength, nutrition, allergens, cautions."""

from typing import Literal

from schemas._base import Output
from schemas.answer_bands import AlcoholBand, EnergyBand, LabelCheckRow
from schemas.answer_money import Missing

Range = tuple[float | None, float | None]
State = Literal["contains", "may_contain", "unknown"]
YesNo = Literal["yes", "no", "unknown"]


class KnownEthanol(Output):
    """The part of the alcohol that is known."""

    ethanol_g: float
    """Grams of ethanol."""


class StrengthRange(Output):
    """From the weakest to the strongest of the alternatives."""

    abv_percent: Range
    """% vol at 20 C."""
    ethanol_g: Range
    """Grams of ethanol."""
    ethanol_ml: Range
    """Millilitres of ethanol at 20 C."""


class Heated(Output):
    """What a published retention factor leaves of the alcohol."""

    treatment: str
    """What is done to the drink."""
    retained_percent: float
    """Share of the alcohol that stays."""
    ethanol_g: float
    """Grams of ethanol left."""
    abv_percent: float | None
    """% vol left."""
    source: str
    """Where the factor comes from."""
    standing: str
    """How far that was checked."""


class MenuText(Output):
    """The strength in words for a menu, no finer than its uncertainty."""

    jurisdiction: str
    """Code."""
    text: str | None
    """The words; null where the strength is not known."""
    reason: str | None
    """Why there are none."""
    standing: str
    """How far the wording was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class LabelText(Output):
    """The strength as a package states it."""

    jurisdiction: str
    """Code."""
    text: str | None
    """The words; null where none are due."""
    reason: str | None
    """Why there are none."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class StatementRow(Output):
    """A duty in words."""

    jurisdiction: str
    """Code."""
    code: str
    """Stable word for the statement."""
    binding: str
    """`text`: to be printed as it stands. `information`: a duty to look at."""
    who: str
    """Whom it binds; empty for everybody."""
    text: str
    """The statement."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class ClaimRow(Output):
    """Whether a word of strength may be used."""

    jurisdiction: str
    """Code."""
    word: str
    """The word, such as alcohol-free."""
    allowed: bool
    """Judged on the upper end of the strength."""
    comparator: str
    """How the strength has to stand to the limit."""
    limit_percent: float
    """The limit in % vol."""
    figure_percent: float | None
    """The strength that was judged."""
    text: str
    """The judgement in words, with the figure."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""


class StandardDrinksRow(Output):
    """Standard drinks of one serve in one country."""

    jurisdiction: str
    """Code."""
    grams_each: float | None
    """Grams of ethanol in one; null where the sources give a range."""
    grams_low: float | None
    """The smaller drink of the range."""
    grams_high: float | None
    """The larger drink of the range."""
    count: float | None
    """How many; null where the country has a range or the strength is not known."""
    count_low: float | None
    """How many of the larger drink."""
    count_high: float | None
    """How many of the smaller drink."""
    text: str
    """In words, beginning with the figure as rounded there."""
    source: str
    """Where the grams come from."""
    standing: str
    """How far that was checked."""
    note: str
    """What to know about it; empty where there is nothing."""
    range: Range | None
    """How many over the alternatives."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class AlcoholAnswer(Output):
    """The strength of one serve at the moment of handing over."""

    complete: bool
    """Whether the strength is known."""
    missing: tuple[Missing, ...]
    """What is not."""
    abv_percent: float | None
    """% vol at 20 C with the water of ice."""
    abv_percent_undiluted: float | None
    """% vol at 20 C without it."""
    ethanol_ml: float | None
    """Millilitres of ethanol at 20 C."""
    ethanol_g: float | None
    """Grams of ethanol."""
    us_proof: float | None
    """Twice the % vol."""
    at_least: KnownEthanol | None
    """What is known, where not all is."""
    range: StrengthRange | None
    """Over the alternatives; null without any."""
    heated: tuple[Heated, ...]
    """What heating may leave, for a heated drink."""
    moment: str
    """When the strength holds."""
    menu_text: tuple[MenuText, ...]
    """For poured drinks."""
    label: tuple[LabelText, ...]
    """For packed drinks."""
    statements: tuple[StatementRow, ...]
    """Duties that apply to a drink so sold."""
    claims: tuple[ClaimRow, ...]
    """Words of strength."""
    standard_drinks: tuple[StandardDrinksRow, ...]
    """By jurisdiction; the European Union alone has none."""
    band: AlcoholBand | None = None
    """How sure it is; absent without `bands`."""
    label_check: tuple[LabelCheckRow, ...] | None = None
    """Whether a printed strength holds; empty for a poured drink, absent without `bands`."""


class Amounts(Output):
    """Energy and nutrients of one amount; null is unknown."""

    energy_kj: float | None
    """By the factors of the European Union."""
    energy_kcal: float | None
    """By the factors of the European Union, not converted from kJ."""
    fat_g: float | None
    """Fat."""
    saturates_g: float | None
    """Saturated fat."""
    carbohydrate_g: float | None
    """Sugars, starch and polyols, without fibre and acids."""
    sugars_g: float | None
    """Sugars."""
    fibre_g: float | None
    """Fibre."""
    protein_g: float | None
    """Protein."""
    salt_g: float | None
    """Salt, sodium x 2.5."""
    polyols_g: float | None
    """Sugar alcohols."""
    acids_g: float | None
    """Acids as the parts state them."""
    alcohol_g: float | None
    """Ethanol."""
    at_least: dict[str, float]
    """What is known of each unknown figure."""


class Energy(Output):
    """Energy in both units."""

    energy_kj: float | None
    """kJ."""
    energy_kcal: float | None
    """kcal."""


class RegimeEnergy(Output):
    """Energy of one serve by one regime's factors."""

    jurisdiction: str
    """Code."""
    energy_kj: float | None
    """kJ; null where the regime has none or something is unknown."""
    energy_kcal: float | None
    """kcal."""
    per_100_ml: Energy | None
    """The same for 100 ml; null where the volume is not known."""
    source: str
    """Where the factors come from."""
    standing: str
    """How far they were checked."""


class DeclaredRow(Output):
    """One nutrient as a regime declares it."""

    jurisdiction: str
    """Code."""
    nutrient: str
    """Key."""
    label: str
    """The regime's own word."""
    basis: Literal["per_100_ml", "per_serve"]
    """What the figure is for."""
    unrounded: float | None
    """What was computed."""
    value: float | None
    """What is declared; null where words stand instead or nothing is known."""
    unit: str
    """Unit."""
    text: str
    """What is printed."""


class DeclaredBy(Output):
    """The rule that a regime's declared rows are rounded by."""

    jurisdiction: str
    """Code."""
    source: str
    """The rounding rule."""
    standing: str
    """How far it was checked."""


class NutritionAnswer(Output):
    """Energy and nutrients of what is drunk and eaten."""

    complete: bool
    """Whether everything is known."""
    missing: tuple[Missing, ...]
    """What is not."""
    factors: str
    """Whose energy factors `per_serve` and `per_100_ml` use."""
    per_serve: Amounts
    """One serve."""
    per_100_ml: Amounts | dict[str, float]
    """100 ml of the drink as handed over; empty where its volume is not known."""
    by_jurisdiction: tuple[RegimeEnergy, ...]
    """Energy by each regime's own factors."""
    heated_energy_kcal: tuple[float, float] | None
    """From the least to the most alcohol that heating may leave."""
    declared: tuple[DeclaredRow, ...]
    """Rows as each regime rounds them; each names its basis."""
    declared_by: tuple[DeclaredBy, ...]
    """The rule behind each regime's rows."""
    band: EnergyBand | None = None
    """How sure the energy of one serve is; absent without `bands`."""


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
    """Groups in `contains` of which some member is named and others are not known: other nuts may be there."""
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


class AllergensAnswer(Output):
    """Allergens by jurisdiction, with their routes; unknown is never absent."""

    declarations: tuple[Declaration, ...]
    """One for each jurisdiction."""
    routes: tuple[RouteRow, ...]
    """Of every allergen in any declaration."""
    evidence: tuple[EvidenceRow, ...]
    """How far each item's declaration stands; no price decides on it."""
    sulphites_mg_per_l: float | None
    """Of the finished drink, upper end over alternatives; null where a source has no quantity."""
    diet: Diet
    """Vegan and vegetarian."""


class AdvisoryRow(Output):
    """A caution."""

    code: str
    """Stable word."""
    level: Literal["info", "caution", "serious"]
    """How grave."""
    text: str
    """The caution."""
    deferral: str
    """Whom to ask."""
    source: str
    """Where it comes from."""
    standing: str
    """How far that was checked."""
    jurisdictions: tuple[str, ...]
    """For which it is; empty for all."""
    items: tuple[str, ...]
    """What calls for it; empty where it is the whole drink."""


class BalanceKnown(Output):
    """What is known of sugars and acid."""

    sugars_g_per_100_ml: float
    """Known sugars."""
    acid_g_per_100_ml: float
    """Known acid."""


class BalanceAnswer(Output):
    """Sugars and acid of the finished drink; no verdict of taste."""

    sugars_g_per_100_ml: float | None
    """Sugars."""
    acid_g_per_100_ml: float | None
    """All acids, as each part states its acidity."""
    sugar_to_acid: float | None
    """Sugars over acids by mass."""
    abv_percent: float | None
    """% vol."""
    complete: bool
    """Whether all is known."""
    missing: tuple[Missing, ...]
    """What is not."""
    at_least: BalanceKnown | None
    """What is known, where not all is."""
