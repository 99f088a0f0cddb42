"""The migrations make what the tables say, and a database that is not ours is left alone."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import func, insert, inspect, select, text
from sqlalchemy.exc import DBAPIError

from service.errors import StoreFault
from service.store import schema
from service.store.engine import engine_of
from service.store.kinds import text_of
from service.store.price_lists import kept_file, kept_list
from service.store.schema import HEAD, alone, bring_up_to_date, migrate_to, schema_version
from service.store.store import Store
from service.store.tables import ENTRIES, EXTERNAL_IDS, METADATA, NAMES, PRICE_LIST_PIECES, REVISIONS, USES
from tests.databases import BACKENDS, REFERENCE, RULES, Postgres, sqlite_url

FOLDER = Path(schema.__file__).parent / "migrations" / "versions"
_ONE_OF_HISTORY = (
    "INSERT INTO audit (recorded_at, key_id, request_id, action, kind, id, version) VALUES ('', '', '', '', '', '', 0)"
)


@pytest.fixture(params=BACKENDS)
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A database without any table."""
    if request.param == "sqlite":
        yield sqlite_url(tmp_path)
    else:
        server: Postgres = request.getfixturevalue("postgres")
        yield server.empty()


def test_the_migrations_make_the_tables(empty_url: str) -> None:
    engine = engine_of(empty_url)
    with alone(engine) as connection:
        migrate_to(connection, HEAD)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []
        assert schema_version(connection) == HEAD
    bring_up_to_date(engine)
    engine.dispose()


def test_names_of_before_are_kept_until_their_day(empty_url: str) -> None:
    """A store of the first schema, in which a planned revision took the place of names, ids and uses at once."""
    engine = engine_of(empty_url)
    now, later = ({"id": "sour", "name": name, "lines": [{"item": item, "amount": "1 ml"}], "external_ids": [till]}
                  for name, item, till in (("Now", "rum", "PLU:1"), ("Later", "gin", "PLU:2")))  # fmt: skip
    with alone(engine) as connection:
        migrate_to(connection, "0001")
        for number, (day, body) in enumerate((("0001-01-01", now), ("2031-01-01", later)), 1):
            row = {"kind": "drinks", "id": "sour", "revision": number, "valid_from": day, "version": number,
                   "recorded_at": "2026-11-25T12:00:00+00:00", "state": "live", "body": text_of(body)}  # fmt: skip
            connection.execute(insert(REVISIONS).values(**row))
        shown = {"kind": "drinks", "id": "sour", "revision": 2, "state": "live", "version": 2}
        connection.execute(insert(ENTRIES).values(**shown, name="Later", name_key="later"))
        connection.execute(insert(EXTERNAL_IDS).values(kind="drinks", value="PLU:2", id="sour"))
        connection.execute(insert(USES).values(kind="drinks", id="sour", used_kind="item", used_id="gin"))
        migrate_to(connection, HEAD)
        kept = ((NAMES.c.value, ["later", "now"]), (EXTERNAL_IDS.c.value, ["PLU:1", "PLU:2"]))
        for column, values in (*kept, (USES.c.used_id, ["gin", "rum"])):
            assert sorted(connection.execute(select(column)).scalars()) == values
    engine.dispose()


def test_files_of_before_are_kept_in_pieces(empty_url: str) -> None:
    engine = engine_of(empty_url)
    file = bytes(range(256)) * 600  # 153,600 bytes: two pieces of 65,536 and the rest
    with alone(engine) as connection:
        migrate_to(connection, "0002")
        kept = {"id": "one", "supplier": "quay", "state": "read", "base_version": 1, "received_at": "", "key_id": "k",
                "file_sha256": "", "media_type": "text/csv", "options": "{}", "head": "{}"}  # fmt: skip
        names = ", ".join((*kept, "file"))
        places = ", ".join(f":{name}" for name in (*kept, "file"))
        connection.execute(text(f"INSERT INTO price_lists ({names}) VALUES ({places})"), {**kept, "file": file})
        migrate_to(connection, HEAD)
        assert connection.execute(select(func.count()).select_from(PRICE_LIST_PIECES)).scalar_one() == 3
        with kept_file(connection, "one") as read:
            read.seek(0)
            assert read.read() == file
        assert kept_list(connection, "one").supplier == "quay"
    engine.dispose()


def test_a_new_database_is_as_the_tables_say(empty_url: str) -> None:
    engine = engine_of(empty_url)
    bring_up_to_date(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []
        assert schema_version(connection) == HEAD
    with alone(engine) as connection:
        connection.execute(text(_ONE_OF_HISTORY))
        with pytest.raises(DBAPIError, match="history is not changed"):
            connection.execute(text("DELETE FROM audit"))
    engine.dispose()


def test_a_database_made_for_one_process_is_as_a_migrated_one(tmp_path: Path) -> None:
    migrated = engine_of(sqlite_url(tmp_path))
    with alone(migrated) as connection:
        migrate_to(connection, HEAD)
    own = Store(None, RULES, REFERENCE)
    query = text("SELECT type, name, tbl_name FROM sqlite_master ORDER BY 1, 2, 3")
    with migrated.connect() as one, own.engine.connect() as other:
        assert one.execute(query).all() == other.execute(query).all()
    migrated.dispose()
    own.close()


def test_the_head_is_the_newest_file() -> None:
    assert max(path.name.partition("_")[0] for path in FOLDER.glob("[0-9]*.py")) == HEAD


def test_a_newer_schema_is_refused(database_url: str) -> None:
    store = Store(database_url, RULES, REFERENCE)
    with store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreFault, match="9999"):
        store.check()
    store.close()
    with pytest.raises(StoreFault, match="newer version"):
        Store(database_url, RULES, REFERENCE)


def test_a_foreign_database_is_refused_and_left_as_it_is(empty_url: str) -> None:
    engine = engine_of(empty_url)
    with alone(engine) as connection:
        connection.execute(text("CREATE TABLE their_books (id INTEGER PRIMARY KEY)"))
    with pytest.raises(StoreFault, match="not of this service"):
        Store(empty_url, RULES, REFERENCE)
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["their_books"]
    engine.dispose()


@pytest.mark.parametrize("url", ["", "nothing", "mysql://x/y", "sqlite://", "sqlite:///:memory:"])
def test_a_url_that_is_no_store_is_refused(url: str) -> None:
    with pytest.raises(StoreFault):
        Store(url, RULES, REFERENCE)


def test_a_store_that_cannot_be_opened_says_what_to_look_at(tmp_path: Path) -> None:
    with pytest.raises(StoreFault, match="folder is missing"):
        Store(f"sqlite:///{tmp_path}/no/such/folder/bar.db", RULES, REFERENCE)


def test_another_version_of_the_rules_is_announced_once(database_url: str) -> None:
    for rules, version in (("a", 0), ("a", 0), ("b", 1), ("b", 1)):
        store = Store(database_url, rules, REFERENCE)
        assert (store.versions().cost, store.versions().data) == (version, version)
        store.close()
