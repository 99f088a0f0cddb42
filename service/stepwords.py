"""The words of steps: what physics knows behind a house's own word for what is done to a part.

A word half known never lets a strength stand: whatever names distilling or fermenting is that. A word that is not
known at all acts by its ``keeps`` and ``measured`` alone, and a smaller volume after it is product lost.
"""

import re

from service.fitting import FERMENTING

BREWING = "brewing"
"""Coffee or tea, which is an infusion, or what yeast works in: the lines tell which."""

FREEZING = "freezing"
"""Frozen whole, unless something is kept back or less is measured after it."""

_KINDS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), kind)
    for pattern, kind in (
        ("freez.*(distil|concentrat|out)|(distil|concentrat).*freez", "freezing_out"),
        ("re_?distil", "redistilling"),
        ("distil|rotovap|rotavap|rotary_evap", "distilling"),
        ("(cold|nitro)_brew|brew.*_(coffee|tea)$|(coffee|tea|espresso)_brew", "infusing"),
        ("ferment|kombucha|kefir|kvass|tepache", FERMENTING),
        ("brew", BREWING),
        ("^(freez|frozen|froze)", FREEZING),
        ("reduc|evaporat|concentrat|osmosis|boil.*_(down|away|off)$", "reducing"),
        ("boil|simmer|cook|pasteuri[sz]|heat|scald", "heating"),
        ("^(dry|dried|drying)$|^(dry|dried|drying)_out$|dehydrat|desiccat", "drying"),
    )
)

PLAIN = frozenset(("infusing", "clarifying", "washing", "milk_washing", "fat_washing", FREEZING))
"""Kinds without physics of their own that are kinds all the same."""

_PLAIN_WORDS = re.compile(
    "clarif|wash|infus|macerat|steep|strain|filter|filtrat|sieve|decant|press|squeez|centrifug|spin|rack|settl|skim|"
    "fin(ing|ed)|stir|mix|blend|whip|whisk|shak|muddl|chop|grat|grind|mill|carbonat|gas|charg|bottl|age(ing|d)|aging|"
    "rest|chill|cool|cold_smok|smok|dissolv|homogeni[sz]|emulsif|sous_vide|acidul|season|sweeten|dilut|clear"
)


def kind_of(written: str) -> str:
    """The kind of step behind a house's word; a word that is not known keeps its own name.

    >>> kind_of("vacuum distilling"), kind_of("barrel fermentation"), kind_of("boiled down"), kind_of("milk washing")
    ('distilling', 'fermenting', 'reducing', 'milk_washing')
    """
    word = written.replace(" ", "_").replace("-", "_")
    return next((kind for pattern, kind in _KINDS if pattern.search(word)), word)


def is_known(kind: str) -> bool:
    """Whether a kind says what becomes of the liquid, so that a smaller measured volume can be read."""
    return any(kind == known for _, known in _KINDS) or kind in PLAIN or _PLAIN_WORDS.search(kind) is not None
