"""S9: a price list of 50,000 rows through HTTP, against csv.reader and executemany of the same rows."""

import csv
import io
import json
import sqlite3
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from service.store.engine import engine_of, writing
from service.store.schema import create_empty
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns, spread
from tests.benchmarks.servers import SERVICE, answer_of, free_port, message, running, service_settings

ROWS_A_CALL = 500
"""Rows for each of the calls of a size; the full one has 50,000."""

ITEMS = (
    ("white-sugar", 1, "10 kg"), ("lime", 1, "5 kg"), ("raspberry", 1, "1 kg"), ("vermouth-sweet", 6, "70 cl"),
    ("soda-water", 24, "200 ml"),
)  # fmt: skip
SUPPLIER = {
    "id": "quay", "name": "Example Quay Supply", "currency": "EUR",
    "price_list": {"mapping": {"code": "code", "name": "article", "item": "item", "pack": "pack", "price": "price"}},
}  # fmt: skip
AT = "2026-01-05T00:00:00.000000+00:00"
INTO = {
    "revisions": (
        "kind", "id", "revision", "valid_from", "version", "recorded_at", "state", "item", "supplier", "price",
        "currency", "body",
    ),
    "audit": ("recorded_at", "key_id", "request_id", "action", "kind", "id", "version", "before", "after"),
    "entries": ("kind", "id", "name", "name_key", "revision", "state", "version"),
    "uses": ("kind", "id", "used_kind", "used_id"),
}  # fmt: skip


def list_of(rows: int, cents: int) -> bytes:
    """A list with five items in turns; another number of ``cents`` changes every price a little."""
    lines = ["code;article;item;pack;price"]
    for number in range(rows):
        item, count, size = ITEMS[number % len(ITEMS)]
        price = f"{20 + number % 80}.{cents + number % 50:02}"
        lines.append(f"A{number:05};Article {number};{item};{count} x {size};{price}")
    return "\n".join(lines).encode()


def offer_of(cells: list[str]) -> tuple[str, str, str, str]:
    """Id, item, price and body of an offer as the store keeps it, from the cells of its row."""
    code, _, item, pack, price = cells
    entry_id = f"quay-{code.lower()}"
    count, _, size = pack.partition(" x ")
    body = (
        f'{{"code":"{code}","id":"{entry_id}","item":"{item}","pack":{{"count":{count},"size":"{size}"}},'
        f'"price":{{"amount":"{price}","currency":"EUR"}},"supplier":"quay","tax_included":false}}'
    )
    return entry_id, item, price, body


class Bare:
    """csv.reader and executemany into the service's tables: history, audit and the entries with what they name."""

    def __init__(self, path: Path) -> None:
        engine = engine_of(f"sqlite:///{path}")
        with writing(engine) as connection:
            create_empty(connection)
        engine.dispose()
        self._connection = sqlite3.connect(path, isolation_level=None)
        for pragma in ("journal_mode=WAL", "synchronous=FULL"):
            self._connection.execute(f"PRAGMA {pragma}")
        self._bodies: dict[str, str] = {}

    def took_in(self, data: bytes) -> float:
        """CPU seconds of one list; what was taken in before is replaced."""
        begun = time.process_time()
        rows: dict[str, list[tuple[object, ...]]] = {name: [] for name in INTO}
        again = bool(self._bodies)
        version = 2 if again else 1
        action = "replace" if again else "create"
        lines = csv.reader(io.StringIO(data.decode()), delimiter=";")
        next(lines)
        for cells in lines:
            one, item, price, body = offer_of(cells)
            rows["revisions"].append(
                ("offers", one, version, "0001-01-01", version, AT, "live", item, "quay", price, "EUR", body)
            )
            rows["audit"].append((AT, "open", "r" * 32, action, "offers", one, version, self._bodies.get(one), body))
            rows["entries"].append(("offers", one, one, None, version, "live", version))
            if not again:
                rows["uses"] += [("offers", one, "item", item), ("offers", one, "suppliers", "quay")]
            self._bodies[one] = body
        self._write(rows)
        return time.process_time() - begun

    def _write(self, rows: dict[str, list[tuple[object, ...]]]) -> None:
        self._connection.execute("BEGIN IMMEDIATE")
        for table, columns in INTO.items():
            blanks = ", ".join("?" * len(columns))
            statement = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({blanks})"
            if table == "entries":
                statement += " ON CONFLICT DO UPDATE SET revision = excluded.revision, version = excluded.version"
            self._connection.executemany(statement, rows[table])
        self._connection.execute("COMMIT")

    def close(self) -> None:
        """Closes the file."""
        self._connection.close()


@dataclass(slots=True)
class Imported:
    """What each import of the service took, round by round: first as new offers, then as other prices for them."""

    rows: int
    again_s: list[float] = field(default_factory=list)
    commit_s: list[float] = field(default_factory=list)
    grown_mib: list[float] = field(default_factory=list)

    def first(self) -> float:
        """CPU seconds of the server for the first list; the second one is noted."""
        port = free_port()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "bench.db"
            settings = {**service_settings(port), "WASHLINE_DATABASE_URL": f"sqlite:///{path}"}
            with running(SERVICE, port, settings) as server:
                server.seconds_to_answer(message("GET", "/livez"))
                answer_of(port, "POST", "/v1/suppliers", json.dumps(SUPPLIER).encode())
                took: list[float] = []
                for cents in (0, 49):
                    server.forget_peak()
                    resident = server.peak_kib()
                    begun = server.cpu_s()
                    self._taken_in(port, list_of(self.rows, cents), server.cpu_s)
                    took.append(server.cpu_s() - begun)
                    self.grown_mib.append((server.peak_kib() - resident) / 1024)
            _check(path, self.rows)
        self.again_s.append(took[1])
        return took[0]

    def _taken_in(self, port: int, data: bytes, clock: Callable[[], float]) -> None:
        read = json.loads(answer_of(port, "POST", "/v1/price-lists?supplier=quay", data, media="text/csv"))
        if not read["committable"]:
            raise RuntimeError(f"The list is not taken in: {read['counts']}")
        begun = clock()
        answer_of(port, "POST", f"/v1/price-lists/{read['id']}/commit", b"{}")
        self.commit_s.append(clock() - begun)


def _check(path: Path, rows: int) -> None:
    """Both lists stand in the service's tables as the other side writes them."""
    expected = {"revisions": 2 * rows, "audit": 2 * rows, "entries": rows, "uses": 2 * rows}
    connection = sqlite3.connect(path)
    try:
        for table, count in expected.items():
            found = connection.execute(f"SELECT COUNT(*) FROM {table} WHERE kind = 'offers'").fetchone()[0]
            if found != count:
                raise RuntimeError(f"{table}: {found} rows of offers, not {count}")
        last = next(csv.reader([list_of(rows, 49).decode().splitlines()[-1]], delimiter=";"))
        entry_id, _, _, body = offer_of(last)
        query = "SELECT body FROM revisions WHERE id = ? ORDER BY revision DESC"
        if connection.execute(query, (entry_id,)).fetchone()[0] != body:
            raise RuntimeError("The service keeps another body than the one that the other side writes.")
    finally:
        connection.close()


def result(size: Size) -> Result:
    """S9."""
    service = Imported(ROWS_A_CALL * size.calls)
    bare_again: list[float] = []

    def bare() -> float:
        with tempfile.TemporaryDirectory() as folder:
            floor = Bare(Path(folder) / "bare.db")
            first = floor.took_in(list_of(service.rows, 0))
            bare_again.append(floor.took_in(list_of(service.rows, 49)))
            floor.close()
        return first

    found = in_turns({"service": service.first, "bare": bare}, size.rounds)
    new, again = spread(service.commit_s[::2]), spread(service.commit_s[1::2])
    grown = spread(service.grown_mib[::2]), spread(service.grown_mib[1::2])
    return Result(
        "S9",
        f"Import of a price list of {service.rows:,} rows",
        (
            "over:  POST /v1/price-lists (every row read and judged) and its commit (read, judged and written), CSV",
            "under: csv.reader and executemany of the same rows of history, audit, entries and uses, one transaction",
        ),
        (
            Figure(
                "CPU time, every offer new", Side("the service", found["service"], "s"),
                Side("bare", found["bare"], "s"), accept=4, aim=2.5,
            ),
            Figure(
                "CPU time, every price of a stored offer changed", Side("the service", tuple(service.again_s), "s"),
                Side("bare", tuple(bare_again), "s"),
            ),
        ),
        (
            f"of it the commit: {new.median:.2f} s new, {again.median:.2f} s changed",
            f"memory of the worker grows by {grown[0].median:.0f} MiB at most while new, then by {grown[1].median:.0f};"
            f" the list has {len(list_of(service.rows, 0)) / 2**20:.1f} MiB",
        ),
    )  # fmt: skip
