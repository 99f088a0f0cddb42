"""The language of an answer: the parameter ``lang``, else the header Accept-Language, else English unmarked."""

import re
from typing import Any

from fastapi import Request

from service.api.problems import Fault, of_faults
from service.language import ENGLISH, language, languages
from service.negotiation import negotiated
from service.report.wording import Wording

_TAG = re.compile(r"[A-Za-z]{1,8}(?:-[A-Za-z0-9]{1,8}){0,8}\Z")

PARAMETERS: list[dict[str, Any]] = [
    {
        "name": "lang",
        "in": "query",
        "description": "Language of the texts for guests, as a BCP 47 tag; used before Accept-Language. One that is "
        "not held is answered in English, and marked.",
        "schema": {"type": "string", "pattern": "^[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8}){0,8}$"},
    },
    {
        "name": "Accept-Language",
        "in": "header",
        "description": "Languages that the guest reads (RFC 9110, 12.5.4), looked up as RFC 4647, section 3.4, says.",
        "schema": {"type": "string"},
    },
]
"""What the documentation says of both; the operation reads them by hand as it reads its body."""


def wording_of(request: Request) -> Wording:
    """The words that the request asks for. Raises :class:`service.api.problems.Problem`: 422 for a malformed tag."""
    sent = request.query_params.getlist("lang")
    if len(sent) > 1:
        raise of_faults([Fault("/lang", "repeated", "Send this parameter once.")])
    if sent and not _TAG.match(sent[0]):
        raise of_faults([Fault("/lang", "malformed", "Send a language tag of BCP 47, such as fr or pt-BR.")])
    # A header sent in several lines is one list (RFC 9110, 5.3).
    return wording_for(", ".join(request.headers.getlist("accept-language")), sent[0] if sent else None)


def wording_for(accept_language: str, tag: str | None) -> Wording:
    """The words for a well-formed tag, or for a header where there is none. Each answer needs its own."""
    found = negotiated(accept_language, tag, languages())
    return Wording() if found is None else Wording(found.asked, language(found.code or found.asked))


def headers_of(wording: Wording) -> dict[str, str]:
    """The headers that say in which language the answer is and that it depends on what was asked."""
    return {"Content-Language": wording.language.code or ENGLISH, "Vary": "Accept-Language"}
