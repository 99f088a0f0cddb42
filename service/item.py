"""What one bought thing is: strength, density, composition, allergens, pieces.

An :class:`Item` comes from the request, from the catalogue or from ``data/ingredients``; it never carries a price.
"""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from msgspec import Struct, field

KINDS = (
    "spirit", "liqueur", "fortified", "wine", "beer", "bitters", "syrup", "juice", "fruit", "dairy", "egg", "nut",
    "spice", "mixer", "acid", "additive", "water", "ice", "other",
)  # fmt: skip
"""The kinds of the contract, in its order."""

NUTRIENTS_G = ("sugars_g", "carbohydrate_g", "protein_g", "fat_g", "saturates_g", "fibre_g", "salt_g")
"""Grams per 100 g or 100 ml. ``carbohydrate_g`` is sugars + starch + polyols without fibre and acids."""

TRACES_MG = ("caffeine_mg", "quinine_mg", "sulphites_mg", "glycyrrhizin_mg")
"""Constituents in milligrams per 100 g or 100 ml."""

ACIDS = ("citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "titratable_as_citric")
"""Acids by name; ``titratable_as_citric`` is titratable acidity expressed as citric, which is not citric alone."""

POLYOLS = (
    "erythritol", "glycerol", "isomalt", "lactitol", "maltitol", "mannitol", "sorbitol", "xylitol", "unspecified",
)  # fmt: skip
"""Sugar alcohols by name; ``unspecified`` where a source gives their sum alone."""

PROCESSES = (
    "distilled", "macerated", "whey_distillate", "glucose_syrup", "maltodextrin", "refined_oil", "fined_isinglass",
    "fined_egg", "fined_milk", "fermented",
)  # fmt: skip
"""Ways of making that decide on an allergen exemption."""

NOTHING: Mapping[str, float] = MappingProxyType({})


class Composition(Struct, frozen=True):
    """Known constituents per 100 g (``basis == "g"``) or per 100 ml (``"ml"``); a key that is missing is unknown.

    ``acids_g`` and ``polyols_g`` are ``None`` where unknown and empty where there are none.
    """

    basis: str
    amounts: Mapping[str, float]
    acids_g: Mapping[str, float] | None = None
    polyols_g: Mapping[str, float] | None = None


class AllergenEntry(Struct, frozen=True):
    """``state`` is contains, may_contain, absent or unknown; ``process`` is how that allergen's source was treated."""

    state: str
    process: str | None = None


class Evidence(Struct, frozen=True):
    """What a declaration of allergens rests on; ``None`` is not stated. ``supplier`` is whose product it is about."""

    document: str | None = None
    issuer: str | None = None
    dated: date | None = None
    reviewed_by: str | None = None
    review_by: date | None = None
    supplier: str | None = None


class Piece(Struct, frozen=True):
    """One named piece of an item: its mass in grams, or the share of one whole item that it is."""

    g: float | None = None
    share: float | None = None


class SqueezedFrom(Struct, frozen=True):
    """``item`` is bought whole; one of it gives ``ml_each`` millilitres. It prices a juice that has no offer."""

    item: str
    ml_each: float


class Fact(Struct, frozen=True):
    """Where some of an item's values come from: field names, source, standing, dates (ISO)."""

    fields: tuple[str, ...]
    source: str
    standing: str
    since: str
    checked: str
    note: str = ""


class Item(Struct, frozen=True):
    """One bought thing. ``animal_origin`` is ``None`` where unknown and empty where nothing is of animal origin.

    ``bulk_g_per_ml`` turns a powder or leaf measured by the spoon or cup into mass; it is the density of the heap
    with its air and never that of the matter dissolved. ``strength_varies`` says of an embedded item that some kinds of
    it hold alcohol and others none, so that its strength is unknown and not 0.
    """

    id: str
    name: str
    kind: str = "other"
    abv_percent: float | None = None
    strength_varies: bool = False
    density_g_per_ml: float | None = None
    bulk_g_per_ml: float | None = None
    per_100: tuple[Composition, ...] = ()
    process: tuple[str, ...] = ()
    allergens: Mapping[str, AllergenEntry] = field(default_factory=dict)
    allergens_declared: str = "partial"
    animal_origin: tuple[str, ...] | None = None
    each_g: float | None = None
    pieces: Mapping[str, Piece] = field(default_factory=dict)
    squeezed_from: SqueezedFrom | None = None
    open_life_days: int | None = None
    bottle_residue_ml: float = 0.0
    aliases: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()
    origin: str = "request"
    evidence: Evidence | None = None
