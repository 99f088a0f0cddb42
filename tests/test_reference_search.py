"""Looking an item up: by words, by kind, by allergen, and the nearest id to a wrong one."""

import pytest

from service.reference import reference, words_of

ITEMS = reference().items


# Looking up.


def test_search_matches_every_word_by_its_beginning() -> None:
    found = [item.id for item in reference().search("Lime FRESH")]
    assert "lime-juice" in found
    assert "lime" not in found
    assert found == sorted(found)
    assert "lime" not in [item.id for item in reference().search("ime")]


def test_search_ignores_accents_and_reads_aliases() -> None:
    assert words_of("Crème  de—Cacao 70%") == ("creme", "de", "cacao", "70")
    assert "simple-syrup-1-1" in [item.id for item in reference().search("simple syrup")]


def test_search_by_kind_and_by_allergen_or_its_group() -> None:
    assert {item.kind for item in reference().search(kind="egg")} == {"egg"}
    almonds = {item.id for item in reference().search(allergen="almond")}
    nuts = {item.id for item in reference().search(allergen="nuts")}
    assert "orgeat" in almonds
    assert almonds < nuts
    assert "hazelnut" in nuts
    assert reference().search("nothing-is-called-so") == ()
    assert len(reference().search()) == len(ITEMS)


def test_nearest_ids() -> None:
    assert reference().nearest_ids("lime-jiuce")[0] == "lime-juice"
    assert reference().nearest_ids("smoked-tea-sirup", also=["smoked-tea-syrup"])[0] == "smoked-tea-syrup"
    assert reference().nearest_ids("zzzzzzzzzzzz") == ()
    assert len(reference().nearest_ids("lime-juice", n=2)) == 2


@pytest.mark.parametrize(
    ("asked", "first"),
    [
        # Called so, in any order of words.
        ("sweet-vermouth", "vermouth-sweet"),
        ("simple-syrup", "simple-syrup-1-1"),
        ("prosecco", "sparkling-wine-extra-dry"),
        ("amaretto", "almond-liqueur-24"),
        ("soda", "soda-water"),
        ("dark-rum", "rum-dark-40"),
        # Begins so, holds the words, or has them in a name.
        ("tonic", "tonic-syrup"),
        ("white-rum", "rum-white-40"),
        ("gomme", "gum-syrup"),
        # Misspelt, in an id or in a name.
        ("lemon-juise", "lemon-juice"),
        ("amareto", "almond-liqueur-24"),
        ("vermuth-sweet", "vermouth-sweet"),
    ],
)
def test_the_nearest_id_is_what_a_bar_calls_so(asked: str, first: str) -> None:
    """Common practice, no source: these are the words in which specs name these things."""
    assert reference().nearest_ids(asked)[0] == first


def test_a_short_word_finds_what_is_called_so_and_not_what_is_spelt_like_it() -> None:
    for asked in ("gin", "vodka"):
        found = reference().nearest_ids(asked)
        assert len(found) == 3
        assert all(item_id.startswith(f"{asked}-") for item_id in found)


def test_nearest_ids_hold_those_of_the_request_and_do_not_hang_on_their_order() -> None:
    own = ["gin-of-the-house", "syrup-simple", "zest-cordial"]
    assert reference().nearest_ids("simple-syrup", n=9, also=own) == reference().nearest_ids(
        "simple-syrup", n=9, also=own[::-1]
    )
    assert "syrup-simple" in reference().nearest_ids("simple-syrup", also=own)
    assert reference().nearest_ids("cordial-zest", also=own)[0] == "zest-cordial"
    assert reference().nearest_ids("-", also=own) == ()
