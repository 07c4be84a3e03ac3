"""PostgreSQL that is locked, gone, or not to be written."""

import os
import re
import signal
from contextlib import contextmanager

import psycopg
import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import postgres, postgres_limits
from service.storage.engine.database import Refused, open_database, open_engine
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself

FILL = Statement(text("INSERT INTO jar (name, n) VALUES ('a', 1)"))
EMPTY = Statement(text("DELETE FROM jar"))
COUNT = Statement(text("SELECT count(*) FROM jar"))


def test_the_operator_reads_which_server_and_driver_are_used(postgres_jars):
    assert re.fullmatch(r"PostgreSQL [\d.]+.* \(driver psycopg [\d.]+\)", postgres_jars.described())


def write(jars):
    with jars.writing() as link:
        link.run(FILL)


def empty(jars):
    with jars.writing() as link:
        return link.run(EMPTY)


def count(jars):
    with jars.reading() as link:
        return link.value(COUNT)


@contextmanager
def locked(jars):
    """Another session has changed a row and has not yet committed; whoever waits without end is cut off at last."""
    with jars.writing() as link:
        link.plain(f"ALTER DATABASE {jars.engine.url.database} SET statement_timeout = '10s'")
        link.run(FILL)
    with jars.writing() as link:
        link.run(Statement(text("UPDATE jar SET n = 2")))
        yield


def test_a_row_locked_by_another_session_is_reported_and_heals(postgres_database_url, postgres_jars):
    hasty = open_database(postgres_database_url, itself, patience=0.05)

    with locked(postgres_jars), pytest.raises(Unavailable, match="busy"):
        empty(hasty)

    assert empty(hasty) == 1
    hasty.close()


def test_reading_goes_on_while_a_row_is_locked(postgres_database_url, postgres_jars):
    hasty = open_database(postgres_database_url, itself, patience=0.05)

    with locked(postgres_jars):
        assert count(hasty) == 1
    hasty.close()


def cut_all_connections(url):
    with psycopg.connect(url, autocommit=True) as other:
        other.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


def test_a_connection_cut_while_idle_is_not_noticed(postgres_database_url, postgres_jars):
    write(postgres_jars)
    cut_all_connections(postgres_database_url)

    assert count(postgres_jars) == 1


def test_a_connection_cut_at_work_is_reported_and_heals(postgres_database_url, postgres_jars):
    def cut_at_work():
        with postgres_jars.writing() as link:
            link.run(FILL)
            cut_all_connections(postgres_database_url)

    with pytest.raises(Unavailable, match="does not answer"):
        cut_at_work()

    write(postgres_jars)
    assert count(postgres_jars) == 1


def test_a_read_only_server_is_reported_by_the_probe(postgres_database_url, postgres_jars):
    with postgres_jars.writing() as link:
        link.plain(f"ALTER DATABASE {postgres_jars.engine.url.database} SET default_transaction_read_only = on")
    restarted = open_database(postgres_database_url, itself)

    with pytest.raises(Unavailable, match="only be read"):
        restarted.writable()
    restarted.close()


def test_a_server_that_is_not_there_is_refused_and_reported(tmp_path):
    database = open_database(f"postgresql://me:secret@/fleet?host={tmp_path}", itself)

    with pytest.raises(Refused, match="cannot be used") as refused:
        database.check_start()
    assert "secret" not in str(refused.value)
    with pytest.raises(Unavailable, match="does not answer"):
        database.writable()


def test_without_its_driver_it_says_what_to_install(monkeypatch):
    monkeypatch.setattr(postgres, "find_spec", lambda name: None)

    with pytest.raises(Refused, match="psycopg"):
        open_engine("postgresql://nobody@localhost/nothing")


def backend_of(link):
    return link.plain("SELECT pg_backend_pid()").fetchone()[0]


@contextmanager
def frozen(process):
    """A backend that answers nothing, while its kernel goes on to acknowledge what is sent."""
    os.kill(process, signal.SIGSTOP)
    try:
        yield
    finally:
        os.kill(process, signal.SIGCONT)


@pytest.mark.parametrize("door", ["reading", "writing"])
def test_a_backend_that_freezes_at_work_is_given_up_and_it_heals(postgres_jars, monkeypatch, door):
    monkeypatch.setattr(postgres_limits.LimitedConnection, "silence", 0.3)

    def freeze_at_work():
        with getattr(postgres_jars, door)() as link:
            with frozen(backend_of(link)):
                link.rows(COUNT)

    with pytest.raises(Unavailable, match="does not answer"):
        freeze_at_work()
    write(postgres_jars)
    assert count(postgres_jars) == 1


def test_a_backend_that_is_frozen_while_idle_is_replaced(postgres_jars, monkeypatch):
    monkeypatch.setattr(postgres_limits.LimitedConnection, "silence", 0.3)
    with postgres_jars.reading() as link:
        process = backend_of(link)
    with frozen(process):
        write(postgres_jars)

        assert count(postgres_jars) == 1


def test_a_commit_of_seconds_is_no_refusal(postgres_jars, monkeypatch):
    """A slow disk; a deferred trigger stands for it, because it runs within the COMMIT."""
    with postgres_jars.writing() as link:
        link.plain(
            "CREATE FUNCTION wait() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(1); RETURN NULL; END'"
        )
        link.plain(
            "CREATE CONSTRAINT TRIGGER slow AFTER INSERT ON jar DEFERRABLE INITIALLY DEFERRED"
            " FOR EACH ROW EXECUTE FUNCTION wait()"
        )
    monkeypatch.setattr(postgres_limits.LimitedConnection, "silence", 0.3)
    write(postgres_jars)

    assert count(postgres_jars) == 1
