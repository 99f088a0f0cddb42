"""Cautions that a drink calls for: triggers of ``data/advisories.toml``, keeping of parts, the house's own limit."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from msgspec import Struct

from service.alcohol import Alcohol
from service.caution import Blank, Caution
from service.cautionrules import Advisory, Trigger
from service.item import Item
from service.item_triggers import looks_at_items, set_off_by, set_off_by_made
from service.labelling import NOT_KNOWN
from service.lawful import lawful_decimal, nearest_multiple, stands
from service.leaves import Leaf
from service.mixture import NONE, Mixture
from service.pours import names_any
from service.preparation import Prepared
from service.rules import Rules, advisories_on
from service.rules import rules as rule_book

PERISHABLE_KINDS = frozenset(("dairy", "egg", "nut", "juice", "fruit", "spice"))
PERISHABLE_WORDS = ("coffee", "espresso", "cold-brew", "tea", "garlic", "herb", "mint", "basil", "milk", "cream", "egg")

KEEPING_ABV_PERCENT = 20.0
KEEPING_SUGARS_G_PER_100_ML = 80.0
KEEPING_ACID_G_PER_100_ML = 4.0
"""Under all three a part with dairy, egg, nut, coffee or plant matter is cautioned; common practice, no source. Acidity
here is grams of acid, which says nothing of pH."""


def cautions(
    rules: Sequence[Rules],
    day: date,
    leaves: Mapping[str, Leaf],
    preparations: Mapping[str, Prepared],
    method: str,
    drink: Mixture,
    volume_ml: float | None,
    alcohol: Alcohol,
    contained: frozenset[str],
    more: Mapping[str, float] = NONE,
) -> list[Caution]:
    """Every caution of the rules that applies, in the order of the file, then what house-made parts call for.

    ``more`` is by how much alternatives exceed what ``drink`` holds of a measure.
    """
    situation = _Situation(leaves, preparations, method, drink, volume_ml, alcohol, contained, more)
    set_off = situation.items_by_advisory()
    found = []
    for advisory, codes, place, of_items in _asked(tuple([regime.code for regime in rules]), day):
        # What looks at items is decided first: few advisories have any, and a look costs nothing by now.
        items = tuple(set_off.get(place, ()))
        if of_items and not items:
            continue
        trigger = advisory.trigger
        if not situation.drink_fits(trigger):
            continue
        if trigger.steps:
            items = situation.made_by(trigger.steps)
            if not items:
                continue
        of_some = advisory.jurisdictions or advisory.not_in
        blanks = {"n": situation.per_100_ml(trigger)} if AMOUNT in advisory.text else {}
        found.append(_caution(advisory, blanks, codes if of_some else (), items))
    return [*found, *keeping(preparations)]


class _Asked(NamedTuple):
    """An advisory with the codes that it holds in, its place in the book, and whether single items set it off."""

    advisory: Advisory
    codes: tuple[str, ...]
    place: int
    looks_at_items: bool


@lru_cache(maxsize=4_096)
def _asked(codes: tuple[str, ...], day: date) -> tuple[_Asked, ...]:
    """The advisories of several jurisdictions on a day, each once."""
    asked: dict[str, tuple[Advisory, list[str]]] = {}
    for code in codes:
        for advisory in advisories_on(code, day):
            asked.setdefault(advisory.key, (advisory, []))[1].append(code)
    places = {id(advisory): place for place, advisory in enumerate(rule_book().advisories)}
    return tuple(
        _Asked(advisory, tuple(held), places[id(advisory)], looks_at_items(advisory.trigger))
        for advisory, held in asked.values()
    )


AMOUNT = "{n}"
"""Where the text of an advisory has what 100 ml of the drink hold."""

_TENTH = Decimal("0.1")


_HOW = MappingProxyType({"or_more": "{n} or more", "up_to": "up to {n}", "at_least": "at least {n}"})
"""How far a figure goes, in English."""


def _caution(
    advisory: Advisory, blanks: Mapping[str, Blank], codes: tuple[str, ...], items: tuple[str, ...]
) -> Caution:
    text = advisory.text
    for name, blank in blanks.items():
        said = blank.figure if blank.how is None else _HOW[blank.how].format(n=blank.figure)
        text = text.replace(f"{{{name}}}", said)
    return Caution(
        advisory.key, advisory.level, text, advisory.deferral, advisory.source, advisory.standing, codes, items, blanks
    )


class _Situation(Struct, frozen=True):
    """What the triggers look at."""

    leaves: Mapping[str, Leaf]
    preparations: Mapping[str, Prepared]
    method: str
    drink: Mixture
    volume_ml: float | None
    alcohol: Alcohol
    contained: frozenset[str]
    more: Mapping[str, float]

    def items_by_advisory(self) -> Mapping[int, Sequence[str]]:
        """Ids of the bought items and house-made parts that set an advisory off, by its place in the book."""
        found: dict[int, list[str]] = {}
        for item_id, leaf in self.leaves.items():
            for place in set_off_by(item_id, leaf):
                found.setdefault(place, []).append(item_id)
        for prep_id, made in self.preparations.items():
            for place in set_off_by_made(prep_id, made):
                found.setdefault(place, []).append(prep_id)
        return found

    def made_by(self, steps: Sequence[str]) -> tuple[str, ...]:
        """Ids of the house-made parts that take one of these steps."""
        return tuple(
            [
                prep_id
                for prep_id, made in self.preparations.items()
                if any(step.kind in steps for step in made.spec.steps)
            ]
        )

    def drink_fits(self, trigger: Trigger) -> bool:
        """Whether the conditions on the whole drink hold; an unknown strength takes none off."""
        return (
            (not trigger.with_alcohol or self._may_hold_alcohol())
            and (not trigger.methods or self.method in trigger.methods)
            and (trigger.allergen is None or trigger.allergen in self.contained)
            and (trigger.measure is None or self._over(trigger))
            and self._strength_fits(trigger)
        )

    def _strength_fits(self, trigger: Trigger) -> bool:
        """Whether some strength between the ends over the alternatives fits."""
        if trigger.abv_percent is None or trigger.abv_comparator is None:
            return True
        ends = self.alcohol
        weak = ends.strength.abv_percent if ends.low is None else ends.low.abv_percent
        end = weak if trigger.abv_comparator in ("<", "<=") else ends.abv_upper_percent
        return end is None or stands(lawful_decimal(end), trigger.abv_comparator, trigger.abv_percent)

    def _may_hold_alcohol(self) -> bool:
        ethanol = self.alcohol.ethanol_upper_g
        return ethanol is None or ethanol > 0

    def _over(self, trigger: Trigger) -> bool:
        per_l = self._per_l(trigger)
        if per_l is None or trigger.limit_per_l is None or trigger.comparator is None:
            return False
        return stands(lawful_decimal(per_l), trigger.comparator, trigger.limit_per_l)

    def _per_l(self, trigger: Trigger) -> float | None:
        """What is known to be in one litre of the drink, with the alternatives that have most of it."""
        volume = self.drink.volume_ml if self.volume_ml is None else self.volume_ml
        if volume <= 0 or trigger.measure is None:
            return None
        amount = self.drink.polyols_g if trigger.measure == "polyols_g" else self.drink.content(trigger.measure)
        return 1000.0 * (amount + self.more.get(trigger.measure, 0.0)) / volume

    def per_100_ml(self, trigger: Trigger) -> Blank:
        """The known content in 100 ml for the text of an advisory; at least so much where a part's is unknown, up to
        so much where an alternative has the most."""
        per_l = self._per_l(trigger)
        if per_l is None or trigger.measure is None:
            return Blank(NOT_KNOWN)
        shown = nearest_multiple(lawful_decimal(per_l / 10.0), _TENTH)
        missing = self.drink.missing(trigger.measure)
        if self.more.get(trigger.measure):
            return Blank(f"{shown:f}", "or_more" if missing else "up_to")
        return Blank(f"{shown:f}", "at_least" if missing else None)


def _spoils(item: Item) -> bool:
    return item.kind in PERISHABLE_KINDS or names_any(item.id, PERISHABLE_WORDS)


def keeping(preparations: Mapping[str, Prepared]) -> list[Caution]:
    """Time-and-temperature caution for low-acid, low-strength parts with dairy, egg, nut, coffee or plant matter."""
    found = []
    spoils: dict[str, bool] = {}
    for prep_id, made in preparations.items():
        perishable = tuple(
            item.id
            for item in made.substance.leaves.bought.values()
            if (spoils[item.id] if item.id in spoils else spoils.setdefault(item.id, _spoils(item)))
        )
        if not perishable:
            continue
        batch, per_100 = made.batch, 100.0 / made.batch.volume_ml
        abv = batch.abv_percent
        if abv is not None and abv >= KEEPING_ABV_PERCENT:
            continue
        if (
            batch.content("sugars") * per_100 >= KEEPING_SUGARS_G_PER_100_ML
            or batch.acids_g * per_100 >= KEEPING_ACID_G_PER_100_ML
        ):
            continue
        found.append(
            Caution(
                "time_and_temperature",
                "caution",
                "Low in acid and alcohol, with matter that spoils: keep it cold, date it, and discard it in time.",
                "Local food codes and licensed practice decide on time, temperature and acidity; measure the pH.",
                "common practice, no source",
                "memory",
                (),
                (prep_id, *perishable),
            )
        )
    return found
