"""The few kinds of column there are, and how constraints are named."""

from sqlalchemy import BigInteger, Column, Double, Integer, MetaData, Text

# Byte order on both engines, so that lists page alike.
TEXT = Text().with_variant(Text(collation="C"), "postgresql")
KEY = BigInteger().with_variant(Integer(), "sqlite")

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


def text(name: str, *, required: bool = False) -> Column[str]:
    return Column(name, TEXT, nullable=not required)


def key(name: str, *, required: bool = True) -> Column[int]:
    return Column(name, KEY, nullable=not required)


def number(name: str) -> Column[float]:
    return Column(name, Double, nullable=True)


def counter(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def identity() -> Column[int]:
    return Column("id", KEY, primary_key=True, autoincrement=True)
