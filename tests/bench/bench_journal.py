"""The journal's figures: append against a bare insert, the tree and a full check against hashing, verifying a file."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from tests.journal.shop import open_shop
from witnessmark.clock import NS, ManualClock, SystemClock
from witnessmark.journal import entry, finding, head, merkle, sealing
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal

Row = dict[str, object]

TREE = 1_000_000
JOBS = 10_000


def run() -> list[Row]:
    """Return every figure."""
    return [*append_rows(), *tree_rows(), *check_rows(), *verify_rows(), *lookup_rows()]


def append_rows(jobs: int = 8, each: int = 300, warm: int = 1200) -> list[Row]:
    """Append entries and, in turn, do bare inserts of a text as long, both with synchronous=FULL.

    Once as a bay does it, where a program opens the journal for each job and its log begins anew; once in one long
    run, after the log of both has reached the length at which it is written over instead of growing.
    """
    with tempfile.TemporaryDirectory(dir=_disk()) as folder:
        path, bare_path = Path(folder) / "journal", Path(folder) / "bare"
        with Journal.create(path, "bay1.depot.example", SystemClock()) as journal:
            text = entry.text(journal.append(step(0))).decode()
        by_job: dict[str, list[float]] = {"bare": [], "ours": []}
        for number in range(jobs):
            with _bare(bare_path) as bare, Journal.open(path, SystemClock(), write=True) as journal:
                _append_in_turn(bare, text, journal, f"J-{number}", each, by_job)
        long: dict[str, list[float]] = {"bare": [], "ours": []}
        with _bare(bare_path) as bare, Journal.open(path, SystemClock(), write=True) as journal:
            _append_in_turn(bare, text, journal, "J-long", warm, {"bare": [], "ours": []})
            _append_in_turn(bare, text, journal, "J-long", jobs * each, long)
    rows: list[Row] = []
    for what, spent in ((f"{jobs} jobs of {each}", by_job), ("one long run", long)):
        for name, part in (("p50", 0.5), ("p99", 0.99)):
            one, other = (sorted(spent[who])[int(part * jobs * each)] for who in ("bare", "ours"))
            rows += [
                row(f"{what}: bare insert, {name}", one * 1e3, "ms", "sqlite3, WAL, synchronous=FULL"),
                row(f"{what}: append, {name}", other * 1e3, "ms", "in turn with the bare ones"),
                row(f"{what}: append / bare, {name}", other / one, "x", "wanted: at most 1.5"),
            ]
    return rows


@contextmanager
def _bare(path: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("CREATE TABLE IF NOT EXISTS entries (seq INTEGER PRIMARY KEY, text TEXT)")
    yield connection
    connection.close()


def _append_in_turn(
    bare: sqlite3.Connection, text: str, journal: Journal, job: str, count: int, spent: dict[str, list[float]]
) -> None:
    for draft in (step(number, job) for number in range(count)):
        begin = time.perf_counter()
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO entries (text) VALUES (?)", (text,))
        bare.execute("COMMIT")
        middle = time.perf_counter()
        journal.append(draft)
        end = time.perf_counter()
        spent["bare"].append(middle - begin)
        spent["ours"].append(end - middle)


def tree_rows(count: int = TREE) -> list[Row]:
    """Grow a tree of `count` entries in memory, against one SHA-256 an entry."""
    text = sample()
    hashing = hashing_s(text, count)

    def grow() -> None:
        tree = merkle.Range()
        for _ in range(count):
            tree.append(merkle.leaf_hash(text))

    growing = cpu_s(grow)
    return [
        row(f"tree of {count} entries", growing, "s", f"processor time; entries of {len(text)} bytes"),
        row("tree / one SHA-256 an entry", growing / hashing, "x", "wanted: at most 3"),
    ]


def check_rows(count: int = TREE) -> list[Row]:
    """Check a whole journal of `count` entries on disk, against one SHA-256 an entry in memory.

    Hashing is timed before and after each check, in its process: the machine's speed is not the same from one second
    to the next.
    """
    with tempfile.TemporaryDirectory(dir=_disk()) as folder:
        path = long_journal(Path(folder), count)
        script = (
            "import pathlib,resource,sys,time;from witnessmark.clock import SystemClock;"
            "from witnessmark.journal.check import check;from tests.bench.bench_journal import hashing_s,sample;"
            "text=sample();count=int(sys.argv[2]);before=hashing_s(text,count);begin=time.process_time();"
            "found=check(pathlib.Path(sys.argv[1]),SystemClock(),database=False);spent=time.process_time()-begin;"
            "hashing=(before+hashing_s(text,count))/2;"
            "print(found.verdict,found.size,spent,spent/hashing,"
            "resource.getrusage(resource.RUSAGE_SELF).ru_maxrss,sep='|')"
        )
        goes = []
        for _ in range(3):
            command = [sys.executable, "-c", script, str(path), str(count)]
            checked = subprocess.run(command, capture_output=True, text=True, check=True)
            verdict, size, *figures = checked.stdout.strip().split("|")
            assert (verdict, int(size)) == ("consistent, unanchored", count)
            goes.append([float(figure) for figure in figures])
        spent, ratio, memory_kib = (sorted(column)[1] for column in zip(*goes, strict=True))
        whole = cpu_s(lambda: check(path, SystemClock()))
        with Journal.open(path, SystemClock()) as journal:
            node = journal.tree.node
            proof = seconds(lambda: [merkle.inclusion_path(n, count, node) for n in range(0, count, count // 20)]) / 20
            opened = seconds(lambda: Journal.open(path, SystemClock(), write=True).close())
    return [
        row(
            f"check of {count} entries on disk",
            spent,
            "s",
            "processor time, median of 3; spelling, job chains, tree, head file",
        ),
        row("check / one SHA-256 an entry in memory", ratio, "x", "median of 3; wanted: at most 7"),
        row("memory of that process", memory_kib / 1024, "MiB", "flat: it keeps a head for each job"),
        row("the same with SQLite's own check", whole, "s", "PRAGMA integrity_check of pages and indexes"),
        row("inclusion proof, anywhere in it", proof * 1e3, "ms", "mean of 20, far apart"),
        row("opening it for writing", opened * 1e3, "ms", "compares its edge with the head file"),
    ]


def verify_rows(count: int = 2000) -> list[Row]:
    """Verify an evidence file of `count` entries against its sheet, the whole process."""
    with tempfile.TemporaryDirectory(dir=_disk()) as folder:
        shop = open_shop(Path(folder))
        with shop.journal as journal:
            journal.append_many([step(number, f"J-{number % 2}") for number in range(2 * count)])
            note = sealing.seal_job(journal, shop.key, "J-1", "person:lead", sheet=True, why="printed").note
            (Path(folder) / "evidence").write_bytes(sealing.evidence_of(journal, "J-1", note))
        (Path(folder) / "anchor").write_text(str(note), encoding="utf-8")
        script = (
            "import pathlib,sys;from witnessmark.audit.verify import verify;"
            "from witnessmark.journal.checkpoint import parse_anchor;folder=pathlib.Path(sys.argv[1]);"
            "found=verify((folder/'evidence').read_bytes(),parse_anchor((folder/'anchor').read_text('utf-8')));"
            "print(found.verdict,len(found.entries))"
        )

        def verify() -> None:
            done = subprocess.run([sys.executable, "-c", script, folder], capture_output=True, text=True, check=True)
            assert done.stdout.split() == ["intact", str(count)]

        spent = sorted(seconds(verify) for _ in range(5))[2]
        size = (Path(folder) / "evidence").stat().st_size
    note_ = f"median of 5; wanted: under 0.5 s; a file of {size / 1e6:.1f} MB"
    return [row(f"verify {count} entries against a sheet, whole process", spent, "s", note_)]


def lookup_rows(jobs: int = JOBS) -> list[Row]:
    """Open a journal of many jobs, find one, and read its first entry."""
    with tempfile.TemporaryDirectory(dir=_disk()) as folder:
        path, clock = Path(folder) / "journal", ManualClock()
        with Journal.create(path, "bay1.depot.example", clock) as journal:
            for number in range(jobs):
                clock.advance(600)
                body = {"vehicle": {"vin": f"VIN{number:014}"}, "procedure": {"steps": ["x" * 100] * 40}}
                opened = Draft("job-opened", f"J-{number}", "person:p1", body=body)
                journal.append_many([opened, step(1, f"J-{number}"), step(2, f"J-{number}")])
            rows = [(f"personal:{n:064x}", f"J-{n}", "registration", "00", f'"AB {n}"', f"ab{n}") for n in range(jobs)]
            journal.connection.executemany("INSERT INTO personal VALUES (?, ?, ?, ?, ?, ?)", rows)
        day_ns = clock.now_ns - 86_400 * NS
        found = []
        for name, search in (
            ("plate", lambda journal: finding.by_registration(journal, "ab-7777")),
            ("VIN", lambda journal: finding.by_vin(journal, f"VIN{7777:014}")),
            ("day", lambda journal: finding.by_time(journal, day_ns, clock.now_ns)),
        ):
            spent = sorted(seconds(lambda search=search: _open_and_find(path, search)) for _ in range(5))[2]
            found.append(
                row(f"open a journal, find a job by {name} among {jobs}", spent * 1e3, "ms", "wanted: under 50")
            )
        with Journal.open(path, clock) as journal:
            listing = seconds(journal.jobs)
    return [*found, row(f"list all {jobs} jobs", listing * 1e3, "ms", "")]


def _open_and_find(path: Path, search: Callable[[Journal], list[str]]) -> None:
    with Journal.open(path, SystemClock()) as journal:
        job = search(journal)[0]
        assert next(journal.entries(job)).kind == "job-opened"


def step(number: int, job: str = "J-1") -> Draft:
    body = {"act": "opened", "n": number, "nipple": "rear-left-outer", "pass_id": "p3", "step": "open nipple"}
    return Draft("step", job, "person:p1", body=body)


def sample() -> bytes:
    """Return the text of an entry as they are on average."""
    with (
        tempfile.TemporaryDirectory() as folder,
        Journal.create(Path(folder) / "journal", "bay1.depot.example", SystemClock()) as journal,
    ):
        journal.append(step(0))
        return entry.text(journal.append(step(1)))


def long_journal(folder: Path, count: int) -> Path:
    """Return a journal of `count` entries, written in large transactions."""
    path = folder / "long"
    with Journal.create(path, "bay1.depot.example", SystemClock()) as journal:
        for begin in range(1, count, 10_000):
            end = min(begin + 10_000, count)
            journal.append_many([step(number, f"J-{number // 500}") for number in range(begin, end)])
        assert head.read(head.path_of(path)) == journal.head()
    return path


def row(name: str, value: float, unit: str, note: str) -> Row:
    return {"name": name, "value": round(value, 3), "unit": unit, "note": note}


def hashing_s(text: bytes, count: int) -> float:
    """Return the processor time of one SHA-256 of `text` for each of `count` entries, the median of five goes."""
    goes = [cpu_s(lambda: [sha256(text).digest() for _ in range(count // 10)]) for _ in range(5)]
    return sorted(goes)[2] * 10


def cpu_s(work: Callable[[], object]) -> float:
    """Return the processor time that `work` takes, which other programs do not lengthen."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def _disk() -> str:
    """Return a folder on a disk: where temporary files lie in memory, a sync costs nothing."""
    return os.environ.get("WITNESSMARK_BENCH_DISK", "/var/tmp")
