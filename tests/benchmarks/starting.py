"""S6: from spawn to the first answer, and the memory of a worker, against a bare application on the same server."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from tests.benchmarks.drink import bench_drink
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns, spread
from tests.benchmarks.servers import SERVICE, free_port, message, running, service_settings, uvicorn

LIVE = message("GET", "/livez")


@dataclass(slots=True)
class Started:
    """What the starts of one side took, round by round."""

    evaluates: bool
    rss_kib: list[float] = field(default_factory=list)
    cpu_s: list[float] = field(default_factory=list)
    drink_s: list[float] = field(default_factory=list)
    drink_rss_kib: list[float] = field(default_factory=list)

    def seconds(self) -> float:
        """One start, from spawn to the first answer of /livez; the service is then asked for its first drink."""
        port = free_port()
        with running(self._arguments(port), port, service_settings(port) if self.evaluates else None) as server:
            took = server.seconds_to_answer(LIVE)
            self.rss_kib.append(server.rss_kib())
            self.cpu_s.append(server.cpu_s())
            if self.evaluates:
                self.drink_s.append(server.seconds_to_answer(message("POST", "/v1/evaluate", bench_drink())))
                self.drink_rss_kib.append(server.rss_kib())
        return took

    def _arguments(self, port: int) -> Sequence[str]:
        return SERVICE if self.evaluates else uvicorn("tests.benchmarks.bare_app:app", port)


def result(size: Size) -> Result:
    """S6."""
    service, bare = Started(evaluates=True), Started(evaluates=False)
    for side in (Started(evaluates=True), Started(evaluates=False)):
        side.seconds()  # what is compiled at a first start is not measured
    found = in_turns({"service": service.seconds, "bare": bare.seconds}, size.rounds)
    drink, drink_mib = spread(service.drink_s, 1e3), spread(service.drink_rss_kib, 1 / 1024)
    more = spread([drink_s / bare_s for drink_s, bare_s in zip(service.drink_s, found["bare"], strict=True)])
    return Result(
        "S6",
        "Start and memory of one worker, the demo off",
        (
            "over:  python -m service serve, until GET /livez is answered; reference and rules are loaded by then",
            "under: python -m uvicorn with an application of FastAPI that has one route, until GET /livez is answered",
        ),
        (
            Figure(
                "spawn to first answer", Side("the service", found["service"], "ms", 1e3),
                Side("bare", found["bare"], "ms", 1e3), 2.0, 1.4,
            ),
            Figure(
                "resident memory at the first answer", Side("the service", tuple(service.rss_kib), "MiB", 1 / 1024),
                Side("bare", tuple(bare.rss_kib), "MiB", 1 / 1024), 2.0, 1.3,
            ),
            Figure(
                "CPU time to the first answer", Side("the service", tuple(service.cpu_s), "ms", 1e3),
                Side("bare", tuple(bare.cpu_s), "ms", 1e3),
            ),
        ),
        (
            f"spawn to the first evaluated drink {drink.median:.0f} ms ({drink.low:.0f} to {drink.high:.0f}),"
            f" {more.median:.2f} x bare; then {drink_mib.median:.1f} MiB",
        ),
    )  # fmt: skip
