"""GET /v1/physics/...: published values, and every parameter that cannot be worked with."""

from urllib.parse import urlencode

import pytest

from tests.api.conftest import Client

GOOD = {
    "ethanol-density": {"abv_percent": "40", "t_c": "20"},
    "sucrose-density": {"brix": "50", "t_c": "20"},
    "proof": {"us_proof": "80"},
    "freezing-point": {"abv_percent": "30", "sugars_g_per_100_ml": "10"},
    "dilution": {"method": "stirred", "abv_percent": "30"},
}


@pytest.mark.parametrize(
    ("address", "value", "unit", "tolerance"),
    [
        # OIML R 22 (1975), table of densities by volume: 40 % vol at 20 C.
        ("ethanol-density?abv_percent=40&t_c=20", 948.05, "kg/m3", 0.005),
        # Lange's Handbook, ethanol and water: 40 % by mass at 25 C, 0.93148 g/ml; its points agree to 0.10 kg/m3.
        ("ethanol-density?mass_percent=40&t_c=25", 931.48, "kg/m3", 0.10),
        # The same table: 10 % by mass at 20 C.
        ("ethanol-density?mass_percent=10", 981.85, "kg/m3", 0.02),
        # ICUMSA (1990): sucrose 50 % by mass at 20 C, 1229.6 kg/m3.
        ("sucrose-density?brix=50&t_c=20", 1229.6, "kg/m3", 0.06),
        # ICUMSA (1990): water at 20 C.
        ("sucrose-density?brix=0", 998.2, "kg/m3", 0.02),
        # 27 CFR 5.1: proof is twice the % vol at 60 F.
        ("proof?us_proof=80", 40.0, "% vol", 0.0),
        ("proof?abv_percent=50", 100.0, "US proof", 0.0),
        # Liquid Intelligence (2014), p. 123: -1.21 a^2 + 1.246 a + 0.145 and -1.567 a^2 + 1.742 a + 0.203.
        ("dilution?method=stirred&abv_percent=30", 0.4099, "fraction of the volume before ice", 0.0),
        ("dilution?method=shaken&abv_percent=25", 0.541, "fraction of the volume before ice", 0.0005),
        # Lange's Handbook, table 5.13: 11.3 % by mass freezes at -5.0 C; tables disagree by about 1 C.
        ("freezing-point?mass_percent=11.3", -5.0, "C", 1.2),
        ("freezing-point?abv_percent=0", 0.0, "C", 0.0),
    ],
)
def test_a_published_value(client: Client, address: str, value: float, unit: str, tolerance: float) -> None:
    answer = client.get(f"/v1/physics/{address}")
    assert answer.status_code == 200, answer.text
    reading = answer.json()
    assert reading["value"] == pytest.approx(value, abs=tolerance + 1e-9)
    assert reading["unit"] == unit
    assert reading["in_range"] is True
    assert reading["source"]


def test_sugar_lowers_the_freezing_point_further(client: Client) -> None:
    dry, sweet = (
        client.get(f"/v1/physics/freezing-point?abv_percent=30&sugars_g_per_100_ml={sugars}").json()["value"]
        for sugars in (0, 10)
    )
    assert sweet < dry


@pytest.mark.parametrize(
    ("abv", "inside"), [(9.99, False), (10, True), (45, True), (45.01, False), (0, False), (100, False)]
)
def test_dilution_outside_its_range_is_given_and_marked(client: Client, abv: float, inside: bool) -> None:
    reading = client.get(f"/v1/physics/dilution?method=shaken&abv_percent={abv}").json()
    assert reading["in_range"] is inside
    assert ("10 to 45 % vol" in reading["note"]) is not inside


def test_every_route_answers_its_good_parameters(client: Client) -> None:
    for route, parameters in GOOD.items():
        assert client.get(f"/v1/physics/{route}?{urlencode(parameters)}").status_code == 200


def test_each_parameter_refuses_what_it_is_not(client: Client) -> None:
    wrong = (
        "", " ", "x", "nan", "inf", "-inf", "1e2", "1_0", "0x10", "1,5", "+1", "--1", "1e400", "-1000", "1000",
        "9" * 400, "\u0661\u0662", "\uff11", "\u2212" "1", "true", "null", "[1]", "{}", "4\u00a00", "40\x00", "40;20",
    )  # fmt: skip
    for route, parameters in GOOD.items():
        for name in parameters:
            for value in wrong:
                answer = client.get(f"/v1/physics/{route}?{urlencode(parameters | {name: value})}")
                assert answer.status_code == 422, (route, name, value, answer.text)
                assert answer.headers["content-type"] == "application/problem+json"
                assert [fault["pointer"] for fault in answer.json()["errors"]] == [f"/{name}"]


def test_a_repeated_parameter_is_refused(client: Client) -> None:
    for route, parameters in GOOD.items():
        for name in parameters:
            answer = client.get(f"/v1/physics/{route}?{urlencode(parameters)}&{urlencode({name: parameters[name]})}")
            assert answer.status_code == 422
            assert answer.json()["errors"] == [
                {"pointer": f"/{name}", "code": "repeated", "detail": "Send this parameter once."}
            ]


def test_an_unknown_parameter_is_refused_and_not_named(client: Client) -> None:
    for route, parameters in GOOD.items():
        for more in ("CANARYQ7=1", "Abv_Percent=1", "CANARYQ7=1&CANARYQ7=2", "t_f=60"):
            answer = client.get(f"/v1/physics/{route}?{urlencode(parameters)}&{more}")
            assert answer.status_code == 422, (route, more)
            assert {fault["pointer"] for fault in answer.json()["errors"]} == {""}
            assert "CANARYQ7" not in answer.text


@pytest.mark.parametrize(
    ("address", "pointer"),
    [
        ("ethanol-density", ""),
        ("ethanol-density?t_c=20", ""),
        ("ethanol-density?abv_percent=40&mass_percent=33", ""),
        ("ethanol-density?abv_percent=40&t_c=40.1", "/t_c"),
        ("ethanol-density?abv_percent=40&t_c=-20.1", "/t_c"),
        ("sucrose-density", "/brix"),
        ("sucrose-density?brix=85.1", "/brix"),
        ("sucrose-density?brix=50&t_c=80.1", "/t_c"),
        ("sucrose-density?brix=50&t_c=-0.1", "/t_c"),
        ("proof", ""),
        ("proof?us_proof=80&abv_percent=40", ""),
        ("proof?us_proof=200.1", "/us_proof"),
        ("freezing-point", ""),
        ("freezing-point?abv_percent=70", "/abv_percent"),
        ("freezing-point?mass_percent=61", "/mass_percent"),
        ("freezing-point?abv_percent=20&sugars_g_per_100_ml=90", "/sugars_g_per_100_ml"),
        ("freezing-point?mass_percent=20&sugars_g_per_100_ml=199", "/sugars_g_per_100_ml"),
        ("dilution?abv_percent=30", "/method"),
        ("dilution?method=stirred", "/abv_percent"),
        ("dilution?method=thrown&abv_percent=30", "/method"),
    ],
)
def test_what_the_formula_does_not_reach_is_one_fault(client: Client, address: str, pointer: str) -> None:
    answer = client.get(f"/v1/physics/{address}")
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


def test_the_whole_plane_is_answered_or_refused(client: Client) -> None:
    """No combination of legal parameters may fail otherwise."""
    for strength in ("abv_percent", "mass_percent"):
        for percent in range(0, 101, 5):
            for sugars in (0, 1, 50, 100, 150, 155, 160, 200):
                answer = client.get(f"/v1/physics/freezing-point?{strength}={percent}&sugars_g_per_100_ml={sugars}")
                assert answer.status_code in (200, 422)
            for t_c in (-20, 0, 40):
                assert client.get(f"/v1/physics/ethanol-density?{strength}={percent}&t_c={t_c}").status_code == 200
