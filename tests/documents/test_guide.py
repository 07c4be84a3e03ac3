"""The guide at /docs: pages render, links lead somewhere, commands, settings and requests are the program's."""

import json
import re
import shlex
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import click
import pytest
from flask.testing import FlaskClient

from service.api import docs, examples
from service.app import RESOURCES, create_app, migrate, open_database
from service.domain.audit import Actor
from service.rendering.guide.pages import slug
from service.schemas.reading import read
from service.settings import FILE_NAME, PREFIX, Settings, from_environment
from service.usecases import tokens
from tests.test_cli import COMMANDS

ROOT = Path(__file__).parents[2]
GUIDE = ROOT / "openapi" / "guide"
README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXTS = {name: (GUIDE / f"{name}.md").read_text(encoding="utf-8") for name in docs.PAGES}
SERVER = "http://127.0.0.1:8410"
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
OPERATIONS = [operation for routes in RESOURCES for operation in routes.operations]


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FlaskClient]:
    """The application with an empty database; it is always 2026-06-09T21:00Z."""
    home = tmp_path_factory.mktemp("guide")
    settings = Settings(database_url=f"sqlite:///{home / FILE_NAME}", home=home)
    migrate(settings)
    database = open_database(settings)
    app = create_app(database, settings, clock=lambda: NOW)
    app.extensions["tokens"] = {role: token(database, role) for role in ("technician", "dispatcher", "owner")}
    yield app.test_client()
    database.close()


def token(database: Any, role: str) -> str:
    with database.writing() as store:
        made = Actor(name="setup", role="owner", request_id=None, at=NOW)
        return tokens.create(store, name=role, role=role, units_shown="us", actor=made)[1]


# Pages


class Page(HTMLParser):
    """What a page holds: tags, ids, links and text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(str(value))
            if name in ("href", "src"):
                self.links.append(str(value))

    def handle_data(self, data: str) -> None:
        self.text += data


PATHS = ["/docs", *(f"/docs/{name}" for name in docs.PAGES), "/docs/api"]


@pytest.mark.parametrize("path", PATHS)
def test_a_page_is_open_plain_and_complete_in_itself(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    page = Page(answer.text)

    assert (answer.status_code, answer.content_type) == (200, "text/html; charset=utf-8")
    assert page.tags.isdisjoint({"script", "link", "img", "iframe"})
    assert "url(" not in answer.text
    assert [link for link in page.links if not link.startswith(("/", "#"))] == []
    assert "prefers-color-scheme: dark" in answer.text
    assert 'name="viewport"' in answer.text
    assert len(page.ids) == len(set(page.ids))


@pytest.mark.parametrize("path", PATHS)
def test_every_link_of_a_page_leads_somewhere(client: FlaskClient, path: str) -> None:
    fragments: dict[str, set[str]] = {}
    for link in Page(client.get(path).text).links:
        target, _, fragment = link.partition("#")
        fragments.setdefault(target or path, set()).add(fragment)
    for target, named in fragments.items():
        answer = client.get(target)

        assert answer.status_code == 200, target
        assert named - {""} <= set(Page(answer.text).ids), target


def test_a_page_that_is_not_there_is_a_problem_document(client: FlaskClient) -> None:
    for name in ("nothing", "..", "index.md"):
        answer = client.get(f"/docs/{name}")
        assert (answer.status_code, answer.content_type) == (404, "application/problem+json")


@pytest.mark.parametrize(
    "path", [*GUIDE.glob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"], ids=lambda p: p.name
)
def test_every_link_of_a_text_leads_to_a_file_and_heading(path: Path) -> None:
    for link in re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8")):
        target, _, fragment = link.partition("#")
        file = path.parent / target if target else path

        assert file.is_file(), link
        assert not fragment or fragment in headings(file), link


def headings(path: Path) -> set[str]:
    return {slug(text) for text in re.findall(r"^#+ (.*)$", path.read_text(encoding="utf-8"), re.MULTILINE)}


def test_raw_html_in_a_text_is_escaped() -> None:
    from service.rendering.guide.pages import render

    assert "<script>" not in render("x", "# X\n\n<script>alert(1)</script>\n", []).decode()


def test_the_wheel_brings_every_folder_that_the_program_asks_for() -> None:
    asked = {
        name
        for path in (ROOT / "service").rglob("*.py")
        for name in re.findall(r'shipped\("(\w+)"\)', path.read_text(encoding="utf-8"))
    }
    wheel = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["hatch"]["build"]["targets"]["wheel"]
    brought = {target.split("/")[2] for target in wheel["force-include"].values()}

    assert asked == brought
    assert wheel["force-include"]["openapi/guide"] == "service/bundled/openapi/guide"


# The reference


def operation_texts(html: str) -> dict[str, str]:
    """The text of each operation and object by its id."""
    parts = re.split(r'(?=<div class="within" id=")', html)[1:]
    return {Page(part).ids[0]: Page(part).text for part in parts}


def test_the_reference_holds_every_operation_with_all_that_belongs_to_it(client: FlaskClient) -> None:
    html = client.get("/docs/api").text
    texts = operation_texts(html)
    document = client.get("/openapi.json").get_json()
    for path, item in document["paths"].items():
        for method, given in item.items():
            text = texts[given["operationId"]]
            assert f"{method.upper()} <code>{path}</code>" in html
            assert ", ".join(given.get("x-roles", ["everyone, without a token"])) in text
            assert [each["name"] for each in given["parameters"] if each["name"] not in text] == []
            assert [status for status in given["responses"] if status not in text] == []
            for content in given.get("requestBody", {}).get("content", {}).values():
                assert [name for name in body_fields(document, content["schema"]) if name not in text] == []
                assert "example" not in content or json.dumps(content["example"], indent=2, ensure_ascii=False) in text
    assert set(document["components"]["schemas"]) <= set(texts)


def body_fields(document: dict[str, Any], schema: dict[str, Any]) -> list[str]:
    whole = document["components"]["schemas"].get(schema.get("$ref", "").rpartition("/")[2], {})
    return [name for name, each in whole.get("properties", {}).items() if not each.get("readOnly")]


WITH_BODY = [operation for operation in OPERATIONS if operation.body is not None]


@pytest.mark.parametrize("operation", WITH_BODY, ids=lambda operation: operation.view.__name__)
def test_every_body_has_an_example_that_its_schema_accepts(operation: Any) -> None:
    assert read(operation.body, examples.body_of(operation))


def test_no_example_is_left_over() -> None:
    assert set(examples.BODIES) <= {operation.view.__name__ for operation in WITH_BODY}


def test_kinds_of_values_are_words() -> None:
    from service.rendering.guide.reference import _kind

    assert _kind({"type": ["integer", "null"]}) == "whole number or null"
    assert _kind({"type": "array", "items": {"$ref": "#/components/schemas/Run"}}) == 'list of <a href="#Run">Run</a>'
    assert _kind({"type": "string", "format": "date"}) == "date"


# Requests


ROLES = {
    "operation": "owner",
    "dispatcher": "dispatcher",
    "technician": "technician",
    "index": "owner",
    "owner": "owner",
    "spreadsheets": "owner",
    "clients": "owner",
    "moving": "owner",
}


def test_the_requests_of_the_guide_are_accepted_with_a_token_of_the_role(client: FlaskClient) -> None:
    """In the order of work: set up, register, visit, decide."""
    given = client.application.extensions["tokens"]
    answers = [
        (name, path, client.open(path, **more).status_code, 201 if stores(path, more) else 200)
        for name, role in ROLES.items()
        for block in blocks(TEXTS[name])
        for path, more in curls(block.replace("$TOKEN", given[role]))
    ]

    assert {name for name, *_ in answers} == set(docs.PAGES)
    assert [answer for answer in answers if answer[2] != answer[3]] == []


def blocks(text: str) -> list[str]:
    return re.findall(r"```sh\n(.*?)```", text, re.DOTALL)


def stores(path: str, more: dict[str, Any]) -> bool:
    """Whether a request creates a record; calculations, assessments, triage, voids and dry runs do not."""
    return more["method"] == "POST" and not re.match(
        r"/v1/(calculations|assessments|triage)|.*(/(un)?void|dry_run=true)$", path
    )


def curls(block: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """(path, method, body and headers) of each curl line."""
    for line in re.findall(r"^curl .*?(?=^\S|\Z)", block.replace("\\\n", " "), re.DOTALL | re.MULTILINE):
        words = shlex.split(line)
        given = {option: [value for name, value in pairwise(words) if name == option] for option in ("-H", "-d", "-X")}
        (path,) = (word.removeprefix(SERVER) for word in words if word.startswith(SERVER))
        headers = dict(header.split(": ", 1) for header in given["-H"])
        method = given["-X"][0] if given["-X"] else "POST" if given["-d"] else "GET"
        yield path, {"method": method, "data": "".join(given["-d"]), "headers": headers}


# Commands and settings


ROWS = re.findall(r"^\| `((?:[a-z-]+ ?)+.*?)` \|", TEXTS["operation"].partition("## Settings")[0], re.MULTILINE)
NAMED = [
    words
    for text in (README, *TEXTS.values())
    for code in (*blocks(text), *re.findall(r"`[^`\n]+`", text))
    for words in re.findall(r"glycol-fleet ([a-z][^)#\n`]*)", code)
]


def named(words: str) -> tuple[tuple[str, ...], list[str]]:
    """The command that some words name, and the options they use."""
    first, *rest = re.findall(r"-*[a-z]+(?:-[a-z]+)*", words)[:2]
    path = (first, *rest[:1]) if first in ("token", "audit") else (first,)
    return path, re.findall(r"--[a-z-]+", words)


@pytest.mark.parametrize("words", NAMED)
def test_every_command_that_a_text_names_is_there(words: str) -> None:
    path, options = named(words)

    assert path in COMMANDS
    assert set(options) <= {option for parameter in COMMANDS[path].params for option in parameter.opts}


def test_the_table_of_commands_has_every_command_with_all_its_options() -> None:
    listed: dict[tuple[str, ...], set[str]] = {}
    for path, options in map(named, ROWS):
        listed.setdefault(path, set()).update(options)
    there = {
        path: {option for each in command.params if isinstance(each, click.Option) for option in each.opts}
        for path, command in COMMANDS.items()
    }

    assert listed == there


def test_the_table_of_settings_has_every_setting_with_its_default() -> None:
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \| .*? \|$", TEXTS["operation"], re.MULTILINE)
    listed = {name: default.strip("`") for name, default in rows if name.startswith(PREFIX)}
    chosen = from_environment({})
    values = {PREFIX + each.name.upper(): getattr(chosen, each.name) for each in fields(Settings)}
    there = {name: "none" if value in (None, ()) else str(value) for name, value in values.items()}
    of_this_machine = (f"{PREFIX}DATABASE_URL", f"{PREFIX}HOME")

    assert listed == there | {name: listed[name] for name in of_this_machine}


# README


def test_the_readme_is_short_and_leads_to_every_page() -> None:
    assert len(README.split()) < 700
    assert [name for name in docs.PAGES if f"openapi/guide/{name}.md" not in README] == []


@pytest.mark.parametrize("name", ["demo", "test"])
def test_a_command_of_the_readme_is_one_line(name: str) -> None:
    (block,) = re.findall(rf"<!-- {name} -->\n```sh\n(.*?)```\n<!-- end -->", README, re.DOTALL)

    assert block.count("\n") == 1
