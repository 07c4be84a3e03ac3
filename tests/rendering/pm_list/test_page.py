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

    assert (len(page.all("h1")), len(page.all("section"))) == (1, 3)  # the last one has the cautions
    assert (len(page.all("h2")), len(page.all("table"))) == (3, 2)
    assert [section["aria-labelledby"] for section in page.all("section")] == [head["id"] for head in page.all("h2")]


def test_every_header_cell_has_a_scope(day):
    scopes = [cell.get("scope") for cell in Page(render(day)).all("th")]

    assert (scopes.count("col"), scopes.count("rowgroup"), scopes.count("row"), len(scopes)) == (12, 3, 4, 19)


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


def test_writes_each_caution_once_and_points_to_it(day):
    page = Page(render(day))
    points = [link["href"] for link in page.all("a") if link["href"].startswith("#")]

    assert page.text.count("Wear gloves.") == 1
    assert points == ["#caution-1", "#caution-2", "#caution-1", "#caution-2"]
    assert {f"#{item['id']}" for item in page.all("li") if "id" in item} == set(points)


def test_a_tap_dials_or_shows_the_place(day):
    links = [link["href"] for link in Page(render(day)).all("a") if not link["href"].startswith("#")]

    assert links == ["geo:39.740000,-104.990000", "tel:3035550134"]


def test_the_items_of_a_unit_are_one_group(day):
    page = render(day).decode()
    groups = re.findall(r"<tbody>(.*?)</tbody>", page, re.DOTALL)

    assert [re.findall(r"GU-[0-9]+", group) for group in groups] == [["GU-0007"], ["GU-0008"], ["GU-0011"]]
    assert [group.count('class="box"') for group in groups] == [2, 1, 1]


def test_printed_pages_have_date_and_number_and_room_to_write(day):
    page = render(day).decode()
    printed = Page(page.encode()).seen["style"].split("@media print")[1]

    assert 'content: "PM list, Tue 2026-06-09"' in printed
    assert 'content: "Page " counter(page) " of " counter(pages)' in printed
    assert re.search(r"tr, tbody, [^{}]*\{ break-inside: avoid; \}", printed)
    assert re.search(r"\.notes, \.see \{ break-before: avoid; \}", printed)
    assert ">Found, notes<" in page


def test_shows_what_the_technician_needs_at_the_door(day):
    content = render(day).decode()

    for words in (
        "12 Quay Street",
        "Ring twice.",
        "303 555 0134",
        "rhea",
        "above the walk-in",
        "soft brush, vacuum, ammeter",
    ):
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

    assert {"script", "img", "link", "iframe", "object", "form"} & {tag for tag, _ in page.elements} == set()
    assert not [names for _, names in page.elements if {"src", "style"} & set(names)]
    links = [names["href"] for _, names in page.elements if "href" in names]
    assert all(re.fullmatch(r"tel:\+?[0-9]+|geo:-?[0-9.]+,-?[0-9.]+|#caution-[0-9]+", link) for link in links)
    assert not [name for _, names in page.elements for name in names if name.startswith("on")]
    assert not re.search(r"url\(|@import", page.seen["style"])


def test_nothing_typed_becomes_an_element(hostile_list, failing, listed, row, task):
    tasks = (task(cautions=("x",), bring=("x",)),)
    harmless = listed((row(phone="none"),), tasks=tasks, root_causes=failing.root_causes)

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
