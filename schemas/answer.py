"""POST /v1/evaluate: what is answered. Sections that `include` leaves out, or a key may not see, are absent."""

from typing import Any

from schemas._base import Output
from schemas.answer_allergens import AllergensAnswer
from schemas.answer_delta import DeltaAnswer
from schemas.answer_duties import DutyRow, Labels
from schemas.answer_labels import AdvisoryRow, BalanceAnswer, NutritionAnswer
from schemas.answer_measured import MeasuredAnswer
from schemas.answer_money import Cost, Missing, PriceAnswer, Rounding
from schemas.answer_pack import PackOnSale
from schemas.answer_strength import AlcoholAnswer


class DrinkName(Output):
    """Which drink."""

    id: str
    """Its id."""
    name: str
    """Its name."""
    serves: int
    """For how many serves the spec is; every figure is for one."""


class DilutionAnswer(Output):
    """Water from ice."""

    fraction: float | None
    """Water as a share of `base_ml`; null where it is not known."""
    base_ml: float
    """Volume of the lines of role pour before ice."""
    model: str
    """What gave the fraction: a published model, the house, a measurement, or none."""
    in_range: bool | None
    """Whether the published model supports this strength; null where no model was used."""
    source: str
    """Where the model comes from."""


class ServeAnswer(Output):
    """The drink in its glass."""

    undiluted_ml: float | None
    """Volume of all that is drunk, without the water of ice; null where the amount of a line is not known."""
    water_added_ml: float | None
    """Water of ice."""
    liquid_ml: float | None
    """Volume of the liquid as handed over."""
    foam_ml: float | None
    """Volume of foam with its gas."""
    mass_g: float | None
    """Mass of the liquid; null where a density is not known."""
    ice_displaced_ml: float | None
    """Liquid that the ice in the glass displaces; null where the ice was not weighed."""
    washline_percent: float | None
    """Liquid, foam and ice as a share of the glass to its brim."""
    dilution: DilutionAnswer
    """Water from ice."""
    missing: tuple[Missing, ...]
    """What is not known."""


class LineAnswer(Output):
    """One line of the drink, for one serve."""

    item: str
    """Id."""
    name: str
    """Name."""
    role: str
    """Role of the line."""
    source: str
    """Where the item was found: request, catalogue or reference."""
    read_as: str
    """How the amount was read."""
    volume_ml: float | None
    """Volume as poured, with the gas of a foam."""
    mass_g: float | None
    """Mass."""
    ethanol_g: float | None
    """Ethanol."""
    alternatives: tuple[str, ...] | None = None
    """Items that may be poured instead; absent without any."""
    cost: str | None = None
    """Cost, six decimals; absent without the section cost."""
    cost_share_percent: str | None = None
    """Share of ingredients and garnish, 100.0 in all; absent without the section cost."""
    offer: str | None = None
    """Id of the offer; absent without the section cost."""
    choice: str | None = None
    """Why this offer; absent without the section cost."""
    priced_from: str | None = None
    """Id of the item whose offers were used; absent without the section cost."""


class UseByAnswer(Output):
    """How long it keeps."""

    days: int
    """Days from the day of the answer."""
    path: tuple[str, ...]
    """Ids to what spoils first."""
    reason: str
    """Which life that is: the item or part with its days, and the day since when they count where one is known."""


class FruitWaterAnswer(Output):
    """A batch if all water of the fresh fruit strained out of it stayed: the other bound of each figure."""

    yield_ml: float | None
    """Volume of liquid it gives."""
    abv_percent: float | None
    """% vol at 20 C."""
    brix: float | None
    """Sugars in g per 100 g."""
    sugars_g_per_100_ml: float | None
    """Sugars."""
    acid_g_per_100_ml: float | None
    """Acids."""


class PreparationAnswer(Output):
    """One batch of a house-made part."""

    id: str
    """Id."""
    name: str
    """Name."""
    source: str
    """request or catalogue."""
    computed_ml: float | None
    """Volume before losses."""
    yield_ml: float | None
    """Volume of liquid it gives."""
    density_g_per_ml: float | None
    """Density of the liquid."""
    abv_percent: float | None
    """% vol at 20 C."""
    brix: float | None
    """Sugars in g per 100 g."""
    sugars_g_per_100_ml: float | None
    """Sugars."""
    acid_g_per_100_ml: float | None
    """Acids."""
    with_fruit_water: FruitWaterAnswer | None
    """The same if all water of strained-out fresh fruit stayed; null without such fruit of known water."""
    use_by: UseByAnswer | None
    """How long it keeps; null where nothing says so."""
    storage: str | None
    """How it is kept."""
    cost_per_ml: str | None = None
    """Cost of one ml, nine decimals; absent without the section cost."""


class AssumptionRow(Output):
    """Something the answer rests on that nobody stated."""

    code: str
    """Stable word."""
    detail: str
    """In words."""
    items: tuple[str, ...]
    """Which items; empty for the whole drink."""


class Note(Output):
    """A warning."""

    code: str
    """Stable word."""
    detail: str
    """In words."""
    item: str | None
    """Which item; null for the whole drink."""


class TraceRow(Output):
    """One figure with its steps, so that the sum can be redone by hand."""

    figure: str
    """Which figure, by its place in the answer."""
    formula: str
    """How it comes about."""
    inputs: dict[str, Any]
    """What went in, by name."""
    value: float | int | str | None
    """What came out, before display rounding."""
    unit: str
    """Its unit; empty for a bare number."""
    source: str
    """Where the formula or factor comes from."""


class Meta(Output):
    """By what the answer was made."""

    contract: str
    """Version of the contract."""
    rules_version: str
    """Version of the dated rules."""
    reference_version: str
    """Version of the embedded items."""
    as_of: str
    """The day whose prices and rules apply, YYYY-MM-DD."""
    rounding: Rounding
    """How money is rounded."""
    request_sha256: str
    """Hash of the request."""
    note: str
    """How far to rely on it."""
    data_version: int = 0
    """Counts changes of what labels show; absent where nothing is stored. It asks a stored label anew as it was."""
    cost_version: int = 0
    """Counts every change; absent for keys without `costs:read`. It asks a stored cost anew as it was."""


class Answer(Output):
    """The whole answer to one drink; null is unknown, and an absent section was not asked for."""

    drink: DrinkName
    """Which drink."""
    serve: ServeAnswer
    """The drink in its glass."""
    lines: tuple[LineAnswer, ...]
    """Each line as read."""
    preparations: tuple[PreparationAnswer, ...]
    """Every house-made part in it, the innermost first."""
    cost: Cost | None = None
    """What it costs."""
    price: PriceAnswer | None = None
    """What it sells for; null where nothing says how to price it."""
    alcohol: AlcoholAnswer | None = None
    """How strong it is."""
    nutrition: NutritionAnswer | None = None
    """Energy and nutrients."""
    allergens: AllergensAnswer | None = None
    """Allergens and diet."""
    duties: tuple[DutyRow, ...] | None = None
    """Duties of menus and labels that may apply; absent where no label section was asked for."""
    pack: PackOnSale | None = None
    """What its packs state; absent for a drink that is not sold packed."""
    advisories: tuple[AdvisoryRow, ...]
    """Cautions."""
    balance: BalanceAnswer | None = None
    """Sugars and acid."""
    measured: MeasuredAnswer | None = None
    """What the house measured beside the model; absent where nothing was measured."""
    use_by: UseByAnswer | None
    """How long it keeps once its parts are opened or made; null where nothing says so."""
    assumptions: tuple[AssumptionRow, ...]
    """What the figures rest on that nobody stated."""
    warnings: tuple[Note, ...]
    """What to look at; the figures stand all the same."""
    trace: tuple[TraceRow, ...] | None = None
    """Every figure's steps, where asked for."""
    labels: Labels | None = None
    """The language of the texts; absent where none was asked for."""
    meta: Meta
    """By what the answer was made."""
    delta: DeltaAnswer | None = None
    """What modifiers change; absent unless `with` names any."""
