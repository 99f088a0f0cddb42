"""S3: an answer about a stored drink that was given before, against a route that does nothing; the same of evaluate."""

import json
import tempfile
from pathlib import Path

from service.reference import reference
from service.rules import rules
from service.store.keys import SCOPES, new_key
from service.store.store import Store
from tests.benchmarks.constant_app import ANSWER_FILE
from tests.benchmarks.drink import bench_drink
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns
from tests.benchmarks.noop_app import NO_OP
from tests.benchmarks.over_http import CONNECTIONS, WARM_S, Asked
from tests.benchmarks.servers import Server, answer_of, free_port, message, running, service_settings, uvicorn

DRINK = "bench-drink"
PATHS = {"cost": f"/v1/drinks/{DRINK}/cost", "label": f"/v1/drinks/{DRINK}/label", "nothing": NO_OP}


def key_in(url: str) -> str:
    """A key of a new store with every scope."""
    store = Store(url, rules().version, reference().version)
    try:
        with store.writing() as connection:
            return new_key(connection, "bench", SCOPES, None, None)[1]
    finally:
        store.close()


def keep_drink(port: int, key: str) -> None:
    """Stores the drink of the goals with all that it is made of."""
    body = json.loads(bench_drink())
    supplier = body["offers"][0]["supplier"]
    for offer in body["offers"]:
        offer["supplier"] = "quay"
    pricing = {name: value for name, value in body["pricing"].items() if name != "menu_price"}
    rows = [
        ("suppliers", {"id": "quay", "name": supplier, "currency": "EUR"}),
        *(("ingredients", row) for row in body["ingredients"]),
        *(("preparations", row) for row in body["preparations"]),
        *(("offers", row) for row in body["offers"]),
        ("drinks", body["drink"]),
        ("venues", {"id": "group", "name": "Example Quay", "pricing": pricing, "jurisdictions": ["EU", "US"]}),
    ]
    for kind, row in rows:
        answer_of(port, "PUT", f"/v1/{kind}/{row['id']}", json.dumps(row).encode(), key)


def asked_of(server: Server, path: str, key: str | None, content: bytes = b"") -> Asked:
    """One question, asked again and again, with the answer that it has now."""
    method = "POST" if content else "GET"
    expected = answer_of(server.port, method, path, content, key)
    return Asked(server, [(message(method, path, content, key), expected)])


def result(size: Size) -> Result:
    """S3."""
    raw = bench_drink()
    ports = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder:
        url, constant = f"sqlite:///{folder}/bench.db", Path(folder) / "answer.json"
        key = key_in(url)
        unlimited = {"WASHLINE_DATABASE_URL": url, "WASHLINE_REQUESTS_PER_MINUTE": "1000000000"}
        arguments = uvicorn("tests.benchmarks.noop_app:create_app", ports[0], "--factory")
        with running(arguments, ports[0], {**service_settings(ports[0]), **unlimited}) as server:
            server.seconds_to_answer(message("GET", "/livez"))
            keep_drink(ports[0], key)
            sides = {name: asked_of(server, path, key) for name, path in PATHS.items()}
            sides["evaluate"] = asked_of(server, "/v1/evaluate", None, raw)
            constant.write_bytes(sides["evaluate"].exchanges[0][1])
            arguments = uvicorn("tests.benchmarks.constant_app:create_app", ports[1], "--factory")
            with running(arguments, ports[1], {ANSWER_FILE: str(constant)}) as floor:
                floor.seconds_to_answer(message("POST", "/v1/evaluate", raw))
                sides["constant"] = asked_of(floor, "/v1/evaluate", None, raw)
                for side in sides.values():
                    side.warm(size.seconds * WARM_S)
                found = in_turns({name: side.round_of(size.seconds) for name, side in sides.items()}, size.rounds)
    return _result(found, sides)


def _result(found: dict[str, tuple[float, ...]], sides: dict[str, Asked]) -> Result:
    pairs = (("cost", "nothing", 0.80, 0.85), ("label", "nothing", 0.80, 0.85), ("evaluate", "constant", 1.3, 1.5))
    figures = []
    for over, under, accept, aim in pairs:
        figures += [
            Figure(
                f"{over}: CPU time of the server for one answer, {under} against {over}",
                Side(under, tuple(sides[under].cpu_per_request_s), "us", 1e6),
                Side(over, tuple(sides[over].cpu_per_request_s), "us", 1e6),
                accept, aim, more_is_better=True,
            ),
            Figure(
                f"{over}: answers a second",
                Side(over, found[over], "a second"), Side(under, found[under], "a second"), more_is_better=True,
            ),
        ]  # fmt: skip
    lengths = {name: len(side.exchanges[0][1]) for name, side in sides.items()}
    return Result(
        "S3",
        "An answer that was given before, nothing changed since, one worker of uvicorn",
        (
            f"cost, label: GET of a stored drink's, {lengths['cost']} and {lengths['label']} bytes, with a key",
            "nothing: a route of the same application that answers {}, with the same key and scopes",
            f"evaluate: POST of one body again and again, {lengths['evaluate']} bytes, without a key",
            "constant: EvaluationRequest.model_validate_json(the same body), then the same bytes as a constant",
        ),
        tuple(figures),
        (f"{CONNECTIONS} kept connections; every answer was 200 and the expected one byte by byte",),
    )
