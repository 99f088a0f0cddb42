"""The language of an answer: examples of RFC 4647 and RFC 9110, and whatever else a header may hold."""

import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.language import languages
from service.negotiation import Choice, language_ranges, looked_up, negotiated
from tests.campaign import DERANDOMIZED, EXAMPLES

HELD = ("en", "fr", "de", "ja")


def test_a_range_is_cut_from_its_end() -> None:
    # RFC 4647, 3.4: zh-Hant-CN-x-private1-private2 is tried as zh-Hant-CN-x-private1, zh-Hant-CN, zh-Hant, zh.
    asked = "zh-Hant-CN-x-private1-private2"
    tried = ["zh-Hant-CN-x-private1", "zh-Hant-CN", "zh-Hant", "zh"]
    for place, tag in enumerate(tried):
        assert looked_up(asked, tried[place:]) == tag
    assert looked_up(asked, ["zh-Hant-CN-x"]) is None
    # Lookup never finds a tag that is longer than the range.
    assert looked_up("de", ["de-DE"]) is None
    # 2.1: ranges are compared without regard to case.
    assert looked_up("FR-ca", HELD) == "fr"


def test_weights_decide_and_then_the_order() -> None:
    # RFC 9110, 12.5.4: prefers Danish, then British English, then other English.
    assert language_ranges("da, en-gb;q=0.8, en;q=0.7") == ["da", "en-gb", "en"]
    assert language_ranges("en;q=0.7, da, en-gb;q=0.8") == ["da", "en-gb", "en"]
    assert language_ranges("fr, de") == ["fr", "de"]
    # RFC 9110, 12.4.2: a weight of 0 is not acceptable; at most three decimals.
    assert language_ranges("fr;q=0, de;q=0.001, ja;q=0.000") == ["de"]


@pytest.mark.parametrize(
    ("header", "lang", "choice"),
    [
        ("da, en-gb;q=0.8, en;q=0.7", None, Choice("en-gb", "en")),
        ("fr-CA,fr;q=0.9", None, Choice("fr-CA", "fr")),
        ("fr", "de", Choice("de", "de")),
        ("fr", "da", Choice("da", None)),
        ("da, sv", None, Choice("da", None)),
        # A wildcard takes what there is; alone it asks for nothing.
        ("*", None, None),
        ("da, *;q=0.1", None, None),
        ("", None, None),
        (None, None, None),
        ("fr;q=2, ;;;, =, de;level=1", None, None),
    ],
)
def test_the_language_that_is_answered(header: str | None, lang: str | None, choice: Choice | None) -> None:
    assert negotiated(header, lang, HELD) == choice


@given(st.text(max_size=300) | st.text("fr-en;q=0.1,*deX \t", max_size=300))
@settings(max_examples=EXAMPLES, derandomize=DERANDOMIZED, deadline=None)
def test_whatever_is_sent_something_held_or_nothing_is_found(header: str) -> None:
    found = negotiated(header, None, HELD)
    assert found is None or found.code is None or found.code in HELD
    if found is not None:
        assert re.fullmatch(r"[A-Za-z0-9-]+", found.asked)
        assert found.asked in header


@given(st.lists(st.tuples(st.sampled_from(["fr", "de", "ja", "da"]), st.integers(0, 1000)), max_size=12))
@settings(max_examples=EXAMPLES, derandomize=DERANDOMIZED, deadline=None)
def test_the_greatest_weight_of_what_is_held_wins(pairs: list[tuple[str, int]]) -> None:
    header = ",".join(f"{tag};q={weight / 1000:.3f}" for tag, weight in pairs)
    found = negotiated(header, None, HELD)
    wanted = [(weight, tag) for tag, weight in pairs if weight and tag in HELD]
    if wanted:
        most = max(weight for weight, _ in wanted)
        assert found is not None and found.code == next(tag for weight, tag in wanted if weight == most)
    else:
        assert found is None or found.code is None


@pytest.mark.parametrize(
    "header",
    ["a-" * 500_000, "," * 1_000_000, "fr;" * 300_000, "q=0." + "0" * 1_000_000, " " * 1_000_000, "-" * 1_000_000],
)
def test_a_long_header_takes_no_time(header: str) -> None:
    # Each is a mebibyte or so; the longest part of it that is read is 1,000 characters.
    began = time.perf_counter()
    negotiated(header, None, HELD)
    looked_up(header[:1000], HELD)
    assert time.perf_counter() - began < 0.5


def test_all_languages_of_the_issue_are_held() -> None:
    assert set(languages()) == {"en", "fr", "de", "es", "it", "nl", "pt", "pl", "sv", "ja"}
