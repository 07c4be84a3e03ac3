"""A toy table on both engines: these tests know nothing of the product's tables."""

from collections.abc import Iterator

import pytest
from sqlalchemy import text

from service.storage.engine.database import PATIENCE, Database, Link, open_database


def itself(link: Link) -> Link:
    return link


def with_jars(url: str, *, patience: float = PATIENCE) -> Database[Link]:
    database = open_database(url, itself, patience=patience)
    with database.writing() as link:
        link.core(text("CREATE TABLE shelf (code TEXT PRIMARY KEY)"))
        link.core(
            text(
                "CREATE TABLE jar (shelf TEXT REFERENCES shelf (code), name TEXT NOT NULL, n BIGINT NOT NULL,"
                " CONSTRAINT ck_jar_n CHECK (n >= 0), PRIMARY KEY (name, n))"
            )
        )
    return database


@pytest.fixture
def jars(database_url: str) -> Iterator[Database[Link]]:
    database = with_jars(database_url)
    yield database
    database.close()


@pytest.fixture
def sqlite_jars(tmp_path) -> Iterator[Database[Link]]:
    database = with_jars(f"sqlite:///{tmp_path}/jars.db")
    yield database
    database.close()


@pytest.fixture
def postgres_jars(postgres_database_url: str) -> Iterator[Database[Link]]:
    database = with_jars(postgres_database_url)
    yield database
    database.close()
