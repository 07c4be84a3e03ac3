"""The office's pages in one list: what the menu of a phone has no room for."""

from flask import Response

from service.api.auth import OFFICE
from service.web.page import Pages
from service.web.render import show

pages = Pages("office")


@pages.get("/office", allow=OFFICE)
def overview() -> Response:
    """The pages that the role may open, with what is done there."""
    return show("office.html")
