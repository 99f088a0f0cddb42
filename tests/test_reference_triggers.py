"""What the name or note of an embedded item says sets its caution off."""

from collections.abc import Mapping
from types import MappingProxyType

import pytest

from service.cautionrules import Advisory, Trigger
from service.item import Item
from service.pours import names_any
from service.reference import reference, words_of
from service.rules import rules

ITEMS = reference().items


# Words that set a caution off.

UNFIRED: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        # The caution on bitter aperitifs covers them: quinine_possible.
        "quinine": frozenset(
            ("bitter-aperitif-non-alcoholic", "bitter-aperitif-orange-11", "bitter-aperitif-red-24",
             "bitter-aperitif-red-28", "aperitif-wine-gentian-white")
        ),
        # Without caffeine, or no drink at all.
        "caffeine_source_with_alcohol": frozenset(
            ("chamomile-tea", "herbal-tea", "hibiscus-tea", "cola-caffeine-free", "lemon-lime-soda", "coffee-filter",
             "tea-filter", "tea-light", "cocoa-butter", "white-chocolate")
        ),
        # By nature, not added; the bark itself has the caution coumarin.
        "tonka_us": frozenset(("cassia-bark", "cinnamon")),
        # Holds much or little by its species; the id that says cassia has the caution.
        "coumarin": frozenset(("cinnamon",)),
        # Sold products, to which the limit applies before they are sold, and kernels that are no more than a note.
        "hydrocyanic_acid": frozenset(
            ("almond-extract", "almond-liqueur-24", "almond-liqueur-28", "almond-paste", "apricot-liqueur-24",
             "cherry-bitters", "maraschino-32", "orgeat")
        ),
        # Filtered through charcoal that stays behind.
        "activated_charcoal": frozenset(("tennessee-whiskey-40",)),
        # Drops of it.
        "grapefruit": frozenset(("grapefruit-bitters",)),
        # Some makers colour with it and some do not: the animal origin is unknown.
        "carmine_us": frozenset(
            ("anise-bitters-red", "aperitif-wine-gentian-rose", "bitter-aperitif-non-alcoholic",
             "bitter-aperitif-red-24", "bitter-aperitif-red-28", "cocktail-cherry", "creme-de-violette-20",
             "grenadine", "raspberry-syrup", "rose-syrup", "strawberry-liqueur-18", "strawberry-syrup")
        ),
    }
)  # fmt: skip
"""Items whose name, alias or note holds a word of a caution that their id does not set off, with the reason."""


def fires(trigger: Trigger, item: Item) -> bool:
    """Whether an embedded item sets a caution off by its id or by what its data say it holds."""
    if trigger.item_holds is not None and any(row.amounts.get(trigger.item_holds) for row in item.per_100):
        return True
    return names_any(item.id, trigger.words) and not names_any(item.id, trigger.unless_words)


@pytest.mark.parametrize("advisory", [one for one in rules().advisories if one.trigger.words], ids=lambda one: one.key)
def test_what_a_name_or_note_says_sets_its_caution_off(advisory: Advisory) -> None:
    silent = set()
    for item in ITEMS.values():
        said = "-".join(words_of(" ".join((item.name, *item.aliases, *(fact.note for fact in item.facts)))))
        if names_any(f"{item.id}-{said}", advisory.trigger.words) and not fires(advisory.trigger, item):
            silent.add(item.id)
    assert silent == UNFIRED.get(advisory.key, frozenset())


def test_serious_cautions_go_off_for_no_harmless_item() -> None:
    """All embedded items, by their ids: what is called so, and nothing that is only spelt alike."""
    found = {
        advisory.key: {item.id for item in ITEMS.values() if fires(advisory.trigger, item)}
        for advisory in rules().advisories
        if advisory.trigger.words
    }
    assert found["hydrocyanic_acid"] == found["poisonous_plants"] == found["bee_products"] == set()
    assert found["quinine"] == {
        "aperitif-wine-quinine-red", "aperitif-wine-quinine-white", "bitter-lemon", "cinchona-bark", "tonic-syrup",
        "tonic-water", "tonic-water-light", "wine-chinato-17",
    }  # fmt: skip
    assert found["aspartame"] == found["aspartame_us"] == {"cola-aspartame"}
    assert found["tonka_us"] == {"tonka-bean"}


def test_an_old_name_finds_the_item_that_bears_a_new_one() -> None:
    assert "cola-aspartame" in [item.id for item in reference().search("cola sugar free")]
    assert "malt-beverage" in [item.id for item in reference().search("malt drink")]
    assert "malt-drink" not in ITEMS
