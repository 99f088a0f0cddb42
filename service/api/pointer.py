"""Faults found by the schemas as JSON Pointers into what was sent, without repeating any of it."""

import re
from collections.abc import Iterable, Mapping
from itertools import islice

from pydantic_core import ErrorDetails

from schemas.catalogue import EXTERNAL_ID_PATTERN
from schemas.offer import GTIN_PATTERN
from schemas.period import CLOCK_PATTERN, MONTH_PATTERN
from schemas.scalars import CURRENCY_PATTERN, ID_PATTERN, JURISDICTION_PATTERN, WORD_PATTERN
from service.api.problems import MOST_ERRORS, Fault

_SAFE_KEY = re.compile(r"[a-z][a-z0-9_-]{0,63}\Z", re.ASCII)
_READ_ERRORS = 20 * MOST_ERRORS
"""How many of the schemas' errors are read at most: more than one field can take several to say one thing."""

_CODES: Mapping[str, str] = {
    "missing": "missing",
    "extra_forbidden": "unknown_field",
    "literal_error": "not_allowed",
    "string_pattern_mismatch": "malformed",
    "string_too_long": "too_long",
    "string_too_short": "too_short",
    "string_unicode": "text_character",
    "too_long": "too_many",
    "too_short": "too_few",
    "greater_than": "out_of_range",
    "greater_than_equal": "out_of_range",
    "less_than": "out_of_range",
    "less_than_equal": "out_of_range",
    "finite_number": "out_of_range",
    "int_parsing": "wrong_type",
    "int_parsing_size": "out_of_range",
    "int_from_float": "wrong_type",
}

_DETAILS: Mapping[str, str] = {
    "missing": "This field is required.",
    "extra_forbidden": "The object at this pointer has a field that the contract does not know.",
    "literal_error": "Expected {expected}.",
    "string_too_long": "Expected text of at most {max_length} characters.",
    "string_too_short": "The text is too short; it needs {min_length} or more characters.",
    "string_unicode": "The text is not valid Unicode.",
    "string_type": "Expected text.",
    "model_type": "Expected an object.",
    "model_attributes_type": "Expected an object.",
    "dict_type": "Expected an object.",
    "list_type": "Expected an array.",
    "tuple_type": "Expected an array.",
    "bool_type": "Expected true or false.",
    "float_type": "Expected a JSON number.",
    "int_type": "Expected a whole number.",
    "int_parsing": "Expected a whole number.",
    "int_parsing_size": "Expected a smaller whole number.",
    "int_from_float": "Expected a whole number.",
    "finite_number": "Expected a finite number.",
    "too_long": "Expected at most {max_length} entries.",
    "too_short": "The list is too short; it needs {min_length} or more entries.",
    "greater_than": "Expected a figure over {gt}.",
    "greater_than_equal": "Expected a figure of at least {ge}.",
    "less_than": "Expected a figure under {lt}.",
    "less_than_equal": "Expected a figure of at most {le}.",
}

_FORMS: Mapping[str, str] = {
    ID_PATTERN: "an id: lower-case letters, digits and hyphens, at most 64 of them, such as lime-juice",
    WORD_PATTERN: "one lower-case word of letters, digits and low lines, such as fish_gelatine",
    CURRENCY_PATTERN: "an ISO 4217 code of three capital letters, such as EUR",
    EXTERNAL_ID_PATTERN: "an external id: letters, digits and . _ : / -, at most 64 of them, such as PLU:46",
    GTIN_PATTERN: "the 8, 12, 13 or 14 digits of a GTIN",
    MONTH_PATTERN: "a month written YYYY-MM",
    CLOCK_PATTERN: "a time of day written HH:MM",
    JURISDICTION_PATTERN: "EU or an ISO 3166 code in capitals, such as GB or US-UT",
}
"""What a text has to look like, in words; a pattern without words is shown as it is."""

_NOT_THIS_FORM = frozenset({"wrong_type", "not_allowed", "number", "decimal_text"})
"""What a field that takes several forms says of each form that was not sent."""


def safe_key(key: str) -> bool:
    """Whether a key of the request may stand in a pointer."""
    return _SAFE_KEY.match(key) is not None


def faults_of(errors: Iterable[ErrorDetails], document: object) -> list[Fault]:
    """One fault per place and code; ``document`` is what was sent, which tells fields from the tags of a union."""
    found: dict[tuple[str, str], Fault] = {}
    forms: dict[str, list[Fault]] = {}
    read = list(islice(errors, _READ_ERRORS))
    strange = {error["loc"][:-1] for error in read if error["loc"] and error["loc"][-1] == "[key]"}
    for error in read:
        if (
            strange
            and error["loc"][-1] != "[key]"
            and any(error["loc"][:end] in strange for end in range(len(error["loc"]) + 1))
        ):
            continue  # What stands under a key that is refused is not looked at.
        pointer, sent = _place(error["loc"], document, error["type"])
        fault = _fault(error, pointer)
        if fault.code == "too_few" and isinstance(sent, list) and len(sent) >= error["ctx"]["min_length"]:
            continue  # The schema counts right entries only; each of the others has a fault of its own.
        if fault.code in _NOT_THIS_FORM:
            forms.setdefault(pointer, []).append(fault)
        found.setdefault((pointer, "" if fault.code in _NOT_THIS_FORM else fault.code), fault)
    told = {pointer for pointer, code in found if code} | {above for pointer, _ in found for above in _above(pointer)}
    return [
        fault if code else _joined(forms[pointer])
        for (pointer, code), fault in found.items()
        if code or pointer not in told
    ][:MOST_ERRORS]


def _above(pointer: str) -> list[str]:
    """The pointers to all that contains what ``pointer`` points to."""
    steps = pointer.split("/")
    return ["/".join(steps[:count]) for count in range(1, len(steps))]


def _fault(error: ErrorDetails, pointer: str) -> Fault:
    kind = error["type"]
    code = _CODES.get(kind, "wrong_type" if kind.endswith("_type") else kind)
    if kind == "literal_error" and error["loc"] and error["loc"][-1] == "[key]":
        return Fault(pointer, "unknown_field", f"The object at this pointer may have: {error['ctx']['expected']}.")
    if kind == "string_pattern_mismatch":
        pattern = error["ctx"]["pattern"]
        return Fault(pointer, code, f"Expected {_FORMS.get(pattern, f'text of the form {pattern}')}.")
    template = _DETAILS.get(kind)
    if template is not None:
        return Fault(pointer, code, template.format(**error.get("ctx", {})))
    return Fault(pointer, code, error["msg"] if error["msg"].endswith(".") else error["msg"] + ".")


def _joined(faults: list[Fault]) -> Fault:
    """What each form of one field expected, as one fault."""
    expected = dict.fromkeys(fault.detail.removeprefix("Expected ").rstrip(".") for fault in faults)
    code = next((fault.code for fault in faults if fault.code != "wrong_type"), "wrong_type")
    return Fault(faults[0].pointer, code, f"Expected {' or '.join(expected)}.")


def _place(location: tuple[int | str, ...], document: object, kind: str) -> tuple[str, object]:
    """The location walked along what was sent: tags of unions are passed over, a strange key ends it at its parent."""
    pointer = ""
    here = document
    for place, step in enumerate(location):
        last = place == len(location) - 1
        if isinstance(here, dict) and isinstance(step, str):
            if last and kind == "missing":
                return f"{pointer}/{step}", None
            if step not in here or (last and kind == "extra_forbidden"):
                continue
            if not safe_key(step) or (not last and location[place + 1] == "[key]"):
                return pointer, here
            pointer, here = f"{pointer}/{step}", here[step]
        elif isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
            pointer, here = f"{pointer}/{step}", here[step]
    return pointer, here
