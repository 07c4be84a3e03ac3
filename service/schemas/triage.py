"""JSON of triage: what is asked, and the explanations with their probabilities."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.domain.assessment.operating_state import STATES, UNKNOWN
from service.domain.plain import to_plain
from service.domain.quantities import Quantity, show_quantity
from service.domain.record.visits import MOMENTS, SYMPTOMS
from service.domain.triage.explanations import EXPLANATIONS
from service.domain.triage.facts import LIMITS
from service.domain.triage.observations import CODES
from service.domain.triage.question import Triage
from service.schemas.fields import Choice, Code, Flag, Measure, Parts, Whole, line
from service.schemas.units import BathSchema, ComponentSchema, RefrigerationSchema, SupplySchema, TrunkSchema
from service.schemas.visits import ReadingSchema

EXPLANATION_CODES = tuple(each.code for each in EXPLANATIONS)


class TriageReadingSchema(ReadingSchema):
    """One measured quantity; what was found unless it says otherwise."""

    when = Choice(MOMENTS, load_default="as_found")


class SeenSchema(Schema):
    """Something that was looked, listened or asked for."""

    code = Choice(CODES, required=True)
    present = Flag(load_default=True, metadata={"description": "false: looked for, and not there"})
    component = Code(allow_none=True)
    note = line(2000, allow_none=True)


def _within(part: str, name: str) -> Measure:
    """A measure within the limits of the model."""
    limits = LIMITS[part, name]
    dimension = limits.dimension or ""
    unit = "deltaC" if dimension == "temperature_difference" else limits.unit
    return Measure(dimension, low=limits.low, high=f"{limits.high:g} {unit}", allow_none=True)


class DescribedSupplySchema(SupplySchema):
    """The electrical supply, where the model of triage holds."""

    voltage = _within("supply", "voltage")


class DescribedRefrigerationSchema(RefrigerationSchema):
    """The refrigerant circuit, where the model of triage holds."""

    rated_cooling = _within("refrigeration", "rated_cooling")
    rated_ambient = _within("refrigeration", "rated_ambient")
    rated_bath = _within("refrigeration", "rated_bath")
    clean_split = _within("refrigeration", "clean_split")


class DescribedBathSchema(BathSchema):
    """The glycol bath and its controller's settings, where the model of triage holds."""

    volume = _within("bath", "volume")
    set_point = _within("bath", "set_point")


class InstallationSchema(Schema):
    """What is known of a unit that is not recorded here."""

    supply = Whole(DescribedSupplySchema, allow_none=True)
    refrigeration = Whole(DescribedRefrigerationSchema, allow_none=True)
    bath = Whole(DescribedBathSchema, allow_none=True)
    components = Parts(ComponentSchema, most=200)
    trunks = Parts(TrunkSchema, most=50)


class TriageQuestionSchema(Schema):
    """A unit, recorded or described, with what is known of it now: by phone or at the unit."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "oneOf": [{"required": ["unit"]}, {"required": ["installation"]}],
    }

    unit = Code()
    installation = Whole(InstallationSchema)
    elevation = Measure(
        "length",
        low=-430,
        high="15000 ft",
        allow_none=True,
        metadata={
            "description": "of the site over the sea, for gauge pressures; default: as the unit's site records it"
        },
    )
    symptom = Choice(SYMPTOMS, allow_none=True)
    readings = Parts(TriageReadingSchema, most=200)
    observations = Parts(SeenSchema, most=100)


class StateSchema(Schema):
    """What the unit does, with its probability: inferred as in an assessment."""

    code = Choice((*STATES, UNKNOWN), required=True)
    probability = fields.Float(required=True)


class ComparedSchema(Schema):
    """A reading beside what the explanation predicts, with one standard deviation."""

    quantity = fields.String(required=True)
    component = fields.String(allow_none=True, required=True)
    measured = fields.Dict(required=True)
    predicted = fields.Dict(required=True)
    uncertainty = fields.Dict(required=True)


ExplainedSchema = Schema.from_dict(
    {
        "code": Choice(EXPLANATION_CODES, required=True),
        "with": Choice(EXPLANATION_CODES, allow_none=True, required=True),
        "probability": fields.Float(required=True),
        "sentence": fields.String(required=True),
        "because": fields.List(fields.String(), required=True, metadata={"description": "from the unit's history"}),
        "predicted": fields.List(fields.Nested(ComparedSchema), required=True),
        "test": fields.String(required=True, metadata={"description": "what would confirm it"}),
        "remedy": fields.String(required=True),
    },
    name="ExplainedSchema",
)
ExplainedSchema.__doc__ = "One explanation, or two at once, with its probability; the first three with predictions."


class UnseparatedSchema(Schema):
    """Explanations that the readings at hand cannot separate, and the step that would."""

    codes = fields.List(Choice(EXPLANATION_CODES), required=True)
    split_by = fields.String(allow_none=True, required=True)


class SecondFaultSchema(Schema):
    """A fault that may be there beside the likeliest explanation, with its probability."""

    code = Choice(EXPLANATION_CODES, required=True)
    beside = Choice(EXPLANATION_CODES, required=True, metadata={"description": "the likeliest explanation"})
    probability = fields.Float(required=True, metadata={"description": "that both are there"})
    test = fields.String(required=True, metadata={"description": "what would confirm it"})
    split_by = fields.String(allow_none=True, required=True, metadata={"description": "the step that best shows it"})


class RuledOutSchema(Schema):
    """An explanation that no longer counts, and what speaks most against it."""

    code = Choice(EXPLANATION_CODES, required=True)
    by = fields.String(required=True)


class ReadNextSchema(Schema):
    """A reading that a step takes."""

    quantity = fields.String(required=True)
    component = fields.String(allow_none=True, required=True)


class StepSchema(Schema):
    """A measurement worth making next: information gained for its minutes and its risk."""

    code = fields.String(required=True)
    do = fields.String(required=True)
    why = fields.String(required=True)
    minutes = fields.Float(required=True)
    risk = fields.String(required=True)
    bits = fields.Float(required=True, metadata={"description": "information about the explanation"})
    readings = fields.List(fields.Nested(ReadNextSchema), required=True)
    observations = fields.List(fields.String(), required=True)


class TriageSchema(Schema):
    """The explanations, most probable first, what is ruled out, and what to measure next."""

    state = fields.Nested(StateSchema, required=True)
    explanations = fields.List(fields.Nested(ExplainedSchema), required=True)
    cannot_separate = fields.List(fields.Nested(UnseparatedSchema), required=True)
    second_faults = fields.List(fields.Nested(SecondFaultSchema), required=True)
    ruled_out = fields.List(fields.Nested(RuledOutSchema), required=True)
    suspect_readings = fields.List(fields.String(), required=True)
    next = fields.List(fields.Nested(StepSchema), required=True)
    cautions = fields.List(fields.String(), required=True)


class ExplanationSchema(Schema):
    """One explanation that triage knows."""

    code = fields.String(required=True)
    sentence = fields.String(required=True)
    prior = fields.Float(required=True, metadata={"description": "share of calls for warm beer; judged, no source"})
    test = fields.String(required=True)
    remedy = fields.String(required=True)
    cautions = fields.List(fields.String(), required=True)


class SignSchema(Schema):
    """Something that can be observed: its code and the question for it."""

    code = fields.String(required=True)
    question = fields.String(required=True)


class AllExplanationsSchema(Schema):
    """All explanations, and the observations that triage takes."""

    explanations = fields.List(fields.Nested(ExplanationSchema), required=True)
    observations = fields.List(fields.Nested(SignSchema), required=True)


def triage_to_json(found: Triage, system: str) -> dict[str, Any]:
    """An answer as a JSON object, its quantities in the units of `system`."""

    def shown(quantity: Quantity) -> Any:
        return show_quantity(quantity, system)

    plain: dict[str, Any] = to_plain(found, shown, nulls=True)
    explanations = [
        {"with" if name == "also" else name: v for name, v in each.items()} for each in plain["explanations"]
    ]
    steps = [
        {**each, "readings": [{"quantity": quantity, "component": code} for quantity, code in step.readings]}
        for each, step in zip(plain["next"], found.next, strict=True)
    ]
    return {
        "state": {"code": found.state, "probability": found.state_probability},
        "explanations": explanations,
        "cannot_separate": plain["cannot_separate"],
        "second_faults": plain["second_faults"],
        "ruled_out": plain["ruled_out"],
        "suspect_readings": list(found.suspect),
        "next": steps,
        "cautions": list(found.cautions),
    }
