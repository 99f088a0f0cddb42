"""Sheets of the books as one HTML page of tables, readable on paper; no script, nothing loaded from elsewhere."""

from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

from service.renderers.book import TEXT, Book, Sheet

STYLE: Final = """
:root{--ink:#1b2733;--soft:#5b6b7a;--line:#c9d2da;--good:#1d6f5c;--bad:#a33a2c;--plain:#35618e;--paper:#fff}
@media(prefers-color-scheme:dark){:root{--ink:#e8edf2;--soft:#a7b4c0;--line:#3c4a57;--good:#5cc0a6;--bad:#ef8b7c;
--plain:#86b4e3;--paper:#141b22}}
body{font:16px/1.5 system-ui,sans-serif;color:var(--ink);background:var(--paper);margin:2rem auto;max-width:60rem;
padding:0 1rem}
h1{font-size:1.6rem}h2{font-size:1.2rem;margin-top:2rem}table{border-collapse:collapse;width:100%;font-size:.9rem}
th,td{padding:.3rem .5rem;border-bottom:1px solid var(--line);text-align:right;vertical-align:top}
th:first-child,td:first-child,td.text,th.text{text-align:left}.wide{overflow-x:auto}tr.total{font-weight:600}
svg{max-width:100%;height:auto}svg text{fill:var(--ink);font:13px system-ui,sans-serif}
.good{fill:var(--good)}.bad{fill:var(--bad)}.plain{fill:var(--plain)}.none{fill:none;stroke:var(--soft)}
.axis{stroke:var(--soft)}dt{font-weight:600}dd{margin:0 0 .4rem 1rem}
@media print{:root{--ink:#000;--soft:#444;--line:#999;--good:#1d6f5c;--bad:#a33a2c;--plain:#35618e;--paper:#fff}
body{margin:0;max-width:none;font-size:11pt}h2{break-after:avoid}figure,tr,svg{break-inside:avoid}.wide{overflow:visible}}
figure{margin:0}
"""


def html_of(book: Book) -> bytes:
    """The page: a table for each sheet that has rows, then the notes."""
    parts = [
        *page_head(book.title),
        f"<p>{escape(book.about)}, in {escape(book.currency)}. Valuation: {escape(book.valuation)}.</p>",
        *(line for one in book.sheets if one.rows for line in table(one)), *notes(book.notes), "</main></body></html>",
    ]  # fmt: skip
    return "\n".join(parts).encode("utf-8")


def page_head(title: str) -> Iterator[str]:
    """The beginning of a page, up to its heading."""
    yield "<!doctype html>"
    yield '<html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width,initial-scale=1">'
    yield f"<title>{escape(title)}</title><style>{STYLE}</style></head><body><main>"
    yield f"<h1>{escape(title)}</h1>"


def table(one: Sheet) -> Iterator[str]:
    """A sheet as a table; a wide one scrolls in its own frame, which the keyboard reaches."""
    name = escape(one.name)
    yield f'<h2>{name}</h2><div class="wide" role="region" aria-label="{name}" tabindex="0"><table><thead><tr>'
    kinds = [' class="text"' if held.form == TEXT else "" for held in one.columns]
    heads = zip(one.columns, kinds, strict=True)
    yield "".join(f'<th scope="col"{kind}>{escape(held.title)}</th>' for held, kind in heads) + "</tr></thead><tbody>"
    sums = len(one.rows) - one.totals
    for number, row in enumerate(one.rows):
        cells = [
            f"<td{kind}>{escape(held.absent if text is None else text)}</td>"
            for held, kind, text in zip(one.columns, kinds, row, strict=True)
        ]
        yield ('<tr class="total">' if number >= sums else "<tr>") + "".join(cells) + "</tr>"
    yield "</tbody></table></div>"


def notes(rows: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What the figures rest on."""
    yield "<h2>Notes</h2><dl>"
    for name, text in rows:
        yield f"<dt>{escape(name)}</dt><dd>{escape(text)}</dd>"
    yield "</dl>"
