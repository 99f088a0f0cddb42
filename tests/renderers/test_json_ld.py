"""The linked data: read by a general RDF library, terms as the vocabularies list them, nothing said of the unknown."""

import json
from typing import Any

import pytest
import rdflib

from service.renderers.json_ld import item_json_ld, menu_json_ld
from service.renderers.menu import MenuRow
from service.renderers.vocabulary import terms
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer, emptied

SCHEMA = rdflib.Namespace("https://schema.org/")
GS1 = rdflib.Namespace("https://ref.gs1.org/voc/")
XSD_FLOAT = rdflib.XSD.float

# The library's own reader still makes what the library calls deprecated.
pytestmark = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")


def graph_of(document: str) -> rdflib.Graph:
    """The triples; nothing is fetched, since the context is whole."""
    return rdflib.Graph().parse(data=document, format="json-ld")


def _whole() -> str:
    answers = [demo_answer(drink_id) for drink_id in DRINKS]
    rows = [MenuRow("Up" if place % 2 else None, "12.50", "Short.", "EUR") for place, _ in enumerate(answers)]
    return menu_json_ld(answers, rows, title="Evening")


def test_every_term_is_one_of_the_vocabularies_own() -> None:
    found: dict[str, set[str]] = {"schema": set(), "gs1": set()}
    for triple in graph_of(_whole()):
        for term in triple:
            if isinstance(term, rdflib.URIRef) and not term.startswith(str(rdflib.RDF)):
                space = next(key for key, one in terms().vocabularies.items() if term.startswith(one.namespace))
                found[space].add(term.removeprefix(terms().vocabularies[space].namespace))
    codes = {name for name in found["gs1"] if "-" in name}
    assert found["schema"] <= terms().vocabularies["schema"].terms
    assert found["gs1"] - codes <= terms().vocabularies["gs1"].terms
    assert {"MenuSection", "hasMenuSection", "description", "offers", "calories"} <= found["schema"]
    assert {"percentageOfAlcoholByVolume", "hasAllergen", "allergenStatement"} <= found["gs1"]
    for name in codes:
        kind, _, code = name.partition("-")
        assert code in terms().codes[kind], name
    assert not any("Diet" in name or "FREE_FROM" in name for name in found["schema"] | found["gs1"])


@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_demo_drink_is_read_back_with_the_answers_figures(drink_id: str) -> None:
    answer = demo_answer(drink_id)
    graph = graph_of(item_json_ld(answer))
    (item,) = graph.subjects(rdflib.RDF.type, SCHEMA.MenuItem)
    assert (item, rdflib.RDF.type, GS1.Beverage) in graph
    assert graph.value(item, SCHEMA.name) == rdflib.Literal(answer["drink"]["name"])
    strength = graph.value(item, GS1.percentageOfAlcoholByVolume)
    assert isinstance(strength, rdflib.Literal)
    assert (str(strength), strength.datatype) == (str(answer["alcohol"]["abv_percent"]), XSD_FLOAT)
    nutrition = graph.value(item, SCHEMA.nutrition)
    energy = answer["nutrition"]["per_serve"]["energy_kcal"]
    assert graph.value(nutrition, SCHEMA.calories) == (None if energy is None else rdflib.Literal(f"{energy} kcal"))
    declaration = answer["allergens"]["declarations"][0]
    statement = graph.value(item, GS1.allergenStatement)
    assert statement == rdflib.Literal(declaration["statement"], lang="en")
    levels = [
        str(graph.value(detail, GS1.allergenLevelOfContainmentCode)).rpartition("-")[2]
        for detail in graph.objects(item, GS1.hasAllergen)
    ]
    assert levels.count("CONTAINS") == len(declaration["contains"])
    assert levels.count("MAY_CONTAIN") == len(declaration["may_contain"])
    assert len(levels) == levels.count("CONTAINS") + levels.count("MAY_CONTAIN")


def test_codes_are_those_of_the_allergens_named() -> None:
    """GS1 Web Vocabulary 1.16: AM is milk and its derivatives."""
    graph = graph_of(item_json_ld(demo_answer("still-water-punch")))
    kinds = {str(one) for one in graph.objects(None, GS1.allergenType)}
    assert kinds == {f"{GS1}AllergenTypeCode-AM"}


def test_what_is_unknown_is_left_out() -> None:
    answer = demo_answer("wickwarden-sour")
    answer |= {key: emptied(answer[key]) for key in ("alcohol", "nutrition")}
    graph = graph_of(item_json_ld(answer))
    assert graph.value(None, GS1.percentageOfAlcoholByVolume) is None
    (nutrition,) = graph.subjects(rdflib.RDF.type, SCHEMA.NutritionInformation)
    assert {str(name) for name in graph.predicates(nutrition)} == {str(rdflib.RDF.type), str(SCHEMA.servingSize)}
    assert (None, GS1.energyPerNutrientBasis, None) not in graph


def test_an_offer_is_the_menu_price_and_never_a_suggestion() -> None:
    answer = demo_answer("wickwarden-sour")
    graph = graph_of(item_json_ld(answer))
    (offer,) = graph.subjects(rdflib.RDF.type, SCHEMA.Offer)
    # The demo's own file has it at 14.00 euros.
    assert graph.value(offer, SCHEMA.price) == rdflib.Literal("14.00")
    assert graph.value(offer, SCHEMA.priceCurrency) == rdflib.Literal("EUR")
    answer["price"]["at_menu_price"] = None
    assert "Offer" not in item_json_ld(answer)
    given = menu_json_ld([answer], [MenuRow(price="9.00", currency="GBP")])
    assert (None, SCHEMA.price, rdflib.Literal("9.00")) in graph_of(given)


@pytest.mark.parametrize("drink_id", DRINKS)
def test_no_cost_is_in_it(drink_id: str) -> None:
    without: dict[str, Any] = json.loads(item_json_ld(answer_to(body_of(drink_id, include=GUEST_SECTIONS))))
    whole: dict[str, Any] = json.loads(item_json_ld(demo_answer(drink_id)))
    whole["hasMenuItem"][0].pop("offers", None)
    assert whole == without


def test_nothing_in_it_ends_a_script_element() -> None:
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = "</script><script>alert(1)</script><!-- & -->"
    document = item_json_ld(answer)
    assert not set(document) & set("<>&")
    assert json.loads(document)["hasMenuItem"][0]["name"] == answer["drink"]["name"]


def test_sections_hold_their_items_and_the_rest_stands_in_the_menu() -> None:
    graph = graph_of(_whole())
    (menu,) = graph.subjects(rdflib.RDF.type, SCHEMA.Menu)
    (section,) = graph.objects(menu, SCHEMA.hasMenuSection)
    items = len(list(graph.objects(section, SCHEMA.hasMenuItem))) + len(list(graph.objects(menu, SCHEMA.hasMenuItem)))
    assert items == len(DRINKS)
