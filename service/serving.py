"""Serves: one process, or several on one socket under a parent that starts them again.

A stop is announced first: /readyz says that the service is stopping and answers ask for a new connection, so that
whoever spreads the load goes elsewhere. Then no connection is taken, what was begun is finished, and the exit is 0.
"""

import asyncio
import contextlib
import gc
import logging
import logging.config
import os
import signal
import socket
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from types import FrameType
from typing import Final, NoReturn

import uvicorn
from fastapi import FastAPI

from service.api.app import create_app
from service.api.protocol import BoundedHead
from service.errors import StoreBusy, StoreFault, StoreFull
from service.logs import log_settings
from service.settings import Settings
from service.store.demokeys import DEMO_KEYS
from service.store.keys import all_keys

_GRACE_S: Final = 10
"""How long requests that were begun may take to end."""
_LAST_S: Final = 14
"""How long after the signal a worker that does not end is killed."""
_PATIENCE_S: Final = 20
"""How long a start waits for a store that others hold."""
_LOG: Final = logging.getLogger("washline")


class _Server(uvicorn.Server):
    """A server that announces its stop, and that ends when its parent is gone."""

    def __init__(self, config: uvicorn.Config, app: FastAPI, drain_s: float, parent: int | None) -> None:
        super().__init__(config)
        self._app = app
        self._drain_s = drain_s
        self._parent = parent
        self._stop_at: float | None = None

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """SIGTERM announces the stop; a second signal, or SIGINT, stops at once what is not begun."""
        if self._stop_at is not None or sig == signal.SIGINT:
            self.force_exit = self.should_exit and sig == signal.SIGINT
            self.should_exit = True
        self._app.state.draining = True
        self._stop_at = time.monotonic() + self._drain_s

    async def on_tick(self, counter: int) -> bool:
        """Ten times a second: whether to stop."""
        if self._parent is not None and os.getppid() != self._parent:
            self.should_exit = True
        if self._stop_at is not None and time.monotonic() >= self._stop_at:
            self.should_exit = True
        return await super().on_tick(counter)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Takes what has knocked before the door closes: a loop that was busy may not have looked for a while."""
        for pause in (0.0, 0.0, 0.0, 0.05, 0.0, 0.0, 0.0):  # Each turn of the loop accepts, then reads, then begins.
            await asyncio.sleep(pause)
        await super().shutdown(sockets)


def serve(current: Settings) -> None:
    """Serves until it is told to stop. Exits with 1, and a message, where it cannot start."""
    current = current.model_copy(update={"database_url": current.stored_at})
    logging.config.dictConfig(log_settings(current.log_level))
    app = _application(current)
    _greet(app, current)
    if current.workers == 1:
        _run(app, current, None, None)
        return
    app.state.store.close()
    gc.freeze()  # What the workers share stays shared.
    with _listening(current) as listener:
        _supervise(current.workers, partial(_work, current, listener), listener)


def _application(current: Settings) -> FastAPI:
    if not current.on_loopback and not current.require_keys:
        _refuse("WASHLINE_HOST is not the loopback: set WASHLINE_REQUIRE_KEYS=1, and make keys with `key make`.")
    try:
        return _patient_app(current)
    except (StoreFault, StoreBusy, StoreFull) as fault:
        _refuse(str(fault))


def _patient_app(current: Settings) -> FastAPI:
    """The application; others that start at the same time on the same store are waited for."""
    begun = time.monotonic()
    while True:
        try:
            return create_app(current)
        except StoreBusy:
            if time.monotonic() - begun > _PATIENCE_S:
                raise
            time.sleep(0.2)


def _refuse(why: str) -> NoReturn:
    sys.stderr.write(f"Cannot start: {why}\n")
    raise SystemExit(1)


def _greet(app: FastAPI, current: Settings) -> None:
    """Says which demo keys work, or that there is none yet where each request needs one."""
    with app.state.store.reading() as connection:
        working = {key.prefix for key in all_keys(connection) if key.revoked_at is None}
    if current.require_keys and not working:
        sys.stderr.write("No key exists yet: python -m service key make NAME --scope SCOPE\n")
    shown = [key for key in DEMO_KEYS if key.prefix in working]
    if shown:
        open_too = "" if current.require_keys else "; requests without a key are open on this machine"
        sys.stderr.write(f"Demo keys, sent as Authorization: Bearer KEY{open_too}:\n")
    for key in shown:
        sys.stderr.write(f"  {key.name:14} {' '.join(key.scopes):24} {key.text}\n")
    sys.stderr.flush()


def _run(app: FastAPI, current: Settings, listener: socket.socket | None, parent: int | None) -> None:
    config = uvicorn.Config(
        app,
        host=current.host,
        port=current.port,
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=_GRACE_S,
        http=partial(BoundedHead, head_timeout_s=current.head_timeout_s),  # type: ignore[arg-type]  # called as a class is
        ws="none",
    )
    server = _Server(config, app, current.drain_s, parent)
    server.run(None if listener is None else [listener])
    if not server.started:
        raise SystemExit(1)


@contextlib.contextmanager
def _listening(current: Settings) -> Iterator[socket.socket]:
    family = socket.AF_INET6 if ":" in current.host else socket.AF_INET
    with socket.socket(family) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((current.host, current.port))
        except OSError as fault:
            _refuse(f"{current.host}:{current.port} cannot be listened on: {(fault.strerror or '').lower()}.")
        listener.listen(2048)  # Connections wait here while a worker is started again.
        yield listener


def _work(current: Settings, listener: socket.socket) -> None:
    parent = os.getppid()
    _run(_patient_app(current), current, listener, parent)


def _supervise(count: int, work: Callable[[], None], listener: socket.socket) -> None:
    """Keeps ``count`` workers running until SIGTERM or SIGINT, then waits for them to end."""
    workers: dict[int, float] = {}
    stopping = False

    def stop(_: int, __: FrameType | None) -> None:
        nonlocal stopping
        stopping = True
        signal.alarm(_LAST_S)
        listener.close()  # Once the workers have closed theirs, nobody is left waiting at it.
        _send(workers, signal.SIGTERM)

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    signal.signal(signal.SIGALRM, lambda *_: _send(workers, signal.SIGKILL))
    early = 0
    while workers or not stopping:
        while len(workers) < count and not stopping:
            _start(workers, work)
        if not workers:
            continue
        pid, status = os.wait()
        begun = workers.pop(pid, time.monotonic())
        if stopping:
            continue
        code = os.waitstatus_to_exitcode(status)
        _LOG.error("a worker ended with %s and is started again", code)
        early = early + 1 if time.monotonic() - begun < 5 and code > 0 else 0
        if early >= 3 * count:
            _LOG.error("workers end as soon as they are started; stopping")
            _send(workers, signal.SIGTERM)
            raise SystemExit(1)
        time.sleep(min(2.0, 0.2 * early))


def _start(workers: dict[int, float], work: Callable[[], None]) -> None:
    held = (signal.SIGTERM, signal.SIGINT)
    signal.pthread_sigmask(signal.SIG_BLOCK, held)  # A signal between the fork and the note of it would miss the child.
    pid = os.fork()
    if pid:
        workers[pid] = time.monotonic()
        signal.pthread_sigmask(signal.SIG_UNBLOCK, held)
        return
    code = 1
    try:
        for number in (*held, signal.SIGALRM):
            signal.signal(number, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # A terminal sends it to all; the parent passes on a SIGTERM.
        signal.pthread_sigmask(signal.SIG_UNBLOCK, held)
        work()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 1
    except Exception:  # noqa: BLE001  # whatever it is, the child must not go on as its parent
        _LOG.exception("a worker cannot start")
    finally:
        os._exit(code)


def _send(workers: dict[int, float], number: int) -> None:
    for pid in list(workers):
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, number)
