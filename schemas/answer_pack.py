"""What the packs of a drink state, and what their label panels lack."""

from typing import Literal

from schemas._base import Output
from schemas.scalars import SoldAs


class PanelRow(Output):
    """One jurisdiction's panel."""

    jurisdiction: str
    """Its code."""
    ready: bool
    """Whether nothing is missing that the panel prints; what a law asks for beyond it stands under `duties`."""
    missing: tuple[
        Literal[
            "net_ml", "lot", "made_on", "use_by", "use_by_passed", "storage", "responsible", "strength", "allergens",
            "nutrition", "statement", "legal_name",
        ],
        ...,
    ]  # fmt: skip
    """What is not stated or not known; `allergens`: some are unknown, or a declaration is to be renewed;
    `use_by_passed`: the packs are past their day; `statement`: a figure that belongs in an official text is not
    known; `legal_name`: the name is refused there, or a figure for it is not known."""


class FillAnswer(Output):
    """How the net quantity stands to the sizes that a law lets the product be packed in."""

    jurisdiction: str
    """Code."""
    commodity: str
    """What the drink is taken for there: spirits, wine or malt."""
    standard: bool
    """Whether the net quantity is one of the sizes."""
    below_ml: float | None
    """The next smaller size; null where there is none."""
    above_ml: float | None
    """The next larger size; null where there is none."""
    source: str
    """The list."""
    standing: str
    """How far it was checked."""
    note: str
    """What of it was checked otherwise."""


class FillWithin(Output):
    """How far the contents of each pack may lie from its net quantity."""

    jurisdiction: str
    """Code."""
    commodity: str
    """What the drink is taken for there."""
    percent: float
    """Either way, in percent of the net quantity."""
    low_ml: float
    """The least that a pack may hold."""
    high_ml: float
    """The most."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""


class PrintedContents(Output):
    """One figure of the whole pack that a panel prints, and the duty that asks for it."""

    what: Literal["standard_drinks", "ethanol_g", "energy"]
    """Which."""
    text: str | None
    """As printed; null where it is not known."""
    lang: str
    """Language of the text."""
    duty: str
    """Code of the duty under `duties`."""
    standing: str
    """How far that was checked."""


class LanguageText(Output):
    """One text of a label in one of its languages."""

    what: Literal["strength", "allergens", "statement"]
    """Which."""
    text: str | None
    """As printed; null where it is not known."""
    lang: str
    """The language it is in; another than that of the row where none is held in it."""
    standing: str
    """How far it was checked; own where the wording is our own, which no law says."""


class LabelLanguage(Output):
    """A label in one of the languages in all of which it has to be."""

    jurisdiction: str
    """Code."""
    lang: str
    """The language."""
    texts: tuple[LanguageText, ...]
    """In the order of the panel. What the bar states itself, such as storage, is printed as it is stated."""
    source: str
    """The rule that asks for the languages."""
    standing: str
    """How far it was checked."""


class ContentsAnswer(Output):
    """Alcohol and energy of the whole pack, by its net quantity; null is not known, or differs by what is poured."""

    jurisdiction: str
    """Code."""
    ethanol_g: float | None
    """Grams of ethanol."""
    standard_drinks: float | None
    """Standard drinks; null too where the country has none or a range."""
    standard_drinks_text: str | None
    """The same in words, as the country rounds them; null where it has none or they are not known."""
    energy_kj: float | None
    """kJ by the jurisdiction's factors; null where it has none."""
    energy_kcal: float | None
    """kcal by the jurisdiction's factors."""
    printed: tuple[PrintedContents, ...]
    """What the panel prints of it: of duties in force and of guidance."""


class ServingAnswer(Output):
    """The reference serving of voluntary serving facts."""

    jurisdiction: str
    """Code."""
    commodity: str
    """What the drink is taken for there: spirits, wine or malt."""
    serving_ml: float
    """Its reference serving at this strength."""
    serving_fl_oz: float
    """The same in US fluid ounces, as the table has it."""
    servings: float | None
    """How many the net quantity holds, to a tenth; null without a net quantity."""
    status: str
    """Law, guidance or convention."""
    source: str
    """The table."""
    standing: str
    """How far it was checked."""


class PackOnSale(Output):
    """A drink that is sold packed; null is not stated, or not known."""

    sold_as: SoldAs
    """How it is sold."""
    net_ml: str | None
    """Net quantity in ml."""
    lot: str | None
    """Lot of the packs on sale."""
    made_on: str | None
    """Day on which they were made, YYYY-MM-DD."""
    use_by: str | None
    """Day to which they keep, counted from the day they were made; from `as_of` where that is not stated."""
    storage: str | None
    """How they are to be kept."""
    responsible: str | None
    """Who answers for them."""
    panels: tuple[PanelRow, ...]
    """In the order of the jurisdictions."""
    fills: tuple[FillAnswer, ...]
    """Where a list of sizes is held and the commodity is known; whether it binds is for the authority to say."""
    fill_within: tuple[FillWithin, ...]
    """Where a tolerance of fill is held for such a pack."""
    contents: tuple[ContentsAnswer, ...]
    """In the order of the jurisdictions."""
    languages: tuple[LabelLanguage, ...]
    """Where a label has to be in several languages, whichever the answer is in: one row for each."""
    servings: tuple[ServingAnswer, ...]
    """Where a table of servings is held and commodity and strength are known."""
