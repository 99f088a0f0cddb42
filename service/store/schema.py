"""The schema's version: brought up to date at a start, refused where the database is newer than this program."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DBAPIError

from service.errors import StoreBusy, StoreFault
from service.store.engine import ONE_STATE, TO_WRITE, is_busy
from service.store.tables import METADATA

HEAD: Final = "0003"
"""The migration that this program's tables are at; a test holds it to the newest file in ``migrations``."""

_FOLDER: Final = Path(__file__).parent / "migrations"
LOCK: Final = 7_223_901
"""The advisory lock under which one process at a time migrates a PostgreSQL database."""

_UNKNOWN: Final = "The database file cannot be used; see WASHLINE_DATABASE_URL."
_DAMAGED: Final = "The database file is damaged or is no database; restore a backup into a new one."
_SAID: Final = {
    "unable to open": "The database file cannot be opened: its folder is missing, or may not be written to.",
    "readonly": "The database file or its folder is read-only; the service has to write to both.",
    "not a database": _DAMAGED,
    "malformed": _DAMAGED,
    "full": "The disk is full.",
}
"""What SQLite says while a file is opened, and what to do about it."""


def schema_version(connection: Connection) -> str | None:
    """The migration a database is at; ``None`` for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def bring_up_to_date(engine: Engine) -> None:
    """Migrates to :data:`HEAD`; an empty database is given its tables at once.

    Raises :class:`StoreFault` where the database is newer or foreign.
    """
    with told_why(engine):
        at = _first_look(engine)
        if at == HEAD:
            return
        if at is not None and at not in known_schemas():
            raise StoreFault("The database was written by a newer version of this service; start that one.")
        with alone(engine) as connection:
            if schema_version(connection) is None:  # One that started beside this one may have been here meanwhile.
                create_empty(connection)
            else:
                migrate_to(connection, HEAD)


@contextmanager
def told_why(engine: Engine) -> Iterator[None]:
    """What a database says while it is opened, as a :class:`StoreFault` that says what to do."""
    try:
        yield
    except DBAPIError as fault:
        if is_busy(fault):
            raise StoreBusy("Another program holds the database; end it, then start again.") from fault
        raise StoreFault(_reason(engine, fault)) from fault


def _first_look(engine: Engine) -> str | None:
    """The migration that the database is at. One state is looked at, so that a migration beside it is not seen half."""
    with engine.connect().execution_options(**ONE_STATE[engine.dialect.name]) as connection, connection.begin():
        at = schema_version(connection)
        if at is None and inspect(connection).get_table_names():
            raise StoreFault("The database holds tables that are not of this service; name an empty one.")
        return at


def _reason(engine: Engine, fault: DBAPIError) -> str:
    """Why a database cannot be opened, and what to do, without the words of the driver, which may name a password."""
    if engine.dialect.name != "sqlite":
        return "PostgreSQL cannot be reached or refuses the login; see WASHLINE_DATABASE_URL."
    said = str(fault.orig).lower()
    return next((why for words, why in _SAID.items() if words in said), _UNKNOWN)


def create_empty(connection: Connection) -> None:
    """All tables at once, as the migrations make them, for an empty database."""
    METADATA.create_all(connection)
    append_only(connection)
    connection.execute(
        text(
            "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL, "
            "CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num))"
        )
    )
    connection.execute(text("INSERT INTO alembic_version VALUES (:head)"), {"head": HEAD})


def append_only(connection: Connection) -> None:
    """Triggers that refuse to change or delete rows of history."""
    for table in ("audit", "revisions"):
        if connection.dialect.name == "sqlite":
            for verb in ("UPDATE", "DELETE"):
                connection.execute(
                    text(
                        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                        "BEGIN SELECT RAISE(ABORT, 'history is not changed'); END"
                    )
                )
        else:
            connection.execute(
                text(
                    f"CREATE FUNCTION {table}_kept() RETURNS trigger LANGUAGE plpgsql AS "
                    "$$ BEGIN RAISE EXCEPTION 'history is not changed'; END $$"
                )
            )
            connection.execute(
                text(
                    f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
                    f"FOR EACH ROW EXECUTE FUNCTION {table}_kept()"
                )
            )


def known_schemas() -> set[str]:
    """The migrations that this program knows."""
    return {path.name.partition("_")[0] for path in (_FOLDER / "versions").glob("[0-9]*.py")}


def migrate_to(connection: Connection, revision: str) -> None:
    """Migrates within the transaction of a connection that nobody else migrates beside."""
    # Loaded only where something is to be migrated; a start on a current database need not wait for it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


@contextmanager
def alone(engine: Engine) -> Iterator[Connection]:
    """A connection under a lock that no other migrating process holds; all of it is one transaction."""
    with engine.connect().execution_options(**TO_WRITE) as connection, connection.begin():
        if engine.dialect.name != "sqlite":
            connection.execute(text("SET LOCAL lock_timeout = '60s'"))
            connection.execute(text("SET LOCAL statement_timeout = '60s'"))
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        yield connection
