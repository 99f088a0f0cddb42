"""The drink as the bar writes it: lines, method, glass and ice, and what a guest may change of it."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.scalars import (
    AmountText,
    Celsius,
    Count,
    Day,
    Factor,
    Flag,
    Id,
    NetMl,
    NotNegative,
    Percent,
    Positive,
    PriceDelta,
    SoldAs,
    Text,
    Word,
)

Role = Literal["pour", "top", "rinse", "garnish", "consumable"]

MethodKind = Literal[
    "none", "stirred", "shaken", "whipped", "dry_shaken", "thrown", "swizzled", "built", "blended", "spindle", "frozen",
    "carbonated", "heated", "draught", "prediluted",
]  # fmt: skip


class AmountPair(Input):
    """An amount as a figure and a unit."""

    value: AmountText | Annotated[float, Field(strict=True)]
    """The figure: a JSON number or text such as "2" or "3/4"."""
    unit: AmountText
    """The measure's word, such as ml, dash or wheel."""


Amount = AmountText | AmountPair


class Line(Input):
    """One line of a drink."""

    item: Id
    """Looked up in the request, then in the catalogue, then in the embedded reference."""
    amount: Amount
    """`50 ml`, `3/4 oz`, `2 dashes`, `3/4 oz (22.5 ml)`, `1 wheel`, `2 parts`, or `fill` on one line of role top."""
    role: Role = "pour"
    """`top` is added after the ice; of a `rinse` only `residue_ml` stays; a `consumable` is not eaten or drunk."""
    residue_ml: NotNegative | None = None
    """What stays in the glass of a rinse, for the whole spec; 0 unless given. The whole amount costs."""
    eaten: Flag = False
    """Whether a garnish is eaten: only then does it count in nutrition."""
    alternatives: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    """Items the bar may pour instead: allergens are the union, strength a range."""
    charge: Literal["used", "whole_unit"] = "used"
    """`whole_unit`: a whole bottle, can or piece is opened and charged."""


class Water(Input):
    """Water the drink takes up: measured in ml, as a fraction of the mixed volume, or from a mass of ice."""

    ml: NotNegative | None = None
    """Measured water, for the whole spec."""
    fraction: Annotated[NotNegative | None, Field(le=5)] = None
    """Water as a share of the mixed volume before ice."""
    ice_g: Positive | None = None
    """Mass of ice the drink meets, for the whole spec."""
    ice_c: Celsius | None = None
    """Temperature of that ice, 0 or below."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """One way of saying it: `ml`, `fraction`, or `ice_g` with `ice_c`."""
        if (self.ml is not None) + (self.fraction is not None) + (self.ice_g is not None) != 1:
            raise PydanticCustomError("water_one_of", "Give exactly one of ml, fraction, or ice_g with ice_c.")
        if (self.ice_g is None) != (self.ice_c is None):
            raise PydanticCustomError("water_one_of", "ice_g and ice_c go together.")
        if self.ice_c is not None and self.ice_c > 0:
            raise PydanticCustomError("ice_temperature", "Ice is at 0 C or below.")
        return self


class Method(Input):
    """How the drink is made."""

    kind: MethodKind = "none"
    """`stirred` and `shaken` have a published dilution model; `none` and others without ice take no water."""
    water: Water | None = None
    """A measured figure always wins over a model."""


class Ice(Input):
    """Ice in the glass when the drink is handed over."""

    kind: Word = "none"
    """`none`, or a word of the house for its ice, such as cubes, block or crushed."""
    ice_g: Positive | None = None
    """Its mass; without it the wash line is unknown."""


class Serve(Input):
    """The glass: all figures are for one serve."""

    glass_ml: Positive | None = None
    """Brim capacity."""
    line_ml: Positive | None = None
    """Capacity to the line that `fill` fills to; the brim unless given."""
    ice: Ice = Ice()
    """No ice unless given."""

    @model_validator(mode="after")
    def line_below_brim(self) -> Self:
        """The line cannot stand above the brim."""
        if self.line_ml is not None and self.glass_ml is not None and self.line_ml > self.glass_ml:
            raise PydanticCustomError("line_above_brim", "line_ml cannot be larger than glass_ml.")
        return self


class Replacement(Input):
    """Another item on the lines of one; role, charge and whatever stays of a rinse are kept, alternatives are not."""

    model_config = ConfigDict(validate_by_name=False, validate_by_alias=True)

    item: Id
    """What the drink is written with; a line that an earlier modifier gave another item is found by either."""
    with_: Annotated[Id, Field(alias="with")]
    """What is poured instead; looked up as the item of any line."""
    amount: Amount | None = None
    """That of the line unless given."""


class Scaling(Input):
    """More or less of one item, or of all lines of one role."""

    item: Id | None = None
    """All lines of it, found as in `replace`."""
    role: Role | None = None
    """All lines of it; one that fills the glass goes on filling it."""
    factor: Factor
    """2 for double, 0.5 for half; exact."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """What is scaled is named one way."""
        if (self.item is None) == (self.role is None):
            raise PydanticCustomError("scale_one_of", "Give exactly one of item and role.")
        return self


class Modifier(Input):
    """One thing a guest may ask for; within it, lines are removed, replaced, scaled and added in this order."""

    id: Id
    """What `with` names; no other modifier of the drink has it."""
    name: Text
    """For readers alone; no figure depends on it."""
    remove: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    """Items whose lines are left out, with the alternatives of those lines. A warning of cross-contact stays."""
    replace: Annotated[tuple[Replacement, ...], Field(max_length=10)] = ()
    """Items that others take the place of."""
    scale: Factor | Annotated[tuple[Scaling, ...], Field(max_length=10)] = ()
    """One factor for the whole spec, its measured water and ice included, or factors by item or role."""
    add: Annotated[tuple[Line, ...], Field(max_length=10)] = ()
    """Lines that come last, as they are written; for the whole spec, as its own lines are."""
    price_delta: PriceDelta | None = None
    """Added to the menu price, in the pricing currency; may be negative."""
    external_id: Text | None = None
    """What the till calls it; no figure depends on it."""


def _ids_once(modifiers: tuple[Modifier, ...]) -> tuple[Modifier, ...]:
    """Two modifiers of one id could not be told apart by ``with``."""
    if len({modifier.id for modifier in modifiers}) != len(modifiers):
        raise PydanticCustomError("duplicate_id", "Two modifiers of the drink have the same id.")
    return modifiers


class Hydrometer(Input):
    """What floated in the finished drink, freed of gas and ice, and the temperature it read at; one scale alone."""

    abv_percent: Percent | None = None
    """Reading in % vol of an alcoholometer for 20 C."""
    us_proof: Annotated[NotNegative | None, Field(le=200)] = None
    """Reading of a proof hydrometer for 60 F."""
    density_kg_per_m3: Annotated[Positive | None, Field(ge=700, le=1500)] = None
    """Density at `t_c`, as a density meter gives it."""
    t_c: Annotated[Celsius, Field(ge=0, le=40)]
    """Temperature of the liquid when it was read, 0 to 40 C."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """One scale."""
        if (self.abv_percent is not None) + (self.us_proof is not None) + (self.density_kg_per_m3 is not None) != 1:
            raise PydanticCustomError(
                "hydrometer_one_of", "Give exactly one of abv_percent, us_proof and density_kg_per_m3."
            )
        return self


class MeasuredDrink(Input):
    """What the bar measured of the finished drink, without ice; held against the model and used only where asked."""

    volume_ml: Positive | None = None
    """Of the liquid without the gas of a foam, for the whole spec."""
    mass_g: Positive | None = None
    """Of the liquid, for the whole spec."""
    brix: Annotated[Percent | None, Field(le=95)] = None
    """Reading of a refractometer; of a drink with alcohol in it no sugar can be told from it."""
    hydrometer: Hydrometer | None = None
    """Reading of a hydrometer or a density meter."""
    use: Flag = False
    """Whether it takes the place of the water, modelled or stated: by volume, else mass, else a dry drink's density."""

    @model_validator(mode="after")
    def at_least_one(self) -> Self:
        """Nothing measured is a mistake."""
        if all(one is None for one in (self.volume_ml, self.mass_g, self.brix, self.hydrometer)):
            raise PydanticCustomError("measured_empty", "Give at least one of volume_ml, mass_g, brix and hydrometer.")
        return self


class Drink(Input):
    """A drink spec; its amounts are for `serves` serves together."""

    id: Id
    """Paths of allergens and lives begin with it."""
    name: Text
    """For readers alone; no figure depends on it."""
    serves: Count = 1
    """How many serves all amounts of this spec make together; every figure of the answer is for one."""
    lines: Annotated[tuple[Line, ...], Field(min_length=1, max_length=60)]
    """In the order they are made and shown."""
    parts_total: Amount | None = None
    """The volume that the lines written in parts share out."""
    method: Method = Method()
    """Taken as mixed without ice unless given."""
    serve: Serve = Serve()
    """Needed for `fill` and for the wash line alone."""
    modifiers: Annotated[tuple[Modifier, ...], Field(max_length=60), AfterValidator(_ids_once)] = ()
    """What a guest may ask for; one that `with` does not name changes nothing."""
    measured: MeasuredDrink | None = None
    """What the house measured; the answer shows how far the model lies from it."""
    gluten_mg_per_kg: NotNegative | None = None
    """Gluten by analysis of the finished drink: without it no word on gluten is allowed, whatever is declared. It
    counts for nothing once `with` changes the drink, and of a drink with alternatives."""
    legal_name: Text | None = None
    """The legal name it is sold by, such as liqueur; `alcohol.legal_names` says what keeps it from the name."""
    egg_yolk_g_per_l: NotNegative | None = None
    """Egg yolk in a litre of the finished drink, for names that ask for it; never taken from the lines. It counts for
    nothing once `with` changes the drink."""
    sold_as: SoldAs | None = None
    """How this drink is sold where that is not as the house sells: a bottle to take away at a bar that pours."""
    net_ml: NetMl | None = None
    """Net quantity of its pack in ml, as the label panel prints it where the drink is sold packed."""
    lot: Text | None = None
    """Lot of the packs that are on sale."""
    made_on: Day | None = None
    """Day on which those packs were made; how long the drink keeps is counted from it."""
    storage: Text | None = None
    """How its pack is to be kept; the house's unless given."""
    responsible: Text | None = None
    """Name and address of who answers for its pack; the house's unless given."""
