"""All pages."""

from service.web import signing_in, static_pages
from service.web.page import Pages

SUBJECTS: tuple[Pages, ...] = (static_pages.pages, signing_in.pages)
