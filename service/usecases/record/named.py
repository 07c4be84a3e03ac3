"""Whether what a document names is recorded, so that a refusal for other reasons says that too."""

from collections.abc import Iterable

from service.domain.errors import Fault
from service.storage.store import Store

KIND_OF = {"unit": "unit", "site": "site", "customer": "customer", "technician": "technician", "crew": "technician"}


def unknown_names(store: Store, given: Iterable[tuple[str, str, str]]) -> list[Fault]:
    """A fault for each (path, field, code) whose unit, site or the like is not recorded."""
    known = {
        "unit": lambda code: store.units.present_tag(code) is not None,
        "site": lambda code: store.sites.ids_of(code) is not None,
        "customer": lambda code: store.customers.id_of(code) is not None,
        "technician": lambda code: store.technicians.id_of(code) is not None,
    }
    return [
        Fault(path, code, f"there is no {KIND_OF[name]} {code!r}")
        for path, name, code in given
        if not known[KIND_OF[name]](code)
    ]
