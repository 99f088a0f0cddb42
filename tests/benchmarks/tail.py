"""S7: the slowest answers of evaluate at half its capacity, against those of the constant endpoint likewise."""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.constant_app import ANSWER_FILE
from tests.benchmarks.drink import VARIANTS, bench_drinks
from tests.benchmarks.in_process import answered
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns, spread
from tests.benchmarks.open_loop import seconds_to_answers
from tests.benchmarks.over_http import CONNECTIONS, WARM_S, Asked
from tests.benchmarks.servers import FORGETFUL, free_port, message, running, service_settings, uvicorn

LONGER = 4
"""An open round is this many times as long as the others, so that a hundredth of its answers is a few."""
LOAD = 0.5
CAPACITY_ROUNDS = 3


@dataclass(slots=True)
class Half:
    """One side at half of what it can answer."""

    asked: Asked
    per_second: float
    p50_s: list[float] = field(default_factory=list)
    answers: int = 0

    def p99_of(self, seconds: float) -> Callable[[], float]:
        """A round, which gives the 99th hundredth of the times to answer."""

        def one_round() -> float:
            exchanges, seed = self.asked.exchanges, len(self.p50_s)
            took = sorted(seconds_to_answers(self.asked.server.port, exchanges, self.per_second, seconds, seed))
            self.p50_s.append(took[len(took) // 2])
            self.answers += len(took)
            return took[len(took) * 99 // 100]

        return one_round


def halves(sides: dict[str, Asked], size: Size) -> dict[str, Half]:
    """Both sides with half of their capacity, which is measured first, in turns."""
    for asked in sides.values():
        asked.warm(size.seconds * WARM_S)
    rounds = min(size.rounds, CAPACITY_ROUNDS)
    found = in_turns({name: asked.round_of(size.seconds) for name, asked in sides.items()}, rounds)
    return {name: Half(asked, LOAD * spread(found[name]).median) for name, asked in sides.items()}


def result(size: Size) -> Result:
    """S7."""
    raws = bench_drinks()
    requests = [message("POST", "/v1/evaluate", raw) for raw in raws]
    contents = [answered(raw) for raw in raws]
    ports = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder:
        constant = Path(folder) / "answer.json"
        constant.write_bytes(contents[0])
        arguments = uvicorn("tests.benchmarks.constant_app:create_app", ports[1], "--factory")
        with (
            running(FORGETFUL, ports[0], service_settings(ports[0])) as service_server,
            running(arguments, ports[1], {ANSWER_FILE: str(constant)}) as constant_server,
        ):
            sides = {
                "evaluate": Asked(service_server, list(zip(requests, contents, strict=True))),
                "constant": Asked(constant_server, [(one, contents[0]) for one in requests]),
            }
            half = halves(sides, size)
            found = in_turns({name: one.p99_of(LONGER * size.seconds) for name, one in half.items()}, size.rounds)
    return _result(found, half)


def _result(found: dict[str, tuple[float, ...]], half: dict[str, Half]) -> Result:
    notes = [
        f"{name}: {one.per_second:.0f} requests a second, p50 {spread(one.p50_s, 1e3).median:.2f} ms, p99 / p50"
        f" {spread([p99 / p50 for p99, p50 in zip(found[name], one.p50_s, strict=True)]).median:.1f},"
        f" {one.answers} answers"
        for name, one in half.items()
    ]
    return Result(
        "S7",
        "The slowest hundredth of answers at half load, arrivals at random, one worker of uvicorn",
        (
            f"over:  POST /v1/evaluate at half the rate that it answers {CONNECTIONS} connections, {VARIANTS} bodies",
            "under: the same bodies checked and a constant of the same size answered, at half of its own such rate",
        ),
        (
            Figure(
                "p99 from the moment a request was due to the end of its answer",
                Side("evaluate", found["evaluate"], "ms", 1e3), Side("constant", found["constant"], "ms", 1e3),
                accept=2.5, aim=2.0,
            ),
        ),
        tuple(notes),
    )  # fmt: skip
