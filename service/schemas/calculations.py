"""JSON of the bench calculations: each question's and answer's schema, made from its dataclass."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from service.domain.bench.fields import Answer, Asked, Calculation, asked_of, required_of
from service.domain.quantities import UNITS_BY_DIMENSION, Quantity
from service.domain.record.structure import shape
from service.schemas.fields import Flag, Measure, Number, line, word
from service.schemas.figures import documented, results_schema, told_results


class Limited(Measure):
    """A measure whose limits are told in the document and in every refusal; the domain checks them."""

    def __init__(self, spans: Iterable[tuple[str, str, str]], example: str | None = None, **kwargs: Any) -> None:
        self.spans = tuple(spans)
        super().__init__(*(dimension for dimension, _, _ in self.spans), **kwargs)
        self.json_schema["anyOf"][0]["examples"] = [example or self.spans[0][2]]

    @property
    def limits(self) -> str:
        """The limits in words."""
        return " or ".join(f"from {low} to {high}" for _, low, high in self.spans)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Quantity:
        try:
            return super()._deserialize(value, attr, data, **kwargs)
        except ValidationError as refusal:
            raise ValidationError(
                [f"{message}; it must lie {self.limits}" for message in refusal.messages]
            ) from refusal


class Answered(Schema):
    """What every calculation answers beside its results."""

    calculation = fields.String(required=True)
    assumed = fields.Dict(
        required=True, metadata={"description": "what was taken for inputs that were not given, by field"}
    )
    method = fields.String(required=True)
    source = fields.String(required=True)
    notes = fields.List(fields.String(), required=True, metadata={"description": "what to know about these results"})
    cautions = fields.List(fields.String(), required=True, metadata={"description": "where the work can hurt"})


class InputSchema(Schema):
    """One input of a calculation; `parts` are those of each entry of a list."""

    name = fields.String(required=True)
    about = fields.String(required=True)
    required = fields.Boolean(required=True)
    usual = fields.Raw(required=True, allow_none=True, metadata={"description": "taken where nothing is given"})
    units = fields.List(fields.String(), required=True)
    limits = fields.String(required=True, allow_none=True)
    words = fields.List(fields.String(), required=True)
    parts = fields.List(fields.Nested("InputSchema"), required=True)


class ExampleSchema(Schema):
    """A request and its answer."""

    request = fields.Dict(required=True)
    answer = fields.Dict(required=True)


class CalculationSchema(Schema):
    """One calculation of the bench."""

    name = fields.String(required=True)
    title = fields.String(required=True)
    what_for = fields.String(required=True)
    path = fields.String(required=True)
    inputs = fields.List(fields.Nested(InputSchema), required=True)
    method = fields.String(required=True)
    source = fields.String(required=True)
    example = fields.Nested(ExampleSchema, required=True)


class CalculationList(Schema):
    """All calculations of the bench."""

    items = fields.List(fields.Nested(CalculationSchema), required=True)


def title_of(calculation: Calculation) -> str:
    """The calculation's name as the beginning of a schema's: GlycolMix."""
    return "".join(part.capitalize() for part in calculation.name.split("-"))


def question_schema(question: type[Any], name: str) -> type[Schema]:
    """The schema of a question; limits are the domain's affair, but told."""
    shapes, needed = shape(question), required_of(question)  # type: ignore[arg-type]  # any class is hashable
    made: dict[str, Any] = {}
    for field, asked in asked_of(question).items():
        part, repeated = shapes[field]
        more = _more(asked, required=field in needed)
        if part and repeated:
            least, most = asked.counts or (0, 0)
            nested = fields.Nested(question_schema(part, f"{name}{part.__name__}"))
            made[field] = fields.List(nested, validate=validate.Length(least, most), **more)
        else:
            made[field] = _leaf(asked, more)
    return documented(name, made, question.__doc__)


def _more(asked: Asked, *, required: bool) -> dict[str, Any]:
    taken = "" if asked.usual is None else f"; {str(asked.usual).lower()} unless told"
    limits = f"; {Limited(asked.spans).limits}" if asked.spans else ""
    return {"required": required, "metadata": {"description": f"{asked.about}{limits}{taken}"}}


def _leaf(asked: Asked, more: dict[str, Any]) -> Any:
    if asked.spans:
        return Limited(asked.spans, example=asked.usual, **more)
    if asked.words:
        return word(asked.words, **more)
    if asked.counts:
        return fields.Integer(strict=True, validate=validate.Range(*asked.counts), **more)
    if asked.amounts:
        return Number(validate=validate.Range(*asked.amounts), **more)
    return line(asked.longest, **more) if asked.longest else Flag(**more)


def answer_schema(calculation: Calculation) -> type[Schema]:
    """The schema of a calculation's whole answer."""
    name = title_of(calculation)
    results = results_schema(calculation.tells, f"{name}Results")  # type: ignore[arg-type]  # any class is hashable
    own = {"results": fields.Nested(results, required=True)}
    made: type[Schema] = type(f"{name}Answer", (Answered,), own | {"__doc__": f"{calculation.title}: the answer."})
    return made


def told_answer(answer: Answer, system: str) -> dict[str, Any]:
    """An answer as JSON."""
    calculation, outcome = answer.calculation, answer.outcome
    return {
        "calculation": calculation.name,
        "results": told_results(outcome.results, system),
        "assumed": dict(answer.assumed),
        "method": calculation.method,
        "source": calculation.source,
        "notes": list(outcome.notes),
        "cautions": [*outcome.cautions, *calculation.cautions],
    }


def told_calculation(calculation: Calculation, path: str, answer: Answer, system: str) -> dict[str, Any]:
    """A calculation as it is listed."""
    return {
        "name": calculation.name,
        "title": calculation.title,
        "what_for": calculation.what_for,
        "path": path,
        "inputs": told_inputs(calculation.asks),
        "method": calculation.method,
        "source": calculation.source,
        "example": {"request": dict(calculation.example), "answer": told_answer(answer, system)},
    }


def told_inputs(question: type[Any]) -> list[dict[str, Any]]:
    """What a question asks for, as JSON."""
    shapes, needed = shape(question), required_of(question)  # type: ignore[arg-type]  # any class is hashable
    return [
        {
            "name": field,
            "about": asked.about,
            "required": field in needed,
            "usual": asked.usual,
            "units": [unit for dimension, _, _ in asked.spans for unit in UNITS_BY_DIMENSION[dimension]],
            "limits": _limits(asked),
            "words": list(asked.words),
            "parts": told_inputs(part) if (part := shapes[field][0]) else [],
        }
        for field, asked in asked_of(question).items()
    ]


def _limits(asked: Asked) -> str | None:
    if asked.spans:
        return Limited(asked.spans).limits
    low_high = asked.counts or asked.amounts
    return f"from {low_high[0]:g} to {low_high[1]:g}" if low_high else None


def read_example(calculation: Calculation, schema: Schema) -> Mapping[str, Any]:
    """The calculation's own example, read as any request is."""
    read: Mapping[str, Any] = schema.load(dict(calculation.example))
    return read
