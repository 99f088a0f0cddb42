"""What a dated rule can be: frozen values as ``data/jurisdictions/<code>.toml`` writes them.

The fields of each class are the keys that its entries in the data files may have; :mod:`service.rules`
refuses any other key. A field without a default has to be in the file, apart from the provenance, which an
entry may take from the source that it names.
"""

from datetime import date
from decimal import Decimal

from msgspec import Struct

from service.ruleentry import Band, Dated


class StandardDrink(Dated, frozen=True, kw_only=True):
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


UNMIXED = "unmixed"


class Claim(Dated, frozen=True, kw_only=True):
    """A word of strength and its limit; ``only`` keeps the word to one kind of product, or with :data:`UNMIXED` to one
    that is sold as it was made."""

    word: str
    comparator: str
    abv_percent: Decimal
    only: str | None = None
    condition: str = ""


class NameLimit(Struct, frozen=True, kw_only=True):
    """What a legal name asks of one ``figure``. From ``limit`` to ``sure`` it rests on a condition that no figure
    shows."""

    figure: str
    comparator: str
    limit: Decimal
    sure: Decimal | None = None


class LegalName(Dated, frozen=True, kw_only=True):
    """A name that a law keeps: one of ``names`` as a whole, or one that ``begins`` or ``ends`` so.

    It stands in place of the rules ``in_place_of``. Without ``limits`` no figure decides, and ``condition`` says what
    does.
    """

    word: str
    names: tuple[str, ...] = ()
    begins: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    in_place_of: tuple[str, ...] = ()
    limits: tuple[NameLimit, ...] = ()
    condition: str = ""


class FillTolerance(Dated, frozen=True, kw_only=True):
    """How far the contents of a pack of a ``commodity`` may lie from its net quantity, from and up to so many ml."""

    commodity: str
    from_ml: Decimal
    up_to_ml: Decimal | None = None
    percent: Decimal


class Fill(Dated, frozen=True, kw_only=True):
    """Sizes that a ``commodity`` may be packed in: one of ``ml``, and whole litres from ``whole_litres_from_ml`` on."""

    commodity: str
    ml: tuple[Decimal, ...]
    whole_litres_from_ml: Decimal | None = None


class Serving(Dated, frozen=True, kw_only=True):
    """The reference serving of a ``commodity`` over (or from) one strength and up to another, in ml."""

    commodity: str
    comparator: str
    abv_percent: Decimal
    up_to_percent: Decimal | None = None
    ml: Decimal
    fl_oz: Decimal


class MenuText(Dated, frozen=True, kw_only=True):
    """How a strength is written on a menu; ``{n}`` is the figure, ``none`` stands for 0."""

    pattern: str
    under: str
    none: str


class LabelText(Dated, frozen=True, kw_only=True):
    """How a strength is written on a package, from one limit up to another."""

    pattern: str
    places: int
    comparator: str
    abv_percent: Decimal
    up_to_percent: Decimal | None = None
    mode: str = "nearest"


class Statement(Dated, frozen=True, kw_only=True):
    """A duty in words. ``binding`` is ``text`` (official, to be printed as it stands, in ``lang``) or
    ``information`` (a duty to look at, in words of our own).

    It is due where the drink is sold as one of ``sold_as``, its strength stands so to ``abv_percent``, one litre
    holds so much of ``measure``, something in it calls for ``caution``, the whole drink is of the kind ``only``, and
    the house has chosen ``option``.
    ``needs`` are figures without which it cannot be met; ``adopted`` is the day from which it is known of;
    ``prints`` are figures of the whole pack that a label panel prints while it applies. ``followed_by`` stands behind
    the text, with what 100 ml hold of ``measure`` in place of ``{n}``.
    """

    text: str
    binding: str = "text"
    sold_as: tuple[str, ...] = ()
    comparator: str | None = None
    abv_percent: Decimal | None = None
    measure: str | None = None
    per_l_comparator: str = ">"
    per_l: Decimal = Decimal(0)
    followed_by: str = ""
    caution: str | None = None
    only: str | None = None
    option: str | None = None
    who: str = ""
    title: str = ""
    article: str = ""
    lang: str = "en"
    needs: tuple[str, ...] = ()
    prints: tuple[str, ...] = ()
    adopted: date | None = None


class LabelLanguages(Dated, frozen=True, kw_only=True):
    """The languages in all of which a label has to be, by their codes."""

    languages: tuple[str, ...]


class MenuCalories(Dated, frozen=True, kw_only=True):
    """How a chain writes calories on its menu: of one drink, of a choice between two, of a choice between more, and
    what an add-on adds."""

    one: str
    two: str
    more: str
    added: str


class PourMeasure(Dated, frozen=True, kw_only=True):
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


class PriceFloor(Dated, frozen=True, kw_only=True):
    """No price below ``amount`` for each ``per`` of ethanol in ``unit``: ml, or g at the given density."""

    amount: Decimal
    currency: str
    minor_places: int
    per: Decimal
    unit: str
    density_g_per_ml: Decimal = Decimal("0.789")
