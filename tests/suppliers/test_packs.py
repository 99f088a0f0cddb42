"""Packs in words: every written form, and what is refused. What each means is common practice, no source."""

from decimal import Decimal
from pathlib import Path

import pytest

from schemas.offer import Pack
from service.errors import DataFault, InputFault
from service.item import Item, Piece
from service.suppliers.itemfacts import ItemFacts, facts_of, usable_pack
from service.suppliers.packs import TABLE_FILE, WrittenPack, base_of, pack_of, pack_table

# Written text, count, base quantity of one unit, base unit: by hand (1 cl = 10 ml, 1 l = 1000 ml, 1 kg = 1000 g).
WRITTEN = [
    ("70cl", 1, "700", "ml"),
    ("0.7 l", 1, "700", "ml"),
    ("1,5 L", 1, "1500", "ml"),
    ("0,750 l", 1, "750", "ml"),
    ("6x70cl", 6, "700", "ml"),
    ("6 X 70 CL", 6, "700", "ml"),
    ("6×70cl", 6, "700", "ml"),
    ("24 x 200 ml", 24, "200", "ml"),
    ("12x1 L", 12, "1000", "ml"),
    ("2x5 kg", 2, "5000", "g"),
    ("4 x 6 x 330 ml", 24, "330", "ml"),
    ("200ml x 24", 24, "200", "ml"),
    ("1x30L keg", 1, "30000", "ml"),
    ("30 L keg", 1, "30000", "ml"),
    ("5 kg bag", 1, "5000", "g"),
    ("10 l bag in box", 1, "10000", "ml"),
    ("punnet 125 g", 1, "125", "g"),
    ("bag of 5 kg", 1, "5000", "g"),
    ("case 12 x 750ml", 12, "750", "ml"),
    ("case of 12 x 750ml", 12, "750", "ml"),
    ("24 cans 330 ml", 24, "330", "ml"),
    ("24 bottles of 200 ml", 24, "200", "ml"),
    ("6 bottles x 70 cl", 6, "700", "ml"),
    ("kg", 1, "1000", "g"),
    ("per kg", 1, "1000", "g"),
    ("/kg", 1, "1000", "g"),
    ("per 100 g", 1, "100", "g"),
    ("per litre", 1, "1000", "ml"),
    ("each", 1, "1", "each"),
    ("per piece", 1, "1", "each"),
    ("54 pcs", 54, "1", "each"),
    ("54 x each", 54, "1", "each"),
    ("box of 54", 54, "1", "each"),
    ("Box of 54 pieces", 54, "1", "each"),
    ("box 54 ct", 54, "1", "each"),
    # The US gallon is 231 cubic inches of 2.54 cm a side: 3785.411784 ml (NIST Handbook 44, Appendix C).
    ("4 x 1 us gallon", 4, "3785.411784", "ml"),
]

REFUSED = [
    ("6 70", "pack_ambiguous", "6 x 70 cl"),
    ("750", "pack_ambiguous", "750 ml"),
    ("6x70", "pack_ambiguous", "unit"),
    ("6/70cl", "pack_ambiguous", "6 x 70 cl"),
    ("1/2 l", "pack_ambiguous", "0.5 l"),
    ("6/70", "pack_ambiguous", "stroke"),
    ("case", "pack_ambiguous", "case of 6 x 70 cl"),
    ("6 bottles", "pack_ambiguous", "size"),
    ("box 54", "pack_ambiguous", "box of 54"),
    ("case of 6 bottles", "pack_ambiguous", "size"),
    ("1 kg 500 g", "pack_ambiguous", "1.5 kg"),
    ("1 gal", "pack_ambiguous", "us gallon"),
    ("pint", "pack_ambiguous", "imperial pint"),
    ("12 x 12 oz", "pack_ambiguous", "us fl oz"),
    ("ml", "pack_ambiguous", "100 g"),
    ("1,000 ml", "pack_ambiguous", "1000 ml"),
    ("1.000 l", "pack_ambiguous", "1 l"),
    ("0x70cl", "pack_count", "from 1"),
    ("1.5x70cl", "pack_count", "whole"),
    ("20000x1 l", "pack_count", "10,000"),
    ("200x200x1 ml", "pack_count", "10,000"),
    ("6x0 cl", "amount_not_positive", "over 0"),
    ("2 x 200 l", "amount_too_large", "100 l"),
    ("1..5 l", "pack_size", "digits"),
    ("1.5.2 l", "pack_size", "digits"),
    ("six by seventy", "pack_unreadable", "6 x 70 cl"),
    ("70cl (boxed)", "pack_unreadable", "6 x 70 cl"),
    ("-6x70cl", "pack_unreadable", "6 x 70 cl"),
    ("٦x70cl", "pack_unreadable", "6 x 70 cl"),
    ("6x70cl" * 11, "pack_unreadable", "64 characters"),
    ("", "pack_unreadable", "6 x 70 cl"),
]


@pytest.mark.parametrize(("text", "count", "quantity", "base"), WRITTEN)
def test_a_written_pack_is_read(text: str, count: int, quantity: str, base: str) -> None:
    pack = pack_of(text)
    assert pack.count == count
    assert base_of(pack.size) == (Decimal(quantity), base)
    assert not pack.bunch
    # What is read is what an offer takes.
    assert Pack.model_validate({"count": pack.count, "size": pack.size}).size == pack.size


@pytest.mark.parametrize(("text", "code", "advice"), REFUSED)
def test_what_could_mean_two_things_is_refused_with_what_to_write(text: str, code: str, advice: str) -> None:
    with pytest.raises(InputFault) as caught:
        pack_of(text)
    assert caught.value.code == code
    assert advice in caught.value.detail


def test_every_form_of_the_table_is_tried_here() -> None:
    """Each form has a text above, or among the bunches, that is written by it; its example reads like the form."""
    forms = pack_table().forms
    assert len(forms) > 35
    for form in forms.values():
        if form.write is None:
            assert pack_of(form.example)
        else:
            with pytest.raises(InputFault, match="pack_ambiguous"):
                pack_of(form.example)


@pytest.mark.parametrize(
    ("text", "mark", "quantity"),
    [("1.125 l", ".", "1125"), ("1,125 kg", ",", "1125"), ("1,5 l", ".", "1500"), ("1.5 l", ",", "1500")],
)
def test_the_mark_of_the_list_decides_on_three_digits(text: str, mark: str, quantity: str) -> None:
    assert base_of(pack_of(text, mark).size)[0] == Decimal(quantity)  # type: ignore[arg-type]


@pytest.mark.parametrize(("text", "mark"), [("1.125 l", ","), ("1,125 l", "."), ("1.500 ml", "."), ("1,500 g", ",")])
def test_three_digits_against_the_mark_of_the_list_are_refused(text: str, mark: str) -> None:
    with pytest.raises(InputFault, match="pack_ambiguous"):
        pack_of(text, mark)  # type: ignore[arg-type]


@pytest.mark.parametrize(("text", "count"), [("bunch", 1), ("per bunch", 1), ("10 bunches", 10), ("10 x bunch", 10)])
def test_a_bunch_needs_its_grams(text: str, count: int) -> None:
    pack = pack_of(text)
    assert (pack.count, pack.bunch) == (count, True)
    known = facts_of(Item("mint", "Mint", kind="spice", pieces={"bunch": Piece(g=40.0)}))
    assert usable_pack(pack, known) == WrittenPack(count, "40 g")
    with pytest.raises(InputFault, match="bunch_unknown"):
        usable_pack(pack, facts_of(Item("verbena", "Verbena", kind="spice", each_g=1.0)))


def test_a_bunch_may_be_a_share_of_a_whole_one() -> None:
    item = Item("mint", "Mint", kind="spice", each_g=200.0, pieces={"bunch": Piece(share=0.25)})
    # 0.25 of 200 g.
    assert usable_pack(pack_of("bunch"), facts_of(item)) == WrittenPack(1, "50 g")


def test_produce_by_the_piece_needs_the_mass_or_the_shares_of_one() -> None:
    box = pack_of("box of 54")
    for known in (
        Item("lime", "Lime", kind="fruit", each_g=67.0),
        Item("lime", "Lime", kind="fruit", pieces={"wedge": Piece(share=0.125)}),
        Item("straw", "Straw", kind="other"),
    ):
        assert usable_pack(box, facts_of(known)) == box
    with pytest.raises(InputFault, match="each_g or pieces"):
        usable_pack(box, facts_of(Item("lime", "Lime", kind="fruit", pieces={"peel": Piece(g=1.0)})))
    with pytest.raises(InputFault, match="measure_unknown"):
        usable_pack(pack_of("70cl"), ItemFacts(frozenset("g")))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('kind = "per"', 'kin = "per"'),
        ('words = ["per"]', 'words = ["kg"]'),
        ('form = "per UNIT"', 'form = "UNIT"'),
        ('standing = "memory"', 'standing = "rumour"'),
        ('example = "70cl"', 'sample = "70cl"'),
    ],
)
def test_a_malformed_table_is_refused(tmp_path: Path, old: str, new: str) -> None:
    text = TABLE_FILE.read_text("utf-8")
    assert old in text
    path = tmp_path / "packs.toml"
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(DataFault, match="packs"):
        pack_table(path)
