"""The report of one visit, to leave with the customer."""

from datetime import datetime

from service.domain.errors import NotFound
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.summary.visit_report import Around, VisitReport, visit_report
from service.storage.store import Store
from service.usecases.maintenance.due import due_at


def report_of(store: Store, visit_id: str, now: datetime, units_shown: str | None, usual: str) -> VisitReport:
    """The report of a visit with what is due at the unit now; NotFound for one that is voided.

    In the units asked for, else in the customer's, else in the usual ones.
    """
    visit = store.visits.get(visit_id)
    if visit.void is not None:
        raise NotFound("report of the voided visit", visit_id)
    customer = store.customers.get(visit.customer)
    log, (due, today) = store.log_of(visit.unit), due_at(store, visit.unit, now)
    around = Around(
        company=store.company.get().letterhead,
        customer=customer.name,
        site=store.sites.get(visit.site),
        unit=log.unit,
        technicians={each.code: each.name for each in store.technicians.by_id().values()},
        tasks={task.code: task.name for task in CATALOGUE},
        due=due,
        today=today,
        complaint=log.complaint_of(visit),
        system=units_shown or customer.units_shown or usual,
    )
    return visit_report(visit, around)
