"""Core constructs run as plain SQL, and the ways to run them."""

import pytest
from sqlalchemy import BigInteger, Boolean, Column, Float, MetaData, String, Table, bindparam, column, select, text
from sqlalchemy.dialects import postgresql, sqlite

from service.storage.engine.statements import Statement

JAR = Table("jar", MetaData(), Column("shelf", String), Column("name", String), Column("n", BigInteger))
FILL = Statement(JAR.insert().values(name=bindparam("name"), n=bindparam("n")))
FILL_OR_KEEP = Statement(
    {
        "sqlite": sqlite.insert(JAR).values(name=bindparam("name"), n=bindparam("n")).on_conflict_do_nothing(),
        "postgresql": postgresql.insert(JAR).values(name=bindparam("name"), n=bindparam("n")).on_conflict_do_nothing(),
    }
)
ALL = Statement(select(JAR.c.name, JAR.c.n).order_by(JAR.c.n))
SOME = Statement(select(JAR.c.n).where(JAR.c.name.in_(["a", "b"]), JAR.c.n > bindparam("above")).order_by(JAR.c.n))
MANY = [{"name": name, "n": number} for number, name in enumerate("abc")]


def test_rows_are_plain_tuples(jars):
    with jars.writing() as link:
        link.run_many(FILL, MANY)

        assert link.rows(ALL) == [("a", 0), ("b", 1), ("c", 2)]


def test_row_and_value_take_the_first_or_none(jars):
    with jars.writing() as link:
        link.run_many(FILL, MANY)

        assert (link.row(ALL), link.value(ALL)) == (("a", 0), "a")
        assert (link.row(SOME, above=9), link.value(SOME, above=9)) == (None, None)


def test_values_in_the_construct_join_those_of_the_caller(jars):
    with jars.writing() as link:
        link.run_many(FILL, MANY)

        assert link.rows(SOME, above=0) == [(1,)]


def test_run_reports_how_many_rows_it_touched(jars):
    with jars.writing() as link:
        assert link.run(FILL, name="a", n=1) == 1
        assert link.run_many(FILL, MANY) == 3
        assert link.run_many(FILL, []) == 0


def test_each_engine_runs_its_own_variant(jars):
    with jars.writing() as link:
        assert [link.run(FILL_OR_KEEP, name="a", n=1) for _ in range(2)] == [1, 0]


def test_an_insert_can_return_its_row(jars):
    returning = Statement(JAR.insert().values(name=bindparam("name"), n=7).returning(JAR.c.n))

    with jars.writing() as link:
        assert link.value(returning, name="a") == 7


def test_streaming_gives_every_row_in_order(jars):
    with jars.writing() as link:
        link.run_many(FILL, [{"name": "a", "n": number} for number in range(1234)])

    with jars.reading() as link:
        assert [n for _, n in link.stream(ALL)] == list(range(1234))


def test_two_streams_run_side_by_side(jars):
    with jars.writing() as link:
        link.run_many(FILL, MANY)

    with jars.reading() as link:
        assert len(list(zip(link.stream(ALL), link.stream(ALL), strict=True))) == 3


def test_a_construct_made_on_the_spot_runs_through_core(jars):
    with jars.writing() as link:
        link.run_many(FILL, MANY)

        assert link.core(select(JAR.c.n).where(JAR.c.name == "c")) == [(2,)]


def test_core_takes_part_in_the_transaction(jars):
    with pytest.raises(LookupError), jars.writing() as link:
        _fill_through_core_and_fail(link)

    with jars.reading() as link:
        assert link.rows(ALL) == []


def _fill_through_core_and_fail(link):
    link.core(JAR.insert().values(name="a", n=1))
    raise LookupError


def test_a_percent_sign_and_a_colon_stay_as_they_are(jars):
    odd = Statement(text(r"SELECT '100 %' || '\:x' || :tail"))

    with jars.reading() as link:
        assert link.value(odd, tail="%s") == "100 %:x%s"


@pytest.mark.parametrize("values", [{"name": "a"}, {}, {"name": "a", "n": 1, "m": 2}])
def test_parameters_that_do_not_match_are_named(jars, values):
    with pytest.raises(TypeError, match=r"missing: .* not in the statement: "), jars.writing() as link:
        link.run(FILL, **values)


def test_a_dict_that_does_not_match_is_named_among_many(jars):
    with pytest.raises(TypeError, match=r"missing: \['n'\]"), jars.writing() as link:
        link.run_many(FILL, [*MANY, {"name": "d"}])


def test_a_type_that_needs_conversion_is_refused(jars):
    converted = Statement(select(column("done", Boolean)).where(column("done", Boolean) == bindparam("done")))

    with pytest.raises(TypeError, match="done is of type"), jars.reading() as link:
        link.rows(converted, done=True)


def test_a_float_needs_no_conversion(jars):
    half = Statement(select(bindparam("x", type_=Float(53)) * 0.5))

    with jars.reading() as link:
        assert link.value(half, x=3.0) == 1.5


def test_a_list_given_at_execution_is_refused():
    listed = Statement(select(JAR.c.n).where(JAR.c.name.in_(bindparam("names", expanding=True))))

    with pytest.raises(TypeError, match="names is a list"):
        listed.plain(sqlite.dialect())
