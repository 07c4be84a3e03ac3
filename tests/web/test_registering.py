"""Registering by form: trunk and last work of a unit, coordinates as copied from a map; faults lead to fields."""

import re

import pytest

UNIT = {"tag": "GU-0100", "site": "lantern-quay"}
EDIT = "/sites/lantern-quay/edit"


def links(page: str) -> dict[str, bool]:
    """The fields to which a box of faults leads, and whether each is on the page."""
    assert 'class="faults" role="alert" tabindex="-1" autofocus' in page
    return {target: f' id="{target}"' in page for target in re.findall(r'<li><a href="#([^"]+)"', page)}


def test_a_units_trunk_and_last_work_are_registered_with_it(office, site) -> None:
    more = {"trunk.length.cooler": "4 m", "trunk.length.outdoor": "30 ft", "trunk.insulation_thickness": "1 in"}
    more |= {"trunk.taps": "1, 2", "done.condenser_clean": "2026-03", "done.glycol_change": "unknown"}
    assert office.send("/register/unit", UNIT | more).headers["Location"] == "/units/GU-0100"
    made = site.get("/v1/units/GU-0100?units=si")

    (trunk,) = made["trunks"]
    assert [(run["surroundings"], run["length"]["entered"]) for run in trunk["runs"]] == [
        ("cooler", "4 m"),
        ("outdoor", "30 ft"),
    ]
    assert ([each["tap"] for each in trunk["beer_lines"]], trunk["insulation_thickness"]["entered"]) == (
        ["1", "2"],
        "1 in",
    )
    assert {each["task"]: each.get("on") for each in made["last_done"]} == {
        "condenser_clean": "2026-03",
        "glycol_change": None,
    }


def test_a_fault_of_a_trunk_stands_at_its_field_in_the_opened_part(office) -> None:
    page = office.send("/register/unit", UNIT | {"trunk.length.outdoor": "30", "done.pump_check": "spring"})
    assert page.status_code == 422
    assert links(page.text) == {"f-trunk.length.outdoor": True, "f-done.pump_check": True}
    assert page.text.count("<details open>") == 2
    assert "<details open>" not in office.open("/register/unit").text


@pytest.mark.parametrize(
    "pasted",
    ["39.7392, -104.9903", "geo:39.7392,-104.9903", "https://map.example/?q=39.7392%2C-104.9903&z=17",
     "https://map.example/#map=17/39.7392/-104.9903"],
)  # fmt: skip
def test_coordinates_are_taken_as_a_map_gives_them(office, site, pasted) -> None:
    version = re.search(r'name="version" value="(\d+)"', office.open(EDIT).text)[1]
    assert office.send(EDIT, {"version": version, "latitude": pasted}).status_code == 303
    made = site.get("/v1/sites/lantern-quay")
    assert (made["latitude"], made["longitude"]) == (39.7392, -104.9903)


def test_what_is_no_place_is_refused_at_its_field(office) -> None:
    version = re.search(r'name="version" value="(\d+)"', office.open(EDIT).text)[1]
    page = office.send(EDIT, {"version": version, "latitude": "by the river"})
    assert (page.status_code, links(page.text)) == (422, {"f-latitude": True})


@pytest.mark.parametrize(
    ("path", "form", "fields"),
    [
        ("/sites/lantern-quay/hours", {"weekday": "monday", "from": "9"}, {"from", "until"}),
        ("/units/GU-0007/locations", {"site": "nowhere", "from": "2026"}, {"from"}),
        ("/units/GU-0007/pauses", {"from": "2026-07-02", "until": "x", "reason": "y"}, {"until"}),
        ("/calls/new", {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b70", "symptom": "odd", "words": "x"}, {"symptom"}),
        ("/plan", {"do": "assign", "site": "lantern-quay", "share": "", "day": "x", "technician": "rhea"}, {"day-1-1"}),
    ],
)  # fmt: skip
def test_faults_of_short_forms_lead_to_their_fields(office, path, form, fields) -> None:
    found = re.search(r'name="version" value="(\d+)"', office.open(path).text)
    page = office.send(path, form | ({"version": found[1]} if found else {}))
    assert page.status_code == 422
    assert links(page.text) == dict.fromkeys(fields, True)
