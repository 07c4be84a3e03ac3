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
    """A text, as days, instants and documents are too."""
    return Column(name, TEXT, nullable=not required)


def key(name: str, *, required: bool = True) -> Column[int]:
    """The identity of a row elsewhere."""
    return Column(name, KEY, nullable=not required)


def number(name: str) -> Column[float]:
    """A double that may be unknown."""
    return Column(name, Double, nullable=True)


def counter(name: str) -> Column[int]:
    """A small whole number, such as a version or a position."""
    return Column(name, Integer, nullable=False)


def identity() -> Column[int]:
    """The row's own identity, given by the engine."""
    return Column("id", KEY, primary_key=True, autoincrement=True)
