"""A stored visit set right by form: the rest stays, the former text is kept, moves and voids have reasons."""

import re
from html import unescape

import pytest

from tests.web.conftest import Browser, technician_of
from tests.web.test_pages import EVIL

EXAMPLE = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
FIELD = re.compile(r"<(input|textarea|select|option)\b([^>]*)>([^<]*)")
KEPT = ("id", "version", "corrections", "posted_at", "posted_by")


@pytest.fixture
def at_unit(site) -> Browser:
    """Rhea's browser, at a fleet with the example's unit and visit."""
    site.unit()
    site.post("/v1/visits", site.example("visit"))
    return technician_of(site)


def attributes(text: str) -> dict[str, str]:
    return {name: unescape(value) for name, value in re.findall(r'([\w-]+)="([^"]*)"', text)} | {
        name: "" for name in ("checked", "selected") if re.search(rf"\b{name}$|\b{name}\s", text)
    }


def fields(page: str) -> list[tuple[str, str]]:
    """What a browser would send of the form on a page, as it was opened."""
    sent, select, first = [], "", ""
    body = page.partition('id="visit"')[2].partition("</form>")[0]
    for tag, text, content in FIELD.findall(body):
        has = attributes(text)
        if tag == "select":
            select, first = has["name"], ""
            sent.append((select, ""))
        elif tag == "option":
            if "selected" in has or not first:
                first = "given"
                sent[-1] = (select, has["value"])
        elif tag == "textarea":
            sent.append((has["name"], unescape(content)))
        elif has.get("type") not in ("radio", "checkbox") or "checked" in has:
            sent.append((has["name"], has.get("value", "")))
    return sent


def change(at_unit, given):
    """The form as it was opened, sent with some fields changed."""
    page = at_unit.open(f"/visits/{EXAMPLE}/correct").text
    kept = [(name, value) for name, value in fields(page) if name not in given]
    return at_unit.send(f"/visits/{EXAMPLE}/correct", [*kept, *given.items()])


def content(site) -> dict:
    visit = site.get(f"/v1/visits/{EXAMPLE}?units=us")
    return {name: value for name, value in visit.items() if name not in KEPT}


def test_the_form_opens_with_what_is_stored(at_unit) -> None:
    page = at_unit.open(f"/visits/{EXAMPLE}/correct").text
    sent = dict(fields(page))

    assert {
        "day": "2026-06-09", "arrived": "13:05", "left_at": "14:40", "kind": "service_call", "technician": "rhea",
        "found:bath_temperature::": "47", "bath:0": "38", "bath_at:0": "14:30", "found:glycol_strength::": "24.5",
        "strength_in": "brix", "task:condenser_clean": "done", "grade:condenser_clean": "blocked",
        "part:contactor-1": "precaution", "part:thermostat-1": "unknown", "on:thermostat-1": "2026-05-20",
        "seen": "cover_panel_missing", "outcome": "recovering", "words": "first glass all foam since Sunday",
    }.items() <= sent.items()  # fmt: skip
    assert "This form has no field for: current fan-1 1.3 A as left." not in page


def test_what_is_not_recorded_is_in_closed_parts_of_the_form(at_unit) -> None:
    """Before a closed part only what the visit has; each task and each reading once on the page all the same."""
    page = at_unit.open(f"/visits/{EXAMPLE}/correct").text
    readings, tasks = (page.partition(f'<h2 id="{part}">')[2] for part in ("readings", "work-due"))

    assert 'name="found:bath_temperature::"' in readings.partition("<details")[0]
    assert 'name="found:bath_level::"' not in readings.partition("<details")[0]
    assert "<details><summary>More readings</summary>" in readings
    shown = tasks.partition("<summary>More tasks")[0]
    assert set(re.findall(r'name="task:(\w+)" value="done"( checked)?', shown)) == {("condenser_clean", " checked")}
    for name in re.findall(r'(?:name="task:\w+" value="done")|(?:name="found:[^"]+")', page):
        assert page.count(name) == 1, name
    assert page.count('value="done"') > 8


def test_sent_as_it_was_opened_it_changes_nothing(at_unit, site) -> None:
    before = site.get(f"/v1/visits/{EXAMPLE}")
    answer = change(at_unit, {"why": "nothing"})

    assert answer.status_code == 422
    assert "Nothing in the form differs from what is stored." in answer.text
    assert site.get(f"/v1/visits/{EXAMPLE}") == before


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"found:bath_temperature::": "49"}, "readings"),
        ({"outcome": "running"}, "outcome"),
        ({"task:condenser_clean": "not_done", "reason:condenser_clean": "locked"}, "tasks"),
        ({"condition:fan-1": "worn"}, "replacements"),
        ({"seen": "oil_stain"}, "observations"),
        ({"words": "foam since Monday"}, "complaint"),
        ({"advice": ""}, "advice"),
    ],
)
def test_what_is_changed_is_corrected_and_the_rest_stays(at_unit, site, changes, name) -> None:
    before = content(site)
    answer = change(at_unit, changes | {"why": "misread"})
    after, corrections = content(site), site.get(f"/v1/visits/{EXAMPLE}")["corrections"]

    assert answer.status_code == 303, answer.text[-3000:]
    assert {field for field in before | after if before.get(field) != after.get(field)} == {name}
    assert [(each["by"], each["why"]) for each in corrections] == [("rhea", "misread")]
    assert "corrected. misread" in at_unit.page(f"/visits/{EXAMPLE}")
    assert "changed later" in at_unit.page("/units/GU-0007")


def test_of_a_list_only_the_part_changes_that_was_changed(at_unit, site) -> None:
    """What the form has no field for, as the temperature of a sample, the customer's time, and a second reading."""
    second = {"quantity": "bath_temperature", "value": "46 degF", "when": "as_found", "at": "2026-06-09T13:25:00-06:00"}
    known = site.example("visit")["readings"]
    site.patch(f"/v1/visits/{EXAMPLE}", {"readings": [*known, second], "why": "one more"}, 1)
    change(at_unit, {"found:glycol_strength::": "25", "words": "foam", "why": "misread"})
    visit = site.get(f"/v1/visits/{EXAMPLE}?units=us")

    assert "bath temperature 46 degF as found" in at_unit.page(f"/visits/{EXAMPLE}/correct")
    assert [reading["value"]["entered"] for reading in visit["readings"]] == [
        "47 degF", "38 degF", "1.3 A", "25 Brix", "46 degF",
    ]  # fmt: skip
    assert visit["readings"][3]["sample_temperature"]["entered"] == "20 degC"
    assert visit["complaint"] == {
        "symptom": "foaming", "reported_at": "2026-06-09T11:20:00-06:00", "words": "foam",
    }  # fmt: skip


def test_a_reading_is_taken_out_and_another_put_in(at_unit, site) -> None:
    change(at_unit, {"bath:0": "", "bath_at:0": "", "found:ambient_temperature::": "88", "why": "mixed up"})

    assert [(r["quantity"], r["value"]["entered"]) for r in site.get(f"/v1/visits/{EXAMPLE}?units=us")["readings"]] == [
        ("bath_temperature", "47 degF"),
        ("current", "1.3 A"),
        ("glycol_strength", "24.5 Brix"),
        ("ambient_temperature", "88 degF"),
    ]


def test_in_other_units_nothing_is_rounded_that_was_not_changed(at_unit, site) -> None:
    owner, before = Browser(site, site.tokens["owner"]), content(site)
    form = dict(fields(owner.open(f"/visits/{EXAMPLE}/correct").text))
    change(owner, {"work": "Replaced the fan.", "why": "clearer"})

    assert form["found:bath_temperature::"] == "8.3"
    assert content(site) == before | {"work": "Replaced the fan."}


@pytest.mark.parametrize(
    ("changes", "at"),
    [({"why": ""}, "why"), ({"found:bath_temperature::": "900"}, "found:bath_temperature::"),
     ({"left_at": "12:00", "arrived": "12:30", "day": "2026-06-10"}, "arrived")],
)  # fmt: skip
def test_a_fault_stands_at_its_field_and_what_was_typed_stays(at_unit, site, changes, at) -> None:
    before = content(site)
    answer = change(at_unit, {"work": "typed", "why": "because"} | changes)

    assert answer.status_code == 422
    assert f'href="#f-{at}"' in answer.text
    assert ">typed</textarea>" in answer.text
    assert content(site) == before


def test_a_visit_that_changed_meanwhile_is_shown_as_it_is(at_unit, site) -> None:
    page = at_unit.open(f"/visits/{EXAMPLE}/correct").text
    site.patch(f"/v1/visits/{EXAMPLE}", {"work": "Rewired.", "why": "forgotten"}, 1)
    answer = at_unit.send(f"/visits/{EXAMPLE}/correct", [*fields(page), ("why", "late")])

    assert answer.status_code == 422
    assert ">Rewired.</textarea>" in answer.text
    assert content(site)["work"] == "Rewired."


def test_an_attendance_is_corrected_with_all_its_visits(at_unit, site) -> None:
    site.unit("GU-0008")
    site.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    attendance = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b99"
    visits = [{"unit": tag, "kind": "maintenance"} for tag in ("GU-0007", "GU-0008")]
    body = {"id": attendance, "site": "lantern-quay", "crew": ["rhea"], "arrived_at": "2026-06-08T10:00:00-06:00"}
    made = site.post("/v1/attendances", body | {"visits": visits})["attendance"]
    page, path = at_unit.open(f"/visits/{made['visits'][0]}/correct").text, f"/attendances/{attendance}/correct"
    form = {
        "version": "1",
        "arrived_at": "2026-06-08T10:00",
        "left_at": "",
        "crew": "rhea",
        "access": "done",
        "note": "",
    }
    changed = [*(form | {"arrived_at": "2026-06-08T09:30", "left_at": "2026-06-08T11:00"}).items(), ("crew", "tobin")]

    assert f'href="{path}"' in page
    assert 'value="2026-06-08T10:00"' in at_unit.open(path).text
    assert at_unit.send(path, changed).status_code == 422  # without a reason
    assert at_unit.send(path, form | {"why": "nothing"}).status_code == 422
    assert at_unit.send(path, [*changed, ("why", "tobin came too")]).status_code == 303
    for visit_id in made["visits"]:
        visit = site.get(f"/v1/visits/{visit_id}")
        assert (visit["arrived_at"], visit["left_at"], visit["crew"]) == (
            "2026-06-08T09:30:00-06:00", "2026-06-08T11:00:00-06:00", ["tobin"],
        )  # fmt: skip
        assert [each["why"] for each in visit["corrections"]] == ["tobin came too"]
    assert at_unit.send(path, [*changed, ("why", "late")]).status_code == 422  # it has changed since
    assert Browser(site, site.tokens["reader"]).open(path).status_code == 403


def test_a_visit_is_moved_to_the_unit_at_which_it_was_made(at_unit, site) -> None:
    site.unit("GU-0008")
    form = {"version": "1", "unit": "GU-0008", "reason": "wrong sticker"}

    for wrong in ({"unit": "GU-0100"}, {"reason": ""}, {"version": "2"}):
        answer = at_unit.send(f"/visits/{EXAMPLE}/move", form | wrong)
        assert answer.status_code == 422
        assert "<details open><summary>It was made at another unit" in answer.text
        assert answer.text.count(f'required value="{(form | wrong)["unit"]}"') == 1
    assert at_unit.send(f"/visits/{EXAMPLE}/move", form).status_code == 303
    assert content(site)["unit"] == "GU-0008"
    assert "moved here from GU-0007. wrong sticker" in at_unit.page(f"/visits/{EXAMPLE}")
    assert f"/visits/{EXAMPLE}" not in at_unit.open("/units/GU-0007").text


def test_a_void_is_taken_back_with_a_reason(at_unit, site) -> None:
    at_unit.send(f"/visits/{EXAMPLE}/void", {"version": "1", "reason": "twice"})

    assert at_unit.open(f"/visits/{EXAMPLE}/correct").status_code == 303
    assert at_unit.send(f"/visits/{EXAMPLE}/unvoid", {"version": "2"}).status_code == 422
    assert at_unit.send(f"/visits/{EXAMPLE}/unvoid", {"version": "2", "reason": "once"}).status_code == 303
    assert content(site).get("void") is None
    assert "counts again; it was voided, twice . once" in at_unit.page(f"/visits/{EXAMPLE}")


def test_nothing_typed_is_run(at_unit) -> None:
    change(at_unit, {"work": EVIL, "words": EVIL, "why": EVIL})

    for path in (f"/visits/{EXAMPLE}", f"/visits/{EXAMPLE}/correct"):
        page = at_unit.open(path).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


def test_a_reader_corrects_nothing(at_unit, site) -> None:
    reader = Browser(site, site.tokens["reader"])

    assert reader.open(f"/visits/{EXAMPLE}/correct").status_code == 403
    for how in ("correct", "move", "void", "unvoid"):
        assert reader.send(f"/visits/{EXAMPLE}/{how}", {"version": "1", "why": "x", "reason": "x"}).status_code == 403
