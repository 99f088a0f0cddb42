"""What the developer's desk answers: scale, compare, substitute, reformulate, make a part. ``null`` is unknown."""

from typing import Any, Literal

from schemas._base import Output
from schemas.answer import DrinkName, Note
from schemas.answer_money import Missing
from schemas.solve import GoalFigure, Held


class Caution(Output):
    """A caution, as in POST /v1/evaluate."""

    code: str
    """Stable word."""
    level: Literal["info", "caution", "serious"]
    """How grave."""
    text: str
    """The caution."""
    deferral: str
    """Whom to ask."""


class DeskMeta(Output):
    """By what the answer was made."""

    as_of: str
    """The day whose prices and rules apply, YYYY-MM-DD."""
    rules_version: str
    """Version of the dated rules."""
    reference_version: str
    """Version of the embedded items."""
    note: str
    """How far to rely on it."""


class MeasuredAmount(Output):
    """An amount, exact and as the house can measure it."""

    unit: Literal["ml", "g", "each"]
    """Of both figures."""
    exact: float
    """Before rounding to the step."""
    rounded: float
    """The nearest multiple of the step, or the exact amount where there is none; 0 is less than half a step."""
    step: float | None
    """What the house can measure; null where it states none."""
    error_percent: float
    """By how much the rounded amount is off."""


class ScaledLineAnswer(Output):
    """One line for all serves."""

    item: str
    """Id as on the line."""
    name: str
    """For readers."""
    role: str
    """As on the line."""
    read_as: str
    """How the written amount was read."""
    in_batch: bool
    """Whether it goes into the pre-batch; the rest is added at the serve."""
    amount: MeasuredAmount | None
    """Null where the quantity is not known."""


class BatchAnswer(Output):
    """The pre-batch of all serves."""

    volume_ml: float
    """Of the exact amounts at 20 C, contraction included."""
    volume_measured_ml: float
    """Of the rounded amounts."""
    mass_g: float | None
    """Of the exact amounts."""
    abv_percent: float | None
    """Of the exact amounts."""
    abv_measured_percent: float | None
    """Of the rounded amounts."""
    serve_ml: float | None
    """What one serve takes of it."""
    usable_ml: float | None
    """The container less its headroom; null without a container."""
    holds: bool | None
    """Whether the rounded amounts fit into that; null without a container."""
    water: Literal["added", "left_to_ice"]
    """Where the water of dilution comes from."""
    missing: tuple[Missing, ...]
    """What a null figure lacks."""


class Quantity(Output):
    """A quantity in one measure."""

    unit: Literal["ml", "g", "each"]
    """The measure."""
    quantity: float
    """How much."""


class PartLineAnswer(Output):
    """One line of a part, for all of it."""

    item: str
    """Id as on the line."""
    strained_out: bool
    """Whether it leaves the part again."""
    amounts: tuple[Quantity, ...]
    """The same amount in every measure that can be told."""


class PartToMakeAnswer(Output):
    """One part to make, in its place in the order."""

    order: int
    """From 1; each after what it needs."""
    id: str
    """Id of the part."""
    name: str
    """For readers."""
    needed_ml: float
    """As poured, with the gas of a foam."""
    batch_ml: float
    """What its written recipe gives."""
    batches: float
    """How many times the recipe is made."""
    lines: tuple[PartLineAnswer, ...]
    """Its recipe for what is needed."""
    uses: tuple[str, ...]
    """Parts that it needs."""
    life_days: int | None
    """How long it keeps by its shortest life; null where no life is known."""
    limited_by: str | None
    """Which life that is."""
    made_on: str | None
    """The day on which it was made, where that is stated."""
    make_from: str | None
    """First day to make it so that it lives on the day of service; null where no life is known or it is made."""
    make_by: str
    """Last day to make it."""
    storage: str | None
    """How it is kept."""
    minutes_a_batch: float | None
    """Working time as the recipe states it."""
    past_use: bool
    """Whether what stands ready is past its life on the day of service: discard it."""


class Need(Output):
    """A bought item through all parts."""

    item: str
    """Id of the item."""
    base: Literal["ml", "g", "each"]
    """Of the quantity."""
    quantity: float
    """How much of it is used."""


class FreezerAnswer(Output):
    """What a freezer makes of the pre-batch."""

    set_c: float
    """As asked, in C."""
    freezing_point_c: float | None
    """At which the first ice forms."""
    limit_c: float | None
    """Coldest setting with the margin of 1.5 C."""
    verdict: Literal["liquid", "uncertain", "freezes", "unknown"]
    """`uncertain` lies inside the margin."""
    note: str
    """How far to rely on it."""
    missing: tuple[Missing, ...]
    """What is not known."""


class PackAnswer(Output):
    """What one price buys."""

    count: str
    """Units, without free ones."""
    size: str
    """Of one unit."""
    unit: Literal["ml", "g", "each"]
    """Of the size."""


class Sum(Output):
    """A sum of money."""

    amount: str
    """Decimal text."""
    currency: str
    """ISO 4217 code."""


class PurchaseAnswer(Output):
    """Whole packs of one offer."""

    item: str
    """What is needed."""
    offer: str
    """Id of the offer that the cost rests on."""
    supplier: str
    """Who sells it."""
    pack: PackAnswer
    """As offered."""
    unit: Literal["ml", "g", "each"]
    """Of need and rest."""
    need: float
    """How much is used."""
    packs: int
    """To buy where none is in the house."""
    left: float
    """Over after use."""
    price: Sum
    """Listed price of so many packs."""


class ScaleCost(Output):
    """What all serves cost."""

    currency: str | None
    """Null where nothing is offered."""
    complete: bool
    """Whether every line has its cost."""
    missing: tuple[Missing, ...]
    """What has none."""
    pour_cost: str | None
    """Of all serves."""
    at_least: str | None
    """Its known part."""
    packs: str | None
    """Listed prices of all packs; null unless all are known and in the currency."""


class ScaleAnswer(Output):
    """A drink at its new size."""

    drink: DrinkName
    """Which drink."""
    factor: float
    """How many times the written spec is made."""
    serves: float
    """How many serves that is."""
    whole_serves: int
    """Whole ones of them."""
    batch: BatchAnswer
    """The lines of role pour together, foams apart."""
    lines: tuple[ScaledLineAnswer, ...]
    """For all serves."""
    water: MeasuredAmount | None
    """Water of dilution that is added; null where it is left to the ice or there is none."""
    parts: tuple[PartToMakeAnswer, ...]
    """House-made parts in the order in which they are made."""
    needs: tuple[Need, ...]
    """Bought items through all parts, those strained out included."""
    unknown_needs: tuple[str, ...]
    """Items whose quantity is not known."""
    freezer: FreezerAnswer | None
    """Null unless `set_c` is given."""
    serve_on: str
    """Day of service."""
    batch_from: str | None
    """First day to mix it so that it lives on the day of service; null where no life is known."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    advisories: tuple[Caution, ...]
    """Cautions of one serve."""
    warnings: tuple[Note, ...]
    """What to look at."""
    meta: DeskMeta
    """By what the answer was made."""
    purchases: tuple[PurchaseAnswer, ...] | None = None
    """Packs to buy; absent for a key without costs:read."""
    cost: ScaleCost | None = None
    """Absent for a key without costs:read."""


class ComparedMoney(Output):
    """Money of one drink."""

    currency: str | None
    """Null where nothing is offered."""
    complete: bool
    """Whether every line has its cost."""
    pour_cost: str | None
    """Of one serve."""
    suggested_price: str | None
    """By the request's own target."""


class ComparedAllergens(Output):
    """Allergens of one drink in one jurisdiction."""

    jurisdiction: str
    """Its code."""
    contains: tuple[str, ...]
    """Declared as in it."""
    may_contain: tuple[str, ...]
    """Possibly in it."""
    unknown: tuple[str, ...]
    """Nobody said."""
    gained: tuple[str, ...] | None
    """In any state here and in none of the first drink; null where the first is not judged by this code."""
    lost: tuple[str, ...] | None
    """In any state of the first drink and in none here: not to be read as free of it."""


class ComparedDrink(Output):
    """One drink of a comparison; figures are of one serve as handed over."""

    id: str
    """Id of the drink."""
    name: str
    """For readers."""
    abv_percent: float | None
    """Strength at 20 C."""
    ethanol_g: float | None
    """Grams of ethanol."""
    undiluted_ml: float | None
    """Volume before the water of ice."""
    water_added_ml: float | None
    """Water from ice."""
    liquid_ml: float | None
    """Volume in the glass."""
    sugars_g: float | None
    """Grams of sugars."""
    acid_g: float | None
    """Grams of all acids."""
    acid_mmol: float | None
    """Titratable acidity in mmol H+."""
    energy_kcal: float | None
    """By the factors of the Union."""
    minutes: float | None
    """Work of the serve and its share of the parts; null where none is stated."""
    use_by_days: int | None
    """Its shortest life."""
    missing: tuple[Missing, ...]
    """What a null figure lacks."""
    allergens: tuple[ComparedAllergens, ...]
    """By jurisdiction."""
    advisories: tuple[str, ...]
    """Codes of its cautions."""
    money: ComparedMoney | None = None
    """Absent for a key without costs:read."""


class CompareAnswer(Output):
    """Drinks side by side."""

    drinks: tuple[ComparedDrink, ...]
    """In the order asked."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""


class SolvedAmount(Output):
    """An item whose amount was solved."""

    item: str
    """Id of the item."""
    role: Literal["by", "helper", "adjust"]
    """What it is in the swap."""
    unit: Literal["ml", "g"]
    """Of both figures."""
    before: float
    """For the whole spec."""
    after: float
    """For the whole spec; 0 where it is not needed."""


class FigureBeside(Output):
    """A figure of one serve before the water of ice that was not asked to stay."""

    figure: Held
    """Which one."""
    unit: Literal["g", "mmol", "ml"]
    """Of both figures."""
    before: float | None
    """With the old item."""
    after: float | None
    """With the new one."""


class HeldFigure(FigureBeside):
    """A figure of one serve before the water of ice that was asked to stay."""

    held: bool
    """Whether it stays within a billionth."""


class UnmetFigure(Output):
    """What could not be held."""

    figure: Held
    """Which one."""
    wanted: float
    """What it was."""
    nearest: float
    """What amounts of 0 or more come to."""
    detail: str
    """What would help."""


class LostWith(Output):
    """What the replaced item had, of one serve."""

    volume_ml: float
    """Alone, at 20 C."""
    water_g: float
    """Grams of water."""
    sugars_g: float | None
    """Grams of sugars."""
    acid_g: float | None
    """Grams of all acids."""
    acid_mmol: float | None
    """Titratable acidity in mmol H+."""
    ethanol_g: float | None
    """Grams of ethanol."""
    missing: tuple[Missing, ...]
    """What a null figure lacks."""


class JuiceSpread(Output):
    """How far fruit of one kind spreads."""

    item: str
    """The juice."""
    citric_g_per_l: float
    """Mean of citric acid alone by assay."""
    sd_g_per_l: float
    """Standard deviation of it."""
    source: str
    """Who measured it."""
    standing: str
    """How far that was checked."""
    note: str
    """What it is not."""


class SubstituteAnswer(Output):
    """A swap."""

    item: str
    """What is replaced."""
    by: str
    """By what."""
    solved: bool
    """Whether all that was to be held is."""
    amounts: tuple[SolvedAmount, ...]
    """What was solved for."""
    held: tuple[HeldFigure, ...]
    """What was asked to stay."""
    unmet: tuple[UnmetFigure, ...]
    """What of it could not."""
    beside: tuple[FigureBeside, ...]
    """What changed with it."""
    lost: LostWith
    """What went with the old item."""
    acidity: tuple[JuiceSpread, ...]
    """Of the juices in the swap that an assay is held of."""
    drink: dict[str, Any]
    """The new drink, as POST /v1/evaluate takes it."""
    compared: tuple[ComparedDrink, ...]
    """The old and the new drink side by side."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""


class FreeAmount(Output):
    """A free line."""

    line: int
    """Its place, from 0."""
    item: str
    """What it pours."""
    unit: Literal["ml", "g"]
    """Of all figures."""
    before: float
    """As written, for the whole spec."""
    exact: float
    """Without steps."""
    after: float
    """In whole steps; 0: the line goes."""


class GoalAnswer(Output):
    """A goal and what was reached, of one serve."""

    figure: GoalFigure
    """Which figure."""
    min: float | None
    """As asked."""
    max: float | None
    """As asked."""
    target: float | None
    """As asked."""
    before: float
    """As written."""
    exact: float
    """Without steps."""
    after: float
    """In whole steps."""
    met: bool
    """Inside the range, or within 0.5 % of the target."""


class UnmetGoal(Output):
    """A goal that is not met."""

    figure: GoalFigure
    """Which figure."""
    nearest: float
    """Together with the other goals."""
    nearest_alone: float | None
    """If nothing else were asked for, without steps."""
    why: Literal["steps", "other_goals", "bounds"]
    """What stands against it."""
    detail: str
    """In words."""


class AvoidedAnswer(Output):
    """An allergen to avoid that a line still brings."""

    allergen: str
    """Its key."""
    jurisdiction: str
    """Under whose rules."""
    state: Literal["contains", "may_contain", "unknown"]
    """Unknown is never absent."""
    items: tuple[str, ...]
    """Lines that bring it."""


class ReformulateAnswer(Output):
    """A reformulated drink."""

    solved: bool
    """Whether every goal is met and nothing to avoid is left."""
    amounts: tuple[FreeAmount, ...]
    """The free lines."""
    goals: tuple[GoalAnswer, ...]
    """In the order asked."""
    unmet: tuple[UnmetGoal, ...]
    """With the nearest that can be met."""
    avoided: tuple[AvoidedAnswer, ...]
    """What could not be avoided."""
    drink: dict[str, Any]
    """The new drink, as POST /v1/evaluate takes it."""
    compared: tuple[ComparedDrink, ...]
    """The old and the new drink side by side."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""
