"""All pages."""

from service.web import (
    calls,
    charts,
    corrections,
    day,
    labels,
    no_access,
    owner,
    plan,
    register,
    signing_in,
    static_pages,
    triage,
    units,
    visits,
)
from service.web.page import Pages

SUBJECTS: tuple[Pages, ...] = (
    static_pages.pages,
    signing_in.pages,
    day.pages,
    units.pages,
    charts.pages,
    visits.pages,
    corrections.pages,
    no_access.pages,
    triage.pages,
    calls.pages,
    plan.pages,
    register.pages,
    labels.pages,
    owner.pages,
)
