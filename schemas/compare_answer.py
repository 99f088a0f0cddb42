"""What POST /v1/compare answers. ``null`` is unknown."""

from schemas._base import Output
from schemas.answer_duties import Labels
from schemas.answer_money import Missing
from schemas.desk_answer import DeskMeta


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
    partly_unknown: tuple[str, ...]
    """Groups in `contains` of which a member is declared, and nobody said of the others."""
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
    labels: Labels | None = None
    """Words for its figures and states, by their names here; absent unless a language was asked for."""
