"""Whoever follows a feed knows each drink's answer on every later day: random catalogues, looked at day by day.

What is expected is found without the feed, by asking for each day at each version. The days are few and near, so that
all that is dated falls on one of them.
"""

import os
import random
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
import time_machine

from service.settings import Settings
from tests.api.conftest import Client

ROUNDS = int(os.environ.get("WASHLINE_ROUNDS", "1"))
START = date(2026, 11, 25)
DAYS = [(START + timedelta(days=number)).isoformat() for number in range(12)]
"""The days that are looked at; what is dated begins or ends before the last one."""
DRINKS = ("sour", "punch")
BASE: tuple[tuple[str, dict[str, Any]], ...] = (
    ("venues", {"id": "group", "name": "All", "jurisdictions": ["EU"], "pricing": {
        "currency": "EUR", "tax": {"rate_percent": "21", "included": True}, "target": {"gross_margin_percent": "75"},
        "rates": [{"from": "USD", "to": "EUR", "rate": "0.9"}]}}),
    ("suppliers", {"id": "quay", "name": "Example Quay Supply"}),
    ("suppliers", {"id": "pier", "name": "Example Pier Supply"}),
    ("ingredients", {"id": "rum", "name": "Rum", "kind": "spirit", "abv_percent": "40"}),
    ("ingredients", {"id": "paste", "name": "Paste", "kind": "other", "density_g_per_ml": "1.2"}),
    ("preparations", {"id": "syrup", "name": "Syrup", "lines": [
        {"item": "white-sugar", "amount": "500 g"}, {"item": "water", "amount": "500 g"}]}),
    ("drinks", {"id": "sour", "name": "Sour", "lines": [
        {"item": "rum", "amount": "50 ml"}, {"item": "lime-juice", "amount": "20 ml"},
        {"item": "syrup", "amount": "10 ml"}]}),
    ("drinks", {"id": "punch", "name": "Punch", "lines": [
        {"item": "rum", "amount": "30 ml"}, {"item": "paste", "amount": "1 oz"}]}),
)  # fmt: skip


class Bar:
    """A catalogue that changes at random, and a till that follows both of its feeds."""

    def __init__(self, url: str, seed: int) -> None:
        self.client = Client(Settings(database_url=url))
        self.today = 0
        self._draw = random.Random(seed)
        self._offers: list[str] = []
        self._cursors = {"costs": "0.", "labels": "0."}
        self._states = {(drink, day): "live" for drink in DRINKS for day in DAYS}
        self.till: dict[tuple[str, str], dict[str, Any]] = {}
        self.known: dict[tuple[str, str], dict[str, Any]] = {}
        for kind, body in BASE:
            self._write("POST", f"/v1/{kind}", body)
        for item, size in (("rum", "700 ml"), ("paste", "1 kg"), ("lime", "1 each"), ("white-sugar", "1 kg")):
            self._offer(f"first-{item}", item, size)
        self.followed(exact=False)

    def _write(self, method: str, path: str, body: Any = None) -> bool:
        more = {} if body is None else {"json": body}
        new = method == "PUT" and self.client.get(path.partition("?")[0]).status_code == 404
        headers = {} if new or method == "POST" else {"If-Match": "*"}
        answer = self.client.ask(method, path, headers=headers, **more)
        assert answer.status_code in (200, 201, 204, 409, 422), answer.text
        return answer.status_code < 300

    def _day(self) -> str:
        return self._draw.choice(DAYS[self.today : -1])

    def _span(self) -> dict[str, str]:
        days = sorted(self._draw.choices(DAYS[:-1], k=2))
        chosen = self._draw.choice(("none", "from", "to", "both"))
        first = {"valid_from": days[0]} if chosen in ("from", "both") else {}
        return {**first, **({"valid_to": days[1]} if chosen in ("to", "both") else {})}

    def _planned(self) -> str:
        return self._draw.choice(("", "", f"?valid_from={self._day()}"))

    def _offer(self, entry_id: str, item: str, size: str, **more: Any) -> None:
        body = {"id": entry_id, "item": item, "supplier": self._draw.choice(("quay", "pier")), "pack": {"size": size},
                "price": {"amount": f"{self._draw.randint(2, 40)}.00", "currency": self._draw.choice(("EUR", "USD"))},
                **more}  # fmt: skip
        if self._write("PUT", f"/v1/offers/{entry_id}{self._planned() if more else ''}", body):
            self._offers.append(entry_id)

    def changed(self) -> None:
        """Something of the catalogue becomes another, now or from a day on."""
        draw = self._draw
        kind = draw.choice(
            ("offer", "offer", "offer", "ends", "item", "part", "life", "drink", "state", "menu", "rates", "evidence")
        )
        if kind == "offer":
            item, size = draw.choice((("rum", "700 ml"), ("rum", "1 l"), ("paste", "1 kg"), ("paste", "1 l"),
                                      ("paste", "32 oz"), ("lime", "1 each"), ("gin", "700 ml")))  # fmt: skip
            self._offer(f"{item}-{draw.randint(0, 2)}", item, size, **self._span())
        elif kind == "ends":
            verb = draw.choice(("archive", "reinstate", "delete", "patch"))
            path = f"/v1/offers/{draw.choice(self._offers)}"
            if verb == "patch":
                self._write("PATCH", path + self._planned(), {"valid_to": draw.choice((None, self._day()))})
            elif verb == "delete":
                self._write("DELETE", path)
            else:
                self._write("POST", f"{path}/{verb}")
        elif kind == "item":
            self._write("PATCH", f"/v1/ingredients/rum{self._planned()}", {"abv_percent": str(draw.randint(38, 41))})
        elif kind == "part":
            amount = f"{draw.choice((400, 500))} g"
            lines = [{"item": "white-sugar", "amount": amount}, {"item": "water", "amount": "500 g"}]
            self._write("PATCH", f"/v1/preparations/syrup{self._planned()}", {"lines": lines})
        elif kind == "life":
            made = {"made_on": self._draw.choice(DAYS[:6]), "shelf_life_days": draw.randint(0, 4)}
            self._write("PATCH", f"/v1/preparations/syrup{self._planned()}", draw.choice((made, {"made_on": None})))
        elif kind == "state":
            drink, verb = draw.choice(DRINKS), draw.choice(("archive", "reinstate"))
            assert self._write("POST", f"/v1/drinks/{drink}/{verb}")
            state = "archived" if verb == "archive" else "live"
            self._states |= {(drink, day): state for day in DAYS[self.today :]}
        elif kind == "drink":
            items = draw.choice((("rum", "lime-juice"), ("paste", "syrup"), ("rum", "syrup")))
            lines = [{"item": item, "amount": f"{draw.choice((20, 30))} ml"} for item in items]
            self._write("PATCH", f"/v1/drinks/{draw.choice(DRINKS)}{self._planned()}", {"lines": lines})
        elif kind == "menu":
            entries = [{"drink": drink, "menu_price": f"{draw.randint(9, 12)}.00", **self._span()} for drink in DRINKS]
            self._write("PUT", f"/v1/menus/evening{self._planned()}",
                        {"id": "evening", "name": "Evening", "entries": entries[: draw.randint(0, 2)]})  # fmt: skip
        elif kind == "rates":
            dated = {"rate": f"0.{draw.randint(7, 9)}5", "as_of": self._day()}
            rates = [{"from": "USD", "to": "EUR", **one} for one in ({"rate": "0.9"}, dated)]
            self._write("PATCH", f"/v1/venues/group{self._planned()}", {"pricing": {"rates": rates}})
        else:
            first, last = sorted(draw.choices(DAYS[:-1], k=2))
            stated = {"document": "D1", "issuer": "Quay", "reviewed_by": "A", "dated": first, "review_by": last}
            supplier = draw.choice(({}, {"supplier": "quay"}))
            self._write("PATCH", f"/v1/ingredients/{draw.choice(('rum', 'paste'))}{self._planned()}",
                        {"allergens_declared": "complete", "evidence": {**stated, **supplier}})  # fmt: skip

    def followed(self, *, exact: bool = True) -> None:
        """Reads both feeds on; the till and what is told are held against each day's answers as they are now."""
        asked = {(feed, drink, day): self._body(feed, drink, day)  # day by day, as states are kept
                 for day in DAYS for feed in self._cursors for drink in DRINKS}  # fmt: skip
        for feed in self._cursors:
            rows = self._read(feed)
            for drink in DRINKS:
                now = {day: (self._states[drink, day], *_compared(feed, asked[feed, drink, day])) for day in DAYS}
                before = self.known.get((feed, drink), {})
                self.known[feed, drink] = now
                told = [row for row in rows if row["drink"] == drink]
                if exact:
                    assert [max(row["since"], DAYS[0]) for row in told] == self._due(told, before, now), (feed, told)
                plan = self.till.setdefault((feed, drink), {})
                for row in told:
                    since = max(row["since"], DAYS[0])
                    for day in [one for one in plan if one >= since]:
                        del plan[day]
                    plan[since] = row["state"], row["after"]
                for day in DAYS[self.today :]:
                    last = plan[max(one for one in plan if one <= day)]
                    shown = self._states[drink, day], _shown(feed, asked[feed, drink, day])
                    assert last == shown, (feed, drink, day)

    def _due(self, told: list[dict[str, Any]], before: dict[str, Any], now: dict[str, Any]) -> list[str]:
        """The first day whose answer is another one than was known before, and each later day that differs from its
        eve in more than the days of use that are left. What holds since ever is looked at from today on, what corrects
        the past from its own day on.
        """
        ever = bool(told) and told[0]["since"] < DAYS[0]
        past = bool(told) and not ever and told[0]["since"] < DAYS[self.today]
        days = DAYS if past else DAYS[self.today :]
        first = next((place for place, day in enumerate(days) if before.get(day) != now[day]), len(days))
        due = days[first : first + 1] + [day for eve, day in pairwise(days[first:]) if now[eve][::2] != now[day][::2]]
        return [DAYS[0], *due[1:]] if ever else due

    def _read(self, feed: str) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = []
        more = True
        while more:
            size = self._draw.choice((1, 2, 50))
            page = self.client.get(f"/v1/changes/{feed}?page_size={size}&cursor={self._cursors[feed]}").json()
            assert len(page["changes"]) <= size
            found += page["changes"]
            self._cursors[feed], more = page["next_cursor"], page["more"]
        return found

    def _body(self, feed: str, drink: str, day: str) -> dict[str, Any]:
        what = "cost" if feed == "costs" else "label"
        answer = self.client.get(f"/v1/drinks/{drink}/{what}?as_of={day}")
        body: dict[str, Any] = answer.json()
        return body if answer.status_code == 200 else {"fault": body["errors"]}


def _compared(feed: str, body: dict[str, Any]) -> tuple[Any, Any]:
    """What makes two answers of one day the same, of a label everything, of a cost its sums; and two of two days."""
    if "fault" in body:
        return body, body
    if feed == "labels":
        fields = {name: value for name, value in body.items() if name != "meta"}
        return fields, _uncounted(fields)
    cost = {name: value for name, value in body["cost"].items() if name != "choices"}
    found = cost, body["price"], [(line["item"], line["cost"]) for line in body["lines"]]
    return found, found


def _uncounted(label: dict[str, Any]) -> dict[str, Any]:
    """A label without what counts the days of use that are left."""
    fields = {**label, "use_by": None, "preparations": [{**part, "use_by": None} for part in label["preparations"]]}
    for rows in ("warnings", "advisories"):
        counting = ("made_on_in_future", "past_use_by")
        fields[rows] = [row["code"] if row["code"] in counting else row for row in label[rows]]
    return fields


def _shown(feed: str, body: dict[str, Any]) -> Any:
    """What a row of the feed tells of an answer."""
    if "fault" in body:
        return None
    if feed == "costs":
        cost, price = body["cost"], body["price"] or {}
        names = ("currency", "complete", "pour_cost", "serve_cost")
        menu_price = (price.get("at_menu_price") or {}).get("menu_price")
        return {**{name: cost[name] for name in names}, "suggested": price.get("suggested"), "menu_price": menu_price}
    fields = ("jurisdiction", "contains", "may_contain", "unknown")
    return {
        "abv_percent": body["alcohol"]["abv_percent"],
        "energy_kcal": body["nutrition"]["per_serve"]["energy_kcal"],
        "allergens": [{name: row[name] for name in fields} for row in body["allergens"]["declarations"]],
        "past_use_by": body["use_by"] is not None and body["use_by"]["days"] < 0,
    }


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_who_follows_a_feed_knows_every_later_day(database_url: str, seed: int) -> None:
    clock = datetime.combine(START, datetime.min.time(), UTC) + timedelta(hours=12)
    with time_machine.travel(clock, tick=False) as traveller:
        bar = Bar(database_url, seed + (1000 if database_url.startswith("postgresql") else 0))
        for number in range(9):
            if number in (3, 6):
                bar.today += 2
                traveller.shift(timedelta(days=2))
            bar.changed()
            bar.followed()
        bar.client.close()
