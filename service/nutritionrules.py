"""Rules on what a drink holds: energy, declared nutrients, and words that a measurement allows."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from msgspec import Struct, field

from service.ruleentry import Band, Dated


class Energy(Dated, frozen=True, kw_only=True):
    """Energy per gram. ``kj`` and ``kcal`` are keyed carbohydrate (without polyols), polyols, protein, fat,
    ethanol, organic_acids and fibre; ``polyols_kj`` and ``polyols_kcal`` hold polyols that have a factor of
    their own.

    ``mode``: ``own_factors`` sums each unit with its own factors, ``kj_over_4_18`` has Calories = kJ / 4.18,
    ``kcal_only`` has no factors in kJ.
    """

    mode: str
    kj: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    kcal: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    polyols_kj: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    polyols_kcal: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    note: str = ""


class Nutrition(Dated, frozen=True, kw_only=True):
    """Names the table of ``data/rounding.toml`` by which nutrition is declared."""

    table: str


class NutrientRow(Struct, frozen=True, kw_only=True):
    """One declared nutrient: the sum of the figures named in ``sum_of`` times ``times``, rounded by
    ``bands``.

    An ``optional`` row is left out where its figure is unknown or zero. A ``bare`` one is printed without its unit,
    which its name says. ``daily_value`` is the amount of a day, in the row's unit, of which a share is declared.
    """

    nutrient: str
    label: str
    unit: str
    sum_of: tuple[str, ...]
    bands: tuple[Band, ...]
    times: Decimal = Decimal(1)
    optional: bool = False
    less_than: str = "less than {n} {unit}"
    bare: bool = False
    daily_value: Decimal | None = None


class NutritionTable(Dated, frozen=True, kw_only=True):
    """The declared nutrients in the order that the regime prescribes, on ``bases``: per_100_ml, per_serve."""

    row: tuple[NutrientRow, ...]
    bases: tuple[str, ...]
    daily_values: str = ""
    """Where the amounts of a day come from, and how far that was checked."""
    note: str = ""


class FoodClaim(Dated, frozen=True, kw_only=True):
    """A word about what a drink holds, allowed where a measured ``measure`` stands so to ``limit``; without a
    measurement it is refused, whatever is declared, and where one of the allergens ``traces`` may be in it, too."""

    word: str
    measure: str
    comparator: str
    limit: Decimal
    traces: tuple[str, ...] = ()
    condition: str = ""
