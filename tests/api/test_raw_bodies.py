"""A corpus of raw bodies against POST /v1/evaluate: refused with the right status, quickly, without an echo."""

import json
import time

import httpx
import pytest

from tests.api import corpus
from tests.api.conftest import Client
from tests.api.corpus import Case

SECONDS = 0.1
"""A hostile body is refused within this."""

TRIES = 6
"""A machine that does other work as well may need another try; a body that is slow of itself is slow each time."""

STATUSES = {400: "not-json", 413: "body-too-large", 422: "invalid-request"}


def test_the_corpus_is_the_same_each_time() -> None:
    for made in (corpus.refused, corpus.odd, corpus.taken):
        assert made() == made.__wrapped__()


def test_the_corpus_is_large_and_no_case_stands_in_it_twice() -> None:
    cases = [*corpus.refused(), *corpus.odd(), *corpus.taken()]
    assert len(corpus.refused()) >= 500
    assert len({case.name for case in cases}) == len(cases)


def test_each_body_is_refused_quickly_and_without_an_echo(client: Client) -> None:
    faults = [fault for case in corpus.refused() for fault in _faults(client, case)]
    assert not faults, "\n".join(faults)


def test_odd_figures_are_refused_with_their_field_or_give_a_finite_answer(client: Client) -> None:
    cases = corpus.odd()
    answers = [(case, client.evaluate(case.raw)) for case in cases]
    faults = [fault for case, answer in answers for fault in _faults_of_answer(case, answer)]
    assert not faults, "\n".join(faults)
    taken = sum(answer.status_code == 200 for _, answer in answers)
    assert taken > len(cases) // 10, "hardly any case reached the calculation"


@pytest.mark.parametrize(
    "case", corpus.taken(), ids=lambda case: str(case.name.encode("ascii", "replace").decode()[:40])
)
def test_what_is_within_the_limits_is_answered(client: Client, case: Case) -> None:
    answer = client.evaluate(case.raw)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/json"


def _faults(client: Client, case: Case) -> list[str]:
    seconds = []
    for _ in range(TRIES):
        begun = time.process_time()
        answer = client.evaluate(case.raw)
        seconds.append(time.process_time() - begun)
        if seconds[-1] <= SECONDS:
            break
    else:
        return [f"{case.name}: took {min(seconds):.3f} s"]
    return _faults_of_answer(case, answer)


def _faults_of_answer(case: Case, answer: httpx.Response) -> list[str]:
    faults = []
    if answer.status_code not in case.statuses:
        faults.append(f"{case.name}: {answer.status_code} {answer.text[:300]}")
    if answer.status_code == 200:
        json.loads(answer.content, parse_constant=lambda word: faults.append(f"{case.name}: {word} in the answer"))
        return faults
    if answer.headers["content-type"] != "application/problem+json":
        faults.append(f"{case.name}: {answer.headers['content-type']}")
    body = answer.json()
    if (
        body["type"] != f"urn:washline:problem:{STATUSES.get(answer.status_code)}"
        or body["status"] != answer.status_code
    ):
        faults.append(f"{case.name}: {body['type']} {body['status']}")
    if corpus.MARK.casefold() in answer.text.casefold() or corpus.DIGITS in answer.text:
        faults.append(f"{case.name}: an echo in {answer.text[:300]}")
    if answer.status_code == 422 and not all(_is_pointer(fault["pointer"]) for fault in body["errors"]):
        faults.append(f"{case.name}: pointers {body['errors']}")
    if len(body.get("errors", ())) > 100:
        faults.append(f"{case.name}: {len(body['errors'])} errors")
    return faults


def _is_pointer(text: str) -> bool:
    return text == "" or (text.startswith("/") and "//" not in text and text.isascii())
