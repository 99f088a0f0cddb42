"""What POST /v1/scale answers. ``null`` is unknown."""

from typing import Literal

from schemas._base import Output
from schemas.answer import DrinkName, Note
from schemas.answer_money import Missing
from schemas.desk_answer import Caution, DeskMeta


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
