"""Photos in exports, imports, backups and restores: nothing is lost, and what is lost already is reported."""

import shutil
from base64 import b64encode
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import orjson
import pytest

from service.folders import shipped
from service.opening import migrate, open_database, photo_folder
from service.schemas.transfer import LONGEST_LINE, read_lines
from service.settings import Settings
from service.storage.engine.database import Refused
from service.usecases import backups
from service.usecases.record import photos, pictures
from service.usecases.system import FleetDatabase
from service.usecases.transfer import exporting, importing
from tests.pictures_sent import corners, sent, with_exif
from tests.usecases.conftest import NOW, Maker

PLAN_DAYS = 14


def opened_at(home: Path) -> FleetDatabase:
    chosen = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    home.mkdir(exist_ok=True)
    migrate(chosen)
    return open_database(chosen)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[FleetDatabase]:
    with closing(opened_at(tmp_path / "here")) as opened:
        yield opened


@pytest.fixture
def other(tmp_path: Path) -> Iterator[FleetDatabase]:
    with closing(opened_at(tmp_path / "there")) as opened:
        yield opened


def photographed(shop: FleetDatabase, make: Maker) -> list[str]:
    """Two photos of one visit, one of which is removed."""
    with shop.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-0007", "quay", components=[{"code": "pump-1", "kind": "pump"}])
        visit = make.visit(store, "GU-0007", "2026-06-09T18:00:00Z")
    made = [add(shop, make, visit, with_exif(corners(), 6), caption="the pump", component="pump-1", when="as_found")]
    made.append(add(shop, make, visit, sent(corners(200, 100))))
    with shop.writing() as store:
        photos.void(store, make.actor, made[1], "shows a guest")
    return made


def add(shop: FleetDatabase, make: Maker, visit: str, raw: bytes, **about: str) -> str:
    jpeg = pictures.to_jpeg(raw)
    width, height = pictures.size_of(jpeg)
    with shop.writing() as store:
        kept = {"sha256": photos.keep_file(store, jpeg), "size": len(jpeg), "width": width, "height": height}
        return photos.add(store, make.actor, photos.named(visit, about, raw), kept).id


def lines_of(shop: FleetDatabase) -> list[bytes]:
    with shop.reading() as store:
        return [orjson.dumps(record) for record in exporting.records(store, trail=False)]


def imported(shop: FleetDatabase, make: Maker, lines: list[bytes]) -> importing.Tally:
    with shop.writing() as store:
        return importing.import_records(store, make.actor, read_lines(lines), keep_good=False)


def facts(shop: FleetDatabase, made: list[str]) -> list[tuple[object, bytes]]:
    with shop.reading() as store:
        found = [store.photos.get(each) for each in made]
        return [(photo, store.photo_files.read(photo.sha256)) for photo in found]


def test_an_export_brings_photos_to_another_database_byte_by_byte(shop, other, make):
    made = photographed(shop, make)
    lines = lines_of(shop)

    assert imported(other, make, lines).added["photo"] == 2
    assert facts(other, made) == facts(shop, made)
    assert lines_of(other) == lines
    again = imported(other, make, lines)
    assert (again.added["photo"], again.changed["photo"], again.unchanged["photo"]) == (0, 0, 2)
    with other.reading() as store:  # a phone that sends once more what it sent before the move is answered as before
        raw = with_exif(corners(), 6)
        given = {"caption": "the pump", "component": "pump-1", "when": "as_found"}
        visit = store.photos.get(made[0]).visit
        assert photos.stored(store, photos.named(visit, given, raw)) == store.photos.get(made[0])


def test_the_audit_trail_of_an_import_has_no_picture_in_it(shop, other, make):
    photographed(shop, make)
    imported(other, make, lines_of(shop))
    with other.reading() as store:
        (texts,) = [store.link.plain("SELECT max(length(after)) FROM audit WHERE resource = 'photo'").fetchone()]
    assert texts[0] < 1000


def test_a_photo_removed_after_a_first_import_is_removed_by_the_second(shop, other, make):
    made = photographed(shop, make)
    imported(other, make, lines_of(shop))
    with shop.writing() as store:
        photos.void(store, make.actor, made[0], "blurred")

    assert imported(other, make, lines_of(shop)).changed["photo"] == 1
    assert facts(other, made) == facts(shop, made)


def test_the_largest_photo_fits_into_a_line():
    content = b64encode(b"x" * pictures.LARGEST_KEPT).decode()
    assert len(content) + 2000 < LONGEST_LINE


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"content": b64encode(sent(corners(3000, 30))).decode()}, "content"),
        ({"content": b64encode(b"MZ hostile").decode()}, "content"),
        ({"content": "not base 64!"}, "content"),
        ({"sha256": "0" * 64}, "sha256"),
        ({"content": None}, "content"),
        ({"visit": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b70"}, "record"),
        ({"component": "pump-9"}, "component"),
    ],
)
def test_a_wrong_line_is_refused_by_its_field(shop, other, make, change, field):
    photographed(shop, make)
    lines = [orjson.loads(line) for line in lines_of(shop)]
    wrong = [line | (change if line["record"] == "photo" else {}) for line in lines]

    with pytest.raises(importing.NothingStored) as refusal:
        imported(other, make, [orjson.dumps(line) for line in wrong])
    assert {error.field for error in refusal.value.tally.errors} == {field}


def test_an_export_goes_on_without_a_file_that_is_gone_and_says_so(shop, other, make):
    made = photographed(shop, make)
    with shop.reading() as store:
        (store.photo_files.folder / f"{store.photos.get(made[1]).sha256}.jpg").unlink()
    found = [orjson.loads(line) for line in lines_of(shop)]

    assert [line["content"] is None for line in found if line["record"] == "photo"] == [False, True]


def test_backups_share_a_folder_of_photos_and_a_restore_brings_them_back(shop, make, tmp_path):
    made = photographed(shop, make)
    before = facts(shop, made)
    folder = tmp_path / "backups"
    folder.mkdir()
    plan = backups.Plan(folder, PLAN_DAYS)
    backup = backups.back_up_once_a_day(shop, plan, NOW)
    assert {path.name for path in (folder / "glycol-fleet-photos").iterdir()} == {
        f"{photo.sha256}.jpg" for photo, _ in before
    }

    late = add(shop, make, before[0][0].visit, sent(quality=30))
    assert backups.back_up_once_a_day(shop, plan, NOW) is None  # of the day, but the photo is copied
    assert len(list((folder / "glycol-fleet-photos").iterdir())) == 3
    shop.close()

    chosen = Settings(database_url=f"sqlite:///{tmp_path}/new/fleet.db", home=tmp_path / "new")
    chosen.home.mkdir()
    done = backups.restore(
        chosen.database_url, backup, migrations=shipped("migrations"), photos=photo_folder(chosen), now=NOW
    )
    assert (done.photos, done.lost) == (2, [])
    with closing(open_database(chosen)) as restored:
        assert facts(restored, made) == before
        with restored.reading() as store:
            assert store.photos.find(late) is None


def test_a_copy_has_its_photos_beside_it(shop, make, tmp_path):
    made = photographed(shop, make)
    copy = tmp_path / "copy.sqlite3"
    backups.copy_to(shop, copy)
    with closing(open_database(Settings(database_url=f"sqlite:///{copy}", home=tmp_path))) as opened:
        assert facts(opened, made) == facts(shop, made)


def test_a_damaged_photo_is_reported_by_the_backup_and_holds_up_nothing_else(shop, make, tmp_path):
    made = photographed(shop, make)
    folder = tmp_path / "backups"
    folder.mkdir()
    with shop.reading() as store:
        name = store.photos.get(made[0]).sha256
        (store.photo_files.folder / f"{name}.jpg").write_bytes(b"damaged")

    with pytest.raises(Refused, match=rf"photos missing or damaged in .*: 1, among them {name}"):
        backups.back_up(shop, folder, None, NOW)
    assert len(list(folder.glob("*.sqlite3"))) == 1
    assert len(list((folder / "glycol-fleet-photos").iterdir())) == 1
    with pytest.raises(Refused, match="photos missing or damaged"):
        backups.back_up(shop, folder, 1, NOW + timedelta(days=1))
    assert [path.name for path in folder.glob("*.sqlite3")] == ["glycol-fleet-2026-06-10T210000Z.sqlite3"]


def test_a_restore_and_an_import_replace_a_damaged_photo(shop, other, make, tmp_path):
    made = photographed(shop, make)
    before, lines = facts(shop, made), lines_of(shop)
    (tmp_path / "backups").mkdir()
    backup = backups.back_up(shop, tmp_path / "backups", None, NOW)
    with shop.reading() as store, other.reading() as empty:
        folders = store.photo_files.folder, empty.photo_files.folder
    shop.close()
    folders[1].mkdir()
    for folder in folders:
        (folder / f"{before[0][0].sha256}.jpg").write_bytes(b"x" * len(before[0][1]))

    done = backups.restore(
        f"sqlite:///{tmp_path}/here/fleet.db", backup, migrations=shipped("migrations"), photos=folders[0], now=NOW
    )
    assert (done.photos, done.lost) == (1, [])
    assert (folders[0] / f"{before[0][0].sha256}.jpg").read_bytes() == before[0][1]
    imported(other, make, lines)
    assert facts(other, made) == before


def test_without_pictures_the_folder_is_copied_before_the_import(shop, other, make):
    made = photographed(shop, make)
    with shop.reading() as store:
        lines = [orjson.dumps(record) for record in exporting.records(store, pictures=False, trail=False)]
        files = store.photo_files
    assert max(map(len, lines)) < 2000
    with other.reading() as store:
        shutil.copytree(files.folder, store.photo_files.folder)

    assert imported(other, make, lines).added["photo"] == 2
    assert facts(other, made) == facts(shop, made)


def test_a_dry_run_checks_photos_and_keeps_no_file(shop, other, make):
    photographed(shop, make)
    with pytest.raises(importing.Rehearsed) as ended, other.writing() as store:
        importing.import_records(store, make.actor, read_lines(lines_of(shop)), keep_good=False, dry_run=True)

    assert ended.value.tally.added["photo"] == 2
    with other.reading() as store:
        assert not store.photo_files.folder.exists()
