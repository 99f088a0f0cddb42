"""Ids of new offers: from the supplier's short id and the article's code, the same at every reading."""

import hashlib
import re
from collections.abc import Callable
from typing import Final

from service.suppliers.listed import Listed

_LONGEST: Final = 64
_OTHER: Final = re.compile(r"[^a-z0-9]++")


def new_id(prefix: str, listed: Listed, taken: Callable[[str], bool]) -> str:
    """The id of a new offer; a code that does not read as an id, or whose id is taken, gets a digest behind it.

    >>> new_id("tw", Listed(2, code="G-1044"), lambda one: False)
    'tw-g-1044'
    """
    written = listed.code or listed.gtin_14 or ""
    slug = _OTHER.sub("-", written.lower()).strip("-")
    plain = f"{prefix}-{slug}"
    if slug == written.lower() and len(plain) <= _LONGEST and not taken(plain):
        return plain
    digest = hashlib.sha256(written.encode()).hexdigest()
    for length in (8, 16, 32):
        head = plain[: _LONGEST - length - 1].rstrip("-")
        marked = f"{head}-{digest[:length]}"
        if not taken(marked):
            return marked
    raise AssertionError("three digests of one code are taken")
