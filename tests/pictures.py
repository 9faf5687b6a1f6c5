"""Takes the pictures of the manual from the demonstration: `make pictures`.

Seeds a database of its own, serves it, walks through it in each role, and writes the files
into drills/static/drills/guide/.
"""

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import FilePayload, Page, ViewportSize, sync_playwright

from drills.engine.workbook import read_workbook, to_xlsx
from tests.conftest import find_chromium

ROOT = Path(__file__).resolve().parent.parent
TO = ROOT / "drills" / "static" / "drills" / "guide"
PHONE: ViewportSize = {"width": 390, "height": 844}
DESK: ViewportSize = {"width": 1280, "height": 900}
PATIENCE_S = 20.0
# Letter without its margins, in px of CSS.
PAPER: ViewportSize = {"width": 725, "height": 965}
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder)) as (address, passwords),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=find_chromium(), args=["--no-sandbox", "--disable-gpu"]
        )
        for number, size, shots in (
            ("SB0001", PHONE, take),
            ("SB0037", DESK, of_officer),
            ("SB0041", DESK, of_educator),
            ("SB0042", DESK, of_keeper),
            ("SB0043", DESK, of_director),
        ):
            page = browser.new_page(base_url=address, viewport=size, reduced_motion="reduce")
            sign_in(page, number, passwords[number])
            shots(page)
        browser.close()


def sign_in(page: Page, number: str, password: str) -> None:
    page.goto("/")
    page.get_by_label("Employee number").fill(number)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def take(page: Page) -> None:
    """Today, a search, a cabinet of the study walk, a prompt at night, and a debrief."""
    picture(page, "today-phone")
    page.goto("/rigs/mesa-box/?find=tourniquet")
    picture(page, "find-phone")
    page.goto("/rigs/mesa-box/walk/C1/")
    picture(page, "walk-phone")
    page.goto("/boards/drills/")
    page.get_by_role("link", name="Find ten things").first.click()
    picture(page, "debrief-phone")
    page.get_by_role("button", name="Night").click()
    page.goto("/boards/drills/")
    page.locator("summary", has_text="Calls and their kits").click()
    page.get_by_role("button", name="Start First multi-patient call").click()
    page.get_by_role("button", name="Begin untimed").click()
    page.locator(".kp-interior-street").click()
    page.locator(".e-interior-street .cell", has_text="W5").first.click()
    page.locator(".e-interior-street .leaf:visible").first.click()
    picture(page, "prompt-phone-night")


def of_officer(page: Page) -> None:
    """My people, and one assignment."""
    picture(page, "people-desk")
    page.goto("/runs/assignments/")
    page.get_by_role("link", name="Find ten things").click()
    picture(page, "assignment-desk")


def of_educator(page: Page) -> None:
    """The cohort."""
    picture(page, "cohort-desk")


def of_keeper(page: Page) -> None:
    """The drawing; a revision that moved a bag, as a draft, then changed by hand; labels."""
    page.goto("/rigs/mesa-box/?find=panel&seat=ATTENDANT")
    picture(page, "layout-desk")
    page.goto("/rigs/import/")
    layout = read_workbook(ROOT / "fixtures" / "layouts" / "mesa-box").layout
    if layout is None:
        raise ValueError("The layout of the demonstration cannot be read.")
    file = FilePayload(name="mesa-box.xlsx", mimeType=XLSX, buffer=to_xlsx(layout))
    page.locator("input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Read it").click()
    page.get_by_role("button", name="Publish").wait_for()
    picture(page, "import-desk")
    page.goto("/rigs/mesa-box/draft/?at=S5")
    page.locator("#nudge-left").click()
    page.locator("#undo").wait_for()
    picture(page, "draft-desk")
    page.goto("/rigs/units/204/labels/")
    page.get_by_role("button", name="Make the sheets").click()
    page.get_by_text("labels for rig 204").first.wait_for()
    picture(page, "labels-desk")


def of_director(page: Page) -> None:
    """A revision that waits for approval, a rule with its source, and problems on paper."""
    page.goto("/formulary/")
    page.get_by_role("link", name="Revision 1").first.click()
    page.locator("#decide").wait_for()
    picture(page, "approval-desk")
    page.goto("/formulary/rules/D002/")
    picture(page, "rule-desk")
    page.goto("/boards/practice/sheet/?layout=mesa-box&what=dose&grade=2&rule=shown&count=8&seed=3")
    page.set_viewport_size(PAPER)
    page.emulate_media(media="print")
    picture(page, "sheet-paper")


def picture(page: Page, name: str) -> None:
    page.wait_for_timeout(500)
    page.screenshot(path=TO / f"{name}.png")
    sys.stdout.write(f"{name}.png\n")


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """A fresh demonstration on a free port: its address, and passwords by employee number."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    environment = os.environ | {
        "DJANGO_DEBUG": "1",
        "READINESS_DEMO": "1",
        "DATABASE_URL": f"sqlite:///{folder / 'pictures.sqlite3'}",
        "PORT": port,
    }

    def manage(*words: str) -> str:
        command = [sys.executable, "manage.py", *words]
        return subprocess.run(
            command, cwd=ROOT, env=environment, check=True, capture_output=True, text=True
        ).stdout

    manage("migrate", "-v0")
    manage("loaddata", "-v0", *map(str, sorted((ROOT / "fixtures").glob("*.json"))))
    manage("seed_demo")
    manage("play_demo")
    passwords = dict(re.findall(r"(SB\d+)\s+(\S+)", manage("demo_sign_ins")))
    server = subprocess.Popen(
        [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_for(int(port))
        yield f"http://127.0.0.1:{port}", passwords
    finally:
        server.terminate()
        server.wait()


def wait_for(port: int) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        with socket.socket() as tried:
            if tried.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise TimeoutError(f"nothing answers on port {port} after {PATIENCE_S:.0f} s")


if __name__ == "__main__":
    main()
