"""Twenty secrets and prices go in by every door; none comes out in a log line, a refusal or a metric (P13)."""

import json
import re
from pathlib import Path

from service.store import keys
from service.store.engine import engine_of, writing
from tests.faults.running import Client, Forks, Told
from tests.faults.writing import offer

PRICES = [f"{number}.{number % 89 + 11}" for number in range(73_911, 73_921)]
SECRETS = [f"canary{number:03d}".ljust(43, "Z") for number in range(10)]


def _make_keys(url: str) -> list[str]:
    engine = engine_of(url)
    with writing(engine) as connection:
        made = [
            keys.new_key(connection, f"Key {number}", keys.SCOPES if number else ("labels:read",), None, None, secret)[
                1
            ]
            for number, secret in enumerate(SECRETS[:5])
        ]
    engine.dispose()
    return made


def test_no_secret_and_no_price_leaves_by_a_side_door(forks: Forks, tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/canary.db"
    group = forks.start(url, log_level="debug", drain_s="0", workers="2")
    made = _make_keys(url)
    assert len(PRICES) + len(SECRETS) == 20
    refusals: list[Told] = []
    writer = Client(group.port, made[1])
    assert writer.ask("PUT", "/v1/suppliers/quay", {"name": "Quay"}).status == 201
    for number, price in enumerate(PRICES):
        body = offer(f"o{number}", 1) | {"price": {"amount": price, "currency": "EUR"}}
        assert writer.ask("PUT", f"/v1/offers/o{number}", body).status == 201
        for wrong in (body | {"item": "none"}, body | {"surplus": price}, body | {"deposit": {"amount": price}}):
            refusals.append(writer.ask("PUT", f"/v1/offers/o{number}", wrong, If_Match="*"))
        refusals.append(writer.ask("PUT", f"/v1/offers/o{number}", body, If_Match=f'"{price}"'))
        refusals.append(writer.ask("GET", f"/v1/offers/{price}"))
        refusals.append(writer.ask("GET", f"/v1/offers?page_token={price}&price={price}"))
    for secret in SECRETS:
        for text in (secret, f"wl_0123456789ab_{secret}", f"wl_0123456789ab_{secret}x"):
            refusals.append(Client(group.port, text).ask("GET", "/v1/offers"))
            refusals.append(Client(group.port).ask("GET", f"/v1/offers?key=wl_0123456789ab_{secret}&x={text}"))
            refusals.append(Client(group.port).ask("GET", f"/v1/{text}"))
            refusals.append(Client(group.port).ask("POST", "/v1/keys", {"name": secret, "scopes": [text]}))
    for number, key in enumerate(made):
        told = Client(group.port, key).ask("GET", "/v1/offers")
        assert told.status == (403 if number == 0 else 200)
    injected = 'Pier\r\n{"level":"error"}\u001b[2J'
    refusals.append(writer.ask("PUT", "/v1/suppliers/pier", {"name": injected}))
    metrics = writer.ask("GET", "/metrics")
    assert metrics.status == 200
    assert group.stop() == 0
    assert all(400 <= told.status < 500 for told in refusals)
    assert len(refusals) >= 150, "too little was refused to prove anything"
    log = group.log.read_text(encoding="utf-8")
    lines = [line for line in log.splitlines() if line.startswith("{")]
    rows = [json.loads(line) for line in lines]
    requests = [row for row in rows if row["message"] == "request"]
    assert len(requests) >= len(refusals), "too little was logged to prove anything"
    assert {"time", "level", "request_id", "key_id", "route", "status", "ms"} <= set(requests[0])
    assert {row["key_id"] for row in requests} > {None}
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", log)
    for name, text in (
        ("log", log),
        ("metrics", metrics.body.decode()),
        *(("refusal", json.dumps(dict(told.headers)) + told.body.decode()) for told in refusals),
    ):
        for canary in (*PRICES, *SECRETS):
            assert canary not in text, f"{canary} in {name}"
        for key in made:
            assert key not in text, name
