"""All pages."""

from service.web import calls, day, owner, plan, register, signing_in, static_pages, triage, units, visits
from service.web.page import Pages

SUBJECTS: tuple[Pages, ...] = (
    static_pages.pages,
    signing_in.pages,
    day.pages,
    units.pages,
    visits.pages,
    triage.pages,
    calls.pages,
    plan.pages,
    register.pages,
    owner.pages,
)
