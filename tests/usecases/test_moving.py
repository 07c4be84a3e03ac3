"""Records move to another database with everything; killed, or falsified, a move is seen and can be run again."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from sqlalchemy import inspect

from service import clock
from service.api.state import EXTENSION
from service.app import Refused, create_app, migrate, open_checked_database, open_database
from service.cli import database as commands
from service.cli import moving
from service.domain.errors import Unavailable
from service.schemas.records import SCHEMAS
from service.settings import Settings
from service.storage import moving as rows
from service.storage.engine.database import open_engine
from service.storage.engine.sqlite_hold import Hold
from service.storage.moves import Move
from service.storage.moving import LOCKED
from service.usecases import audit
from service.usecases import moving as usecase
from service.usecases.maintenance.due import refresh_all_stale
from service.usecases.moving import check_servable
from service.usecases.transfer import token_lines
from tests import everything, move_load
from tests.api.resources.conftest import Shop, shop_at
from tests.api.resources.following import take_in


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop with everything, on SQLite."""
    home = tmp_path_factory.mktemp("full")
    migrate(Settings(database_url=f"sqlite:///{home}/fleet.db", home=home))
    with shop_at(f"sqlite:///{home}/fleet.db", home) as shop:
        everything.fill(shop, steps=25)
        refresh_all_stale(shop.database, 50)  # as the scheduler does within seconds of new figures
        yield shop


Answer = tuple[int, bytes, str | None]


class At:
    """The application over a database, asked with the token of the owner of another one."""

    def __init__(self, shop: Shop, url: str, home: Path) -> None:
        self.settings = Settings(database_url=url, home=home)
        self.shop = shop

    def answers(self) -> dict[str, Answer]:
        """Every answer to a GET with its ETag; of a refusal, which has an id of its own, the status."""
        with closing(open_database(self.settings)) as database:
            asked = Shop.__new__(Shop)
            asked.database, asked.now, asked.tokens = database, self.shop.now, self.shop.tokens
            asked.app = create_app(database, self.settings, clock=lambda: asked.now)
            found = {path: asked.ask("GET", path) for path in everything.every_get(asked)}
            return {
                path: (each.status_code, each.data if each.status_code == 200 else b"", each.headers.get("ETag"))
                for path, each in found.items()
            }


@pytest.fixture
def move(full: Shop, monkeypatch: pytest.MonkeyPatch) -> Callable[[At, At], None]:
    """Moves by command from one address to another."""

    def run(one: At, other: At) -> None:
        monkeypatch.setattr(clock, "now", lambda: full.now)
        for name, value in (("HOME", str(one.settings.home)), ("DATABASE_URL", one.settings.database_url)):
            monkeypatch.setenv(f"GLYCOL_FLEET_{name}", value)
        monkeypatch.setattr(moving, "settings", lambda: one.settings)
        moving.run(other.settings.database_url)

    return run


@pytest.fixture
def by_file(full: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[At, At], None]:
    """Exports with the tokens from one address, and imports into an empty database at another, both by command."""

    def run(one: At, other: At) -> None:
        monkeypatch.setattr(clock, "now", lambda: full.now)
        monkeypatch.setattr("service.cli.opened.settings", lambda: one.settings)
        commands.export_records(str(tmp_path / "all.jsonl"), with_tokens=True)
        other.settings.home.mkdir(exist_ok=True)
        migrate(other.settings)
        monkeypatch.setattr("service.cli.opened.settings", lambda: other.settings)
        with (tmp_path / "all.jsonl").open("rb") as file:
            assert commands.import_records(file, keep_good=False, tokens=True) == 0

    return run


def test_every_table_has_something(full: Shop) -> None:
    empty = {name for name, count in full.counted().items() if count == 0}

    assert empty == {"move"}


def test_every_kind_of_record_is_in_the_export_and_a_token_only_on_request(full: Shop, here: "At") -> None:
    kinds = {json.loads(line)["record"] for line in full.ask("GET", "/v1/exports").data.splitlines()}
    with full.database.reading() as store:
        tokens = {record["record"] for record in token_lines.lines(store)}

    assert set(SCHEMAS) - kinds == tokens == {"token"}


@pytest.fixture
def here(full: Shop) -> Iterator[At]:
    """The shop's own database; it can be written to again afterwards."""
    settings: Settings = full.app.extensions[EXTENSION].settings
    yield At(full, settings.database_url, settings.home)
    with full.database.holding(LOCKED) as store:
        store.moves.clear("moved")


def test_all_goes_to_postgresql_and_back_and_through_a_file_and_answers_every_get_byte_for_byte(
    full: Shop,
    here: At,
    move: Callable[[At, At], None],
    by_file: Callable[[At, At], None],
    postgres_database_url: str,
    tmp_path: Path,
) -> None:
    there = At(full, postgres_database_url, here.settings.home)
    back = At(full, f"sqlite:///{tmp_path}/back.db", tmp_path)
    here.answers()  # records that the token was used
    before = here.answers()
    move(here, there)
    assert different(before, there.answers()) == []
    move(there, back)
    assert different(before, back.answers()) == []
    new = At(full, f"sqlite:///{tmp_path}/new/fleet.db", tmp_path / "new")
    by_file(back, new)
    assert different(before, new.answers()) == []
    refused = [path for path, (status, *_) in before.items() if status != 200]
    assert {path: before[path][0] for path in refused if not path.endswith("/report")} == {}  # of a voided visit none


HAS_THE_TIME_OF_DAY = "/v1/table-imports/template"  # a workbook, in which is when it was made


def different(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    paths = (before.keys() | after.keys()) - {HAS_THE_TIME_OF_DAY}
    return [path for path in paths if before.get(path) != after.get(path)]


OWN_AFTER_AN_IMPORT = {  # over HTTP
    "/v1/tokens": "they are imported at the command line alone",
    "/v1/audit": "there is a trail already, with that of the token",
    "/v1/exports": "the trail is part of it",
}


def test_what_is_exported_and_imported_answers_every_get_the_same(full: Shop, here: At, tmp_path: Path) -> None:
    """A document that was handed out does not differ from its data by that."""
    before, lines = here.answers(), full.ask("GET", "/v1/exports").data
    with shop_at(f"sqlite:///{tmp_path}/new.db", tmp_path) as fresh:
        fresh.now = full.now
        assert take_in(fresh, lines)["errors"] == []
        after = At(fresh, f"sqlite:///{tmp_path}/new.db", tmp_path).answers()

    assert set(different(before, after)) == OWN_AFTER_AN_IMPORT.keys()
    handed_out = [path for path in before if path.endswith("/2026/issues")]
    assert any(b'"differs":false' in before[path][1] for path in handed_out)


# --- small databases, both ways


@pytest.fixture(params=["to postgresql", "to sqlite"])
def pair(request: pytest.FixtureRequest, postgres_database_url: str, tmp_path: Path) -> Iterator[tuple[Shop, str]]:
    """A shop with a unit and a visit, and the address of an empty database on the other engine."""
    urls = [f"sqlite:///{tmp_path}/fleet.db", postgres_database_url]
    one, other = urls if request.param == "to postgresql" else reversed(urls)
    migrate(Settings(database_url=one, home=tmp_path))
    with shop_at(one, tmp_path) as shop:
        shop.unit()
        shop.visit("2026-06-09")
        voided = shop.visit("2026-06-08")["visit"]["id"]
        assert shop.ask("POST", f"/v1/visits/{voided}/void", {"reason": "twice"}, If_Match='"1"').status_code == 200
        yield shop, other


@pytest.fixture
def go(pair: tuple[Shop, str], monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Runs the command."""
    shop, url = pair
    monkeypatch.setattr(clock, "now", lambda: shop.now)
    monkeypatch.setattr(moving, "settings", lambda: settings_of(shop))
    monkeypatch.setattr("service.cli.opened.settings", lambda: settings_of(shop))
    return lambda: moving.run(url)


def settings_of(shop: Shop) -> Settings:
    found: Settings = shop.app.extensions[EXTENSION].settings
    return found


def post(shop: Shop) -> Any:
    """A visit of its own."""
    body = {"id": str(uuid4()), "unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-08T18:00:00Z"}
    return shop.ask("POST", "/v1/visits", body)


def test_meanwhile_all_is_answered_and_what_is_posted_is_refused_at_once(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    shop, found = pair[0], []

    @contextmanager
    def asking(label: str, total: int) -> Iterator[Callable[[int], None]]:
        began = monotonic()
        found.append((label, shop.ask("GET", "/v1/units/GU-0007/history"), post(shop), monotonic() - began))
        yield lambda _: None

    monkeypatch.setattr(moving, "bar", asking)
    go()

    assert [label for label, *_ in found] == ["Copying", "Comparing"]
    for _, read, refused, took in found:
        assert (read.status_code, refused.status_code, refused.headers["Retry-After"]) == (200, 503, "1")
        assert "are being moved" in refused.json["detail"]
        assert took < 10  # on a machine at work; a writer that waited would have taken its 1.7 s of patience twice


def test_afterwards_the_former_one_is_read_only_until_it_is_undone(
    pair: tuple[Shop, str], go: Callable[[], None], capsys: pytest.CaptureFixture[str]
) -> None:
    shop, url = pair
    go()
    refused, ready = post(shop), shop.ask("GET", "/readyz")
    with pytest.raises(Refused, match="moved to"):
        check_servable(shop.database)

    assert (refused.status_code, shop.get("/v1/visits")["items"][0]["unit"]) == (503, "GU-0007")
    assert "glycol-fleet move-to --undo" in refused.json["detail"]
    assert url.split("?")[0] not in refused.text
    assert "moved to another database" in ready.json["detail"]
    with pytest.raises(Refused, match="already"):
        go()
    moving.undo()
    assert post(shop).status_code == 201
    with pytest.raises(Refused, match="not moved"):
        moving.undo()
    with pytest.raises(Refused, match="not empty"):
        go()
    assert "\nvisits: 2, SHA-256" in capsys.readouterr().err


def test_new_records_go_on_behind_the_last_ones(pair: tuple[Shop, str], go: Callable[[], None]) -> None:
    shop, url = pair
    go()
    with closing(open_database(Settings(database_url=url, home=settings_of(shop).home))) as there:
        moved = Shop.__new__(Shop)
        moved.database, moved.now, moved.tokens = there, shop.now, shop.tokens
        moved.app = create_app(there, settings_of(shop), clock=lambda: shop.now)
        assert post(moved).status_code == 201
        assert moved.ask("POST", "/v1/customers", {"code": "next", "name": "Next"}).status_code == 201
        with there.reading() as store:
            assert audit.verify(store).fault is None


def test_the_number_of_a_deleted_assignment_is_not_given_out_again(
    pair: tuple[Shop, str], go: Callable[[], None]
) -> None:
    shop, url = pair
    work = {"site": "lantern-quay", "unit": "GU-0007", "technician": "rhea", "day": "2026-06-20"}
    numbers = [shop.post("/v1/assignments", work | {"task": task})["id"] for task in ("pump_check", "condenser_clean")]
    for number in numbers:
        assert shop.ask("DELETE", f"/v1/assignments/{number}", If_Match="*").status_code == 204
    go()
    with closing(open_database(Settings(database_url=url, home=settings_of(shop).home))) as there:
        moved = Shop.__new__(Shop)
        moved.database, moved.now, moved.tokens = there, shop.now, shop.tokens
        moved.app = create_app(there, settings_of(shop), clock=lambda: shop.now)
        assert moved.post("/v1/assignments", work)["id"] == max(numbers) + 1


CHANGED = "UPDATE visit SET work = 'other' WHERE id = 1"
MISSING = "DELETE FROM task_setting WHERE task = 'pump_check'"
FAULTS = {
    CHANGED: "table visit: work of the row id 1",
    MISSING: "table task_setting: a row is missing.* task pump_check",
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_row_that_differs_is_named_and_nothing_is_handed_over(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    shop = pair[0]
    everything.set_task(shop, "/v1/tasks/pump_check", {"interval": "5 months"})
    copy = rows.copy

    def falsified(source: Any, target: Any, progress: Any) -> None:
        copy(source, target, progress)
        with target.holding(LOCKED) as store:
            store.link.plain(fault)

    monkeypatch.setattr(rows, "copy", falsified)
    with pytest.raises(Refused, match=FAULTS[fault]):
        go()
    assert post(shop).status_code == 201
    monkeypatch.setattr(rows, "copy", copy)
    go()


def test_an_answer_that_differs_is_named(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    compare = rows.compare

    def unseen(source: Any, target: Any, progress: Any) -> Any:
        found = compare(source, target, progress)
        with closing(open_database(Settings(database_url=pair[1], home=settings_of(pair[0]).home))) as there:
            with there.holding(LOCKED) as store:
                store.link.plain("UPDATE customer SET phone = 'other'")
        return found

    monkeypatch.setattr(rows, "compare", unseen)
    with pytest.raises(Refused, match="answers GET /v1/"):
        go()
    assert post(pair[0]).status_code == 201


def test_what_holds_something_else_is_not_written_to(pair: tuple[Shop, str], go: Callable[[], None]) -> None:
    there = Settings(database_url=pair[1], home=settings_of(pair[0]).home)
    migrate(there)
    with closing(open_database(there)) as database, database.writing() as store:
        store.moves.add(Move("arriving", "sqlite:////elsewhere.db", pair[0].now))
    with pytest.raises(Refused, match="unfinished move from sqlite:////elsewhere"):
        go()


def test_a_move_that_ended_meanwhile_keeps_a_second_one_from_handing_over(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    begin = usecase.begin

    def overtaken(source: usecase.Side, target: usecase.Side, now: datetime) -> None:
        begin(source, target, now)
        with source.database.holding(LOCKED) as store:
            store.moves.add(Move("moved", "sqlite:////first.db", now))

    monkeypatch.setattr(usecase, "begin", overtaken)
    with pytest.raises(Refused, match=r"moved to another database.*sqlite:////first\.db"):
        go()
    there = Settings(database_url=pair[1], home=settings_of(pair[0]).home)
    with closing(open_database(there)) as database, pytest.raises(Refused, match="has not ended"):
        check_servable(database)


def test_a_second_move_drops_nothing_of_one_that_is_under_way(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    shop, compare, second = pair[0], rows.compare, []

    def beside(source: Any, target: Any, progress: Any) -> Any:
        found = compare(source, target, progress)
        with pytest.raises((Refused, Unavailable)) as refused:
            go()
        second.append(str(refused.value))
        return found

    monkeypatch.setattr(rows, "compare", beside)
    monkeypatch.setattr(moving, "PATIENCE", 0.5)
    go()

    there = Settings(database_url=pair[1], home=settings_of(shop).home)
    with closing(open_database(there)) as database, database.reading() as store:
        assert store.units.get("GU-0007").tag == "GU-0007"
    assert len(second) == 1


def test_the_lock_of_a_move_is_not_taken_on_a_file_that_the_former_one_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second, third = (Hold(tmp_path / "fleet.db") for _ in range(3))
    waited = ExitStack()
    waited.enter_context(first.taken())
    opened = os.open

    def late(*arguments: Any) -> int:
        file = opened(*arguments)
        waited.close()  # the first ends before the file is locked
        return file

    monkeypatch.setattr(os, "open", late)
    with second.taken(), pytest.raises(Unavailable):
        third.check()
    third.check()


def test_what_a_killed_move_left_is_removed_by_the_first_that_opens_the_database(tmp_path: Path) -> None:
    settings = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path)
    migrate(settings)
    left = Hold(tmp_path / "fleet.db").path
    left.touch()
    with closing(open_checked_database(settings)) as first:
        assert not left.exists()
        with first.holding(LOCKED), closing(open_checked_database(settings)):
            assert left.exists()


def test_a_database_of_another_program_is_left_as_it_is(
    pair: tuple[Shop, str], go: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    there = open_engine(pair[1])
    with there.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE invoice (id integer)")
    with pytest.raises(Refused, match="another program"):
        go()
    assert inspect(there).get_table_names() == ["invoice"]
    there.dispose()


def test_the_database_in_use_is_no_target(pair: tuple[Shop, str], go: Callable[[], None]) -> None:
    with pytest.raises(Refused, match=r"are at .* already"):
        moving.run(settings_of(pair[0]).database_url)


def test_a_role_without_rights_is_refused_in_one_sentence(postgres_database_url: str, tmp_path: Path) -> None:
    role = f"weak{uuid4().hex}"
    with psycopg.connect(postgres_database_url, autocommit=True) as server:
        server.execute(f"CREATE ROLE {role} LOGIN")
        try:
            weak = postgres_database_url.replace("postgres:@", f"{role}@")
            with pytest.raises(Unavailable, match="lacks rights"):
                migrate(Settings(database_url=weak, home=tmp_path))
        finally:
            server.execute(f"DROP ROLE {role}")


def test_a_copy_that_is_not_whole_is_neither_served_nor_written_to(tmp_path: Path) -> None:
    settings = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path)
    migrate(settings)
    with shop_at(settings.database_url, tmp_path) as shop:
        with shop.database.writing() as store:
            store.moves.add(Move("arriving", "sqlite:////former.db", shop.now))
        with pytest.raises(Refused, match="has not ended"):
            check_servable(shop.database)
        assert shop.ask("POST", "/v1/customers", {"code": "a", "name": "A"}).status_code == 503


def test_no_table_refers_to_one_that_comes_later() -> None:
    names = [table.name for table in rows.TABLES]
    later = [
        (table.name, key.column.table.name)
        for table in rows.TABLES
        for key in table.foreign_keys
        if names.index(key.column.table.name) > names.index(table.name)
    ]

    assert later == []


def test_the_long_run_of_killed_moves_holds_in_its_short_form() -> None:
    command = [sys.executable, "-m", "tests.move_kills", "--runs", "2", "--seed", "3"]
    done = subprocess.run(command, cwd=everything.ROOT, capture_output=True, text=True, check=False)

    assert (done.returncode, "all ended whole" in done.stdout) == (0, True), done.stderr[-2000:]


def test_a_large_move_beside_a_server_holds_in_its_short_form(tmp_path: Path) -> None:
    outcome = move_load.run(tmp_path / "fleet.db", f"sqlite:///{tmp_path}/there.db", units=50, visits=2)

    assert move_load.fault_of(outcome) is None
    assert "Moved" in outcome.shown
