"""Reading a document by its schema, on schemas of toys."""

import pytest
from marshmallow import Schema, ValidationError, fields, validate

from service.domain.errors import Invalid
from service.schemas.fields import Count, Flag, Measure, Number, Parts, Whole, line
from service.schemas.reading import read


class PartSchema(Schema):
    """A part of a toy."""

    code = line(3, required=True)
    sizes = fields.List(Number(), validate=validate.Length(max=3))


class ToySchema(Schema):
    """A toy."""

    name = line(9, required=True)
    colour = line(9, allow_none=True)
    wheels = Count(load_default=4)
    soft = Flag()
    parts = Parts(PartSchema, most=5)
    box = Whole(PartSchema, allow_none=True)
    lid = fields.Nested(PartSchema)
    spares = fields.List(fields.Nested(PartSchema), validate=validate.Length(max=5))
    table = fields.Dict(values=fields.String(), validate=validate.Length(max=2))
    id = fields.Integer(dump_only=True)


def refused(document: object, schema: Schema | None = None) -> list[tuple[str, str]]:
    with pytest.raises(Invalid) as caught:
        read(schema or ToySchema(), document)
    return [(fault.field, fault.message) for fault in caught.value.faults]


def test_what_is_given_is_read_with_the_defaults_of_the_rest() -> None:
    part = {"code": "a", "sizes": [1, 2.5]}
    given = {"name": "bear", "colour": None, "soft": True, "parts": [part], "box": None, "table": {"a": "b"}}

    assert read(ToySchema(), given) == {**given, "wheels": 4}


@pytest.mark.parametrize(
    ("field", "wrong", "message"),
    [
        ("parts", {}, "Not a valid list."),
        ("parts", "", "Not a valid list."),
        ("parts", None, "Field may not be null."),
        ("parts.0", [], "Invalid input type."),
        ("box", [], "Invalid input type."),
        ("table", [], "Invalid input type."),
        ("table.a", 1, "Not a valid string."),
        ("wheels", "4", "Not a valid integer."),
        ("wheels", 4.5, "Not a valid integer."),
        ("wheels", True, "Not a valid integer."),
        ("soft", 0, "Not a valid boolean."),
        ("name", 7, "Not a valid string."),
        ("id", 1, 'Unknown field. Did you mean "lid"?'),
        ("size", 1, "Unknown field."),
    ],
)
def test_another_type_is_refused(field: str, wrong: object, message: str) -> None:
    name, _, inner = field.partition(".")
    value = {"": wrong, "0": [wrong]}.get(inner, {inner: wrong})

    assert refused({"name": "bear", name: value}) == [(field, message)]


@pytest.mark.parametrize("document", [None, [], "text", 7])
def test_a_document_that_is_no_object_is_a_fault_of_the_body(document: object) -> None:
    assert refused(document) == [("body", "Invalid input type.")]


def test_a_whole_number_with_a_point_is_one_as_in_json_schema() -> None:
    assert read(ToySchema(), {"name": "cart", "wheels": 3.0})["wheels"] == 3


def test_a_patch_needs_no_field_but_those_of_whole_parts() -> None:
    patch = ToySchema(partial=True)

    assert read(patch, {}) == {}
    assert read(patch, {"lid": {}, "spares": [{}]}) == {"lid": {}, "spares": [{}]}
    assert refused({"parts": [{}], "box": {}}, patch) == [
        ("parts.0.code", "Missing data for required field."),
        ("box.code", "Missing data for required field."),
    ]


def test_only_the_named_fields_of_a_patch_are_optional() -> None:
    assert refused({}, PartSchema(partial=("sizes",))) == [("code", "Missing data for required field.")]


def test_the_length_is_refused_and_no_part_read() -> None:
    assert refused({"name": "bear", "parts": [{}] * 6}) == [("parts", "Longer than maximum length 5.")]
    assert refused({"name": "bear", "table": {"a": 1, "b": 2, "c": 3}}) == [("table", "Longer than maximum length 2.")]


def test_fifty_faults_are_named_and_the_rest_counted() -> None:
    with pytest.raises(Invalid) as caught:
        read(ToySchema(), {"name": "bear"} | {f"more {n}": n for n in range(60)})

    assert (len(caught.value.faults), caught.value.more) == (50, 10)
    assert str(caught.value).startswith("50 of 60 faults are named; more 0: Unknown field.; ")


def test_reading_stops_at_a_thousand_faults() -> None:
    with pytest.raises(Invalid) as caught:
        read(ToySchema(), {f"more {n}": n for n in range(100_000)})

    assert (len(caught.value.faults), caught.value.more) == (50, 950)
    assert str(caught.value).startswith("50 of at least 1000 faults are named; ")


def test_a_list_without_a_largest_length_is_a_fault_of_its_schema() -> None:
    class Endless(Schema):
        """A toy without end."""

        parts = fields.List(fields.String())

    with pytest.raises(TypeError, match="parts needs a largest length"):
        read(Endless(), {})


def test_a_value_that_rounding_put_beyond_a_limit_is_the_limit() -> None:
    """2 in are shown as 0.166667 ft, which is 0.0508001 m: more than 2 in."""
    bore = Measure("length", low=0, high="2 in")

    assert bore.deserialize("0.166667 ft").value == bore.deserialize("2 in").value
    with pytest.raises(ValidationError, match="above the highest"):
        bore.deserialize("0.16669 ft")
