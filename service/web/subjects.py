"""All pages."""

from service.web import day, signing_in, static_pages, units, visits
from service.web.page import Pages

SUBJECTS: tuple[Pages, ...] = (static_pages.pages, signing_in.pages, day.pages, units.pages, visits.pages)
