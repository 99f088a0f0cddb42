"""The CSV: RFC 4180, figures as they stand, nothing a spreadsheet computes, unknown said."""

import csv
import io
import re
from typing import Any

import pytest

from service.renderers.csv_table import csv_of, text
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer, emptied


def _rows(table: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table, newline=""), strict=True))


def test_every_demo_drink_has_a_row_with_the_answers_figures() -> None:
    answers = [demo_answer(drink_id) for drink_id in DRINKS]
    table = csv_of(answers)
    rows = _rows(table)
    assert [row["drink_id"] for row in rows] == DRINKS
    for row, answer in zip(rows, answers, strict=True):
        assert row["abv_percent"] == str(answer["alcohol"]["abv_percent"])
        assert row["liquid_ml"] == str(answer["serve"]["liquid_ml"])
        assert row["cost_serve_cost"] == answer["cost"]["serve_cost"]
        energy = answer["nutrition"]["per_serve"]["energy_kj"]
        assert row["serve_energy_kj"] == ("not known" if energy is None else str(energy))
        assert row["allergens_statement_NL"] == answer["allergens"]["declarations"][0]["statement"]


def test_lines_end_and_quotes_stand_as_rfc_4180_has_it() -> None:
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = 'The "Fog", Signal'
    table = csv_of([answer])
    assert table.count("\r\n") == 2 and table.endswith("\r\n") and "\n" not in table.replace("\r\n", "")
    assert '"The ""Fog"", Signal"' in table
    assert _rows(table)[0]["drink_name"] == 'The "Fog", Signal'
    names = table.partition("\r\n")[0].split(",")
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z0-9_]+(_[A-Z]{2}(-[A-Z]{3})?)?", name) for name in names)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", "\n@", " =", "＝", "＋", "－", "＠"])
def test_a_text_that_a_spreadsheet_would_compute_is_neutral(start: str) -> None:
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = f'{start}HYPERLINK("x")'
    name = _rows(csv_of([answer]))[0]["drink_name"]
    assert name.startswith("'") and name.endswith('HYPERLINK("x")')


def test_plain_text_and_figures_are_left_alone() -> None:
    assert text("Fog Signal") == "Fog Signal"
    answer = demo_answer("fog-signal")
    answer["cost"]["serve_cost"] = "-0.10"
    assert _rows(csv_of([answer]))[0]["cost_serve_cost"] == "-0.10"


def test_no_cell_breaks_its_line() -> None:
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = "a\r\nb\x00\u2028c"
    table = csv_of([answer])
    assert table.count("\r\n") == 2
    assert _rows(table)[0]["drink_name"] == "a b\ufffd c"


def test_what_is_unknown_says_so_and_is_neither_empty_nor_zero() -> None:
    answer: dict[str, Any] = demo_answer("wickwarden-sour")
    answer |= {key: emptied(answer[key]) for key in ("serve", "alcohol", "nutrition")} | {"use_by": None}
    row = _rows(csv_of([answer]))[0]
    for name in ("liquid_ml", "abv_percent", "ethanol_g", "serve_energy_kcal", "use_by_days"):
        assert row[name] == "not known"


def test_an_allergen_column_never_reads_as_none_where_it_was_not_asked_for() -> None:
    asked, not_asked = demo_answer("night-watch-toddy"), answer_to(body_of("fog-signal", include=["alcohol"]))
    rows = _rows(csv_of([asked, not_asked]))
    assert rows[0]["allergens_contains_NL"] == "none listed"
    assert rows[1]["allergens_contains_NL"] == rows[1]["allergens_statement_NL"] == "not known"
    assert rows[1]["serve_energy_kj"] == ""


@pytest.mark.parametrize("drink_id", DRINKS)
def test_without_costs_there_is_no_column_of_them(drink_id: str) -> None:
    table = csv_of([answer_to(body_of(drink_id, include=GUEST_SECTIONS))])
    assert not re.search(r"cost|price|currency|EUR|margin", table)


def test_a_column_says_what_is_exempt_and_none_only_where_all_is_known() -> None:
    """Contract, arithmetic 1. The toddy's malt whisky is of barley, distilled: exempt by Annex II 1(d) of Regulation
    (EU) 1169/2011, which is not free of it, and nothing of the toddy is unknown."""
    row = _rows(csv_of([demo_answer("night-watch-toddy")]))[0]
    assert row["allergens_exempt_NL"] == "barley"
    assert row["allergens_contains_NL"] == row["allergens_unknown_NL"] == "none listed"
    # The bitters of the other leave its sulphites unknown, so that nobody knows of all that it contains.
    other = _rows(csv_of([demo_answer("fog-signal")]))[0]
    assert (other["allergens_contains_NL"], other["allergens_unknown_NL"]) == ("not known", "sulphites")
