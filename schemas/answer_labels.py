"""What menus and labels need of a drink beside its strength and its allergens: nutrition, cautions, balance."""

from typing import Literal

from schemas._base import Output
from schemas.answer_bands import EnergyBand
from schemas.answer_money import Missing


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
    daily_value_percent: int | None
    """Share of a day that is declared beside it; null where the regime asks for none or the figure is not known."""


class DeclaredBy(Output):
    """The rule that a regime's declared rows are rounded by."""

    jurisdiction: str
    """Code."""
    source: str
    """The rounding rule."""
    standing: str
    """How far it was checked."""
    daily_values: str | None
    """Where the amounts of a day come from and how far that was checked; null where no share of a day is declared."""


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
    lang: str | None = None
    """Language of the text; absent where none was asked for."""
    fallback: bool | None = None
    """Whether words of another language than the one asked for are in it; absent where none was asked for."""
    deferral_lang: str | None = None
    """Language of the deferral; absent where none was asked for."""


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
