"""`witnessmark demo`: a whole bleed on a practice vehicle over a real serial port, watched, audited and drawn.

The technician is a script that uses the same socket as a person at the screen; the vehicle, its procedure and its map
are invented. After it a second, disputed job is audited from its recording.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from rich.console import Console

    from witnessmark.host.dossier import Dossier
    from witnessmark.host.shop import Shop
    from witnessmark.host.truck import Truck

RECORDING = "eight-passes-disputed"
LAST_LINES = 12


@click.command()
@click.option("--folder", type=click.Path(file_okay=False, path_type=Path), default=Path("demo-out"), show_default=True,
              help="Where journal, recording and sheets go; made anew.")  # fmt: skip
@click.option("--rate", type=click.IntRange(1, 8), default=8, show_default=True, help="How fast practice time runs.")
@click.option("--recordings", type=click.Path(file_okay=False, path_type=Path), default=None,
              help="Where the disputed recording lies. Default: recordings_demo of this checkout.")  # fmt: skip
def demo(folder: Path, rate: int, recordings: Path | None) -> None:
    """Run, audit and draw a whole job on a practice vehicle."""
    from rich.console import Console

    from witnessmark.host import dossier
    from witnessmark.host.shop import Shop
    from witnessmark.host.truck import Truck

    console = Console()
    _make_anew(folder)
    console.print(
        "[bold]An invented light truck of a municipal depot[/bold]: rear left caliper and brake control unit are new. "
        f"Nothing here is a real vehicle. Practice time runs {rate}x; every entry and the sheet say so."
    )
    with Truck(folder / "yard", rate, "--trace", str(folder / "bus.log")) as truck:
        shop = Shop(folder / "shop", truck.clock)
        console.print(f"The truck's serial adapter is at {folder / 'yard' / 'port'}; every frame goes to bus.log.")
        job = open_truck_job(shop, truck)
        _run(console, shop, truck, job)
    data = shop.evidence(job)
    evidence = folder / f"{job}.evidence.json"
    evidence.write_bytes(data)
    sheets = [_conclude(console, dossier.of_job(shop, job), f"the job just done, {job}", folder / f"{job}.sheet.html")]
    disputed = (recordings or Path(__file__).resolve().parents[3] / "recordings_demo") / RECORDING / "evidence.json"
    if disputed.is_file():
        found = dossier.of_target(shop, str(disputed))
        sheets.append(_conclude(console, found, "a disputed job, from its recording", folder / "disputed.sheet.html"))
    else:
        console.print(
            f"[yellow]The disputed recording is not at {disputed}: name its folder with --recordings.[/yellow]"
        )
    for sheet in sheets:
        console.print(f"sheet: {sheet}", soft_wrap=True)
    console.print(f"Look around: witnessmark job show {job} --shop {folder / 'shop'}", soft_wrap=True)


def _make_anew(folder: Path) -> None:
    """Make the folder empty. Refuses one that holds anything but an earlier demo."""
    from witnessmark.errors import InputError

    if folder.exists() and any(folder.iterdir()) and not (folder / "shop").is_dir():
        raise InputError("it is not empty and no earlier demo", place=str(folder), hint="name another --folder")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)


def open_truck_job(shop: Shop, truck: Truck) -> str:
    """Open the job and let the lead approve the map, as `job open` and `protocol approve` do."""
    from importlib.resources import files

    from witnessmark.host import instruments
    from witnessmark.host.opening import open_job
    from witnessmark.job.allowed.approval import approve
    from witnessmark.mapping import load as maps
    from witnessmark.people.person import Person
    from witnessmark.procedure import load as procedures

    data = Path(str(files("witnessmark_practice") / "data"))
    map_ = maps.load(data / "map.json")
    with shop.write("bay.demo.invalid") as journal:
        journal.append(approve(Person("lead-1", "lead"), map_, why="demo"))
        return open_job(
            journal,
            procedures.load(data / "procedure.toml"),
            map_,
            by=Person("tech-7"),
            link=truck.address,
            vehicle={"id": "depot-14", "vin": "0DU14LT2XN0000014"},
            complaint="pedal soft after the caliper was changed",
            instruments=instruments.read(data),
            now_ns=shop.clock.stamp().wall_ns,
        )


def _run(console: Console, shop: Shop, truck: Truck, job: str) -> None:
    from witnessmark.host.face import RunnerHandle
    from witnessmark.host.rehearsal import Rehearsal
    from witnessmark.people.person import Person

    person = Person("tech-7")
    with (
        _progress(console) as watch,
        RunnerHandle.spawn(shop.journal_path, job, person, link=truck.address, who="demo") as handle,
    ):
        Rehearsal(handle, truck.workshop, truck.clock, watch=watch).work()


@contextmanager
def _progress(console: Console) -> Iterator[Callable[[dict[str, Any]], None]]:
    """Show what the runner shows: what is done now, how far the job is, and how a run stands."""
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.fields[what]:<64.64}"), BarColumn(24), TextColumn("{task.percentage:>3.0f} %"))
    with Progress(*columns, TimeElapsedColumn(), console=console, transient=False) as progress:
        job = progress.add_task("job", total=1, what="starting")
        run = progress.add_task("run", total=1, what="", visible=False)

        def watch(message: dict[str, Any]) -> None:
            if "view" in message:
                view = message["view"]
                what = f"{view.get('title', '')[:26]:<27}{view.get('text', '')}"
                progress.update(job, what=what, completed=view.get("at", 0), total=view.get("of") or 1)
            elif "run" in message:
                state = message["run"]
                of_s = float(state.get("of_s") or 1)
                done_s = min(float(state.get("elapsed_s") or 0), of_s)
                progress.update(run, what=f"  wire: {state['state']}", completed=done_s, total=of_s, visible=True)
                if state.get("result"):
                    progress.console.print(f"  run {state['result']}, {state['state']}")
                    progress.update(run, visible=False)
            elif "error" in message:
                progress.console.print(f"  refused: {message['error']['what']}")

        yield watch


def _conclude(console: Console, found: Dossier, title: str, sheet: Path) -> Path:
    """Audit what there is of a job, print the findings, write the sheet and return where it is."""
    from datetime import datetime

    from witnessmark.cli.audit import show, tolerances
    from witnessmark.cli.options import write_file
    from witnessmark.report.facts import facts
    from witnessmark.report.sheet import sheet as draw

    outcome = found.audited()
    findings, graded = [found.said(one) for one in outcome.audit.findings], outcome.audit.case.witnessed_otherwise
    show(findings, title, outcome.integrity.verdict, False, graded=graded)
    console.print(tolerances(outcome.audit.case))
    zone = datetime.fromtimestamp(0).astimezone().tzinfo
    assert zone is not None
    write_file(sheet, draw(facts(outcome.audit, zone=zone, beside=found.beside)).encode())
    return sheet
