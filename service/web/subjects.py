"""All pages."""

from service.web import (
    calls,
    charts,
    corrections,
    day,
    editing,
    labels,
    no_access,
    onboarding,
    owner,
    plan,
    pm_settings,
    register,
    signing_in,
    static_pages,
    triage,
    units,
    visits,
    whereabouts,
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
    editing.pages,
    whereabouts.pages,
    pm_settings.pages,
    onboarding.pages,
    labels.pages,
    owner.pages,
)
