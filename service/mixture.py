"""Parts and what they make together: masses, volumes, solutes, allergens with their path.

A :class:`Substance` is what one gram or one millilitre of a thing holds; a :class:`Part` is an amount of it in
a drink or a preparation; a :class:`Mixture` is the sum of parts. All are frozen. Masses of ethanol, water and
everything dissolved are conserved; the volume comes from the density model, plus what the model cannot explain
of a part's own stated density (``excess_ml``), so that a part that is mixed with nothing keeps its volume.
"""

from collections.abc import Iterable, Mapping
from math import fsum
from types import MappingProxyType

from msgspec import Struct, field
from msgspec.structs import replace

from service.item import ACIDS, POLYOLS, Piece
from service.leaves import Leaves
from service.physics import mixing
from service.physics.ethanol import ETHANOL_DENSITY_20C_G_PER_ML
from service.unknown import KNOWN, Missing, Unknown

ACID = "acid."
POLYOL = "polyol."

ACID_NAMES: Mapping[str, str] = MappingProxyType({ACID + acid: acid for acid in ACIDS})
"""Constituents that are acids, with the acid's own name."""

POLYOL_NAMES: Mapping[str, str] = MappingProxyType({POLYOL + polyol: polyol for polyol in POLYOLS})
"""Constituents that are polyols, with the polyol's own name."""

CAUTIONED: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "caffeine_mg": ("caffeine_mg",), "quinine_mg": ("quinine_mg",), "glycyrrhizin_mg": ("glycyrrhizin_mg",),
    "polyols_g": tuple(POLYOL_NAMES),
})  # fmt: skip
"""What cautions measure, with the constituents that it is the sum of."""

MOST = "most."
"""Before a constituent's name: by how much more of it there may be, where another alternative is in it."""

AMOUNT = "amount"
"""The field of an item that is in a drink in an amount nobody knows."""

NONE: Mapping[str, float] = MappingProxyType({})


class Assumption(Struct, frozen=True):
    """Something the answer rests on that nobody stated; shown to the reader."""

    code: str
    detail: str
    item: str | None = None


class Substance(Struct, frozen=True):
    """What one base unit (``basis``: g or ml) of a thing holds.

    ``contents`` maps constituents to grams (``*_mg``: milligrams) per base unit; a constituent that is neither
    there nor in ``unknown`` is not in the thing. ``density_g_per_ml`` is of the liquid, without the gas of a
    foam. ``gas_factor`` is volume with gas over volume of liquid. ``weaker`` is the same thing with the
    weakest of its alternatives and all water of the fresh fruit that was strained out of it, ``stronger`` with the
    strongest of its alternatives (``None``: as it is). ``most`` is what of :data:`CAUTIONED` it holds with the
    alternatives that have most of it, where that is more. ``others`` are the same with further of its alternatives,
    such as those with the most and the least ethanol in a gram.
    """

    id: str
    name: str
    kind: str
    origin: str
    basis: str
    contents: Mapping[str, float]
    unknown: Unknown
    density_g_per_ml: float | None
    leaves: Leaves
    excess_ml: float = 0.0
    gas_factor: float = 1.0
    bulk_g_per_ml: float | None = None
    each_g: float | None = None
    pieces: Mapping[str, Piece] = field(default_factory=dict)
    assumptions: tuple[Assumption, ...] = ()
    undissolved: bool = False
    weaker: "Substance | None" = None
    stronger: "Substance | None" = None
    most: Mapping[str, float] = field(default_factory=dict)
    others: "tuple[Substance, ...]" = ()


class Part(Struct, frozen=True):
    """``base`` units (ml of liquid or g, as the substance counts) of a substance."""

    substance: Substance
    base: float

    @property
    def mass_g(self) -> float | None:
        """Mass in grams; ``None`` where the density is unknown."""
        if self.substance.basis == "g":
            return self.base
        density = self.substance.density_g_per_ml
        return None if density is None else self.base * density

    @property
    def volume_ml(self) -> float | None:
        """Volume of the liquid in millilitres, without gas; ``None`` where the density is unknown."""
        if self.substance.basis == "ml":
            return self.base
        density = self.substance.density_g_per_ml
        return None if density is None else self.base / density

    def content(self, constituent: str) -> float:
        """Grams (or milligrams) of a constituent that are known to be in it."""
        return self.substance.contents.get(constituent, 0.0) * self.base

    def of(self, measure: str) -> float:
        """Grams or milligrams of one of :data:`CAUTIONED`, or of a constituent, that are known to be in it."""
        return fsum([self.content(name) for name in CAUTIONED.get(measure, (measure,))])

    def most_of(self, measure: str) -> float:
        """As :meth:`of`, with the alternatives inside it that have most of it."""
        return max(self.of(measure), self.substance.most.get(measure, 0.0) * self.base)


class Mixture(Struct, frozen=True):
    """The sum of parts: ``contents`` in grams (``*_mg`` in milligrams), ``volume_ml`` of the liquid at 20 C."""

    contents: Mapping[str, float]
    excess_ml: float
    volume_ml: float
    mass_g: float | None
    unknown: Unknown

    def content(self, constituent: str) -> float:
        """Grams (or milligrams) known to be in it."""
        return self.contents.get(constituent, 0.0)

    def missing(self, *fields: str) -> tuple[Missing, ...]:
        """The (item, field) pairs among ``fields`` that are unknown, in a fixed order.

        Of an item whose amount is not known the amount alone is named: with it the fields are known too.
        """
        unknown = self.unknown
        named = unknown.among(fields)
        pairs = {(item, AMOUNT) if (item, AMOUNT) in unknown else (item, name) for item, name in named}
        return tuple(sorted(pairs))

    def knows(self, fieldname: str) -> bool:
        """Whether every part states ``fieldname``."""
        return fieldname not in self.unknown.fields

    @property
    def acids_g(self) -> float:
        """Grams of all acids known to be in it."""
        return fsum([self.contents[name] for name in ACID_NAMES if name in self.contents])

    @property
    def polyols_g(self) -> float:
        """Grams of all polyols known to be in it."""
        return fsum([self.contents[name] for name in POLYOL_NAMES if name in self.contents])

    @property
    def ethanol_g(self) -> float:
        """Grams of ethanol known to be in it."""
        return self.contents.get("ethanol", 0.0)

    @property
    def abv_percent(self) -> float | None:
        """Strength at 20 C in % vol; ``None`` where a part's strength is unknown or there is no liquid."""
        if not self.knows("abv_percent") or self.volume_ml <= 0:
            return None
        return mixing.abv_percent(self.contents.get("ethanol", 0.0), self.volume_ml)

    @property
    def overfull(self) -> bool:
        """Whether its ethanol alone takes up more than its volume, which a stated density may bring about."""
        ethanol_ml = self.ethanol_g / ETHANOL_DENSITY_20C_G_PER_ML
        return ethanol_ml > self.volume_ml * (1.0 + 1e-6)


def liquid_of(contents: Mapping[str, float]) -> mixing.Liquid:
    """Constituents in grams as the physics floor takes them: sugars, acids, salt and the rest by name."""
    acids: dict[str, float] = {}
    other: dict[str, float] = {}
    sugars = contents.get("sugars", 0.0)
    starch = contents.get("carbohydrate", 0.0) - sugars
    for name, amount in contents.items():
        if name in ACID_NAMES:
            acids[ACID_NAMES[name]] = amount
        elif name in POLYOL_NAMES:
            other["polyols"] = other.get("polyols", 0.0) + amount
            starch -= amount
        elif name in _SOLIDS:
            other[name] = amount
    if starch > 1e-12:
        other["starch"] = starch
    return mixing.Liquid(
        contents.get("ethanol", 0.0), contents.get("water", 0.0), sugars, acids, contents.get("salt", 0.0), other
    )


def modelled_volume_ml(contents: Mapping[str, float]) -> float:
    """Volume in ml at 20 C of constituents in grams, by the density model of ``physics.mixing``."""
    return mixing.volume_ml(*liquid_of(contents))


_WEIGHED = frozenset(("ethanol", "water", "protein", "fat", "fibre", "salt", *ACID_NAMES))
_SOLIDS = frozenset(("protein", "fat", "fibre"))


def grams(contents: Mapping[str, float]) -> float:
    """Mass in grams of constituents: carbohydrate counts once, sugars and polyols within it."""
    sugars_polyols, total = contents.get("sugars", 0.0), 0.0
    for name, amount in contents.items():
        if name in POLYOL_NAMES:
            sugars_polyols += amount
        elif name in _WEIGHED:
            total += amount
    return total + max(contents.get("carbohydrate", 0.0), sugars_polyols)


def _place(part: Part) -> tuple[float, float, float, float, str]:
    held = part.substance.contents
    water, ethanol = held.get("water", 0.0), held.get("ethanol", 0.0)
    return part.base, water, ethanol, held.get("carbohydrate", 0.0), part.substance.id


def mixture(parts: Iterable[Part]) -> Mixture:
    """The sum of ``parts``: masses add, the volume comes from the density model.

    Parts are added by what they hold, so that neither the order of the lines nor a name changes a bit of the
    sums.
    """
    contents: dict[str, float] = {}
    unknown: list[Unknown] = []
    excess = 0.0
    mass: float | None = 0.0
    for part in sorted(parts, key=_place):
        substance, base = part.substance, part.base
        for name, amount in substance.contents.items():
            contents[name] = contents.get(name, 0.0) + amount * base
        excess += substance.excess_ml * base
        unknown.append(substance.unknown)
        part_mass = part.mass_g
        mass = None if mass is None or part_mass is None else mass + part_mass
    return of_contents(contents, excess, mass, KNOWN.union(unknown))


def of_contents(contents: Mapping[str, float], excess_ml: float, mass_g: float | None, unknown: Unknown) -> Mixture:
    """A mixture of known constituents."""
    return Mixture(contents, excess_ml, modelled_volume_ml(contents) + excess_ml, mass_g, unknown)


def with_water(base: Mixture, water_g: float) -> Mixture:
    """``base`` with ``water_g`` grams of water added."""
    contents = dict(base.contents)
    contents["water"] = contents.get("water", 0.0) + water_g
    mass = None if base.mass_g is None else base.mass_g + water_g
    return of_contents(contents, base.excess_ml, mass, base.unknown)


def together(first: Mixture, second: Mixture) -> Mixture:
    """Two mixtures poured together."""
    contents = dict(first.contents)
    for name, amount in second.contents.items():
        contents[name] = contents.get(name, 0.0) + amount
    mass = None if first.mass_g is None or second.mass_g is None else first.mass_g + second.mass_g
    return of_contents(contents, first.excess_ml + second.excess_ml, mass, first.unknown.union((second.unknown,)))


def scaled(whole: Mixture, share: float) -> Mixture:
    """``share`` of a mixture, composition unchanged."""
    contents = {name: amount * share for name, amount in whole.contents.items()}
    mass = None if whole.mass_g is None else whole.mass_g * share
    return replace(
        whole, contents=contents, excess_ml=whole.excess_ml * share, volume_ml=whole.volume_ml * share, mass_g=mass
    )


def with_mass_of(before: Mixture, contents: Mapping[str, float]) -> float | None:
    """The mass of ``before`` once its constituents have become ``contents``."""
    return None if before.mass_g is None else before.mass_g - grams(before.contents) + grams(contents)


def changed(mix: Mixture, **amounts: float) -> Mixture:
    """``mix`` with other grams of some constituents."""
    contents = {**mix.contents, **amounts}
    return of_contents(contents, mix.excess_ml, with_mass_of(mix, contents), mix.unknown)


def water_for_volume(mix: Mixture, volume_ml: float) -> Mixture:
    """The mixture with as much water as gives ``volume_ml``. Raises ``OutOfRange`` where the rest needs more room."""
    acids = {name[5:]: amount for name, amount in mix.contents.items() if name.startswith(ACID)}
    polyols = mix.polyols_g
    sugars = mix.content("sugars")
    other = {name: mix.contents[name] for name in ("protein", "fat", "fibre") if name in mix.contents}
    if polyols:
        other["polyols"] = polyols
    starch = mix.content("carbohydrate") - sugars - polyols
    if starch > 1e-12:
        other["starch"] = starch
    water = mixing.water_g_for_volume(
        volume_ml - mix.excess_ml, mix.ethanol_g, sugars, acids, mix.content("salt"), other
    )
    return changed(mix, water=water)


EMPTY = Mixture(NONE, 0.0, 0.0, 0.0, KNOWN)
"""No parts at all."""
