"""The command line: ``serve``, ``evaluate FILE``, ``reference SEARCH``."""

import signal
import sys
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Annotated, get_args

import typer
from pydantic import ValidationError

from service.errors import DataFault, InputFault
from service.rules import jurisdiction
from service.settings import Settings, settings

app = typer.Typer(add_completion=False, no_args_is_help=True, help="Turns a drink spec into what a bar can sell.")


def main() -> None:
    """Runs the command line."""
    app()


@app.command()
def serve() -> None:
    """Start the service on WASHLINE_HOST and WASHLINE_PORT."""
    import uvicorn  # the other commands need no server

    from service.api.app import create_app
    from service.api.protocol import BoundedHead

    current = _checked_settings()
    # The server drains, then raises the signal again for whoever listened before it: an orderly stop is a success.
    signal.signal(signal.SIGTERM, _stop)
    uvicorn.run(
        create_app(current),
        host=current.host,
        port=current.port,
        log_level=current.log_level,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=10,
        http=partial(BoundedHead, head_timeout_s=current.head_timeout_s),  # type: ignore[arg-type]  # called as a class is
        ws="none",
    )


def _stop(_: int, __: FrameType | None) -> None:
    raise SystemExit(0)


def _checked_settings() -> Settings:
    """The settings, or a message and exit 1 where one of them cannot be worked with."""
    try:
        current = settings()
        for code in current.jurisdictions:
            jurisdiction(code)
    except ValidationError as error:
        for fault in error.errors(include_url=False, include_input=False):
            name = "_".join(str(step) for step in fault["loc"][:1]).upper()
            typer.echo(f"Cannot start: WASHLINE_{name}: {fault['msg']}.", err=True)
    except InputFault as fault:
        typer.echo(f"Cannot start: WASHLINE_JURISDICTIONS: {fault.detail}", err=True)
    except DataFault as fault:
        typer.echo(f"Cannot start: {fault}", err=True)
    else:
        return current
    raise typer.Exit(1)


@app.command()
def evaluate(
    file: Annotated[Path, typer.Argument(help="A body of POST /v1/evaluate, as JSON; - reads standard input.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
) -> None:
    """Evaluate one drink from a file, and print a table or the whole answer."""
    from service.api.app import demo_catalogue
    from service.api.evaluations import evaluated
    from service.api.problems import Problem
    from service.lookup import EMPTY_CATALOGUE
    from service.reference import reference as embedded

    current = _checked_settings()
    raw = _bytes_of(file)
    catalogue = demo_catalogue() if current.demo else EMPTY_CATALOGUE
    try:
        content = evaluated(raw, datetime.now(UTC).date(), current.jurisdictions, embedded(), catalogue)
    except Problem as problem:
        _print_problem(problem)
        raise typer.Exit(1) from None
    if as_json:
        sys.stdout.buffer.write(content + b"\n")
    else:
        from service.renderers.table import table_of

        typer.echo(table_of(content))


def _bytes_of(file: Path) -> bytes:
    try:
        return sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    except OSError as fault:
        typer.echo(f"Cannot read the file: {fault.strerror}.", err=True)
        raise typer.Exit(2) from None


def _print_problem(problem: object) -> None:
    from service.api.problems import Problem

    assert isinstance(problem, Problem)
    typer.echo(problem.detail, err=True)
    for fault in problem.errors:
        typer.echo(f"  {fault.pointer or '(the whole body)'}: {fault.detail} [{fault.code}]", err=True)


@app.command()
def reference(
    search: Annotated[list[str], typer.Argument(help="Words that each begin a word of the id, name or an alias.")],
    kind: Annotated[str | None, typer.Option(help="Only items of this kind.")] = None,
    allergen: Annotated[str | None, typer.Option(help="Only items that concern this allergen.")] = None,
) -> None:
    """Search the embedded items."""
    from schemas.ingredient import AllergenKey, Kind  # as above: what a command does not need stays out of its start
    from service.reference import reference as embedded

    _refuse_other_than("--kind", kind, get_args(Kind))
    _refuse_other_than("--allergen", allergen, get_args(AllergenKey))
    found = embedded().search(" ".join(search), kind, allergen)
    for item in found:
        strength = "" if item.abv_percent is None else f"{item.abv_percent:g} % vol"
        typer.echo(f"{item.id:36} {item.kind:10} {strength:12} {item.name}")
    if not found:
        typer.echo("Nothing in the embedded reference fits.", err=True)
        raise typer.Exit(1)


def _refuse_other_than(option: str, value: str | None, allowed: tuple[str, ...]) -> None:
    if value is not None and value not in allowed:
        typer.echo(f"{option} is one of: {', '.join(allowed)}.", err=True)
        raise typer.Exit(2)
