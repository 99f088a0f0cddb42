"""Prices against worked cases (``cases/pricing.toml``), the fraction oracle, and properties H11, H12, H14."""

import decimal
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import InputFault
from service.money import EXACT, half_up, minor_unit_digits, minor_unit_up, money_text
from service.pricing import (
    NO_TAX,
    PriceRound,
    Target,
    Tax,
    TaxLine,
    at_menu_price,
    margins_of,
    suggestion,
)
from tests import money_oracle as oracle
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED

CASES: dict[str, list[dict[str, Any]]] = tomllib.loads(
    (Path(__file__).parent / "cases" / "pricing.toml").read_text(encoding="utf-8")
)
GATE = settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)


@pytest.fixture(autouse=True, scope="module")
def floats_are_refused() -> Iterator[None]:
    """The whole module runs with the trap on: a float that meets a decimal raises."""
    with decimal.localcontext() as context:
        context.traps[decimal.FloatOperation] = True
        yield


def named(case: dict[str, Any]) -> str:
    return str(case["name"])


def target_of(case: dict[str, Any]) -> Target:
    return Target(**{name: Decimal(text) for name, text in case["target"].items()})


def tax_of(case: dict[str, Any]) -> Tax:
    return Tax(tuple(TaxLine(f"t{i}", Decimal(rate), on) for i, (rate, on) in enumerate(case["taxes"])))


def round_of(case: dict[str, Any]) -> PriceRound | None:
    rounding = case.get("round")
    if rounding is None:
        return None
    if "ending" in rounding:
        return PriceRound.ending(rounding["ending"], case["currency"])
    return PriceRound.to(Decimal(rounding["to"]), rounding["mode"], case["currency"])


def test_every_case_has_source_standing_and_tolerance() -> None:
    cases = [case for group in CASES.values() for case in group]
    assert len(cases) >= 10
    assert all(case["source"] and case["standing"] and case["tolerance"] == "0" for case in cases)


def test_minor_units() -> None:
    digits = CASES["minor_units"][0]["digits"]
    assert {code: minor_unit_digits(code) for code in digits} == digits


@pytest.mark.parametrize("code", ["eur", "EURO", "ZZZ", "XXX", "XTS", "", "E U"])
def test_an_unknown_currency_is_refused(code: str) -> None:
    with pytest.raises(InputFault) as fault:
        minor_unit_digits(code)
    assert fault.value.code == "currency_unknown"


@pytest.mark.parametrize("amount, places, expected", CASES["half_up"][0]["rows"])
def test_half_up(amount: str, places: int, expected: str) -> None:
    assert format(half_up(Decimal(amount), places), "f") == expected
    assert oracle.half_up_text(Fraction(amount), places) == expected


def test_money_text_has_the_digits_of_its_currency() -> None:
    texts = [money_text(Decimal("2.15951"), code) for code in ("EUR", "JPY", "KWD")]
    assert texts == ["2.16", "2", "2.160"]
    assert money_text(Decimal("215.6"), "JPY") == "216"
    assert money_text(Decimal("1E+7"), "EUR") == "10000000.00"


@pytest.mark.parametrize("case", CASES["suggestion"], ids=named)
def test_suggestion(case: dict[str, Any]) -> None:
    given_ = suggestion(Decimal(case["pour_cost"]), target_of(case), tax_of(case), round_of(case), case["currency"])
    texts = {
        "suggested": given_.suggested,
        "unrounded": given_.unrounded,
        "net": given_.margins.net,
        "tax": given_.margins.tax,
        "gross_margin_percent": given_.margins.gross_margin_percent,
        "pour_cost_percent": given_.margins.pour_cost_percent,
    }
    assert {name: str(figure) for name, figure in texts.items()} == {name: case[name] for name in texts}
    assert given_.warnings == ()
    assert given_.determined_by == next(iter(case["target"]))


@pytest.mark.parametrize("case", CASES["menu_price"], ids=named)
def test_menu_price(case: dict[str, Any]) -> None:
    answer = at_menu_price(
        Decimal(case["menu_price"]),
        Decimal(case["pour_cost"]),
        tax_of(case),
        target_of(case),
        case["currency"],
    )
    assert str(answer.menu_price) == case["menu_price"]
    assert str(answer.margins.net) == case["net"]
    assert str(answer.margins.gross_margin_percent) == case["gross_margin_percent"]
    assert str(answer.margins.pour_cost_percent) == case["pour_cost_percent"]
    assert answer.meets_target is case["meets_target"]


@pytest.mark.parametrize("case", CASES["floor"], ids=named)
def test_a_legal_floor_lifts_the_suggestion(case: dict[str, Any]) -> None:
    floor = Decimal(case["exact"])
    assert str(minor_unit_up(floor, case["currency"])) == case["payable"]
    low = Target(markup_percent=Decimal(10))
    plain = suggestion(Decimal(5), low, NO_TAX, None, "GBP", [("GB-SCT", floor)])
    assert (str(plain.suggested), plain.floor) == (case["payable"], "GB-SCT")
    assert str(plain.unrounded) == "5.500000"
    assert [warned.code for warned in plain.warnings] == ["price_floor_applied"]
    down = suggestion(
        Decimal("15.90"),
        low,
        NO_TAX,
        PriceRound.to(Decimal("0.50"), "down", "GBP"),
        "GBP",
        [("GB-SCT", floor)],
    )
    assert str(down.suggested) == "17.50"


def test_the_highest_floor_holds_and_a_floor_below_the_price_does_nothing() -> None:
    target = Target(cash_margin=Decimal(3))
    floors = [("IE", Decimal("9.001")), ("GB-SCT", Decimal(8)), ("GB-WLS", Decimal("9.5"))]
    lifted = suggestion(Decimal(5), target, NO_TAX, None, "EUR", floors)
    assert (str(lifted.suggested), lifted.floor) == ("9.50", "GB-WLS")
    free = suggestion(Decimal(7), target, NO_TAX, None, "EUR", floors)
    assert (str(free.suggested), free.floor, free.warnings) == ("10.00", None, ())


@pytest.mark.parametrize(
    "mode, expected, warned", [("up", "12.50", []), ("nearest", "12.00", ["price_below_target"]),
                               ("down", "12.00", ["price_below_target"])]
)  # fmt: skip
def test_nearest_and_down_warn_where_they_miss_the_target(mode: str, expected: str, warned: list[str]) -> None:
    rounding = PriceRound.to(Decimal("0.50"), mode, "EUR")
    made = suggestion(Decimal("2.20"), Target(cash_margin=Decimal(10)), NO_TAX, rounding, "EUR")
    assert str(made.suggested) == expected
    assert [warning.code for warning in made.warnings] == warned


def test_without_rounding_the_minor_unit_is_half_up_and_warns_below_target() -> None:
    target = Target(cash_margin=Decimal(10))
    low = suggestion(Decimal("2.2049"), target, NO_TAX, None, "EUR")
    high = suggestion(Decimal("2.205"), target, NO_TAX, None, "EUR")
    assert (str(low.suggested), str(high.suggested)) == ("12.20", "12.21")
    assert [warning.code for warning in low.warnings] == ["price_below_target"]
    assert high.warnings == ()


@pytest.mark.parametrize(
    "ending, unrounded, expected",
    [(".95", "11.95", "11.95"), (".95", "11.951", "12.95"), (".95", "0", "0.95"), (".5", "3.51", "4.50"),
     ("4.90", "11.00", "14.90"), ("4.90", "14.91", "24.90"), ("9", "120.00", "129.00"), (".00", "0", "0.00")],
)  # fmt: skip
def test_endings(ending: str, unrounded: str, expected: str) -> None:
    assert str(half_up(PriceRound.ending(ending, "EUR").price(Decimal(unrounded)), 2)) == expected


def test_an_ending_of_a_currency_without_decimals() -> None:
    assert PriceRound.ending("80", "JPY").price(Decimal(1281)) == 1380


@pytest.mark.parametrize("text", ["", ".", "5.", ".9x", "-.95", "1e3", ".٩٥", "+9", " .95", "1234567890"])
def test_a_malformed_ending_is_refused(text: str) -> None:
    with pytest.raises(InputFault) as fault:
        PriceRound.ending(text, "EUR")
    assert (fault.value.code, fault.value.pointer) == ("ending_malformed", "/pricing/round/ending")


def test_an_ending_finer_than_the_currency_is_refused() -> None:
    for text, currency in ((".955", "EUR"), (".5", "JPY")):
        with pytest.raises(InputFault) as fault:
            PriceRound.ending(text, currency)
        assert fault.value.code == "ending_not_payable"


@pytest.mark.parametrize(
    "step, mode, currency, code",
    [("0", "up", "EUR", "round_step_not_payable"), ("-1", "up", "EUR", "round_step_not_payable"),
     ("0.005", "up", "EUR", "round_step_not_payable"), ("0.5", "up", "JPY", "round_step_not_payable"),
     ("0.5", "even", "EUR", "round_mode_unknown")],
)  # fmt: skip
def test_a_step_nobody_can_pay_is_refused(step: str, mode: str, currency: str, code: str) -> None:
    with pytest.raises(InputFault) as fault:
        PriceRound.to(Decimal(step), mode, currency)
    assert fault.value.code == code


@pytest.mark.parametrize(
    "name, text",
    [("gross_margin_percent", "100"), ("gross_margin_percent", "-0.1"), ("pour_cost_percent", "0"),
     ("pour_cost_percent", "100.01"), ("markup_percent", "-1"), ("cash_margin", "-0.01")],
)  # fmt: skip
def test_a_target_out_of_range_is_refused(name: str, text: str) -> None:
    with pytest.raises(InputFault) as fault:
        Target(**{name: Decimal(text)})
    assert (fault.value.code, fault.value.pointer) == ("target_out_of_range", f"/pricing/target/{name}")


def test_targets_at_the_ends_of_their_ranges() -> None:
    cost = Decimal("2.50")
    for target in (Target(gross_margin_percent=Decimal(0)), Target(pour_cost_percent=Decimal(100)),
                   Target(markup_percent=Decimal(0)), Target(cash_margin=Decimal(0))):  # fmt: skip
        assert target.net_price(cost)[0] == cost
    with pytest.raises(InputFault) as fault:
        Target()
    assert fault.value.code == "target_missing"


def test_the_highest_price_wins() -> None:
    target = Target(Decimal(70), Decimal(25), Decimal(100), Decimal("7.51"))
    assert target.net_price(Decimal("2.5")) == (Decimal("10.01"), "cash_margin")
    assert target.net_price(Decimal("2.6")) == (Decimal("10.4"), "pour_cost_percent")


def test_tax_that_is_not_included_is_added_on_the_bill() -> None:
    tax = Tax.at_rate(Decimal(20), included=False)
    made = suggestion(Decimal(2), Target(pour_cost_percent=Decimal(20)), tax, None, "USD")
    shown = (made.suggested, made.margins.net, made.margins.tax, made.margins.tax_on_bill)
    assert [str(figure) for figure in shown] == ["10.00", "10.00", "0.00", "2.00"]
    assert str(made.margins.pour_cost_percent) == "20.0"


@pytest.mark.parametrize("rate, base", [("-1", "net"), ("5", "gross")])
def test_a_tax_out_of_range_is_refused(rate: str, base: str) -> None:
    with pytest.raises(InputFault) as fault:
        TaxLine("t", Decimal(rate), base)
    assert fault.value.code == "tax_out_of_range"


def test_a_price_of_nothing_has_no_percentages() -> None:
    margins = margins_of(Decimal(0), Decimal(2), Tax.at_rate(Decimal(21), True), "EUR")
    assert (margins.gross_margin_percent, margins.pour_cost_percent) == (None, None)
    assert str(margins.net) == "0.00"


def test_a_cost_of_nothing_has_no_margin() -> None:
    made = suggestion(Decimal(0), Target(Decimal(78), cash_margin=Decimal(3)), NO_TAX, None, "EUR")
    assert (str(made.suggested), made.determined_by) == ("3.00", "cash_margin")
    assert made.margins.gross_margin_percent is None
    assert str(made.margins.pour_cost_percent) == "0.0"
    nothing = suggestion(Decimal(0), Target(Decimal(78)), NO_TAX, None, "EUR")
    assert (str(nothing.suggested), nothing.margins.pour_cost_percent) == ("0.00", None)


def test_an_unknown_cost_leaves_margins_and_verdict_unknown() -> None:
    answer = at_menu_price(Decimal("12.1"), None, Tax.at_rate(Decimal(21), True), Target(Decimal(78)), "EUR")
    assert (str(answer.menu_price), str(answer.margins.net), str(answer.margins.tax)) == (
        "12.10",
        "10.00",
        "2.10",
    )
    assert (answer.margins.gross_margin_percent, answer.margins.pour_cost_percent, answer.meets_target) == (None,) * 3


def test_a_menu_price_below_cost_has_a_negative_margin() -> None:
    answer = at_menu_price(Decimal(2), Decimal("2.5"), NO_TAX, Target(Decimal(0)), "EUR")
    assert (str(answer.margins.gross_margin_percent), answer.meets_target) == ("-25.0", False)
    assert str(answer.margins.pour_cost_percent) == "125.0"


def test_a_menu_price_exactly_at_its_target_meets_it() -> None:
    # The cost is 33 % of 12.00 / 1.21, a fraction that does not end: what the target asks is 12.00 but for digit 60.
    cost = EXACT.divide(Decimal("3.96"), Decimal("1.21"))
    tax = Tax.at_rate(Decimal(21), True)
    target = Target(pour_cost_percent=Decimal(33))
    assert at_menu_price(Decimal("12.00"), cost, tax, target, "EUR").meets_target is True
    assert at_menu_price(Decimal("11.99"), cost, tax, target, "EUR").meets_target is False
    for digit in (Decimal("1e-58"), Decimal("-1e-58")):
        stepped = suggestion(EXACT.add(cost, digit), target, tax, PriceRound.to(Decimal(12), "up", "EUR"), "EUR")
        assert str(stepped.suggested) == "12.00"
        assert stepped.warnings == ()


def test_a_menu_price_nobody_can_pay_is_refused() -> None:
    with pytest.raises(InputFault) as fault:
        at_menu_price(Decimal("12.005"), Decimal(2), NO_TAX, None, "EUR")
    assert (fault.value.code, fault.value.pointer) == ("menu_price_not_payable", "/pricing/menu_price")


# Properties of reliability: numbers are drawn with as many decimals as the contract's decimal texts may have.

costs = st.decimals(Decimal("0.000001"), Decimal(500), places=6)
rates = st.decimals(0, 30, places=3)
taxes = st.lists(st.tuples(rates, st.sampled_from(["net", "net_and_previous"])), max_size=3)
targets = st.fixed_dictionaries(
    {"gross_margin_percent": st.decimals(0, 99, places=2)},
    optional={
        "pour_cost_percent": st.decimals(Decimal("0.5"), 100, places=2),
        "markup_percent": st.decimals(0, 1000, places=1),
        "cash_margin": st.decimals(0, 50, places=2),
    },
)
steps = st.sampled_from(["0.01", "0.05", "0.10", "0.25", "0.50", "1", "5"]).map(Decimal)
modes = st.sampled_from(["up", "nearest", "down"])
currencies = st.sampled_from(["EUR", "JPY", "KWD"])


def as_tax(lines: list[tuple[Decimal, str]]) -> Tax:
    return Tax(tuple(TaxLine("t", rate, on) for rate, on in lines))


@GATE
@given(costs, targets, taxes, steps, modes)
def test_h11_a_suggestion_is_the_exact_fraction_rounded(
    cost: Decimal, target: dict[str, Decimal], lines: list[tuple[Decimal, str]], step: Decimal, mode: str
) -> None:
    exact_taxes = [(oracle.frac(rate), on) for rate, on in lines]
    factor = oracle.taxed(Fraction(1), exact_taxes)
    wanted = {name: oracle.frac(figure) for name, figure in target.items()}
    rounding = PriceRound.to(step, mode, "EUR")
    for moved in (cost, cost + Decimal("0.000001")):
        made = suggestion(moved, Target(**target), as_tax(lines), rounding, "EUR")
        asked = oracle.asked_net(oracle.frac(moved), wanted) * factor
        price = oracle.stepped(asked, oracle.frac(step), mode)
        assert str(made.unrounded) == oracle.half_up_text(asked, 6)
        assert str(made.suggested) == oracle.half_up_text(price, 2)
        assert bool(made.warnings) == (price < asked)
        if price:
            texts = {name: str(getattr(made.margins, name)) for name in
                     ("net", "tax", "gross_margin_percent", "pour_cost_percent")}  # fmt: skip
            assert texts == oracle.margins(price, oracle.frac(moved), factor, 2)
            assert made.margins.net + made.margins.tax == made.suggested


@GATE
@given(costs, targets, taxes, st.sampled_from([".95", ".9", "4.90", ".00", "9"]))
def test_h11_an_ending_is_the_smallest_price_that_has_it(
    cost: Decimal, target: dict[str, Decimal], lines: list[tuple[Decimal, str]], ending: str
) -> None:
    made = suggestion(cost, Target(**target), as_tax(lines), PriceRound.ending(ending, "EUR"), "EUR")
    factor = oracle.taxed(Fraction(1), [(oracle.frac(rate), on) for rate, on in lines])
    asked = oracle.asked_net(oracle.frac(cost), {k: oracle.frac(v) for k, v in target.items()}) * factor
    period = Fraction(10 ** len(ending.partition(".")[0]))
    assert oracle.frac(made.suggested) >= asked
    assert made.suggested - Decimal(ending) == int(made.suggested - Decimal(ending))
    assert (oracle.frac(made.suggested) - Fraction(ending)) % period == 0
    assert oracle.frac(made.suggested) - period < max(asked, Fraction(0)) or made.suggested < period
    assert made.warnings == ()


amounts = st.decimals(-(10**9), 10**9, places=9)


@GATE
@given(amounts, st.integers(0, 8))
def test_h12_half_up_is_within_half_a_quantum_idempotent_and_symmetric(amount: Decimal, places: int) -> None:
    rounded = half_up(amount, places)
    assert str(format(rounded, "f")) == oracle.half_up_text(oracle.frac(amount), places)
    assert abs(oracle.frac(rounded) - oracle.frac(amount)) <= Fraction(1, 2 * 10**places)
    assert half_up(rounded, places) == rounded
    assert half_up(-amount, places) == -rounded


@GATE
@given(st.integers(1, 10**12), st.integers(1, 10**6), st.integers(1, 10**6), st.integers(0, 6))
def test_h12_a_quotient_that_is_a_tie_goes_up(numerator: int, factor: int, divisor: int, places: int) -> None:
    # (n / d) x d leaves 59 nines or an exact tie, whichever way the division went; the tie must be seen again.
    tie = Decimal(2 * numerator + 1).scaleb(-places - 1) * 5
    with decimal.localcontext(prec=60):
        disturbed = tie * factor / divisor * divisor / factor
    assert half_up(disturbed, places) == half_up(tie, places) == tie + Decimal(5).scaleb(-places - 1)


@GATE
@given(costs, steps, modes)
def test_h12_directed_rounding_moves_less_than_a_step(price: Decimal, step: Decimal, mode: str) -> None:
    rounding = PriceRound.to(step, mode, "EUR")
    stepped = rounding.price(price)
    moved = oracle.frac(stepped) - oracle.frac(price)
    half, whole, none = Fraction(1, 2), Fraction(1), Fraction(0)
    bounds = {"up": (none, whole), "down": (-whole, none), "nearest": (-half, half)}
    low, high = bounds[mode]
    assert low * oracle.frac(step) <= moved <= high * oracle.frac(step)
    assert abs(moved) < oracle.frac(step)
    assert rounding.price(stepped) == stepped


@GATE
@given(costs, st.decimals(0, 99, places=2), rates, steps, currencies)
def test_h14_a_price_rounded_up_keeps_its_margin(
    cost: Decimal, margin: Decimal, rate: Decimal, step: Decimal, currency: str
) -> None:
    step = step if currency != "JPY" else step * 100
    tax = Tax.at_rate(rate, True)
    target = Target(margin)
    made = suggestion(cost, target, tax, PriceRound.to(step, "up", currency), currency)
    price, exact_cost = oracle.frac(made.suggested), oracle.frac(cost)
    net = price / (1 + oracle.frac(rate) / 100)
    wanted = oracle.frac(margin) / 100
    reached = 1 - exact_cost / net
    assert reached >= wanted
    # First order bound: one step of price moves the margin by at most step x cost / (price asked)^2, net of tax.
    least = exact_cost / (1 - wanted)
    assert reached - wanted <= oracle.frac(step) / (1 + oracle.frac(rate) / 100) * exact_cost / least**2
    assert at_menu_price(made.suggested, cost, tax, target, currency).meets_target is True
    again = at_menu_price(made.suggested, cost, tax, target, currency).margins
    assert again == made.margins


@GATE
@given(costs, targets, rates, st.sampled_from(["up", "nearest", "down"]), st.decimals(0, 100, places=4))
def test_a_suggestion_is_never_below_a_floor(
    cost: Decimal, target: dict[str, Decimal], rate: Decimal, mode: str, floor: Decimal
) -> None:
    rounding = PriceRound.to(Decimal("0.50"), mode, "EUR")
    tax = Tax.at_rate(rate, True)
    free = suggestion(cost, Target(**target), tax, rounding, "EUR")
    made = suggestion(cost, Target(**target), tax, rounding, "EUR", [("IE", floor)])
    assert made.suggested >= max(floor, free.suggested)
    assert (made.floor == "IE") == (free.suggested < minor_unit_up(floor, "EUR"))
    assert made.suggested == free.suggested or made.suggested - Decimal("0.50") < minor_unit_up(floor, "EUR")
