"""Bounded scalars of the contract: text, ids, numbers, decimal text, dates, currencies, jurisdictions."""

import re
import unicodedata
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, WithJsonSchema
from pydantic_core import PydanticCustomError

ID_PATTERN = r"^[a-z0-9][a-z0-9-]{0,63}$"
WORD_PATTERN = r"^[a-z][a-z0-9_]{0,39}$"
CURRENCY_PATTERN = r"^[A-Z]{3}$"
JURISDICTION_PATTERN = r"^[A-Z]{2}(-[A-Z0-9]{1,3})?$"
DECIMAL_PATTERN = r"^-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,12})?$"

_DECIMAL = re.compile(DECIMAL_PATTERN[:-1] + r"\Z", re.ASCII)
_WHOLE = re.compile(r"(?:0|[1-9][0-9]{0,14})(?:\.0{1,12})?\Z", re.ASCII)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}\Z", re.ASCII)
_REFUSED = re.compile(
    "[\\x00-\\x1f\\x7f-\\x9f\\xad\\u034f\\u061c\\u115f\\u1160\\u17b4\\u17b5\\u180b-\\u180e\\u200b-\\u200f\\u2028-\\u202e"
    "\\u2060-\\u206f\\u3164\\ufdd0-\\ufdef\\ufeff\\uffa0\\ufff0-\\uffff\\U000e0000-\\U000e007f]"
)
"""Control, invisible and bidirectional characters and non-characters, which can make one text look like another."""


def _plain(text: str) -> str:
    """``text`` in Unicode normalisation form C; control, invisible and bidirectional characters are refused."""
    if text.isspace():
        raise PydanticCustomError("text_blank", "The text is blank; write a word or a figure.")
    if text.isascii() and text.isprintable():
        return text
    if _REFUSED.search(text):
        raise PydanticCustomError(
            "text_character", "Control, invisible and bidirectional characters are not accepted in text."
        )
    return unicodedata.normalize("NFC", text)


def _breaking_spaces(text: str) -> str:
    """No-break spaces, which editors put between a figure and its unit, as plain ones."""
    return text if text.isascii() else text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2009", " ")


def _decimal(value: Any) -> Decimal:
    """Exact decimal of a text such as ``12.50``; JSON numbers are refused since they are binary floats first."""
    if not isinstance(value, str):
        raise PydanticCustomError("decimal_text", 'Expected a decimal as text, such as "12.50".')
    if len(value) > 32 or not _DECIMAL.match(value):
        raise PydanticCustomError(
            "decimal_text", 'Expected a plain decimal as text, such as "12.50": ASCII digits, a point, no exponent.'
        )
    return Decimal(value)


def _number(value: Any) -> float:
    """A physical number: a JSON number or a decimal as text. Booleans are not numbers."""
    kind = type(value)
    if kind is float:
        return value  # type: ignore[no-any-return]  # the type was just compared
    if kind is int:
        if abs(value) >= 10**15:
            raise PydanticCustomError("number_too_large", "Expected a number of at most 15 digits.")
        return float(value)
    if kind is str and len(value) <= 32 and _DECIMAL.match(value):
        return float(value)
    raise PydanticCustomError("number", 'Expected a JSON number or a plain decimal as text, such as 40 or "40.5".')


def _exact_number(value: Any) -> Decimal:
    """A physical number that meets money: a JSON number is taken as the shortest decimal that reads as it."""
    return Decimal(format(Decimal(repr(_number(value))), "f"))


def _day(value: Any) -> date:
    """A calendar day written YYYY-MM-DD."""
    if type(value) is date:
        return value
    if isinstance(value, str) and _DATE.match(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise PydanticCustomError("date", "Expected a calendar day written YYYY-MM-DD.")


def _whole(value: Any) -> int:
    """A whole number, as a JSON number or as text; booleans are refused, 14.0 is 14."""
    kind = type(value)
    if kind is int:
        return value  # type: ignore[no-any-return]  # the type was just compared
    if kind is float and value.is_integer():
        return int(value)
    if kind is str and _WHOLE.match(value):
        return int(value.partition(".")[0])
    raise PydanticCustomError("whole_number", "Expected a whole number.")


def _short(limit: int) -> Any:
    return Annotated[str, StringConstraints(strict=True, min_length=1, max_length=limit), AfterValidator(_plain)]


_NUMBER_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string", "pattern": DECIMAL_PATTERN}]}
_NUMBER = (
    BeforeValidator(_number),
    WithJsonSchema(_NUMBER_SCHEMA),
)

Text = Annotated[str, StringConstraints(strict=True, min_length=1, max_length=200), AfterValidator(_plain)]
"""One line of text, 1 to 200 characters, normalised to NFC."""

Word = Annotated[str, StringConstraints(strict=True, pattern=WORD_PATTERN)]
"""One lower-case word of a vocabulary or of a house, such as the name of a piece."""

StepWord = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z][a-z_ -]{0,39}$")]
"""What a step does, in one or two lower-case words."""

AmountText = Annotated[
    str,
    StringConstraints(strict=True, min_length=1, max_length=64),
    AfterValidator(_breaking_spaces),
    AfterValidator(_plain),
]
"""An amount as written on paper; it is read in the service."""

Id = Annotated[str, StringConstraints(strict=True, pattern=ID_PATTERN)]
"""Identifier of an item, preparation, drink or offer."""

DecimalText = Annotated[
    Decimal, BeforeValidator(_decimal), WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN})
]
"""An exact decimal as text; may be negative."""

MoneyText = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    Field(ge=0, le=10**12),
    WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN.replace("-?", "")}),
]
"""A sum of money of 0 or more, as decimal text."""

PercentText = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    Field(ge=0, le=1000),
    WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN.replace("-?", "")}),
]
"""A percentage of money of 0 to 1000, as decimal text."""

MarkupText = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    Field(ge=0, le=100_000),
    WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN.replace("-?", "")}),
]
"""A markup in percent of 0 to 100,000, as decimal text."""

Minutes = Annotated[Decimal, BeforeValidator(_exact_number), Field(ge=0, le=1000), WithJsonSchema(_NUMBER_SCHEMA)]
"""Minutes of 0 to 1000, exact: a JSON number or a decimal as text."""

Factor = Annotated[Decimal, BeforeValidator(_exact_number), Field(gt=0, le=100), WithJsonSchema(_NUMBER_SCHEMA)]
"""What an amount is multiplied with, over 0 to 100, exact: a JSON number or a decimal as text."""

PriceDelta = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    Field(ge=-(10**12), le=10**12),
    WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN}),
]
"""A difference of money as decimal text; may be negative."""

Percent = Annotated[float, *_NUMBER, Field(ge=0, le=100, allow_inf_nan=False)]
"""A physical percentage from 0 to 100."""

Share = Annotated[float, *_NUMBER, Field(ge=0, le=1, allow_inf_nan=False)]
"""A share from 0 to 1."""

Positive = Annotated[float, *_NUMBER, Field(gt=0, le=100_000, allow_inf_nan=False)]
"""A physical quantity over 0, at most 100,000."""

NotNegative = Annotated[float, *_NUMBER, Field(ge=0, le=100_000, allow_inf_nan=False)]
"""A physical quantity of 0 or more, at most 100,000."""

Celsius = Annotated[float, *_NUMBER, Field(ge=-80, le=120, allow_inf_nan=False)]
"""A temperature in degrees Celsius."""

SoldAs = Literal["poured", "packed_for_direct_sale", "prepacked", "distance"]
"""`poured` gets words for a menu; the packed kinds get label text and the duties of a package."""

NetMl = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,6}(\.[0-9]{1,3})?$")]
"""A net quantity in ml, as it is to be printed."""

Day = Annotated[date, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
"""A calendar day, YYYY-MM-DD."""

Days = Annotated[
    int,
    BeforeValidator(_whole),
    Field(ge=0, le=3650),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": 3650}),
]
"""A whole number of days; "indefinite" is not a shelf life."""

CountOrNone = Annotated[
    int,
    BeforeValidator(_whole),
    Field(ge=0, le=10_000),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": 10_000}),
]
"""A whole number of 0 or more."""

Count = Annotated[
    int,
    BeforeValidator(_whole),
    Field(ge=1, le=10_000),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 10_000}),
]
"""A whole number of 1 or more."""

Currency = Annotated[str, StringConstraints(strict=True, pattern=CURRENCY_PATTERN)]
"""An ISO 4217 currency code."""

Jurisdiction = Annotated[str, StringConstraints(strict=True, pattern=JURISDICTION_PATTERN)]
"""``EU`` or an ISO 3166 code: ``GB``, ``US-UT``."""

Flag = Annotated[bool, Field(strict=True)]
"""true or false; 0, 1 and text are refused."""
