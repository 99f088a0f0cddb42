"""A drink made again with some of its inputs moved: the figures that bands are about, computed as the answer has them.

One recomputation walks the same way as the drink itself: items to substances, house-made parts in the order they are
made, lines, ice to water, mixture. What no moved input reaches is taken over as it is.
"""

from collections.abc import Mapping
from typing import Literal, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from service.build import Build, built
from service.glass import Glass
from service.icewater import Method, Water
from service.item import Composition, Item
from service.line import ResolvedLine
from service.mixture import Mixture, Part, Substance, together
from service.nutrition import energy
from service.preparation import prepared
from service.recipe import PreparationLine
from service.resolve import Resolved
from service.rules import Rules
from service.substance import by_volume, substance

Kind = Literal["pour", "strength", "acid", "water"]


class Key(NamedTuple):
    """One input: of a line by its number (``pour``), of an item by its id, or the water (both empty)."""

    kind: Kind
    item: str = ""
    line: int = -1


class Figures(NamedTuple):
    """What a band is about, for one serve; ``poured`` is each line's volume over its volume as written."""

    abv_percent: float | None
    ethanol_g: float | None
    energy_kj: float | None
    energy_kcal: float | None
    poured: Mapping[int, float]


class Varied(Struct, frozen=True):
    """A resolved drink with what making it needs; ``eaten`` is what is eaten beside the liquid."""

    resolved: Resolved
    build: Build
    method: Method
    glass: Glass
    house_fractions: Mapping[str, float]
    eaten: Mixture | None
    factors: Rules

    def figures(self, moved: Mapping[Key, float]) -> Figures:
        """The figures with inputs moved: pour, acid and water by a share of themselves, strength by % vol.

        Raises ``InputFault`` or ``OutOfRange`` where the drink cannot be made so.
        """
        lines, poured = self._lines(moved)
        build = self._build(lines, moved)
        for number, part in build.fill.items():
            poured[number] = part.base / self.build.fill[number].base
        drunk = build.liquid or build.undiluted
        consumed = drunk if self.eaten is None else together(drunk, self.eaten)
        found = energy(consumed, self.factors)
        knows = build.undiluted.knows("abv_percent")
        abv = build.liquid.abv_percent if build.liquid is not None else None
        ethanol = build.undiluted.ethanol_g if knows else None
        return Figures(abv, ethanol, found.energy_kj, found.energy_kcal, poured)

    def _build(self, lines: tuple[ResolvedLine, ...], moved: Mapping[Key, float]) -> Build:
        serves = self.resolved.drink.serves
        glass = self._glass(moved)
        build = built(lines, self.method, glass, serves, self.house_fractions)
        share = moved.get(Key("water"))
        water = build.dilution.water_ml
        if not share or not water:
            return build
        method = Method(self.method.kind, Water(ml=water * (1.0 + share) * serves))
        return built(lines, method, glass, serves, self.house_fractions)

    def _glass(self, moved: Mapping[Key, float]) -> Glass:
        """The glass with its line where a line that fills it is moved: filled a little over or under."""
        line_ml = self.glass.line_ml or self.glass.glass_ml
        if line_ml is None:
            return self.glass
        for number, part in self.build.fill.items():
            share = moved.get(Key("pour", line=number), 0.0)
            line_ml += share * part.base * part.substance.gas_factor
        return replace(self.glass, line_ml=line_ml)

    def _lines(self, moved: Mapping[Key, float]) -> tuple[tuple[ResolvedLine, ...], dict[int, float]]:
        made = self._substances(moved)
        serves = self.resolved.drink.serves
        lines: list[ResolvedLine] = []
        poured: dict[int, float] = {}
        for line in self.resolved.lines:
            share = moved.get(Key("pour", line=line.number), 0.0)
            if share:
                poured[line.number] = 1.0 + share
            # Of a rinse a volume stays, however much was swilled round the glass.
            kept = 0.0 if line.role == "rinse" else share
            new = made.get(line.ref)
            lines.append(line if new is None and not kept else _moved(line, new, 1.0 + kept, serves))
        return tuple(lines), poured

    def _substances(self, moved: Mapping[Key, float]) -> dict[str, Substance]:
        """Every substance that a moved input reaches, by id; house-made parts in the order they are made."""
        items: dict[str, Item] = {}
        for key, by in moved.items():
            if key.kind in ("strength", "acid") and by:
                item = items.get(key.item, self.resolved.items[key.item])
                items[key.item] = _stronger(item, by) if key.kind == "strength" else _sourer(item, by)
        made = {item_id: substance(item) for item_id, item in items.items()}
        if not made:
            return made
        for prep_id, batch in self.resolved.preparations.items():
            if any(item_id in batch.substance.leaves for item_id in items):
                lines = [
                    _remade(line, read, made)
                    for line, read in zip(batch.spec.lines, self.resolved.preparation_lines[prep_id], strict=True)
                ]
                made[prep_id] = prepared(replace(batch.spec, lines=tuple(lines))).substance
        return made


def _stronger(item: Item, by_percent_vol: float) -> Item:
    assert item.abv_percent is not None
    return replace(item, abv_percent=min(100.0, max(0.0, item.abv_percent + by_percent_vol)))


def _sourer(item: Item, share: float) -> Item:
    return replace(item, per_100=tuple([_with_acids(table, 1.0 + share) for table in item.per_100]))


def _with_acids(table: Composition, times: float) -> Composition:
    if table.acids_g is None:
        return table
    return replace(table, acids_g={name: max(0.0, amount * times) for name, amount in table.acids_g.items()})


def _moved(line: ResolvedLine, new: Substance | None, times: float, serves: int) -> ResolvedLine:
    """A line with another make of what it pours, and more or less of it."""
    if line.part is None:
        return line if new is None else replace(line, substance=_as_poured(line, new))
    new = line.substance if new is None else _as_poured(line, new)
    part = Part(new, times * _base(line, line.part, new))
    return replace(line, substance=new, part=part)


def _as_poured(line: ResolvedLine, new: Substance) -> Substance:
    return by_volume(new) if line.amount.dimension == "volume" else new


def _base(line: ResolvedLine, part: Part, new: Substance) -> float:
    """The same amount in base units of the new make: what was weighed weighs as much, what was poured fills as much."""
    old = part.substance
    if new.basis != "ml" or old.basis != "ml":
        return part.base
    if line.amount.dimension == "mass" and old.density_g_per_ml and new.density_g_per_ml:
        return part.base * old.density_g_per_ml / new.density_g_per_ml
    return part.base * old.gas_factor / new.gas_factor


def _remade(line: PreparationLine, read: ResolvedLine, made: Mapping[str, Substance]) -> PreparationLine:
    """A line of a batch with what is moved in it; the bounds over alternatives are not asked for here."""
    new = made.get(read.ref)
    if new is None:
        return replace(line, variants=(), weaker=())
    moved = _moved(read, new, 1.0, 1)
    return replace(line, substance=moved.substance, part=moved.part, variants=(), weaker=())
