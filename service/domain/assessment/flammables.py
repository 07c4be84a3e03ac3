"""A flammable refrigerant, and possible ignition sources."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence, listed
from service.domain.assessment.finding import Finding
from service.domain.assessment.refrigerant_of import REFRIGERANT, the_refrigerant
from service.domain.assessment.rule import Rule, note, stop
from service.domain.maintenance.catalogue import LICENSED

ELECTRICAL_KINDS = frozenset(
    {
        "power_switch", "contactor", "temperature_controller", "power_cord", "overload_protector", "start_relay",
        "start_capacitor", "compressor", "condenser_fan", "pump", "pump_motor", "agitator",
    }
)  # fmt: skip


def sparks(e: Evidence) -> list[str]:
    """Possible ignition sources that the visit found."""
    burnt = [
        f"{part.component} burnt"
        for part in e.visit.replacements
        if part.condition == "burnt" and part.component in e.parts and e.parts[part.component].kind in ELECTRICAL_KINDS
    ]
    return burnt + (["controls scorched"] if "controls_scorched" in e.seen else [])


def _flammable(e: Evidence) -> Iterator[Finding]:
    fluid = the_refrigerant(e)
    if not fluid.flammable:
        return
    burns = f"{fluid.name} is flammable (class {fluid.safety_class})"
    found = sparks(e)
    if not found:
        advice = "Ventilate, keep flames and sparks away, check for leaks first, and use only parts rated for it."
        yield note("refrigerant_flammable", f"{burns}.", advice=advice, refrigerant=fluid.name)
        return
    yield stop(
        "flammable_and_ignition",
        f"{burns}, and the visit found a possible ignition source: {listed(found)}.",
        advice="Switch the power off outside the area, keep people and flames away and ventilate. Check for a leak "
        "with a detector made for this gas. Restart only when every electrical part is sound and rated "
        "for this refrigerant.",
        refrigerant=fluid.name,
        safety_class=fluid.safety_class,
        found=", ".join(found),
    )


RULES = (
    Rule(
        codes=("flammable_and_ignition", "refrigerant_flammable"),
        needs=(REFRIGERANT,),
        judge=_flammable,
        shows="whether the refrigerant is flammable",
        source="ANSI/ASHRAE Standard 34 classes; IEC 60335-2-89 and UL 60335-2-89: no ignition source, "
        "rated parts only",
        runs="whole",
        caution="Only people trained and, where the law asks for it, certified for flammable refrigerants work on this "
        f"unit. {LICENSED}",
        weight=0.3,
    ),
)
