"""The books as one HTML page with charts in SVG, readable on paper; no script, nothing loaded from elsewhere."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from html import escape
from typing import Any, Final

from service.renderers.book_html import notes, page_head, table
from service.renderers.margins_csv import notes_of
from service.renderers.margins_xlsx import beside_sheet, waste_sheet

WIDTH: Final = 720
LABEL: Final = 220
BAR: Final = 18
GAP: Final = 8
LETTER: Final = 8
"""Width of a letter at the most, in the mean of a text of figures."""


def html_of(body: dict[str, Any]) -> bytes:
    """The page: totals, margin by drink, where the money of one serve goes, change between two periods, notes."""
    period = body["period"]
    title = f"Margins, {period['name']}"
    parts = [
        *page_head(title),
        f"<p>Trading days {period['first']} to {period['last']}, in {body['currency']}. "
        f"Valuation: {escape(body['meta']['valuation'])}.</p>",
        *_total(body), *_by_drink(body), *_one_serve(body), *_change(body), *_under(body), *_table(body),
        *_beside(body), *_waste(body), *notes(notes_of(body)),
        "</main></body></html>",
    ]  # fmt: skip
    return "\n".join(parts).encode("utf-8")


def _shown(figure: str | None, unit: str = "") -> str:
    return "not known" if figure is None else escape(f"{figure}{unit}")


def _total(body: dict[str, Any]) -> Iterator[str]:
    total = body["total"]
    rows = (("Net sales", total["net"]), ("Pour cost", total["pour_cost"]), ("Contribution", total["contribution"]))
    yield "<table><thead><tr>" + "".join(f'<th scope="col">{name}</th>' for name, _ in rows)
    yield '<th scope="col">Gross margin</th></tr></thead><tbody><tr>'
    yield "".join(f"<td>{_shown(figure)}</td>" for _, figure in rows)
    yield f"<td>{_shown(total['gross_margin_percent'], ' %')}</td></tr></tbody></table>"


class _Bar(tuple[str, Decimal | None, str, str]):
    """Label, length, what stands beside it, and its colour."""

    __slots__ = ()


def _chart(title: str, about: str, bars: Sequence[_Bar]) -> Iterator[str]:
    """Horizontal bars from a common zero; each says its figure in words, so no reader depends on colour or length."""
    known = [length for _, length, _, _ in bars if length is not None]
    low, high = min([*known, Decimal(0)]), max([*known, Decimal(0)])
    span = (high - low) or Decimal(1)
    longest = max((len(text) for _, _, text, _ in bars), default=0)
    room = Decimal(max(WIDTH - LABEL - LETTER * longest - GAP, GAP))

    def across(figure: Decimal) -> Decimal:
        return (figure - low) * room / span + LABEL

    height = len(bars) * (BAR + GAP) + GAP
    yield f'<figure><svg viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{escape(title)}">'
    yield f"<title>{escape(title)}</title><desc>{escape(about)}</desc>"
    zero = across(Decimal(0))
    for number, (label, length, text, colour) in enumerate(bars):
        top = GAP + number * (BAR + GAP)
        base = top + BAR - 4
        cut = label if len(label) <= 30 else label[:29] + "…"
        yield f'<text x="{LABEL - 8}" y="{base}" text-anchor="end">{escape(cut)}</text>'
        if length is not None:
            left, right = sorted((zero, across(length)))
            yield (
                f'<rect class="{colour}" x="{left:.1f}" y="{top}" width="{max(right - left, Decimal(1)):.1f}" '
                f'height="{BAR}"/>'
            )
            beside = right
        else:
            beside = zero
        yield f'<text x="{beside + 6:.1f}" y="{base}">{escape(text)}</text>'
    yield f'<line class="axis" x1="{zero:.1f}" x2="{zero:.1f}" y1="0" y2="{height}"/></svg></figure>'


def _by_drink(body: dict[str, Any]) -> Iterator[str]:
    under = {(row["drink"], *row["with"]) for row in body["under_target"]}
    bars = []
    for row in body["drinks"]:
        margin = row["figures"]["gross_margin_percent"]
        below = (row["drink"], *row["with"]) in under
        text = "not known" if margin is None else f"{margin} %" + (", under target" if below else "")
        bars.append(_Bar((row["name"], None if margin is None else Decimal(margin), text, "bad" if below else "good")))
    if bars:
        yield "<h2>Margin by drink</h2>"
        yield from _chart("Gross margin of each drink in percent of net sales", "One bar a drink.", bars)


_PARTS: Final = {
    "discount": "Discounts", "complimentary": "Given away", "service_charge": "Service charge", "deposit": "Deposits",
    "tax": "Tax", "pour_cost": "Pour cost", "channel_cost": "Channels", "stays": "Stays",
}  # fmt: skip


def _one_serve(body: dict[str, Any]) -> Iterator[str]:
    """Where the gross of a mean serve goes."""
    bars = []
    for row in body["one_serve"]:
        share = "" if row["share_percent"] is None else f", {row['share_percent']} %"
        text = f"{row['each']} {body['currency']}{share}"
        colour = "good" if row["part"] == "stays" else "plain"
        bars.append(_Bar((_PARTS[row["part"]], Decimal(row["each"]), text, colour)))
    if bars:
        yield "<h2>Where the money of one serve goes</h2>"
        yield from _chart("Parts of the gross of a mean serve", "Means of all serves, refunds taken off.", bars)


def _change(body: dict[str, Any]) -> Iterator[str]:
    effects = body["effects"]
    if effects is None:
        return
    bars = [_Bar((f"Before: {effects['compared_with']}", Decimal(effects["before"]), effects["before"], "plain"))]
    for name in ("price", "mix", "volume", "cost"):
        figure = Decimal(effects[name])
        sign = "+" if figure > 0 else ""
        bars.append(_Bar((name.capitalize(), figure, f"{sign}{effects[name]}", "bad" if figure < 0 else "good")))
    bars.append(_Bar((f"Now: {body['period']['name']}", Decimal(effects["after"]), effects["after"], "plain")))
    yield "<h2>Change between two periods</h2>"
    yield from _chart("Contribution before, the four effects, and now", "The effects add up to the change.", bars)
    if effects["left_out"]:
        yield f"<p>Left out, since a cost is not known: {escape(', '.join(effects['left_out']))}.</p>"


def _under(body: dict[str, Any]) -> Iterator[str]:
    if not body["under_target"]:
        return
    yield '<h2>Under target</h2><table><thead><tr><th scope="col">Drink</th><th scope="col">Net each</th>'
    yield '<th scope="col">Asked net</th><th scope="col">Menu price that meets it</th></tr></thead><tbody>'
    for row in body["under_target"]:
        name = "+".join((row["drink"], *row["with"]))
        yield f"<tr><td>{escape(name)}</td><td>{row['net_each']}</td><td>{row['asked_net']}</td>"
        yield f"<td>{row['menu_price']}</td></tr>"
    yield "</tbody></table>"


def _table(body: dict[str, Any]) -> Iterator[str]:
    heads = ("Drink", "Serves", "Net", "Pour cost", "Contribution", "Each", "Margin %", "Class")
    yield '<h2>All drinks</h2><div class="wide"><table><thead><tr>'
    *figure_heads, last_head = (f'<th scope="col">{head}</th>' for head in heads)
    yield "".join(figure_heads) + last_head.replace("<th", '<th class="text"') + "</tr></thead><tbody>"
    for row in body["drinks"]:
        figures = row["figures"]
        cells = [figures[name] for name in ("quantity", "net", "pour_cost", "contribution", "contribution_each")]
        cells.append(figures["gross_margin_percent"])
        yield f"<tr><td>{escape(row['name'])}</td>" + "".join(f"<td>{_shown(cell)}</td>" for cell in cells)
        yield f'<td class="text">{escape(row["in_words"] or "")}</td></tr>'
    yield "</tbody></table></div>"


def _beside(body: dict[str, Any]) -> Iterator[str]:
    if body["beside"] is not None:
        yield from table(beside_sheet(body))
        yield f"<p>The second valuation: {escape(body['beside']['valuation'])}.</p>"


def _waste(body: dict[str, Any]) -> Iterator[str]:
    if body["waste"] is not None:
        yield from table(waste_sheet(body["waste"]))
        yield "<p>Waste is a cost line of its own, in no pour cost and no margin.</p>"
