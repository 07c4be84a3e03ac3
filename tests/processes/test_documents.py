"""A document that a worker process makes of the database is the one that the server would make, at every moment."""

import json
import os
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path

import pytest

from service.api.computing import in_this_process
from service.app import migrate, open_database
from service.domain.errors import NotFound, Unavailable
from service.domain.summary.issues import edition_of
from service.processes.documents import Documents
from service.processes.pool import Pool
from service.rendering.year.formats import FORMATS, write_edition, write_fleet_year, write_summary
from service.settings import Settings
from service.usecases.year import kept_years, summaries
from tests.benchmarks.renders import _record
from tests.benchmarks.summaries import NOW
from tests.summary_recount.generated import fleet

FIGURES = partial(summaries.summarise, code="lantern", year=2026, as_of=NOW, program_version="0", units_shown=None)
FLEET = partial(summaries.summarise_fleet, year=2026, as_of=NOW, program_version="0")


@pytest.fixture
def settings(migrated_url, tmp_path):
    return Settings(database_url=migrated_url, home=tmp_path)


@pytest.fixture
def lines():
    return [json.dumps(record).encode() for record in fleet(units=3, visits=40, seed=5, days=400)]


@pytest.fixture
def database(settings, lines):
    with closing(open_database(settings)) as opened:
        opened.join(opened.identity())
        _record(opened, lines[:-4])
        yield opened


@pytest.fixture(scope="module")
def pool():
    with closing(Pool(processes=1, jobs=40, seconds=60)) as made:
        yield made


@pytest.fixture
def apart(pool, database, settings):
    return Documents(pool, database, settings)


def test_every_document_is_the_one_made_here(apart, database):
    here = in_this_process(database).document
    for form in FORMATS:
        for read, writer in ((FIGURES, write_summary), (FLEET, write_fleet_year)):
            write = partial(writer, form=form)
            assert apart(read, write) == here(read, write)
    assert apart(FIGURES, partial(write_edition, form="pdf")) == here(FIGURES, partial(write_edition, form="pdf"))


def test_it_shows_what_was_recorded_the_moment_before(apart, database, lines):
    write, here = partial(write_summary, form="json"), in_this_process(database).document
    made = [apart(FIGURES, write)]
    for line in lines[-4:]:
        _record(database, [line])
        made.append(apart(FIGURES, write))
        assert made[-1] == here(FIGURES, write)

    assert len(set(made)) == 5


def test_the_years_made_for_it_are_stored_by_the_server(apart, database, settings):
    apart(FIGURES, edition_of)

    stored = kept_years.store_made(database)
    assert stored == 3
    with database.reading() as store:
        kept = store.link.plain("SELECT unit_id, year, basis, since, day, made FROM unit_year").fetchall()
    with database.writing() as store:
        store.link.plain("DELETE FROM unit_year")
    with closing(open_database(settings)) as other:  # which has nothing in memory, and makes them itself
        in_this_process(other).document(FIGURES, edition_of)
        assert kept_years.store_made(other) == stored
        with other.reading() as store:
            assert store.link.plain("SELECT unit_id, year, basis, since, day, made FROM unit_year").fetchall() == kept

    apart(FIGURES, edition_of)
    assert kept_years.store_made(database) == 0


def test_years_made_by_another_program_than_the_server_are_not_stored(pool, database, settings, monkeypatch):
    """Its files may be replaced while it runs; a process that starts then loads the new ones."""
    with monkeypatch.context() as former:
        former.setattr(kept_years, "layout", lambda: "another")
        make = Documents(pool, database, settings)

    made = make(FIGURES, edition_of)
    assert kept_years.store_made(database) == 0
    assert made == in_this_process(database).document(FIGURES, edition_of)


def test_what_is_refused_here_is_refused_there(apart):
    with pytest.raises(NotFound, match="There is no customer 'nobody'"):
        apart(partial(FIGURES, code="nobody"), edition_of)


@pytest.mark.skipif(os.name == "nt", reason="an open file has no other name there")
@pytest.mark.parametrize("migrated_url", ["sqlite"], indirect=True)
def test_another_file_of_that_name_is_not_opened(database, settings, tmp_path):
    file, other = Path(settings.database_url.removeprefix("sqlite:///")), tmp_path / "other.sqlite3"
    migrate(replace(settings, database_url=f"sqlite:///{other}"))
    before = other.read_bytes()
    with closing(Pool(processes=1, seconds=60)) as fresh:
        make = Documents(fresh, database, settings)
        file.rename(tmp_path / "aside.sqlite3")
        other.rename(file)
        with pytest.raises(Unavailable, match="was replaced or removed"):
            make(FIGURES, edition_of)
    assert file.read_bytes() == before


def test_an_older_day_is_that_of_the_day(apart, database):
    read = partial(FIGURES, as_of=NOW - timedelta(days=100))
    write = partial(write_summary, form="csv", table="visits")
    assert apart(read, write) == in_this_process(database).document(read, write)
