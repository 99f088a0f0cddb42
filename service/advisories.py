"""Cautions that a drink calls for: triggers of ``data/advisories.toml``, keeping of parts, the house's own limit."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache

from service.alcohol import Alcohol
from service.item import Item
from service.labelling import NOT_KNOWN, standard_drink_count
from service.lawful import lawful_decimal, nearest_multiple, stands
from service.leaves import Leaf
from service.line import ResolvedLine
from service.mixture import Mixture
from service.pours import is_bound, names_any, pour_measures_missed, total_measures_missed
from service.preparation import Prepared
from service.rulekinds import Advisory, PourMeasure, Trigger
from service.rules import Rules, advisories_on
from service.rules import rules as rule_book

PERISHABLE_KINDS = frozenset(("dairy", "egg", "nut", "juice", "fruit", "spice"))
PERISHABLE_WORDS = ("coffee", "espresso", "cold-brew", "tea", "garlic", "herb", "mint", "basil", "milk", "cream", "egg")

KEEPING_ABV_PERCENT = 20.0
KEEPING_SUGARS_G_PER_100_ML = 80.0
KEEPING_ACID_G_PER_100_ML = 4.0
"""Under all three a part with dairy, egg, nut, coffee or plant matter is cautioned; common practice, no source. Acidity
here is grams of acid, which says nothing of pH."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One advisory of the answer: ``jurisdictions`` that it is for, empty for all; ``items`` that call for it."""

    code: str
    level: str
    text: str
    deferral: str
    source: str
    standing: str
    jurisdictions: tuple[str, ...] = ()
    items: tuple[str, ...] = ()


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
) -> list[Caution]:
    """Every caution of the rules that applies, in the order of the file, then what house-made parts call for."""
    situation = _Situation(leaves, preparations, method, drink, volume_ml, alcohol, contained)
    asked = _asked(tuple([regime.code for regime in rules]), day)
    found = []
    named = {item_id: _named(words) for item_id, words in situation.words().items()}
    anywhere = frozenset().union(*named.values())
    for advisory, codes in asked:
        trigger = advisory.trigger
        if trigger.words and trigger.item_holds is None and advisory.key not in anywhere:
            continue
        items = situation.items_for(advisory, named)
        if items is not None:
            of_some = advisory.jurisdictions or advisory.not_in
            text = advisory.text
            if AMOUNT in text:
                text = text.replace(AMOUNT, situation.per_100_ml(trigger))
            found.append(_caution(advisory, text, codes if of_some else (), items))
    return [*found, *keeping(preparations)]


@lru_cache(maxsize=4_096)
def _asked(codes: tuple[str, ...], day: date) -> tuple[tuple[Advisory, tuple[str, ...]], ...]:
    """The advisories of several jurisdictions on a day, each once, with those that it holds in."""
    asked: dict[str, tuple[Advisory, list[str]]] = {}
    for code in codes:
        for advisory in advisories_on(code, day):
            asked.setdefault(advisory.key, (advisory, []))[1].append(code)
    return tuple((advisory, tuple(held)) for advisory, held in asked.values())


AMOUNT = "{n}"
"""Where the text of an advisory has what 100 ml of the drink hold."""

_TENTH = Decimal("0.1")
_OTHER = re.compile(r"[^a-z0-9]+")


@lru_cache(maxsize=65_536)
def _words(item_id: str, name: str) -> str:
    """Id and name as one run of words between hyphens: the id of a caller's own item may say nothing."""
    return f"{item_id}-{_OTHER.sub('-', name.casefold())}"


@lru_cache(maxsize=65_536)
def _named(words: str) -> frozenset[str]:
    """Keys of the advisories whose words an id or name holds, and none of the words that except it."""
    return frozenset(
        advisory.key
        for advisory in rule_book().advisories
        if names_any(words, advisory.trigger.words) and not names_any(words, advisory.trigger.unless_words)
    )


def _caution(advisory: Advisory, text: str, codes: tuple[str, ...], items: tuple[str, ...]) -> Caution:
    return Caution(
        advisory.key, advisory.level, text, advisory.deferral, advisory.source, advisory.standing, codes, items
    )


@dataclass(frozen=True, slots=True)
class _Situation:
    """What the triggers look at."""

    leaves: Mapping[str, Leaf]
    preparations: Mapping[str, Prepared]
    method: str
    drink: Mixture
    volume_ml: float | None
    alcohol: Alcohol
    contained: frozenset[str]

    def items_for(self, advisory: Advisory, named: Mapping[str, frozenset[str]]) -> tuple[str, ...] | None:
        """Ids that set the trigger off (empty where it is about the whole drink); ``None`` where it does not go off."""
        trigger = advisory.trigger
        if not self._drink_fits(trigger):
            return None
        if trigger.steps:
            ids = tuple(
                prep_id
                for prep_id, made in self.preparations.items()
                if any(step.kind in trigger.steps for step in made.spec.steps)
            )
            return ids or None
        if trigger.kind is None and not trigger.words and trigger.item_abv_from is None:
            return ()
        ids = tuple(
            item_id
            for item_id, keys in named.items()
            if self._is_meant(item_id, trigger, advisory.key in keys) and self._fits(item_id, trigger)
        )
        return ids or None

    def _is_meant(self, item_id: str, trigger: Trigger, is_named: bool) -> bool:
        """Whether an item is what the words name, or holds by its own data what they stand for.

        One whose amount is known and all drunk is left to the triggers on the measure.
        """
        if trigger.item_holds is None:
            return is_named or not trigger.words
        leaf = self.leaves.get(item_id)
        if leaf is None:
            parts = self.preparations[item_id].substance.leaves.values()
            return is_named and not all(leaf.drunk and _amount(leaf, trigger.item_holds) is not None for leaf in parts)
        amount = _amount(leaf, trigger.item_holds)
        return not (leaf.drunk and amount is not None) and (is_named or bool(amount))

    def _drink_fits(self, trigger: Trigger) -> bool:
        """Whether the conditions on the whole drink hold; an unknown strength takes none off."""
        return (
            (not trigger.with_alcohol or self._may_hold_alcohol())
            and (not trigger.methods or self.method in trigger.methods)
            and (trigger.allergen is None or trigger.allergen in self.contained)
            and (trigger.measure is None or self._over(trigger))
            and self._strength_fits(trigger)
        )

    def _strength_fits(self, trigger: Trigger) -> bool:
        upper = self.alcohol.abv_upper_percent
        if upper is None or trigger.abv_percent is None or trigger.abv_comparator is None:
            return True
        return stands(lawful_decimal(upper), trigger.abv_comparator, trigger.abv_percent)

    def words(self) -> dict[str, str]:
        """What each bought item and house-made part is called; ids of embedded items are chosen to be enough."""
        named = {
            item_id: item_id if leaf.item.origin == "reference" else _words(item_id, leaf.item.name)
            for item_id, leaf in self.leaves.items()
        }
        return named | {prep_id: _words(prep_id, made.spec.name) for prep_id, made in self.preparations.items()}

    def _fits(self, item_id: str, trigger: Trigger) -> bool:
        leaf = self.leaves.get(item_id)
        if trigger.kind is not None and not _is_or_holds(leaf, trigger):
            return False
        if trigger.unless_words and not trigger.words:
            name = "" if leaf is None or leaf.item.origin == "reference" else leaf.item.name
            if names_any(_words(item_id, name), trigger.unless_words):
                return False
        if trigger.item_abv_from is not None:
            abv = None if leaf is None else leaf.item.abv_percent
            return abv is not None and lawful_decimal(abv) >= trigger.item_abv_from
        return True

    def _may_hold_alcohol(self) -> bool:
        ethanol = self.alcohol.ethanol_upper_g
        return ethanol is None or ethanol > 0

    def _over(self, trigger: Trigger) -> bool:
        per_l = self._per_l(trigger)
        if per_l is None or trigger.limit_per_l is None or trigger.comparator is None:
            return False
        return stands(lawful_decimal(per_l), trigger.comparator, trigger.limit_per_l)

    def _per_l(self, trigger: Trigger) -> float | None:
        """What is known to be in one litre of the drink."""
        volume = self.drink.volume_ml if self.volume_ml is None else self.volume_ml
        if volume <= 0 or trigger.measure is None:
            return None
        amount = self.drink.polyols_g if trigger.measure == "polyols_g" else self.drink.content(trigger.measure)
        return 1000.0 * amount / volume

    def per_100_ml(self, trigger: Trigger) -> str:
        """The known content in 100 ml for the text of an advisory; at least so much where a part's is unknown."""
        per_l = self._per_l(trigger)
        if per_l is None or trigger.measure is None:
            return NOT_KNOWN
        shown = nearest_multiple(lawful_decimal(per_l / 10.0), _TENTH)
        return f"at least {shown:f}" if self.drink.missing(trigger.measure) else f"{shown:f}"


def _amount(leaf: Leaf, measure: str) -> float | None:
    """What 100 g or 100 ml of an item hold of something; ``None`` where nobody stated it."""
    stated = [row.amounts[measure] for row in leaf.item.per_100 if measure in row.amounts]
    return max(stated, default=None)


def _is_or_holds(leaf: Leaf | None, trigger: Trigger) -> bool:
    """Whether an item is of the kind, or declares the allergen and is of no kind that is let off."""
    if leaf is None:
        return False
    if leaf.item.kind == trigger.kind:
        return True
    entry = None if trigger.item_allergen is None else leaf.item.allergens.get(trigger.item_allergen)
    return entry is not None and entry.state == "contains" and leaf.item.kind not in trigger.unless_kinds


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


def house_cautions(
    limit: float | None, rules: Sequence[Rules], alcohol: Alcohol, lines: Sequence[ResolvedLine]
) -> list[Caution]:
    """More standard drinks in one serve than the house has set, and pours that keep to no legal measure."""
    return [*_over_house_limit(limit, rules, alcohol), *_unlawful_measures(rules, lines)]


def _over_house_limit(limit: float | None, rules: Sequence[Rules], alcohol: Alcohol) -> list[Caution]:
    if limit is None:
        return []
    most = lawful_decimal(limit)
    found = []
    for regime in rules:
        counted = standard_drink_count(regime, alcohol.ethanol_upper_g)
        if counted is None:
            continue
        count = counted.count if counted.count is not None else counted.count_high
        if count is not None and count <= most:
            continue
        known = (
            f"{counted.text} in one serve" if count is not None else "The standard drinks in one serve are not known"
        )
        text = f"{known}; the house has set {most:f} at most."
        deferral = "Serve responsibly; local licensing law applies."
        found.append(Caution("over_house_limit", "caution", text, deferral, "house setting", "house", (regime.code,)))
    if not any(regime.standard_drink for regime in rules):
        text = f"No jurisdiction asked for has a standard drink of its own: the house's {most:f} could not be checked."
        deferral = "Serve responsibly; local licensing law applies."
        found.append(Caution("house_limit_not_checked", "caution", text, deferral, "house setting", "house"))
    return found


def _unlawful_measures(rules: Sequence[Rules], lines: Sequence[ResolvedLine]) -> list[Caution]:
    poured = [line for line in lines if line.role in ("pour", "top") and line.part is not None]
    liquids = sum(1 for line in poured if line.substance.basis == "ml")
    pours = [
        (line.ref, line.substance.kind, _called(line), line.part.volume_ml)
        for line in poured
        if line.part is not None and line.part.volume_ml is not None
    ]
    found = []
    for regime in rules:
        if not regime.pour_measures:
            continue
        for ref, kind, called, volume_ml in pours:
            for measure in pour_measures_missed(regime, kind, called, volume_ml, liquids):
                found.append(_measure_caution(measure, regime, f"pour_measure_{measure.key}", (ref,)))
        for measure in total_measures_missed(regime, [pour[1:] for pour in pours]):
            refs = dict.fromkeys(ref for ref, kind, called, _ in pours if is_bound(measure, kind, called))
            found.append(_measure_caution(measure, regime, f"pour_measure_{measure.key}_total", tuple(refs)))
    return found


def _called(line: ResolvedLine) -> str:
    made = line.substance
    return line.ref if made.origin == "reference" else _words(line.ref, made.name)


def _measure_caution(measure: PourMeasure, regime: Rules, code: str, items: tuple[str, ...]) -> Caution:
    deferral = "Check local codes; the licensing or trading standards authority decides."
    return Caution(code, "caution", measure.text, deferral, measure.source, measure.standing, (regime.code,), items)
