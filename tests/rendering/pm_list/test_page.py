import re
from html.parser import HTMLParser

import pytest

from service.domain.maintenance.pm_list import PmList, Stop
from service.rendering.pm_list.page import render

VOID = {"meta", "br"}


class Page(HTMLParser):
    """Elements with their attributes, and the text that a reader sees."""

    def __init__(self, content):
        super().__init__()
        self.elements, self.open, self.seen = [], [], {}
        self.feed(content.decode())
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes another element"

    def handle_data(self, data):
        self.seen[self.open[-1] if self.open else ""] = (
            self.seen.get(self.open[-1] if self.open else "", "") + data + " "
        )

    @property
    def text(self):
        return " ".join(" ".join(words for tag, words in self.seen.items() if tag != "style").split())

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]


def test_elements_are_nested_properly(day):
    assert Page(render(day)).open == []


def test_has_its_language_and_title(day):
    page = Page(render(day))

    assert page.all("html") == [{"lang": "en"}]
    assert page.seen["title"].strip() == "PM list, Tue 2026-06-09"


def test_has_one_section_with_a_heading_and_a_table_a_stop(day):
    page = Page(render(day))

    assert (len(page.all("h1")), len(page.all("section"))) == (1, 2)
    assert (len(page.all("h2")), len(page.all("table"))) == (2, 2)
    assert [section["aria-labelledby"] for section in page.all("section")] == [head["id"] for head in page.all("h2")]


def test_every_header_cell_has_a_scope(day):
    scopes = [cell.get("scope") for cell in Page(render(day)).all("th")]

    assert (scopes.count("col"), scopes.count("row"), len(scopes)) == (14, 4, 18)


def test_totals_stand_on_top(day):
    text = Page(render(day)).text
    amounts = re.findall(r"<dt>([^<]+)</dt><dd>([^<]+)</dd>", render(day).decode())[:5]

    assert amounts == [
        ("overdue", "1"),
        ("due today", "2"),
        ("due soon", "1"),
        ("stops", "2"),
        ("of work, without travel", "1 h 50 min"),
    ]
    assert "within 7 days" in text


@pytest.mark.parametrize("late", ["12 days overdue", "due today", "due in 5 days", "Thu 2026-05-28"])
def test_shows_how_late_an_item_is(day, late):
    assert f">{late}<" in render(day).decode()


def test_draws_a_box_to_tick_for_each_item(day):
    assert [box["class"] for box in Page(render(day)).all("span") if box.get("role") == "img"] == ["box"] * 4


def test_collects_the_cautions_once_a_stop(day):
    content = render(day).decode()

    assert content.count("Wear gloves.") == 2  # two stops, of which one has it from three items
    assert content.count("Cautions at") == 2


def test_shows_what_the_technician_needs_at_the_door(day):
    content = render(day).decode()

    for words in ("12 Quay Street", "Ring twice.", "303 555 0134", "rhea", "above the walk-in", "soft brush, vacuum"):
        assert words in content


def test_leaves_out_what_is_not_known(day):
    assert "None" not in Page(render(day)).text


def test_names_the_day_of_a_site_that_is_a_day_ahead(day, row):
    ahead = Stop(day.stops[0].today.replace(day=10), (row(),))

    page = Page(render(PmList(0, (*day.stops, ahead), day.tasks)))

    assert "local date Wed 2026-06-10" in page.text


def test_an_empty_list_says_so(listed):
    page = Page(render(listed()))

    assert "Nothing is due within 7 days." in page.text
    assert page.all("table") == []


def test_an_empty_list_of_one_day_mentions_today(listed):
    assert "Nothing is due today." in Page(render(listed(horizon_days=0))).text


def test_mentions_further_stops(listed, row):
    assert "There are more stops" in Page(render(listed((row(),), next="x"))).text
    assert "There are more stops" not in Page(render(listed((row(),)))).text


def test_runs_nothing_and_fetches_nothing(hostile_list):
    page = Page(render(hostile_list))

    assert {"script", "img", "link", "iframe", "object", "form", "a"} & {tag for tag, _ in page.elements} == set()
    assert not [names for _, names in page.elements if {"src", "href", "style"} & set(names)]
    assert not [name for _, names in page.elements for name in names if name.startswith("on")]
    assert not re.search(r"url\(|@import", page.seen["style"])


def test_nothing_typed_becomes_an_element(hostile_list, failing, listed, row, task):
    tasks = (task(cautions=("x",), bring=("x",)),)
    harmless = listed((row(),), tasks=tasks, root_causes=failing.root_causes)

    assert [tag for tag, _ in Page(render(hostile_list)).elements] == [
        tag for tag, _ in Page(render(harmless)).elements
    ]


def test_shows_whatever_was_typed(hostile_list, hostile):
    page = Page(render(hostile_list))
    expected = " ".join(hostile.split())

    # unit, place, maker and model, task, why, bring; site twice, customer, address, phone, access, technician, caution
    assert page.text.count(expected) >= 14


def test_prints_without_tearing_an_item_apart(day):
    printed = Page(render(day)).seen["style"].split("@media print")[1]

    assert re.search(r"\btr\b[^{}]*\{ break-inside: avoid; \}", printed)
    assert "thead { display: table-header-group; }" in printed


def test_names_a_root_cause_once_for_each_unit(failing, day):
    assert render(failing).decode().count("keeps failing; probable cause: condenser fouled.") == 1
    assert "<h3>Check</h3>" not in render(day).decode()
