"""JSON of the calculations: the schemas of inputs and answers, made from their dataclasses."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from service.domain.bench.fields import Answer, Calculation, Input, inputs_of, required_of
from service.domain.plain import shape
from service.domain.quantities import UNITS_BY_DIMENSION, Quantity
from service.schemas.bench_needs import NEEDS, REFRIGERANT
from service.schemas.fields import Choice, Count, Flag, Measure, Number, line
from service.schemas.figures import documented, results_schema, results_to_json
from service.schemas.measures import measure_schema, name_of, span_of
from service.schemas.reading import read


class Limited(Measure):
    """A measure whose limits are in the API document and in every error message; the domain checks them."""

    def __init__(self, spans: Iterable[tuple[str, str, str]], example: str | None = None, **kwargs: Any) -> None:
        self.spans = tuple(spans)
        more = {"examples": [example or self.spans[0][2]]} | kwargs.pop("metadata", {})
        super().__init__(*(dimension for dimension, _, _ in self.spans), metadata=more, **kwargs)
        in_si = [span_of(*span) for span in self.spans]
        self.json_schema = measure_schema(name_of(self.dimensions), in_si, digits=6)

    @property
    def limits(self) -> str:
        """The limits as text."""
        return " or ".join(f"from {low} to {high}" for _, low, high in self.spans)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Quantity:
        try:
            return super()._deserialize(value, attr, data, **kwargs)
        except ValidationError as refusal:
            raise ValidationError([f"{message}; it must be {self.limits}" for message in refusal.messages]) from refusal


class Answered(Schema):
    """The fields of every answer beside its results."""

    calculation = fields.String(required=True)
    assumed = fields.Dict(
        required=True, metadata={"description": "defaults used for inputs that were not given, by field"}
    )
    method = fields.String(required=True)
    source = fields.String(required=True)
    notes = fields.List(fields.String(), required=True, metadata={"description": "notes on these results"})
    cautions = fields.List(fields.String(), required=True, metadata={"description": "dangers of the work"})


class InputSchema(Schema):
    """One input of a calculation; `parts` are those of each entry of a list."""

    name = fields.String(required=True)
    description = fields.String(required=True)
    required = fields.Boolean(required=True)
    default = fields.Raw(required=True, allow_none=True, metadata={"description": "used where nothing is given"})
    units = fields.List(fields.String(), required=True)
    limits = fields.String(required=True, allow_none=True)
    choices = fields.List(fields.String(), required=True)
    parts = fields.List(fields.Nested("InputSchema"), required=True)


class ExampleSchema(Schema):
    """A request and its answer."""

    request = fields.Dict(required=True)
    answer = fields.Dict(required=True)


class CalculationSchema(Schema):
    """One calculation."""

    name = fields.String(required=True)
    title = fields.String(required=True)
    what_for = fields.String(required=True)
    path = fields.String(required=True)
    inputs = fields.List(fields.Nested(InputSchema), required=True)
    method = fields.String(required=True)
    source = fields.String(required=True)
    example = fields.Nested(ExampleSchema, required=True)


class CalculationList(Schema):
    """All calculations."""

    items = fields.List(fields.Nested(CalculationSchema), required=True)


def title_of(calculation: Calculation) -> str:
    """The calculation's name as the beginning of a schema's: GlycolMix."""
    return "".join(part.capitalize() for part in calculation.name.split("-"))


def input_schema(kind: type[Any], name: str) -> type[Schema]:
    """The schema of a calculation's inputs; the domain checks the limits."""
    shapes, needed = shape(kind), required_of(kind)  # type: ignore[arg-type]  # any class is hashable
    made: dict[str, Any] = {}
    for field, asked in inputs_of(kind).items():
        part = shapes[field].record
        more = _more(asked, required=field in needed)
        if part:
            least, most = asked.counts or (0, 0)
            nested = fields.Nested(input_schema(part, f"{name}{part.__name__}"))
            made[field] = fields.List(nested, validate=validate.Length(least, most), **more)
        else:
            made[field] = _field(asked, more)
            if field == "refrigerant":
                made[field].json_schema = REFRIGERANT
    return documented(name, made, kind.__doc__, more=NEEDS.get(kind, {}))


def _more(asked: Input, *, required: bool) -> dict[str, Any]:
    limits = f"; {Limited(asked.spans).limits}" if asked.spans else ""
    described: dict[str, Any] = {"description": f"{asked.description}{limits}"}
    if asked.default is not None:
        described["description"] += f"; default {_as_json(asked.default)}"
        described["default"] = asked.default
    return {"required": required, "metadata": described}


def _as_json(default: Any) -> str:
    return str(default).lower() if isinstance(default, bool) else str(default)


def _field(asked: Input, more: dict[str, Any]) -> Any:
    if asked.spans:
        return Limited(asked.spans, example=asked.default, **more)
    if asked.choices:
        return Choice(asked.choices, refused_later=asked.refused, **more)
    if asked.counts:
        return Count(validate=validate.Range(*asked.counts), **more)
    if asked.amounts:
        return Number(validate=validate.Range(*asked.amounts), **more)
    return line(asked.longest, **more) if asked.longest else Flag(**more)


def answer_schema(calculation: Calculation) -> type[Schema]:
    """The schema of a calculation's whole answer."""
    name = title_of(calculation)
    results = results_schema(calculation.results, f"{name}Results")  # type: ignore[arg-type]  # any class is hashable
    own = {"results": fields.Nested(results, required=True)}
    made: type[Schema] = type(f"{name}Answer", (Answered,), own | {"__doc__": f"{calculation.title}: the answer."})
    return made


def answer_to_json(answer: Answer, system: str) -> dict[str, Any]:
    """An answer as JSON."""
    calculation, outcome = answer.calculation, answer.outcome
    return {
        "calculation": calculation.name,
        "results": results_to_json(outcome.results, system),
        "assumed": dict(answer.assumed),
        "method": calculation.method,
        "source": calculation.source,
        "notes": list(outcome.notes),
        "cautions": [*outcome.cautions, *calculation.cautions],
    }


def calculation_to_json(calculation: Calculation, path: str, answer: Answer, system: str) -> dict[str, Any]:
    """A calculation as it is listed."""
    return {
        "name": calculation.name,
        "title": calculation.title,
        "what_for": calculation.what_for,
        "path": path,
        "inputs": inputs_to_json(calculation.inputs),
        "method": calculation.method,
        "source": calculation.source,
        "example": {"request": dict(calculation.example), "answer": answer_to_json(answer, system)},
    }


def inputs_to_json(kind: type[Any]) -> list[dict[str, Any]]:
    """The inputs of a calculation, as JSON."""
    shapes, needed = shape(kind), required_of(kind)  # type: ignore[arg-type]  # any class is hashable
    return [
        {
            "name": field,
            "description": asked.description,
            "required": field in needed,
            "default": asked.default,
            "units": [unit for dimension, _, _ in asked.spans for unit in UNITS_BY_DIMENSION[dimension]],
            "limits": _limits(asked),
            "choices": list(asked.choices),
            "parts": inputs_to_json(part) if (part := shapes[field].record) else [],
        }
        for field, asked in inputs_of(kind).items()
    ]


def _limits(asked: Input) -> str | None:
    if asked.spans:
        return Limited(asked.spans).limits
    low_high = asked.counts or asked.amounts
    return f"from {low_high[0]:g} to {low_high[1]:g}" if low_high else None


def read_example(calculation: Calculation, schema: Schema) -> Mapping[str, Any]:
    """The calculation's example, read as any request is."""
    return read(schema, dict(calculation.example))
