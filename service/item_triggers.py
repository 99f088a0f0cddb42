"""Which advisories an item or a house-made part sets off by what it is called, is or holds.

An advisory is known by its place in the book, so that what an embedded item sets off is decided once.
"""

import re
from functools import cache, lru_cache

from service.cautionrules import Trigger
from service.item import Item
from service.lawful import lawful_decimal
from service.leaves import Leaf
from service.pours import names_any
from service.preparation import Prepared
from service.rules import rules as rule_book

_OTHER = re.compile(r"[^a-z0-9]+")


def looks_at_items(trigger: Trigger) -> bool:
    """Whether single items set it off, and not the drink as a whole."""
    return trigger.kind is not None or bool(trigger.words) or trigger.item_abv_from is not None


@lru_cache(maxsize=65_536)
def words_of(item_id: str, name: str) -> str:
    """Id and name as one run of words between hyphens: the id of a caller's own item may say nothing."""
    return f"{item_id}-{_OTHER.sub('-', name.casefold())}"


@lru_cache(maxsize=65_536)
def _named(words: str) -> frozenset[int]:
    """Places of the advisories whose words an id or name holds, and none of the words that except it."""
    return frozenset(
        place
        for place, advisory in enumerate(rule_book().advisories)
        if names_any(words, advisory.trigger.words) and not names_any(words, advisory.trigger.unless_words)
    )


@cache
def _on_items() -> tuple[tuple[int, Trigger], ...]:
    """The triggers that look at items, with their places in the book."""
    book = enumerate(rule_book().advisories)
    return tuple((place, advisory.trigger) for place, advisory in book if looks_at_items(advisory.trigger))


_of_embedded: dict[tuple[str, bool], tuple[Item, tuple[int, ...]]] = {}


def set_off_by(item_id: str, leaf: Leaf) -> tuple[int, ...]:
    """Places of the advisories that a bought item sets off; kept for embedded items, whose data never change."""
    item, drunk = leaf.item, leaf.drunk
    if item.origin != "reference":
        return _triggered(item_id, leaf, words_of(item_id, item.name))
    known = _of_embedded.get((item_id, drunk))
    if known is None or known[0] is not item:
        # Ids of embedded items are chosen to say enough.
        known = _of_embedded[item_id, drunk] = (item, _triggered(item_id, leaf, item_id))
    return known[1]


def _triggered(item_id: str, leaf: Leaf, called: str) -> tuple[int, ...]:
    named = _named(called)
    return tuple(
        [
            place
            for place, trigger in _on_items()
            if _is_meant(leaf, trigger, place in named) and _fits(item_id, leaf, trigger)
        ]
    )


def _is_meant(leaf: Leaf, trigger: Trigger, is_named: bool) -> bool:
    """Whether an item is what the words name, or holds by its own data what they stand for.

    One whose amount is known and all drunk is left to the triggers on the measure.
    """
    if trigger.item_holds is None:
        return is_named or not trigger.words
    amount = _amount(leaf, trigger.item_holds)
    return not (leaf.drunk and amount is not None) and (is_named or bool(amount))


def _fits(item_id: str, leaf: Leaf, trigger: Trigger) -> bool:
    if trigger.kind is not None and not _is_or_holds(leaf, trigger):
        return False
    if trigger.unless_words and not trigger.words:
        name = "" if leaf.item.origin == "reference" else leaf.item.name
        if names_any(words_of(item_id, name), trigger.unless_words):
            return False
    if trigger.item_abv_from is not None:
        abv = leaf.item.abv_percent
        return abv is not None and lawful_decimal(abv) >= trigger.item_abv_from
    return True


def set_off_by_made(prep_id: str, made: Prepared) -> list[int]:
    """Places of the advisories that a house-made part sets off: those that name it, and ask for no kind or strength."""
    found = []
    for place in sorted(_named(words_of(prep_id, made.spec.name))):
        trigger = rule_book().advisories[place].trigger
        if trigger.kind is not None or trigger.item_abv_from is not None:
            continue
        holds = trigger.item_holds
        if holds is not None and all(
            leaf.drunk and _amount(leaf, holds) is not None for leaf in made.substance.leaves.values()
        ):
            continue
        found.append(place)
    return found


def _amount(leaf: Leaf, measure: str) -> float | None:
    """What 100 g or 100 ml of an item hold of something; ``None`` where nobody stated it."""
    stated = [row.amounts[measure] for row in leaf.item.per_100 if measure in row.amounts]
    return max(stated, default=None)


def _is_or_holds(leaf: Leaf, trigger: Trigger) -> bool:
    """Whether an item is of the kind, or declares the allergen and is of no kind that is let off."""
    if leaf.item.kind == trigger.kind:
        return True
    entry = None if trigger.item_allergen is None else leaf.item.allergens.get(trigger.item_allergen)
    return entry is not None and entry.state == "contains" and leaf.item.kind not in trigger.unless_kinds
