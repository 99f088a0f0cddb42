"""The strength of a drink as answered: figures, words for menus and labels, claims, standard drinks."""

from typing import Literal

from schemas._base import Output
from schemas.answer_bands import AlcoholBand, LabelCheckRow
from schemas.answer_money import Missing
from schemas.answer_names import LegalNameRow

Range = tuple[float | None, float | None]


class KnownEthanol(Output):
    """The part of the alcohol that is known."""

    ethanol_g: float
    """Grams of ethanol."""


class StrengthRange(Output):
    """From the weakest to the strongest of the alternatives."""

    abv_percent: Range
    """% vol at 20 C."""
    ethanol_g: Range
    """Grams of ethanol."""
    ethanol_ml: Range
    """Millilitres of ethanol at 20 C."""


class Heated(Output):
    """What a published retention factor leaves of the alcohol."""

    treatment: str
    """What is done to the drink."""
    retained_percent: float
    """Share of the alcohol that stays."""
    ethanol_g: float
    """Grams of ethanol left."""
    abv_percent: float | None
    """% vol left."""
    source: str
    """Where the factor comes from."""
    standing: str
    """How far that was checked."""


class MenuText(Output):
    """The strength in words for a menu, no finer than its uncertainty."""

    jurisdiction: str
    """Code."""
    text: str | None
    """The words; null where the strength is not known."""
    reason: str | None
    """Why there are none."""
    standing: str
    """How far the wording was checked."""
    uncertainty_percent: float
    """Standard uncertainty of the strength in % vol; the words are no finer."""
    uncertainty_from: Literal["band", "assumed"]
    """`band`: of the drink's own band. `assumed`: a fixed figure, common practice, where no band was asked for."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""
    reason_lang: str | None = None
    """Language of the reason; absent where no language was asked for."""


class LabelText(Output):
    """The strength as a package states it."""

    jurisdiction: str
    """Code."""
    text: str | None
    """The words; null where none are due."""
    reason: str | None
    """Why there are none."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""
    reason_lang: str | None = None
    """Language of the reason; absent where no language was asked for."""


class StatementRow(Output):
    """A duty in words."""

    jurisdiction: str
    """Code."""
    code: str
    """Stable word for the statement."""
    binding: str
    """`text`: to be printed as it stands. `information`: a duty to look at."""
    who: str
    """Whom it binds; empty for everybody."""
    text: str
    """The statement."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class ClaimRow(Output):
    """Whether a word of strength may be used."""

    jurisdiction: str
    """Code."""
    word: str
    """The word, such as alcohol-free."""
    allowed: bool
    """Judged on the upper end of the strength."""
    comparator: str
    """How the strength has to stand to the limit."""
    limit_percent: float
    """The limit in % vol."""
    figure_percent: float | None
    """The strength that was judged: the upper end of the alternatives, or that of the band where bands were asked for
    and the strength alone would allow the word."""
    text: str
    """The judgement in words, with the figure."""
    source: str
    """The rule."""
    standing: str
    """How far it was checked."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""
    condition: str | None = None
    """What the rule says beside, as it ends the text; absent where it says nothing or no language was asked for."""
    condition_lang: str | None = None
    """Language of that; absent with it."""


class StandardDrinksRow(Output):
    """Standard drinks of one serve in one country."""

    jurisdiction: str
    """Code."""
    grams_each: float | None
    """Grams of ethanol in one; null where the sources give a range."""
    grams_low: float | None
    """The smaller drink of the range."""
    grams_high: float | None
    """The larger drink of the range."""
    count: float | None
    """How many; null where the country has a range or the strength is not known."""
    count_low: float | None
    """How many of the larger drink."""
    count_high: float | None
    """How many of the smaller drink."""
    text: str
    """In words, beginning with the figure as rounded there."""
    source: str
    """Where the grams come from."""
    standing: str
    """How far that was checked."""
    note: str
    """What to know about it; empty where there is nothing."""
    range: Range | None
    """How many over the alternatives."""
    lang: str | None = None
    """Language of the text; absent where no language was asked for."""
    fallback: bool | None = None
    """Whether a word of it is not in the language asked for; absent where none was."""


class AlcoholAnswer(Output):
    """The strength of one serve at the moment of handing over."""

    complete: bool
    """Whether the strength is known."""
    missing: tuple[Missing, ...]
    """What is not."""
    abv_percent: float | None
    """% vol at 20 C with the water of ice."""
    abv_percent_undiluted: float | None
    """% vol at 20 C without it."""
    ethanol_ml: float | None
    """Millilitres of ethanol at 20 C."""
    ethanol_g: float | None
    """Grams of ethanol."""
    us_proof: float | None
    """Twice the % vol."""
    at_least: KnownEthanol | None
    """What is known, where not all is."""
    range: StrengthRange | None
    """Over the alternatives; null without any."""
    heated: tuple[Heated, ...]
    """What heating may leave, for a heated drink."""
    moment: str
    """When the strength holds."""
    menu_text: tuple[MenuText, ...]
    """For poured drinks."""
    label: tuple[LabelText, ...]
    """For packed drinks."""
    statements: tuple[StatementRow, ...]
    """Duties that apply to a drink so sold."""
    claims: tuple[ClaimRow, ...]
    """Words of strength."""
    legal_names: tuple[LegalNameRow, ...] | None = None
    """Names that a law keeps, as the drink or its parts state them; absent where none is stated."""
    standard_drinks: tuple[StandardDrinksRow, ...]
    """By jurisdiction; the European Union alone has none."""
    band: AlcoholBand | None = None
    """How sure it is; absent without `bands`."""
    label_check: tuple[LabelCheckRow, ...] | None = None
    """Whether a printed strength holds; empty for a poured drink, absent without `bands`."""
