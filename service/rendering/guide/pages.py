"""A page of the guide: Markdown to plain HTML, without scripts and without anything from elsewhere."""

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.rules_core import StateCore
from markdown_it.token import Token
from markupsafe import Markup

LINK_TO_PAGE = re.compile(r"(?P<name>[a-z_]+)\.md(?P<rest>#.*)?")


def render(name: str, text: str, titles: Sequence[tuple[str, str]]) -> bytes:
    """The page `name` with this Markdown; `titles` are (name, title) of all pages, for the links at the top."""
    body = Markup(markdown().render(text))  # noqa: S704 - our own text, and raw HTML in it is escaped
    page = templates().get_template("page.html").render(name=name, title=title_of(text), titles=titles, body=body)
    return page.encode()


def title_of(text: str) -> str:
    """The first heading of a Markdown text.

    >>> title_of("# Owner" + chr(10) + "Text.")
    'Owner'
    """
    return text.partition("\n")[0].removeprefix("# ")


@cache
def markdown() -> MarkdownIt:
    """CommonMark with tables; headings get an id, tables a frame that scrolls, links to `x.md` lead to `/docs/x`."""
    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    made.core.ruler.push("heading_ids", _heading_ids)
    made.add_render_rule("table_open", _wide_table)
    made.add_render_rule("table_close", _wide_table_end)
    made.add_render_rule("link_open", _link)
    return made


@cache
def templates() -> Environment:
    """The templates beside this module."""
    return Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def slug(heading: str) -> str:
    """The id of a heading, as repository viewers make it too.

    >>> slug("Back up, restore")
    'back-up-restore'
    """
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


def _heading_ids(state: StateCore) -> None:
    for opening, inline in zip(state.tokens, state.tokens[1:], strict=False):
        if opening.type == "heading_open":
            opening.attrSet("id", slug("".join(part.content for part in inline.children or ())))


def _wide_table(*_: Any) -> str:
    return '<div class="wide"><table>\n'


def _wide_table_end(*_: Any) -> str:
    return "</table></div>\n"


def _link(self: RendererHTML, tokens: Sequence[Token], index: int, options: Any, env: Any) -> str:
    found = LINK_TO_PAGE.fullmatch(str(tokens[index].attrGet("href")))
    if found:
        tokens[index].attrSet("href", f"/docs/{found['name']}{found['rest'] or ''}")
    return self.renderToken(tokens, index, options, env)
