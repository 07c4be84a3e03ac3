"""Photos of visits: posted once, kept as files beside the database, shown, removed."""

from hashlib import sha256
from io import BytesIO
from uuid import uuid4

import pytest
from PIL import Image
from sqlalchemy import text
from werkzeug.test import EnvironBuilder

from service.api.admission import admission
from service.domain.record.photos import LARGEST
from tests.api.resources.conftest import Shop
from tests.pictures_sent import HEIC, corners, png_of, sent, with_exif

VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
PHOTO = "0199d1f0-6c1e-7a51-9f0a-0000000000f1"


def post(shop: Shop, raw: bytes, query: str = "", *, kind="image/jpeg", visit=VISIT, role="technician", **headers):
    sent_headers = {"Authorization": f"Bearer {shop.tokens[role]}", **headers}
    path = f"/v1/visits/{visit}/photos{query}"
    return shop.app.test_client().post(path, data=raw, content_type=kind, headers=sent_headers)


def added(shop: Shop, raw: bytes, query: str = "", **more):
    answer = post(shop, raw, query, **more)
    assert answer.status_code == 201, answer.text
    return answer.json


def image(shop: Shop, photo: str, query: str = "", role: str = "technician", **headers):
    return shop.ask("GET", f"/v1/photos/{photo}{query}", role=role, **headers)


def files(shop: Shop):
    with shop.database.reading() as store:
        return store.photo_files


@pytest.fixture
def visited(shop: Shop) -> Shop:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    return shop


def test_a_photo_is_kept_as_a_file_and_listed_with_its_visit(visited):
    raw = with_exif(corners(1200, 900), 6)
    made = added(visited, raw, f"?id={PHOTO}&caption=the+burnt+contact&component=switch-1&when=as_found")

    shown = image(visited, PHOTO)
    name = sha256(shown.data).hexdigest()
    path = files(visited).folder / f"{name}.jpg"
    expected = {
        "id": PHOTO, "visit": VISIT, "sha256": name, "sent_sha256": sha256(raw).hexdigest(), "size": len(shown.data),
        "width": 900, "height": 1200, "caption": "the burnt contact", "component": "switch-1", "when": "as_found",
        "posted_by": "the technician", "void": None,
    }  # fmt: skip
    assert {field: made[field] for field in expected} == expected
    assert visited.get(f"/v1/visits/{VISIT}/photos") == {"items": [made]}
    assert shown.content_type == "image/jpeg"
    assert Image.open(BytesIO(shown.data)).size == (900, 1200)
    assert path.read_bytes() == shown.data
    assert (path.stat().st_mode & 0o777, path.parent.stat().st_mode & 0o777) == (0o600, 0o700)
    assert [each.name for each in path.parent.iterdir() if "part" in each.name] == []


def test_it_may_be_asked_for_in_a_small_size_and_is_kept_by_browsers(visited):
    added(visited, sent(corners(1200, 900)), f"?id={PHOTO}")
    small = image(visited, PHOTO, "?width=320")

    assert Image.open(BytesIO(small.data)).size == (320, 240)
    assert small.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert image(visited, PHOTO, "?width=320", If_None_Match=small.headers["ETag"]).status_code == 304
    assert image(visited, PHOTO, If_None_Match=small.headers["ETag"]).status_code == 200
    assert image(visited, PHOTO, "?width=9999").status_code == 422


def test_posted_again_it_is_the_same_photo_and_another_under_its_id_is_refused(visited):
    first = added(visited, sent(), f"?id={PHOTO}&caption=one")

    assert added(visited, sent(), f"?id={PHOTO}&caption=one", role="owner") == first
    assert post(visited, sent(), f"?id={PHOTO}&caption=two").json["type"] == "/problems/key-reused"
    assert post(visited, sent(quality=30), f"?id={PHOTO}&caption=one").status_code == 422
    other = visited.visit("2026-06-08")["visit"]["id"]
    assert post(visited, sent(), f"?id={PHOTO}&caption=one", visit=other).status_code == 422
    assert [each["id"] for each in visited.get(f"/v1/visits/{VISIT}/photos")["items"]] == [PHOTO]


def test_without_an_id_the_same_picture_of_a_visit_is_one_photo(visited):
    first = added(visited, sent())
    assert added(visited, sent())["id"] == first["id"]
    assert added(visited, sent(quality=50))["id"] != first["id"]


def test_one_picture_posted_twice_is_one_file(visited):
    first, second = (added(visited, sent(), f"?id={uuid4()}") for _ in range(2))
    assert first["sha256"] == second["sha256"]
    assert files(visited).read(first["sha256"]) == image(visited, second["id"]).data


@pytest.mark.parametrize(
    ("raw", "kind", "status", "why"),
    [
        (HEIC, "image/heic", 415, "Most Compatible"),
        (HEIC, "image/jpeg", 415, "Most Compatible"),
        (sent(form="GIF"), "image/gif", 415, "must be image/jpeg, image/png, image/webp"),
        (sent(form="PNG"), "image/jpeg", 415, "The body is PNG, not image/jpeg"),
        (b"<svg onload='alert(1)'/>", "image/png", 415, "The body is no picture"),
        (b"", "image/png", 415, "The body is no picture"),
        (png_of(40_000, 40_000), "image/png", 422, "at most 25 million are read"),
        (sent()[:-100], "image/jpeg", 422, "it is cut off or damaged"),
        (
            sent(form="WEBP", save_all=True, append_images=[corners().rotate(180)]),
            "image/webp",
            422,
            "not an animation",
        ),
        (b"\xff\xd8\xff" + b"x" * LARGEST, "image/jpeg", 413, "larger"),
    ],
)
def test_what_is_no_photo_is_refused_with_the_reason_and_nothing_is_kept(visited, raw, kind, status, why):
    before = visited.counted()
    answer = post(visited, raw, kind=kind)

    assert (answer.status_code, answer.content_type) == (status, "application/problem+json")
    assert why in answer.json["detail"]
    assert visited.counted() == before


def test_faults_of_what_it_shows_are_named(visited):
    answer = post(visited, sent(), "?component=pump-9&when=as_left")
    assert [fault["field"] for fault in answer.json["errors"]] == ["component"]
    assert "it has contactor-1" in answer.json["detail"]
    wrong = post(visited, sent(), f"?id=7&when=later&caption={'x' * 301}&colour=red")
    assert {fault["field"] for fault in wrong.json["errors"]} == {"id", "when", "caption", "colour"}


def test_compressed_bodies_and_unknown_visits_are_refused(visited):
    assert post(visited, sent(), **{"Content-Encoding": "gzip"}).status_code == 415
    assert post(visited, sent(), visit=str(uuid4())).status_code == 404
    assert post(visited, sent(), visit="x").status_code == 404
    assert visited.ask("GET", f"/v1/visits/{uuid4()}/photos").status_code == 404
    assert image(visited, str(uuid4())).status_code == 404


def test_readers_see_no_photos(visited):
    added(visited, sent(), f"?id={PHOTO}")
    assert post(visited, sent(), role="reader").status_code == 403
    assert image(visited, PHOTO, role="reader").status_code == 403
    assert visited.ask("GET", f"/v1/visits/{VISIT}/photos", role="reader").status_code == 403


def test_a_removed_photo_stays_in_the_record_with_the_reason_for_the_office_alone(visited):
    kept = added(visited, sent(), f"?id={PHOTO}")
    void = f"/v1/photos/{PHOTO}/void"
    removed = visited.ask("POST", void, {"reason": "shows a guest"}, role="technician")

    assert removed.json["void"]["reason"] == "shows a guest"
    assert visited.get(f"/v1/visits/{VISIT}/photos")["items"] == [removed.json]
    assert visited.ask("POST", void, {"reason": "again"}).status_code == 409
    assert "shows a guest" in image(visited, PHOTO).json["detail"]
    assert image(visited, PHOTO).status_code == 403
    office = image(visited, PHOTO, role="dispatcher")
    assert (office.status_code, office.headers["Cache-Control"]) == (200, "no-store")
    assert files(visited).read(kept["sha256"]) == office.data
    trail = visited.get(f"/v1/audit?resource=photo&key={PHOTO}")["items"]
    assert [(entry["action"], entry["actor"]) for entry in trail] == [
        ("changed", "the technician"),
        ("created", "the technician"),
    ]


def test_photos_go_with_their_visit_to_another_unit_and_stay_when_it_is_voided(visited):
    visited.unit("GU-0008", components=[{"code": "pump-1", "kind": "pump"}])
    added(visited, sent(), f"?id={PHOTO}&component=switch-1")
    version = visited.get(f"/v1/visits/{VISIT}")["version"]
    reason = {"unit": "GU-0008", "reason": "the unit beside it"}
    moved = visited.ask("POST", f"/v1/visits/{VISIT}/move", reason, If_Match=f'"{version}"')
    assert moved.status_code == 200, moved.text

    with visited.database.reading() as store:
        assert [each.id for each in store.photos.of_unit("GU-0008", 9)] == [PHOTO]
        assert store.photos.of_unit("GU-0007", 9) == []
    assert "switch-1" in {part["code"] for part in visited.get("/v1/units/GU-0008")["components"]}
    voided = visited.ask("POST", f"/v1/visits/{VISIT}/void", {"reason": "twice"}, If_Match=f'"{version + 1}"')
    assert voided.status_code == 200, voided.text
    late = added(visited, sent(quality=40))  # one that was waiting on a phone is kept, not lost
    assert [each["id"] for each in visited.get(f"/v1/visits/{VISIT}/photos")["items"]] == [PHOTO, late["id"]]
    with visited.database.reading() as store:
        assert store.photos.of_unit("GU-0008", 9) == []


def test_the_component_of_a_photo_goes_to_the_other_unit_with_its_visit(visited):
    visited.unit("GU-0008", components=[])
    visit = visited.visit("2026-06-08")["visit"]["id"]
    added(visited, sent(), "?component=pump-1", visit=visit)
    moved = visited.ask("POST", f"/v1/visits/{visit}/move", {"unit": "GU-0008", "reason": "typed wrong"}, If_Match="*")

    assert moved.status_code == 200, moved.text
    assert {part["code"] for part in visited.get("/v1/units/GU-0008")["components"]} == {"pump-1"}


def test_a_folder_that_has_gone_is_reported_and_not_begun_anew(visited):
    assert visited.ask("GET", "/readyz").status_code == 200
    added(visited, sent(), f"?id={PHOTO}")
    folder = files(visited).folder
    aside = folder.rename(folder.with_name("unplugged"))
    try:
        for answer in (visited.ask("GET", "/readyz"), image(visited, PHOTO), post(visited, sent(quality=20))):
            assert answer.status_code == 503
            assert str(folder) in answer.json["detail"]
        assert not folder.exists()
    finally:
        aside.rename(folder)
    assert visited.ask("GET", "/readyz").status_code == 200


def test_only_this_route_admits_a_body_of_eight_mebibytes(visited):
    def admitted(path, length):
        headers = {"Authorization": f"Bearer {visited.tokens['technician']}", "Content-Length": str(length)}
        sent_head = EnvironBuilder(path, method="POST", headers=headers).get_environ()
        return admission(visited.app)(sent_head | {"CONTENT_LENGTH": str(length)})

    assert admitted(f"/v1/visits/{VISIT}/photos", LARGEST) == LARGEST
    assert admitted(f"/v1/visits/{VISIT}/photos", LARGEST + 1).status_code == 413
    assert admitted("/v1/visits", LARGEST).status_code == 413


def test_a_photo_has_the_customer_of_its_visit_after_a_move_of_the_past_and_a_correction(visited):
    def owners():
        with visited.database.reading() as store:
            query = text("SELECT photo.customer_id, visit.customer_id FROM photo JOIN visit ON visit.id = visit_id")
            return tuple(store.link.core(query)[0])

    visited.post("/v1/customers", {"code": "anchor", "name": "The Anchor"})
    visited.post("/v1/sites", visited.example("site", code="pier", customer="anchor"))
    visit = visited.visit("2026-06-08")["visit"]["id"]
    added(visited, sent(), visit=visit)
    first = owners()
    visited.post("/v1/units/GU-0007/locations", {"site": "pier", "from": "2026-06-05", "reason": "moved"})
    moved = owners()
    visited.patch(f"/v1/visits/{visit}", {"arrived_at": "2026-06-01T18:00:00Z", "why": "wrong day"}, 1)

    assert first[0] == first[1] != moved[0] == moved[1]
    assert owners() == first
