"""The group's year: 12 venues, 200 drinks, 365 days with their prices, asked over the application."""

import asyncio
import json
import random
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import httpx
from fastapi import FastAPI

from service.api.app import create_app
from service.settings import Settings
from service.store.held import current
from service.store.kinds import normalised
from service.store.ledger import Ledger
from service.store.transaction import Actor
from tests.benchmarks.drink import part
from tests.benchmarks.growth import poured_items
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns

FIRST = date(2025, 1, 1)
ITEMS = 60
CHANGES = 52
"""Price lists a year, one a week."""

CHANGED = 12
"""Prices that each of them changes."""


def _entries(venues: int, drinks: int) -> Iterator[tuple[str, dict[str, Any], date | None]]:
    chance = random.Random(9)
    items = poured_items(ITEMS)
    pricing = {"currency": "EUR", "allowances": {"over_pour_percent": "2", "spillage_percent": "1"}}
    yield "venues", {"id": "group", "name": "Group", "pricing": pricing}, None
    yield "suppliers", {"id": "pier", "name": "Pier Supply"}, None
    for number in range(venues):
        yield "venues", {"id": f"v{number:02}", "name": f"Venue {number}"}, None
    for number in range(12):
        lines = [{"item": "white-sugar", "amount": "300 g"}, {"item": "water", "amount": "300 g"},
                 {"item": items[number], "amount": "100 ml"}]  # fmt: skip
        yield "preparations", part(f"p{number}", f"Part {number}", lines), None
    for number, item in enumerate([*items, "white-sugar"]):
        yield "offers", _offer(chance, number, item), None
    for number in range(drinks):
        lines = [{"item": chance.choice(items), "amount": f"{chance.randrange(10, 60)} ml"} for _ in range(5)]
        lines += [{"item": f"p{chance.randrange(12)}", "amount": "15 ml"}]
        yield "drinks", {"id": f"d{number:03}", "name": f"Drink {number}", "lines": lines,
                         "method": {"kind": "shaken"}}, None  # fmt: skip
    for week in range(1, CHANGES):
        for number in chance.sample(range(ITEMS), CHANGED):
            yield "offers", _offer(chance, number, items[number]), FIRST + timedelta(days=7 * week)


def _offer(chance: random.Random, number: int, item: str) -> dict[str, Any]:
    size = "1 kg" if item == "white-sugar" else "700 ml"
    price = {"amount": f"{chance.randrange(500, 6000) / 100:.2f}", "currency": "EUR"}
    return {"id": f"o{number}", "item": item, "supplier": "pier", "pack": {"count": 6, "size": size}, "price": price}


def filled(venues: int, drinks: int) -> FastAPI:
    """A service with a group in it."""
    app = create_app(Settings(demo=False))
    with app.state.store.writing() as connection:
        ledger = Ledger(connection, Actor("bench", "bench"), datetime.now(UTC), app.state.embedded)
        for kind, body, day in _entries(venues, drinks):
            known = current(connection, kind, body["id"]) if kind == "offers" else None
            ledger.put(kind, normalised(body), day, known)
        ledger.close()
    return app


async def _asked(app: FastAPI, method: str, path: str, content: bytes | None = None) -> list[dict[str, Any]]:
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://bench.test", timeout=600) as client:
        headers = {"Content-Type": "application/x-ndjson"}
        answer = await client.request(method, path, content=content, headers=headers)
    if answer.status_code != 200:
        raise RuntimeError(answer.text)
    return [json.loads(line) for line in answer.content.splitlines()]


def result(size: Size) -> Result:
    """The year, over one day of the same drinks evaluated singly."""
    small = size.calls < 10
    venues, drinks, days = (2, 10, 365) if small else (12, 200, 365)
    app = filled(venues, drinks)
    last = FIRST + timedelta(days=days - 1)
    seen: list[dict[str, Any]] = []
    lines = b"".join(
        json.dumps({"drink": f"d{drink:03}", "venue": f"v{venue:02}", "as_of": FIRST.isoformat(),
                    "include": ["cost"]}).encode() + b"\n"
        for venue in range(venues) for drink in range(drinks)
    )  # fmt: skip

    def year() -> float:
        begun = time.perf_counter()
        rows = asyncio.run(_asked(app, "GET", f"/v1/costs/history?from={FIRST}&to={last}"))
        seen.append(rows[-1])
        if rows[-1]["drink_days"] != venues * drinks * days:
            raise RuntimeError(str(rows[-1]))
        return time.perf_counter() - begun

    def day() -> float:
        begun = time.perf_counter()
        rows = asyncio.run(_asked(app, "POST", "/v1/evaluations", lines))
        if rows[-1] != {"end": True, "results": venues * drinks, "problems": 0}:
            raise RuntimeError(str(rows[-1]))
        return time.perf_counter() - begun

    found = in_turns({"year": year, "day": day}, min(size.rounds, 3) if not small else size.rounds)
    return Result(
        "year",
        f"The group's year: {venues} venues x {drinks} drinks x {days} days = {venues * drinks * days:,} drink-days",
        (
            f"over:  GET /v1/costs/history over {days} days, {CHANGES - 1} lists of {CHANGED} prices each; in process",
            f"under: POST /v1/evaluations with the {venues * drinks:,} drinks of one day, cost alone; in process",
        ),
        (Figure("the year, in single days", Side("the year", found["year"], "s"),
                Side("one day", found["day"], "s")),),
        (f"{seen[-1]['periods']:,} periods of constant cost",),
    )  # fmt: skip
