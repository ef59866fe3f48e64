"""A backup is the whole bench as of one moment; restored, it is the same bench, on either database, or nothing."""

from __future__ import annotations

import json
import sqlite3
import stat
import threading
import zipfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from inventory.cli import main
from inventory.domain.backup import backup_archive, restore
from inventory.domain.catalogue import parts
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.jobs import jobs, people
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.quality import attachments
from inventory.store import connection, dump, ledger, schema, verify
from inventory.store.connection import execute
from tests import postgres_server
from tests.factories import a_job, a_person, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c6360f8cfc0f01f00050001ff56c72f0d0000000049454e44ae426082"
)


@pytest.fixture
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[str], str]]:
    """Give the address of a new database, without any tables, of the kind that is asked for."""
    urls: list[str] = []
    numbers = count(1)

    def place(kind: str) -> str:
        if kind == "sqlite":
            return f"sqlite:///{tmp_path / f'new{next(numbers)}' / 'bench.db'}"
        databases = postgres_server.Databases(request.getfixturevalue("postgres_url"))
        urls.append(f"restored{next(numbers)}")
        url = databases.make(urls[-1])
        databases.close()
        return url

    yield place
    for name in urls:
        databases = postgres_server.Databases(request.getfixturevalue("postgres_url"))
        databases.drop(name)
        databases.close()


@pytest.fixture
def kind(request: pytest.FixtureRequest) -> str:
    """The kind of database that this run is about."""
    return str(request.config.getoption("--database"))


def lively(data_dir: Path) -> int:
    """Make a bench with something in most corners; return the id of its part."""
    part, bin_, receipt = a_stocked_part(7)
    person = a_person("owner")
    people.add_token(person.id, "weekly")
    first = pull.pull(2, bin_id=bin_.id, job_id=a_job().id, by=person.id)
    undo.undo(first.entry)
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id, reason="Größe 中 עברית '; DROP TABLE parts")
    adjustments.single_out(bin_.id, receipt.lot_ids[0])
    attachments.attach(data_dir, receipt.lot_ids[0], PNG, name="certificate.png")
    return int(part.id)


def everything() -> dict[str, list[list[Any]]]:
    return {table: list(dump.dump_rows(table)) for table in dump.table_names()}


def made(tmp_path: Path, data_dir: Path) -> Path:
    path = tmp_path / "bench.zip"
    backup_archive.write_backup(path, data_dir)
    return path


def changed(path: Path, name: str, change: Callable[[bytes], bytes]) -> Path:
    """Write a copy of a backup in which one member is different."""
    other = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(other, "w") as new:
        for member in old.namelist():
            new.writestr(member, change(old.read(member)) if member == name else old.read(member))
    return other


def test_a_restored_bench_is_the_same_and_goes_on(
    tmp_path: Path, data_dir: Path, kind: str, new_place: Callable[[str], str]
) -> None:
    part, before = lively(data_dir), everything()
    path = made(tmp_path, data_dir)
    elsewhere = tmp_path / "elsewhere"
    with connection.temporarily_bound(new_place(kind)):
        manifest = restore.restore_backup(path, elsewhere)
        assert everything() == before
        assert manifest.rows == {table: len(rows) for table, rows in before.items()}
        assert verify.verify_ledger(manifest.digest).sound
        jobs.set_need(a_job().id, part, 1)
        pull.pull(1, part_id=part, job_id=a_job().id)  # ids go on from the highest, the chain from its end
        assert parts.add_part(number="X-1", name="One more", kind="other").id > part
        assert verify.verify_ledger(manifest.digest).sound
    paths = [path.relative_to(elsewhere) for path in elsewhere.rglob("*") if path.is_file()]
    assert [(elsewhere / path).read_bytes() for path in paths] == [(data_dir / path).read_bytes() for path in paths]
    assert len(paths) == 1


def test_a_bench_moves_to_the_other_database_and_back(
    tmp_path: Path, data_dir: Path, kind: str, new_place: Callable[[str], str]
) -> None:
    lively(data_dir)
    before, path = everything(), made(tmp_path, data_dir)
    with connection.temporarily_bound(new_place("postgresql" if kind == "sqlite" else "sqlite")):
        restore.restore_backup(path, data_dir)  # its files are there already, and are the same
        assert everything() == before
        backup_archive.write_backup(tmp_path / "again.zip", data_dir)
    with connection.temporarily_bound(new_place(kind)):
        restore.restore_backup(tmp_path / "again.zip", data_dir)
        assert everything() == before
        a_stocked_part(1)


def test_it_is_of_one_moment_though_people_go_on_pulling(tmp_path: Path, data_dir: Path) -> None:
    _, bin_, _ = a_stocked_part(500)
    job, url, stop = a_job(), connection.database.obj, threading.Event()

    def go_on() -> None:
        connection.connect()
        while not stop.is_set():
            pull.pull(1, bin_id=bin_.id, job_id=job.id)
        connection.database.close()

    thread = threading.Thread(target=go_on)
    thread.start()
    try:
        manifests = [backup_archive.write_backup(tmp_path / f"{n}.zip", data_dir) for n in range(3)]
    finally:
        stop.set()
        thread.join()
    assert connection.database.obj is url
    assert manifests[0].lines < manifests[-1].lines
    for n, manifest in enumerate(manifests):
        assert manifest.sound
        assert manifest.rows["movements"] == manifest.lines
        assert restore.trial_restore(tmp_path / f"{n}.zip").digest == manifest.digest


@pytest.mark.parametrize("had", [0, 1, len(schema.all_migrations()) - 1])
def test_a_backup_of_an_older_benchproof_goes_through_the_steps_since(
    had: int, tmp_path: Path, kind: str, new_place: Callable[[str], str]
) -> None:
    path = _older(tmp_path, schema.all_migrations()[:had])
    with connection.temporarily_bound(new_place(kind)):
        assert restore.restore_backup(path, tmp_path / "data").lines == 1
        assert schema.pending_migrations() == []
        assert [(row[1], row[3]) for row in dump.dump_rows("people")] == [("ana", "owner")]
        assert verify.verify_ledger().sound
        receive.receive(1, 3, 1)


def _older(tmp_path: Path, steps: list[str]) -> Path:
    """Write a backup as the Benchproof of these *steps* would have: one receipt, and somebody who may sign in."""
    schema.create_at_migration(steps, tmp_path / "older.db")
    db = sqlite3.connect(tmp_path / "older.db", isolation_level=None)
    db.execute("PRAGMA foreign_keys = OFF")
    line = ledger.LedgerLine("receive", 1, 1, 1, 5)
    digest = ledger.line_digest(ledger.GENESIS_DIGEST, ledger._row_values(1, 1, 77, line))
    values = {
        "people": {"name": "ana", "role": "owner"}, "parts": {"number": "F-1", "name": "A fan", "kind": "fan"},
        "bins": {"code": "B3PPH9W5D", "name": "A-1", "part_id": 1}, "ledger_head": {"last": 1, "digest": digest},
        "lots": {"code": "LT8S4C6WN", "part_id": 1, "origin": "found", "quantity": 5},
        "balances": {"bin_id": 1, "lot_id": 1, "part_id": 1, "quantity": 5},
        "movements": {
            "id": 1, "entry": 1, "at": 77, "kind": "receive", "part_id": 1, "lot_id": 1, "bin_id": 1, "quantity": 5,
            "piece_id": None, "job_id": None, "person_id": None, "reason": "", "one_off": 0, "reverses_id": None,
            "digest": digest,
        },
    }  # fmt: skip
    order = ["people", "parts", "lots", "bins", "balances", "ledger_head", "movements"]
    with zipfile.ZipFile(tmp_path / "older.zip", "w") as archive:
        for table in order:
            columns = db.execute(f'PRAGMA table_info("{table}")').fetchall()
            row = [values[table].get(name, _usual(name, type_)) for _, name, type_, *_ in columns]
            lines = [[name for _, name, *_ in columns], row]
            archive.writestr(f"tables/{table}.jsonl", "".join(json.dumps(line) + "\n" for line in lines))
        about = {
            "form": 1, "made": "2026-01-01T00:00:00+00:00", "lines": 1, "digest": digest, "faults": [], "files": [],
            "missing": [], "steps": steps, "rows": dict.fromkeys(order, 1),
        }  # fmt: skip
        archive.writestr("about.json", json.dumps(about))
    db.close()
    return tmp_path / "older.zip"


def _usual(name: str, type_: str) -> Any:
    if name in ("kept", "unit"):
        return {"kept": "counted", "unit": "piece"}[name]
    if name in ("attributes", "hazards"):
        return {"attributes": "{}", "hazards": "[]"}[name]
    if name.endswith("_id") or name in ("best_before", "opened", "open_until", "cost_minor", "promise", "level"):
        return None
    if name in ("retired", "on_hold", "mixed"):
        return 0
    return 1 if type_ == "INTEGER" else ("" if type_.startswith(("TEXT", "VARCHAR")) else None)


# ---- what is refused -------------------------------------------------------------------------------------


def test_a_bench_in_use_is_not_restored_over(tmp_path: Path, data_dir: Path) -> None:
    a_stocked_part(3)
    before = everything()
    with pytest.raises(Conflict, match="There is a bench in this database already: restore into a new"):
        restore.restore_backup(made(tmp_path, data_dir), data_dir)
    assert everything() == before


def cut_off(content: bytes) -> bytes:
    return content[: len(content) // 2]


def without_its_last_line(content: bytes) -> bytes:
    return b"\n".join(content.rstrip(b"\n").split(b"\n")[:-1]) + b"\n"


def one_more_in_the_bin(content: bytes) -> bytes:
    names, row = (json.loads(line) for line in content.splitlines())
    row[names.index("quantity")] += 1
    return f"{json.dumps(names)}\n{json.dumps(row)}\n".encode()


def another_part_than_any(content: bytes) -> bytes:
    return content.replace(b'"4-way header"', b'{"a": 1}', 1)


def a_lot_of_no_part(content: bytes) -> bytes:
    names, row = (json.loads(line) for line in content.splitlines())
    row[names.index("part_id")] = 4711
    return f"{json.dumps(names)}\n{json.dumps(row)}\n".encode()


@pytest.mark.parametrize(
    ("member", "change"),
    [
        ("tables/parts.jsonl", another_part_than_any),
        ("tables/parts.jsonl", lambda content: content.replace(b'"hazards"', b'"hazards) --"')),
        ("tables/lots.jsonl", a_lot_of_no_part),
        ("tables/movements.jsonl", cut_off),
        ("tables/movements.jsonl", without_its_last_line),
        ("tables/parts.jsonl", without_its_last_line),
        ("tables/balances.jsonl", one_more_in_the_bin),
        ("about.json", cut_off),
        ("about.json", lambda content: content.replace(b'"lines"', b'"lime"')),
        ("about.json", lambda content: content.replace(b'"files": []', b'"files": ["../../escaped"]')),
        ("about.json", lambda content: content.replace(b'"rows": {', b'"rows": {"sqlite_master": 0, ')),
    ],
)
def test_a_damaged_backup_is_refused_and_nothing_of_it_kept(
    member: str, change: Callable[[bytes], bytes], tmp_path: Path, data_dir: Path, kind: str,
    new_place: Callable[[str], str],
) -> None:  # fmt: skip
    a_stocked_part(3)
    path = changed(made(tmp_path, data_dir), member, change)
    with connection.temporarily_bound(new_place(kind)):
        with pytest.raises(Invalid, match="This backup is damaged: choose another one"):
            restore.restore_backup(path, tmp_path / "new")
        assert not schema.has_tables()
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 and no more", b"no archive at all"])
def test_what_is_no_backup_is_refused(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(content)
    with pytest.raises(Invalid, match="is no backup of a bench, or was cut off"):
        restore.trial_restore(tmp_path / "x.zip")
    with pytest.raises(Invalid, match="There is no file"):
        restore.trial_restore(tmp_path / "y.zip")


@pytest.mark.parametrize("newer", [{"form": 2}, {"steps": ["0001_from_the_future"]}])
def test_a_backup_of_a_newer_benchproof_is_refused(newer: dict[str, Any], tmp_path: Path, data_dir: Path) -> None:
    path = changed(
        made(tmp_path, data_dir), "about.json", lambda content: json.dumps({**json.loads(content), **newer}).encode()
    )
    with pytest.raises((Invalid, schema.SchemaTooNew), match=r"newer Benchproof made this.*: update this one first"):
        restore.trial_restore(path)


def test_a_database_that_a_newer_benchproof_used_is_not_opened() -> None:
    execute("INSERT INTO schema_steps (name, applied) SELECT '9999_to_come', applied FROM schema_steps LIMIT 1")
    with pytest.raises(schema.SchemaTooNew, match="9999_to_come"):
        schema.migrate()


def test_no_file_is_written_over_and_none_left_half_written(tmp_path: Path, data_dir: Path) -> None:
    path = made(tmp_path, data_dir)
    with pytest.raises(Conflict, match="is there already: give the backup another name"):
        backup_archive.write_backup(path, data_dir)
    with pytest.raises(Invalid, match=r"cannot be written to .*: choose another folder"):
        backup_archive.write_backup(tmp_path / "nowhere" / "bench.zip", data_dir)
    execute("UPDATE parts SET name = name WHERE 1 = 0")  # the connection is free again
    assert [path.name for path in tmp_path.iterdir()] == ["bench.zip"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_file_that_differs_from_the_backups_is_kept(
    tmp_path: Path, data_dir: Path, kind: str, new_place: Callable[[str], str]
) -> None:
    lively(data_dir)
    path = made(tmp_path, data_dir)
    there = next((data_dir / "attachments").iterdir())
    there.write_bytes(b"another")
    with connection.temporarily_bound(new_place(kind)), pytest.raises(Conflict, match="is there and differs"):
        restore.restore_backup(path, data_dir)
    assert there.read_bytes() == b"another"


# ---- on the command line ---------------------------------------------------------------------------------


def command(*arguments: object) -> tuple[int, str]:
    answer = CliRunner().invoke(main, [str(argument) for argument in arguments])
    return answer.exit_code, answer.output


def test_it_is_made_tried_and_restored_by_commands(
    tmp_path: Path, data_dir: Path, kind: str, database_url: str, new_place: Callable[[str], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    lively(data_dir)
    digest = verify.verify_ledger().digest
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", database_url)
    monkeypatch.setenv("BENCHPROOF_DATA_DIR", str(data_dir))
    status, text = command("backup", tmp_path)
    path = next(tmp_path.glob("bench-*.zip"))
    assert status == 0
    assert text.startswith(f"{path}: made ")
    assert f"digest {digest}" in text
    assert command("restore", path, "--try") == (0, f"It can be restored: {text.removeprefix(f'{path}: ')}")
    assert command("restore", path)[0] == 1  # this bench is in use
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", new_place(kind))
    assert command("restore", path)[0] == 0
    assert command("verify", "--expect", digest)[0] == 0


def test_it_says_which_file_is_missing_and_what_is_wrong(
    tmp_path: Path, data_dir: Path, database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    lively(data_dir)
    next((data_dir / "attachments").iterdir()).unlink()
    execute("UPDATE balances SET quantity = quantity + 1")
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", database_url)
    monkeypatch.setenv("BENCHPROOF_DATA_DIR", str(data_dir))
    status, text = command("backup", tmp_path / "b.zip")
    assert status == 1
    assert "MISSING  attachments/" in text
    assert "WRONG  Bin" in text
    assert not restore.trial_restore(tmp_path / "b.zip").sound  # an unsound bench can be looked into elsewhere
