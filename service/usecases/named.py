"""Whether what a document names is recorded, so that a refusal for other reasons says that too."""

from collections.abc import Container, Mapping
from typing import Any

from service.domain.errors import Fault
from service.storage.store import Store


def unknown_names(store: Store, document: Mapping[str, Any], among: Container[str]) -> list[Fault]:
    """A fault for each field of the document, `among` those asked for, whose unit, site or the like is not recorded."""
    known = {
        "unit": lambda code: store.units.present_tag(code) is not None,
        "site": lambda code: store.sites.ids_of(code) is not None,
        "customer": lambda code: store.customers.id_of(code) is not None,
        "technician": lambda code: store.technicians.id_of(code) is not None,
    }
    given = ((name, document.get(name)) for name in known if name in among)
    return [
        Fault(name, code, f"there is no {name} {code!r}")
        for name, code in given
        if isinstance(code, str) and not known[name](code)
    ]
