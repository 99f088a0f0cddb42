"""Which representation a request gets: RFC 9110, section 12.5.1, and what each representation is sent with."""

import csv
import io
import json
import time
import xml.etree.ElementTree as ET

import pytest

from service.api.negotiation import CSV, HTML, JSON, JSON_LD, MENU_OFFERED, OFFERED, SVG, chosen, ranges, rendered_menu
from service.api.problems import Problem
from service.renderers.menu import MenuRow
from service.renderers.page import POLICY
from tests.api.bodies import raw, small
from tests.api.conftest import Client
from tests.renderers.answers import body_of, demo_answer

VARY = "Accept, Accept-Language, Authorization"

BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        ([], JSON),
        ([""], JSON),
        (["*/*"], JSON),
        (["application/*"], JSON),
        (["application/json"], JSON),
        (["APPLICATION/JSON"], JSON),
        (["application/json; charset=UTF-8"], JSON),
        (["application/ld+json"], JSON_LD),
        (["text/html"], HTML),
        (["text/*"], HTML),
        (["image/svg+xml"], SVG),
        (["image/*"], SVG),
        (["text/csv"], CSV),
        (["text/csv; header=present"], CSV),
        ([BROWSER], HTML),
        (["text/csv;q=0.5, text/html;q=0.4"], CSV),
        (["text/csv;q=0.4, text/html;q=0.5"], HTML),
        (["text/csv;Q=0.4, text/html ; q=0.5"], HTML),
        (["text/csv", "image/svg+xml;q=0.9"], CSV),
        (["text/html;q=0.1", "text/csv;q=1.000"], CSV),
        # The closest range decides: any text is wanted, HTML is not.
        (["text/*, text/html;q=0"], CSV),
        (["*/*, application/json;q=0.1, application/ld+json;q=0.1"], HTML),
        (["application/json;q=0, */*;q=0.1"], JSON_LD),
        # A range with a parameter is closer than one without (the order of RFC 9110's own example).
        (["text/csv;q=0.1, text/csv;header=present;q=0.9, text/html;q=0.5"], CSV),
        # Equal weights: the service's own order.
        (["text/csv, text/html"], HTML),
        # What is no range, or has no right weight, is passed over.
        (["nonsense, text/csv"], CSV),
        (["text/html;q=2, text/csv"], CSV),
        (["text/html;q=, text/csv"], CSV),
        (["text/html;q=0.1234, text/csv;q=0.2"], CSV),
        ([", ,text/csv,"], CSV),
        (['text/html;note="a,b;q=0", text/csv;q=0.1'], CSV),
        (["text/csv;;q=0.5;"], CSV),
    ],
)  # fmt: skip
def test_the_closest_range_with_the_highest_weight_is_sent(accept: list[str], media_type: str) -> None:
    assert chosen(accept) == media_type


@pytest.mark.parametrize(
    "accept",
    [
        "application/xml", "text/plain", "image/png", "*/*;q=0", "application/json;q=0", "text/html;level=1", "json",
        'text/html;charset="utf-16"', "*/html", "*/*;level=1", "text/*;level=1", 'text/html;x="', "q=1",
        "text/html q=1",
    ],
)  # fmt: skip
def test_what_nothing_fits_is_406(accept: str) -> None:
    with pytest.raises(Problem) as caught:
        chosen([accept])
    assert (caught.value.status, caught.value.headers) == (406, {"Vary": "Accept"})


def test_weights_are_read_to_a_thousandth() -> None:
    weights = [one.weight for one in ranges("a/b;q=0, a/b;q=0.5, a/b;q=0.05, a/b;q=0.005, a/b;q=1.000, a/b, a/b;q=1")]
    assert weights == [0, 500, 50, 5, 1000, 1000, 1000]


def test_a_long_header_is_read_in_no_time() -> None:
    """Linear: 60,000 signs of quotes, commas and semicolons; the limit of headers is 64 KiB.

    A second is far above what is needed, and far below what steps back and forth over 60,000 signs would take.
    """
    begun = time.process_time()
    for sign in ('"', ";", ",", '\\"', 'a/b;x="', "a/b,", "a/b;;", "a/b; "):
        with pytest.raises(Problem):
            chosen([sign * (60_000 // len(sign))])
    assert time.process_time() - begun < 1.0


@pytest.mark.parametrize("media_type", OFFERED)
def test_one_drink_is_answered_in_every_type_with_its_headers(demo_client: Client, media_type: str) -> None:
    answer = demo_client.ask("POST", "/v1/evaluate", json=body_of("fog-signal"), headers={"Accept": media_type})
    assert answer.status_code == 200
    assert answer.headers["content-type"].partition(";")[0] == media_type
    assert answer.headers["vary"] == VARY
    assert answer.headers["content-language"] == "en"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers.get("content-security-policy") == (POLICY if media_type in (HTML, SVG) else None)
    assert "Fog Signal" in answer.text


def test_all_types_show_the_same_answer(demo_client: Client) -> None:
    bodies = {
        media_type: demo_client.ask(
            "POST", "/v1/evaluate", json=body_of("fog-signal"), headers={"Accept": media_type}
        ).text
        for media_type in OFFERED
    }
    whole = json.loads(bodies[JSON])
    strength = str(whole["alcohol"]["abv_percent"])
    assert strength in bodies[HTML]
    assert json.loads(bodies[JSON_LD])["hasMenuItem"][0]["gs1:percentageOfAlcoholByVolume"] == strength
    assert next(csv.DictReader(io.StringIO(bodies[CSV], newline="")))["abv_percent"] == strength
    assert whole["alcohol"]["menu_text"][0]["text"] in bodies[SVG]
    for media_type in (HTML, SVG):
        ET.fromstring(bodies[media_type].encode())


def test_the_sheet_knows_the_glass_of_the_request(demo_client: Client) -> None:
    answer = demo_client.ask("POST", "/v1/evaluate", json=body_of("fog-signal"), headers={"Accept": HTML})
    assert "glass, brim 180" in answer.text


def test_a_refusal_of_accept_is_a_problem_and_comes_before_the_body_is_looked_at(client: Client) -> None:
    answer = client.ask("POST", "/v1/evaluate", content=b"{", headers={"Accept": "image/png"})
    assert answer.status_code == 406
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["vary"] == "Accept"
    assert answer.json()["type"].endswith(":not-acceptable")
    assert answer.json()["title"] == "Not Acceptable"
    assert all(media_type in answer.json()["detail"] for media_type in OFFERED)


@pytest.mark.parametrize("media_type", MENU_OFFERED)
def test_several_drinks_are_one_menu_in_every_type(media_type: str) -> None:
    answers = [demo_answer("fog-signal"), demo_answer("long-jetty")]
    sent = rendered_menu(media_type, answers, [MenuRow("Short"), MenuRow("Long")] if "+" in media_type else None)
    text = bytes(sent.body).decode()
    assert sent.headers["content-type"].partition(";")[0] == media_type
    assert sent.headers["vary"] == "Accept"
    assert "Fog Signal" in text and "Long Jetty" in text


def test_a_menu_is_no_label() -> None:
    with pytest.raises(Problem) as caught:
        chosen([SVG], MENU_OFFERED)
    assert SVG not in caught.value.detail and CSV in caught.value.detail


@pytest.mark.parametrize("media_type", OFFERED)
def test_a_faulty_body_is_a_problem_whatever_is_asked_for(client: Client, media_type: str) -> None:
    answer = client.ask("POST", "/v1/evaluate", content=b"{", headers={"Accept": media_type})
    assert answer.status_code == 400
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("media_type", OFFERED)
def test_the_smallest_drink_is_answered_in_every_type(client: Client, media_type: str) -> None:
    answer = client.ask("POST", "/v1/evaluate", content=raw(small()), headers={"Accept": media_type})
    assert answer.status_code == 200
    assert "Dock Light" in answer.text
