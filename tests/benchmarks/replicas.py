"""Replicas: a stored drink's cost by one process on SQLite, by one on PostgreSQL, and by two on the same one."""

import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

from tests.benchmarks.loopback import Exchange, load
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns
from tests.benchmarks.over_http import CONNECTIONS, WARM_S
from tests.benchmarks.servers import FORGETFUL, Server, answer_of, free_port, message, running, service_settings
from tests.benchmarks.stored_answers import PATHS, keep_drink, key_in
from tests.databases import postgres_server


class Group:
    """Processes that are asked at once, each by its own callers."""

    def __init__(self, servers: Sequence[Server], exchange: Exchange) -> None:
        self.servers = servers
        self._exchange = exchange
        self.cpu_per_answer_s: list[float] = []

    def round_of(self, seconds: float) -> Callable[[], float]:
        """A round, which gives answers a second of all together."""

        def one_round() -> float:
            before = sum(one.cpu_s() for one in self.servers)
            with ThreadPoolExecutor(len(self.servers)) as pool:
                share = CONNECTIONS // len(self.servers)
                loads = [pool.submit(load, one.port, [self._exchange], share, seconds) for one in self.servers]
                found = [one.result() for one in loads]
            answers = sum(one.answers for one in found)
            self.cpu_per_answer_s.append((sum(one.cpu_s() for one in self.servers) - before) / answers)
            return sum(one.per_second for one in found)

        return one_round


def _settings(port: int, url: str) -> dict[str, str]:
    unlimited = dict.fromkeys(("WASHLINE_REQUESTS_PER_MINUTE", "WASHLINE_WORK_PER_MINUTE"), "1000000000")
    return {**service_settings(port), **unlimited, "WASHLINE_DATABASE_URL": url}


def _groups(open_: ExitStack, url: str, processes: int) -> list[Group]:
    """So many processes on one store that holds the drink of the goals: the first of them alone, and all together."""
    key = key_in(url)
    servers = []
    for _ in range(processes):
        port = free_port()
        servers.append(open_.enter_context(running(FORGETFUL, port, _settings(port, url))))
        servers[-1].seconds_to_answer(message("GET", "/livez"))
    keep_drink(servers[0].port, key)
    exchange = (message("GET", PATHS["cost"], key=key), answer_of(servers[0].port, "GET", PATHS["cost"], key=key))
    return [Group(servers[:count], exchange) for count in sorted({1, processes})]


def result(size: Size) -> Result:
    """What one process carries on each store, and what a second one adds."""
    with ExitStack() as open_:
        url = open_.enter_context(postgres_server()).migrated()
        folder = open_.enter_context(tempfile.TemporaryDirectory())
        (embedded,) = _groups(open_, f"sqlite:///{folder}/bench.db", 1)
        one, two = _groups(open_, url, 2)
        groups = {"SQLite": embedded, "PostgreSQL": one, "two on PostgreSQL": two}
        for group in groups.values():
            group.round_of(size.seconds * WARM_S)()
            group.cpu_per_answer_s.clear()
        found = in_turns({name: group.round_of(size.seconds) for name, group in groups.items()}, size.rounds)
    answers = {name: Side(name, figures, "a second") for name, figures in found.items()}
    cpu = {name: Side(name, tuple(group.cpu_per_answer_s), "us", 1e6) for name, group in groups.items()}
    return Result(
        "replicas",
        "Costs of a stored drink, each computed anew",
        (f"GET {PATHS['cost']} with a key, nothing kept; {CONNECTIONS} callers in all, on the same machine",),
        (
            Figure(
                "answers a second of one process, PostgreSQL against SQLite", answers["PostgreSQL"], answers["SQLite"],
                more_is_better=True,
            ),
            Figure(
                "answers a second on PostgreSQL, two processes against one", answers["two on PostgreSQL"],
                answers["PostgreSQL"], more_is_better=True,
            ),
            Figure(
                "CPU time of the process for one answer, PostgreSQL against SQLite", cpu["PostgreSQL"], cpu["SQLite"]
            ),
        ),
        ("callers and PostgreSQL have their share of the same cores, which holds two processes on two cores back",),
    )  # fmt: skip
