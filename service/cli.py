"""The command line: ``serve``, ``key``, ``backup``, ``restore``, ``evaluate FILE``, ``reference SEARCH``."""

import argparse
import gc
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NoReturn, get_args

from pydantic import ValidationError

from service.errors import DataFault, InputFault, WashlineError
from service.rules import jurisdiction
from service.settings import Settings, settings


def main(words: Sequence[str] | None = None) -> None:
    """Runs the command line."""
    asked = _parser().parse_args(words)
    asked.run(asked)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m service", description="Turns a drink spec into what a bar can sell."
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    parser.set_defaults(run=lambda _: parser.print_help())
    command = commands.add_parser("serve", help="start the service on WASHLINE_HOST and WASHLINE_PORT")
    command.set_defaults(run=serve)
    _add_keeping(commands)
    command = commands.add_parser(
        "evaluate", help="evaluate one drink from a file, and print a table or the whole answer"
    )
    command.add_argument("file", metavar="FILE", help="a body of POST /v1/evaluate, as JSON; - reads standard input")
    shape = command.add_mutually_exclusive_group()
    shape.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    shape.add_argument(
        "--as",
        dest="shape",
        choices=("html", "svg", "json-ld", "csv"),
        help="print the spec sheet, the label panel, linked data, or one row of a table",
    )
    command.set_defaults(run=evaluate)
    command = commands.add_parser("reference", help="search the embedded items")
    command.add_argument("search", metavar="WORD", nargs="+", help="begins a word of the id, the name or an alias")
    command.add_argument("--kind", metavar="KIND", help="only items of this kind")
    command.add_argument("--allergen", metavar="ALLERGEN", help="only items that concern this allergen")
    command.set_defaults(run=reference)
    return parser


def _add_keeping(commands: Any) -> None:
    """The commands that work on the store at WASHLINE_DATABASE_URL."""
    acts = commands.add_parser("key", help="make, list or end keys").add_subparsers(
        dest="act", metavar="make|list|revoke", required=True
    )
    make = acts.add_parser("make", help="make a key and print it this once")
    make.add_argument("name", metavar="NAME", help="whose it is, or what for")
    make.add_argument("--scope", action="append", required=True, metavar="SCOPE", help="may be given several times")
    make.add_argument("--venue", metavar="ID", help="the one venue it may ask about")
    make.add_argument("--expires-on", metavar="DAY", help="last day on which it works (UTC), as YYYY-MM-DD")
    acts.add_parser("list", help="list all keys, without their secrets")
    acts.add_parser("revoke", help="end a key at once").add_argument("id", metavar="ID")
    for act in acts.choices.values():
        act.set_defaults(run=_keys)
    command = commands.add_parser("backup", help="write what is stored to a new file, while the service runs")
    command.add_argument("file", metavar="FILE", help="holds costs in the clear; only its owner may read it")
    command.set_defaults(run=_backup)
    command = commands.add_parser("restore", help="put a backup into an empty database")
    command.add_argument("file", metavar="FILE", help="what backup wrote, from either kind of database")
    command.set_defaults(run=_restore)


def _fail(message: str, code: int) -> NoReturn:
    sys.stderr.write(message + "\n")
    raise SystemExit(code)


def serve(_: argparse.Namespace) -> None:
    """Start the service on WASHLINE_HOST and WASHLINE_PORT."""
    gc.disable()  # As when the application is made, which turns it on again: what is imported here stays for good.
    from service.serving import serve as run  # the other commands need no server

    run(_checked_settings())


def _keys(asked: argparse.Namespace) -> None:
    """Make, list and end keys."""
    from service import keeping  # what a command does not need stays out of the start of the others

    current = _checked_settings()
    with _told():
        if asked.act == "make":
            made = keeping.key_made(current, asked.name, tuple(asked.scope), asked.venue, asked.expires_on)
            sys.stdout.write(made + "\n")
            sys.stderr.write("This key is shown once and kept nowhere; store it now.\n")
        elif asked.act == "list":
            sys.stdout.writelines(row + "\n" for row in keeping.key_rows(current))
        else:
            sys.stdout.write(f"{keeping.key_ended(current, asked.id)} is ended.\n")


def _backup(asked: argparse.Namespace) -> None:
    """Write one committed state to a file."""
    from service import keeping  # as above

    with _told():
        made = keeping.backed_up(_checked_settings(), Path(asked.file))
    sys.stdout.write(f"{made.rows} rows of version {made.cost_version}, SHA-256 {made.sha256}.\n")
    sys.stderr.write("It holds costs and recipes in the clear: encrypt it before it leaves this machine.\n")


def _restore(asked: argparse.Namespace) -> None:
    """Put a backup into an empty database."""
    from service import keeping  # as above

    with _told():
        made = keeping.restored(_checked_settings(), Path(asked.file))
    sys.stdout.write(f"{made.rows} rows of version {made.cost_version} restored.\n")


@contextmanager
def _told() -> Iterator[None]:
    """What the store says ends a command with one line and exit 1."""
    try:
        yield
    except InputFault as fault:
        _fail(f"{fault.pointer}: {fault.detail}", 2)
    except WashlineError as fault:
        _fail(str(fault), 1)


def _checked_settings() -> Settings:
    """The settings, or a message and exit 1 where one of them cannot be worked with."""
    try:
        current = settings()
        for code in current.jurisdictions:
            jurisdiction(code)
    except ValidationError as error:
        faults = error.errors(include_url=False, include_input=False)
        names = ["_".join(str(step) for step in fault["loc"][:1]).upper() for fault in faults]
        rows = [f"Cannot start: WASHLINE_{name}: {fault['msg']}." for name, fault in zip(names, faults, strict=True)]
        _fail("\n".join(rows), 1)
    except InputFault as fault:
        _fail(f"Cannot start: WASHLINE_JURISDICTIONS: {fault.detail}", 1)
    except DataFault as fault:
        _fail(f"Cannot start: {fault}", 1)
    return current


def evaluate(asked: argparse.Namespace) -> None:
    """Evaluate one drink from a file, and print a table or the whole answer."""
    from service.api.app import demo_catalogue  # what a command does not need stays out of the start of the others
    from service.api.evaluations import evaluated
    from service.api.problems import Problem
    from service.lookup import EMPTY_CATALOGUE
    from service.reference import reference as embedded
    from service.renderers.table import table_of

    current = _checked_settings()
    raw = _bytes_of(asked.file)
    catalogue = demo_catalogue() if current.demo else EMPTY_CATALOGUE
    try:
        content = evaluated(raw, datetime.now(UTC).date(), current.jurisdictions, embedded(), catalogue)
    except Problem as problem:
        rows = [f"  {fault.pointer or '(the whole body)'}: {fault.detail} [{fault.code}]" for fault in problem.errors]
        _fail("\n".join([problem.detail, *rows]), 1)
    if asked.json:
        sys.stdout.buffer.write(content + b"\n")
    elif asked.shape is not None:
        sys.stdout.buffer.write(_printed(asked.shape, content, raw))
    else:
        sys.stdout.write(table_of(content) + "\n")


def _printed(shape: str, content: bytes, raw: bytes) -> bytes:
    """An answer in one of the printed types."""
    from service.api import negotiation  # as above

    kinds = {
        "html": negotiation.HTML, "svg": negotiation.SVG, "json-ld": negotiation.JSON_LD, "csv": negotiation.CSV
    }  # fmt: skip
    return negotiation.text_of(kinds[shape], json.loads(content), json.loads(raw)["drink"]).encode()


def _bytes_of(file: str) -> bytes:
    try:
        return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as fault:
        _fail(f"Cannot read the file: {fault.strerror}.", 2)


def reference(asked: argparse.Namespace) -> None:
    """Search the embedded items."""
    from schemas.ingredient import AllergenKey, Kind  # as above
    from service.reference import reference as embedded

    _refuse_other_than("--kind", asked.kind, get_args(Kind))
    _refuse_other_than("--allergen", asked.allergen, get_args(AllergenKey))
    found = embedded().search(" ".join(asked.search), asked.kind, asked.allergen)
    for item in found:
        strength = "" if item.abv_percent is None else f"{item.abv_percent:g} % vol"
        sys.stdout.write(f"{item.id:36} {item.kind:10} {strength:12} {item.name}\n")
    if not found:
        _fail("Nothing in the embedded reference fits.", 1)


def _refuse_other_than(option: str, value: str | None, allowed: tuple[str, ...]) -> None:
    if value is not None and value not in allowed:
        _fail(f"{option} is one of: {', '.join(allowed)}.", 2)
