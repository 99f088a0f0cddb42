"""The schema's version: brought up to date at a start, refused where the database is newer than this program."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DBAPIError

from service.errors import StoreBusy, StoreFault
from service.store.engine import translated
from service.store.tables import METADATA

HEAD: Final = "0001"
"""The migration that this program's tables are at; a test holds it to the newest file in ``migrations``."""

_FOLDER: Final = Path(__file__).parent / "migrations"
_LOCK: Final = 7_223_901
"""The advisory lock under which one process at a time migrates a PostgreSQL database."""


def schema_version(connection: Connection) -> str | None:
    """The migration a database is at; ``None`` for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def bring_up_to_date(engine: Engine) -> None:
    """Migrates to :data:`HEAD`. Raises :class:`StoreFault` where the database is newer or foreign."""
    try:
        with translated(), engine.connect() as connection:
            at = schema_version(connection)
            if at is None and inspect(connection).get_table_names():
                raise StoreFault("The database holds tables that are not of this service; name an empty one.")
    except (DBAPIError, StoreBusy) as fault:
        raise StoreFault("The database cannot be opened; see WASHLINE_DATABASE_URL.") from fault
    if at == HEAD:
        return
    if at is not None and at not in _known():
        raise StoreFault("The database was written by a newer version of this service; start that one.")
    _migrate(engine)


def create_empty(connection: Connection) -> None:
    """All tables at once, for a database that is made for one process."""
    METADATA.create_all(connection)
    append_only(connection)
    connection.execute(text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)"))
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


def _known() -> set[str]:
    return {path.name.partition("_")[0] for path in (_FOLDER / "versions").glob("[0-9]*.py")}


def _migrate(engine: Engine) -> None:
    # Loaded only where something is to be migrated; a start on a current database need not wait for it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    with _alone(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, HEAD)


@contextmanager
def _alone(engine: Engine) -> Iterator[Connection]:
    """A connection under a lock that no other migrating process holds; all of it is one transaction."""
    if engine.dialect.name == "sqlite":
        options = {"washline_begin": "IMMEDIATE"}
        with translated(), engine.connect().execution_options(**options) as connection, connection.begin():
            yield connection
        return
    with translated(), engine.connect() as connection, connection.begin():
        connection.execute(text("SET LOCAL lock_timeout = '60s'"))
        connection.execute(text("SET LOCAL statement_timeout = '60s'"))
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        yield connection
