"""What a dated rule can be: frozen values as ``data/jurisdictions/<code>.toml`` writes them.

The fields of each class are the keys that its entries in the data files may have; :mod:`service.rules`
refuses any other key. A field without a default has to be in the file, apart from the provenance, which an
entry may take from the source that it names.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType

STANDINGS = ("confirmed", "secondary", "memory")
"""How far a value was checked: against a copy of its source, in a secondary text, or not at all."""

STATUSES = ("law", "guidance", "convention", "proposal")
"""What binds a value. A proposal is shown and never applied."""

COMPARATORS = ("<", "<=", ">", ">=")
"""How a figure is held against a limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """Provenance of one rule, which applies from ``since`` to ``until``, both inclusive."""

    source: str
    standing: str
    since: date
    checked: date
    detail: str = ""
    until: date | None = None
    status: str = "law"
    key: str = ""

    def applies_on(self, day: date) -> bool:
        """Whether the rule is in force on that day."""
        return self.status != "proposal" and self.since <= day and (self.until is None or day <= self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One line of a rounding table, up to ``lt`` (exclusive) or ``le`` (inclusive), or without an upper end.

    Exactly one of: ``step`` (nearest multiple, half up), ``figures`` (significant figures), ``zero`` (shown
    as 0) and ``less_than`` (shown as less than that number; a figure of exactly 0 is shown as 0).
    """

    lt: Decimal | None = None
    le: Decimal | None = None
    step: Decimal | None = None
    figures: int | None = None
    zero: bool = False
    less_than: Decimal | None = None
    quantum: Decimal | None = field(init=False, default=None)
    """The step where it is a power of ten to 1, by which a figure is rounded without dividing it."""
    step_float: float = field(init=False, default=0.0)
    end: float = field(init=False, default=math.inf)
    """The step and the upper end as floats, for figures that are far from every doubt."""

    def __post_init__(self) -> None:
        ends = [float(bound) for bound in (self.lt, self.le) if bound is not None]
        object.__setattr__(self, "end", min(ends, default=math.inf))
        object.__setattr__(self, "step_float", 0.0 if self.step is None else float(self.step))
        if self.step is not None and self.step <= 1 and self.step.normalize().as_tuple().digits == (1,):
            object.__setattr__(self, "quantum", self.step.normalize())

    def holds(self, figure: Decimal) -> bool:
        """Whether the figure lies under the upper end of this band."""
        return (self.lt is None or figure < self.lt) and (self.le is None or figure <= self.le)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardDrink(Dated):
    """Ethanol in one standard drink: ``grams``, or a range where the sources give one.

    ``density_g_per_ml`` is the regime's convention, not physics; ``says_grams`` adds the grams of ethanol to
    the text.
    """

    noun: str
    noun_plural: str
    bands: tuple[Band, ...]
    grams: Decimal | None = None
    grams_low: Decimal | None = None
    grams_high: Decimal | None = None
    density_g_per_ml: Decimal = Decimal("0.789")
    density_standing: str = "memory"
    says_grams: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy(Dated):
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Nutrition(Dated):
    """Names the table of ``data/rounding.toml`` by which nutrition is declared."""

    table: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NutrientRow:
    """One declared nutrient: the sum of the figures named in ``sum_of`` times ``times``, rounded by
    ``bands``.

    An ``optional`` row is left out where its figure is unknown or zero.
    """

    nutrient: str
    label: str
    unit: str
    sum_of: tuple[str, ...]
    bands: tuple[Band, ...]
    times: Decimal = Decimal(1)
    optional: bool = False
    less_than: str = "less than {n} {unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NutritionTable(Dated):
    """The declared nutrients in the order that the regime prescribes, on ``bases``: per_100_ml, per_serve."""

    row: tuple[NutrientRow, ...]
    bases: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergens(Dated):
    """Allergens to be declared, in the regime's order; ``members`` says what a listed group holds in this
    regime.

    ``separate_statement`` is declared apart from the list; ``names`` are the regime's own words for a key.
    """

    listed: tuple[str, ...]
    recommended: tuple[str, ...] = ()
    members: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    separate_statement: tuple[str, ...] = ()
    names: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exemption(Dated):
    """An allergen (``*``: any but ``excluding``) made by ``process`` in ``kinds`` is not declared."""

    allergen: str
    process: str | None = None
    kinds: tuple[str, ...] = ()
    excluding: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sulphites(Dated):
    """Sulphites are declared where their mg per litre of the finished drink stand so to ``mg_per_l``."""

    comparator: str
    mg_per_l: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim(Dated):
    """A word of strength and its limit; ``only`` keeps the word to one kind of product."""

    word: str
    comparator: str
    abv_percent: Decimal
    only: str | None = None
    condition: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodClaim(Dated):
    """A word about what a drink holds, allowed where a measured ``measure`` stands so to ``limit``; without a
    measurement it is refused, whatever is declared."""

    word: str
    measure: str
    comparator: str
    limit: Decimal
    condition: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill(Dated):
    """Sizes that a ``commodity`` may be packed in: one of ``ml``, and whole litres from ``whole_litres_from_ml`` on."""

    commodity: str
    ml: tuple[Decimal, ...]
    whole_litres_from_ml: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving(Dated):
    """The reference serving of a ``commodity`` over (or from) one strength and up to another, in ml."""

    commodity: str
    comparator: str
    abv_percent: Decimal
    up_to_percent: Decimal | None = None
    ml: Decimal
    fl_oz: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MenuText(Dated):
    """How a strength is written on a menu; ``{n}`` is the figure, ``none`` stands for 0."""

    pattern: str
    under: str
    none: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelText(Dated):
    """How a strength is written on a package, from one limit up to another."""

    pattern: str
    places: int
    comparator: str
    abv_percent: Decimal
    up_to_percent: Decimal | None = None
    mode: str = "nearest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement(Dated):
    """A duty in words. ``binding`` is ``text`` (official, to be printed as it stands, in ``lang``) or
    ``information`` (a duty to look at, in words of our own).

    It is due where the drink is sold as one of ``sold_as``, its strength stands so to ``abv_percent``, one litre
    holds so much of ``measure``, the whole drink is of the kind ``only``, and the house has chosen ``option``.
    ``needs`` are figures without which it cannot be met; ``adopted`` is the day from which it is known of.
    """

    text: str
    binding: str = "text"
    sold_as: tuple[str, ...] = ()
    comparator: str | None = None
    abv_percent: Decimal | None = None
    measure: str | None = None
    per_l_comparator: str = ">"
    per_l: Decimal = Decimal(0)
    only: str | None = None
    option: str | None = None
    who: str = ""
    title: str = ""
    article: str = ""
    lang: str = "en"
    needs: tuple[str, ...] = ()
    adopted: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MenuCalories(Dated):
    """How a chain writes calories on its menu: of one drink, of a choice between two, of a choice between more, and
    what an add-on adds."""

    one: str
    two: str
    more: str
    added: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PourMeasure(Dated):
    """Legal measures for products of ``kinds`` that are called by one of ``words`` and by none of
    ``unless_words``: one of ``ml`` and its multiples, a most for each, or a most for all of them in one drink.

    A mixture of ``free_from_liquids`` liquids or more is not bound, nor is a pour under ``free_under_ml``.
    """

    kinds: tuple[str, ...]
    words: tuple[str, ...] = ()
    unless_words: tuple[str, ...] = ()
    ml: tuple[Decimal, ...] = ()
    most_ml: Decimal | None = None
    most_total_ml: Decimal | None = None
    free_from_liquids: int | None = None
    free_under_ml: Decimal | None = None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceFloor(Dated):
    """No price below ``amount`` for each ``per`` of ethanol in ``unit``: ml, or g at the given density."""

    amount: Decimal
    currency: str
    minor_places: int
    per: Decimal
    unit: str
    density_g_per_ml: Decimal = Decimal("0.789")


@dataclass(frozen=True, slots=True, kw_only=True)
class AllergenName(Dated):
    """One word of the vocabulary: its ``group``, what it also ``counts_as``, its GS1 code.

    ``core`` members are those that a bare group stands for; the others belong to it only where a regime lists
    them.
    """

    name: str
    group: str | None = None
    core: bool = True
    counts_as: tuple[str, ...] = ()
    gs1: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """All conditions present have to hold; the head of ``data/advisories.toml`` explains each."""

    kind: str | None = None
    words: tuple[str, ...] = ()
    unless_words: tuple[str, ...] = ()
    unless_kinds: tuple[str, ...] = ()
    item_allergen: str | None = None
    item_holds: str | None = None
    allergen: str | None = None
    methods: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    measure: str | None = None
    comparator: str | None = None
    limit_per_l: Decimal | None = None
    abv_comparator: str | None = None
    abv_percent: Decimal | None = None
    item_abv_from: Decimal | None = None
    with_alcohol: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Advisory(Dated):
    """A caution in words of our own, with the sentence that defers; no ``jurisdictions`` means everywhere
    but ``not_in``."""

    level: str
    text: str
    deferral: str
    trigger: Trigger
    jurisdictions: tuple[str, ...] = ()
    not_in: tuple[str, ...] = ()
