"""S2: evaluate over HTTP against an endpoint that checks the same body and answers a constant of the same size."""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.constant_app import ANSWER_FILE
from tests.benchmarks.drink import VARIANTS, bench_drinks
from tests.benchmarks.in_process import answered
from tests.benchmarks.loopback import Exchange, Load, load
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns, spread
from tests.benchmarks.servers import FORGETFUL, Server, free_port, message, running, service_settings, uvicorn

CONNECTIONS = 8
WARM_S = 0.3
"""Share of a round's time that each side is asked before the first round."""


@dataclass(slots=True)
class Asked:
    """One server, asked round by round with the same bodies in turns; every answer has to be the expected one."""

    server: Server
    exchanges: Sequence[Exchange]
    loads: list[Load] = field(default_factory=list)
    cpu_per_request_s: list[float] = field(default_factory=list)

    def round_of(self, seconds: float) -> Callable[[], float]:
        """A round, which gives answers a second."""

        def one_round() -> float:
            before = self.server.cpu_s()
            found = load(self.server.port, self.exchanges, CONNECTIONS, seconds)
            self.loads.append(found)
            self.cpu_per_request_s.append((self.server.cpu_s() - before) / found.answers)
            return found.per_second

        return one_round

    def warm(self, seconds: float) -> None:
        """Asks without keeping what it took."""
        self.server.seconds_to_answer(self.exchanges[0][0])
        load(self.server.port, self.exchanges, CONNECTIONS, seconds)


def result(size: Size) -> Result:
    """S2."""
    raws = bench_drinks()
    requests = [message("POST", "/v1/evaluate", raw) for raw in raws]
    content = answered(raws[0])
    ports = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder:
        constant = Path(folder) / "answer.json"
        constant.write_bytes(content)
        arguments = uvicorn("tests.benchmarks.constant_app:create_app", ports[1], "--factory")
        with (
            running(FORGETFUL, ports[0], service_settings(ports[0])) as service_server,
            running(arguments, ports[1], {ANSWER_FILE: str(constant)}) as constant_server,
        ):
            service = Asked(service_server, [(one, answered(raw)) for one, raw in zip(requests, raws, strict=True)])
            floor = Asked(constant_server, [(one, content) for one in requests])
            for asked in (service, floor):
                asked.warm(size.seconds * WARM_S)
            found = in_turns(
                {"service": service.round_of(size.seconds), "floor": floor.round_of(size.seconds)}, size.rounds
            )
    return _result(found, service, floor, len(raws[0]), len(content))


def _result(
    found: dict[str, tuple[float, ...]], service: Asked, floor: Asked, raw_bytes: int, content_bytes: int
) -> Result:
    busy = spread([one.client_cpu_s / one.seconds for one in floor.loads])
    answers = sum(one.answers for one in (*service.loads, *floor.loads))
    return Result(
        "S2",
        "Evaluate over HTTP, one worker of uvicorn",
        (
            f"over:  the service, where it keeps no answer, POST /v1/evaluate of {raw_bytes} bytes, answer of"
            f" {content_bytes} bytes",
            "under: EvaluationRequest.model_validate_json(the same body), then the same bytes as a constant raw"
            " Response; the same reading of the body, limits and server options",
        ),
        (
            Figure(
                "answers a second",
                Side("evaluate", found["service"], "a second"), Side("constant", found["floor"], "a second"),
                accept=0.40, aim=0.50, more_is_better=True,
            ),
            Figure(
                "CPU time of the server for one answer, constant against evaluate",
                Side("constant", tuple(floor.cpu_per_request_s), "us", 1e6),
                Side("evaluate", tuple(service.cpu_per_request_s), "us", 1e6),
                accept=0.40, aim=0.50, more_is_better=True,
            ),
        ),
        (
            f"{CONNECTIONS} kept connections, the next request on each after its answer; {VARIANTS} bodies in turns;"
            f" all {answers} answers were 200 and the expected one byte by byte",
            f"the client was busy for {busy.median:.0%} of the constant's rounds; near 100 % it slows the faster side",
        ),
    )  # fmt: skip
