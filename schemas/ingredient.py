"""A bought item: strength, density, composition, allergens, pieces. It carries no price."""

import re
from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.scalars import Day, Days, Id, NotNegative, Percent, Positive, Share, Text, Word

Kind = Literal[
    "spirit", "liqueur", "fortified", "wine", "beer", "bitters", "syrup", "juice", "fruit", "dairy", "egg", "nut",
    "spice", "mixer", "acid", "additive", "water", "ice", "other",
]  # fmt: skip

Process = Literal[
    "distilled", "macerated", "infused", "flavoured", "whey_distillate", "glucose_syrup", "maltodextrin", "refined_oil",
    "fined_isinglass", "fined_egg", "fined_milk", "fermented",
]  # fmt: skip

Acid = Literal["citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "titratable_as_citric"]

Polyol = Literal[
    "erythritol", "glycerol", "isomalt", "lactitol", "maltitol", "mannitol", "sorbitol", "xylitol", "unspecified"
]

AllergenKey = Literal[
    "gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery", "mustard", "sesame",
    "sulphites", "lupin", "molluscs",
    "wheat", "rye", "barley", "oats", "spelt", "khorasan", "triticale",
    "almond", "hazelnut", "walnut", "cashew", "pecan", "brazil", "pistachio", "macadamia", "pine_nut", "black_walnut",
    "california_walnut", "heartnut",
    "shrimp", "crab", "buckwheat", "abalone", "squid", "salmon_roe", "orange", "kiwifruit", "beef", "salmon",
    "mackerel", "chicken", "banana", "pork", "peach", "yam", "apple", "gelatin",
]  # fmt: skip

AllergenState = Literal["contains", "may_contain", "absent", "unknown"]

_PIECE_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}\Z", re.ASCII)

PerHundred = Annotated[NotNegative, Field(le=200)]
"""Grams per 100 g or 100 ml. A heavy syrup holds over 100 g in 100 ml; the mass balance is checked in the service."""


class AllergenSource(Input):
    """An allergen with the way its source was treated."""

    state: AllergenState
    """`unknown` is never read as absent."""
    process: Process | None = None
    """An exemption needs the allergen's own process."""


class PerHundredOf(Input):
    """Composition per 100 g or 100 ml of the product as sold. A key left out is unknown, never zero."""

    basis: Literal["ml", "g"]
    """Whether the figures are for 100 ml or for 100 g."""
    sugars_g: PerHundred | None = None
    """Mono- and disaccharides, in grams."""
    carbohydrate_g: PerHundred | None = None
    """Sugars, starch and polyols, without fibre and acids."""
    acids_g: dict[Acid, PerHundred] | None = None
    """By acid; `titratable_as_citric` is titratable acidity expressed as citric, not citric alone. Empty: none."""
    protein_g: PerHundred | None = None
    """In grams; 0 for spirits and water unless given."""
    fat_g: PerHundred | None = None
    """In grams; 0 for spirits and water unless given."""
    saturates_g: PerHundred | None = None
    """Saturated fatty acids in grams, a part of the fat."""
    fibre_g: PerHundred | None = None
    """In grams; not a part of the carbohydrate."""
    polyols_g: PerHundred | dict[Polyol, PerHundred] | None = None
    """By polyol, or their sum."""
    salt_g: PerHundred | None = None
    """Sodium x 2.5, in grams."""
    caffeine_mg: NotNegative | None = None
    """In milligrams; calls for the advisories on caffeine."""
    quinine_mg: NotNegative | None = None
    """In milligrams; calls for the advisories on quinine."""
    sulphites_mg: NotNegative | None = None
    """Total sulphur dioxide."""
    glycyrrhizin_mg: NotNegative | None = None
    """In milligrams; calls for the advisories on liquorice."""


class Piece(Input):
    """A named piece, by its mass or as a share of one whole item."""

    g: Positive | None = None
    """Mass in grams."""
    share: Annotated[Share | None, Field(gt=0)] = None
    """As a part of one whole item, over 0 to 1."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """A piece is known by mass or by share."""
        if (self.g is None) == (self.share is None):
            raise PydanticCustomError("piece_one_of", "Give exactly one of g and share.")
        return self


class Pieces(Input):
    """How the item is counted: the mass of one, and named pieces of it (`wheel`, `wedge`, `leaf`)."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Piece]

    each_g: Positive | None = None
    """Mass of one whole item."""

    @model_validator(mode="after")
    def bounded_names(self) -> Self:
        """At most 30 named pieces, each named by one lower-case word."""
        names = self.__pydantic_extra__
        if len(names) > 30 or not all(_PIECE_NAME.match(name) for name in names):
            raise PydanticCustomError("piece_name", "Name at most 30 pieces, each by one lower-case word.")
        return self


class Evidence(Input):
    """What a declaration of allergens rests on. A complete one is verified by all of it but `supplier`."""

    document: Text | None = None
    """Its title or number, such as that of a specification."""
    issuer: Text | None = None
    """Who wrote it, such as the maker."""
    dated: Day | None = None
    """Day of the document; it counts from then on."""
    reviewed_by: Text | None = None
    """Who at the bar has read it against the product."""
    review_by: Day | None = None
    """Last day on which it counts; after it the declaration is stale."""
    supplier: Text | None = None
    """Whose product it is about; stale as soon as any valid offer of the item is another supplier's."""

    @model_validator(mode="after")
    def forward(self) -> Self:
        """A review is due no earlier than the document."""
        if self.dated is not None and self.review_by is not None and self.review_by < self.dated:
            raise PydanticCustomError("evidence_reversed", "review_by lies before dated.")
        return self


class Ingredient(Input):
    """A bought item. A product that differs in strength, allergens or process is another item."""

    id: Id
    """What lines and offers name; used before a catalogue or reference item of the same id."""
    name: Text
    """As statements and the bar's lists call it."""
    kind: Kind = "other"
    """Decides whether a bare ounce is a mass, what is known to be absent, and which rules of a product bind it."""
    abv_percent: Percent | None = None
    """Alcoholic strength by volume at 20 C."""
    density_g_per_ml: Annotated[Positive | None, Field(le=5)] = None
    """At 20 C; computed from strength and composition unless given."""
    per_100: PerHundredOf | None = None
    """Without it composition is unknown; spirits, water and ice alone are taken to hold nothing else."""
    process: Annotated[tuple[Process, ...], Field(max_length=12)] = ()
    """How it was made; an exemption from an allergen declaration may rest on it."""
    pieces: Pieces | None = None
    """Needed where a line or an offer counts it by the piece."""
    animal_origin: Literal["none", "unknown"] | Annotated[tuple[Word, ...], Field(min_length=1, max_length=20)] = (
        "unknown"
    )
    """`none`, `unknown`, or what animals it comes from, such as egg, milk, honey, fish_gelatine."""
    allergens: dict[AllergenKey, AllergenState | AllergenSource] = {}
    """State by allergen group or member; what is not listed goes by `allergens_declared`."""
    allergens_declared: Literal["complete", "partial"] = "partial"
    """`complete`: what is not listed is absent. `partial`: what is not listed is unknown."""
    evidence: Evidence | None = None
    """What the declaration rests on; without it a complete one is answered as unverified."""
    open_life_days: Days | None = None
    """How long it keeps once opened."""
    bottle_residue_ml: NotNegative | None = None
    """What stays in each bottle and is never poured."""
