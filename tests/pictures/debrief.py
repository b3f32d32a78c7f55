"""Draws the debrief page as a picture: `python -m tests.pictures.debrief` (needs a Chromium).

An invented trainee's nine root taps, typed; the levels of each come from the records of those
before, as at the chair. Nothing in it is a measurement of a person.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from contextlib import closing
from pathlib import Path

from PIL import Image

from assistant import app
from assistant.core import teaching
from assistant.core.events import Priority
from assistant.core.head import Head
from assistant.core.levels import DAY
from assistant.core.recipe import Recipe
from assistant.core.timeline import SaidMark, Timeline, timeline
from assistant.edges import debrief_page, kept_lessons
from assistant.edges.records import RecordStore
from tests.core.service import Service

PICTURE = Path(__file__).with_name("debrief.png")
WIDTH, HEIGHT = 1160, 2770
COLOURS = 64  # a page of text and flat bars needs no more
FIRST_DAY = 20_500.0  # days since 1970: the spring of 2026
VISITS = (0, 3, 7, 10, 14, 17, 21, 24, 28)  # days of the nine services
SLIPS = {4: "nape", 6: "right side", 8: "nape"}  # in which service what is answered wrongly


def main() -> None:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("no Chromium here: install one, it draws the picture")
    with tempfile.TemporaryDirectory() as folder:
        page, shot = Path(folder) / "debrief.html", Path(folder) / "shot.png"
        page.write_text(page_of(Path(folder) / "records.db"), encoding="utf-8")
        subprocess.run(
            [
                chromium,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--hide-scrollbars",
                f"--window-size={WIDTH},{HEIGHT}",
                f"--screenshot={shot}",
                page.as_uri(),
            ],
            check=True,
            capture_output=True,
        )
        small = Image.open(shot).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        small.save(PICTURE, optimize=True)


def page_of(store: Path) -> str:
    """The page of the last service."""
    book = app.read_book()
    for visit, day in enumerate(VISITS):
        utc = (FIRST_DAY + day) * DAY
        levels = dict(kept_lessons.levels(store, "robin", lambda utc=utc: utc))  # type: ignore[misc]
        service = served(book.recipes["root tap"], levels, visit)
        with closing(RecordStore(store, f"visit {visit}", lambda utc=utc: utc)) as records:  # type: ignore[misc]
            records.write(service.head())
    kept = kept_lessons.lessons(store, "robin", lambda: utc)
    sheet = debrief_page.sheet_of(service.head(), marks(service), book.phrases, kept)
    return debrief_page.page([sheet], utc)


def served(recipe: Recipe, levels: dict[str, int], visit: int) -> Service:
    """One service: passes get quicker, the crown's look is late in the last one."""
    service = Service(recipe, trainee="robin", levels=levels).at("00:05")
    service.hear("start root tap")
    service.at("01:00").gate()
    service.at("01:10")
    answer(service, visit)
    service.at("03:00").hear("root bowl is mixed")
    now = 200.0
    for run in service.head().file.zones:
        answer(service, visit)
        takes = run.zone.apply_minutes * 60 * (1.6 - 0.07 * visit)
        pause = 290 if (visit, run.zone.name) == (8, "left side") else 20
        go_to(service, now + pause).hear(f"starting {run.zone.name}")
        now = service.now + takes
        go_to(service, now).hear(f"{run.zone.name} is on")
    for run in sorted(service.head().file.zones, key=lambda z: looked_at(service, z.zone.name)):
        late = 250 if run.zone.name == "crown" and visit in (0, 2, 8) else 15
        at = max(service.now, looked_at(service, run.zone.name) + late)
        go_to(service, at).hear(f"{run.zone.name} is ready")
    go_to(service, service.now + 30).hear("rinsing now")
    go_to(service, service.now + 150).hear("all rinsed")
    for _ in recipe.finish:
        go_to(service, service.now + 120).hear("next step")
    return service


def answer(service: Service, visit: int) -> None:
    """The right answer to an open question, or the slip of this visit."""
    head = service.head()
    asked = teaching.open_question(head)
    if asked is None:
        return
    wrong = SLIPS.get(visit) == head.step().subject
    service.hear("five minutes" if wrong else asked.right)


def looked_at(service: Service, zone: str) -> float:
    head: Head = service.head()
    run = head.zone(zone)
    return head.clock(run).check_from_at if run is not None and run.on_at is not None else 0.0


def go_to(service: Service, seconds: float) -> Service:
    whole = int(seconds)
    return service.at(f"{whole // 60}:{whole % 60:02d}")


def marks(service: Service) -> Timeline:
    calls = [
        SaidMark(at, 1, Priority.CHECK if text.startswith("Chair one. ") else Priority.GUIDE, text)
        for at, text in service.said
    ]
    return timeline("Chair 1: root tap", [service.head()], service.now + 30, calls)


if __name__ == "__main__":
    main()
