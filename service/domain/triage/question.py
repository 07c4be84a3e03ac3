"""What triage is asked, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.domain.physics.refrigeration.superheat import atmosphere_at
from service.domain.quantities import Quantity
from service.domain.record.fleet import Unit
from service.domain.record.visits import Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Something that was looked for: its code, and whether it was there."""

    code: str
    present: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A unit and what is known of it now; `shifts` are factors on priors from its history, with reasons."""

    unit: Unit
    symptom: str | None = None
    readings: tuple[Reading, ...] = ()
    seen: tuple[Seen, ...] = ()
    elevation: float | None = None  # [m] of the site
    shifts: Mapping[str, tuple[float, str]] = field(default_factory=dict)

    @property
    def atmosphere(self) -> float | None:
        """The pressure of the air at the site [Pa], None where its elevation is not known."""
        return None if self.elevation is None else atmosphere_at(self.elevation)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A reading beside what an explanation predicts for it."""

    quantity: str
    component: str | None
    measured: Quantity
    predicted: Quantity
    uncertainty: Quantity  # one standard deviation


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """One explanation, or two at once, with its probability; the first few have their predictions."""

    code: str
    also: str | None
    probability: float
    sentence: str
    test: str
    remedy: str
    because: tuple[str, ...] = ()
    predicted: tuple[Compared, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuledOut:
    """An explanation that no longer counts, and what excludes it."""

    code: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A measurement worth making next."""

    code: str
    do: str
    why: str
    minutes: float
    risk: str
    bits: float
    readings: tuple[tuple[str, str | None], ...] = ()  # quantity and the component where it is read
    observations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unseparated:
    """Explanations that the readings at hand cannot separate, and the step that would."""

    codes: tuple[str, ...]
    split_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Second:
    """A fault that may be there beside the likeliest one: its probability, its test, and the step that shows it."""

    code: str
    beside: str
    probability: float
    test: str
    split_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Triage:
    """The whole answer, the most probable explanation first."""

    state: str
    state_probability: float
    explanations: tuple[Explained, ...]
    cannot_separate: tuple[Unseparated, ...] = ()
    second_faults: tuple[Second, ...] = ()
    ruled_out: tuple[RuledOut, ...] = ()
    suspect: tuple[str, ...] = ()
    next: tuple[Step, ...] = ()
    cautions: tuple[str, ...] = ()
