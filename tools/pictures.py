"""Makes docs/pictures from the demo, so that they show what the program does today.

    python tools/pictures.py            # card, debrief, chair, today; needs Chromium, playwright and pdftoppm

card.png is the lesson's card as printed, debrief.png the page of its recording at one of its maneuvers, chair.png the
lesson rehearsed, today.png the lesson as the served page. 900 pixels wide, a palette of colors, at most 150 kB each.
"""

from __future__ import annotations

import io
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from PIL import Image

from airwork.cli import main as airwork
from airwork.web.app import create_app
from airwork.web.settings import Settings

INTO = Path(__file__).parent.parent / "docs" / "pictures"
LESSON = "stalls_over_the_lake"
RECORDING = f"2025-09-20_{LESSON}.csv.gz"
WIDTH, MOST_BYTES = 900, 150_000
CARD_DPI = 155  # A5 is then a little over 900 pixels wide


def save(picture: bytes, name: str, colors: int = 64) -> None:
    """A picture, 900 wide and with few enough colors to be small."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    if image.width != WIDTH:
        image = image.resize((WIDTH, round(image.height * WIDTH / image.width)), Image.Resampling.LANCZOS)
    path = INTO / name
    while True:
        image.quantize(colors, dither=Image.Dither.NONE).save(path, optimize=True)
        size = path.stat().st_size
        if size <= MOST_BYTES or colors <= 8:
            break
        colors //= 2
    if size > MOST_BYTES:
        raise SystemExit(f"{name}: {size} bytes with {colors} colors; show less of the page")
    print(f"{path.relative_to(INTO.parent.parent)}: {image.width} × {image.height}, {size // 1000} kB, {colors} colors")


def card(folder: Path) -> None:
    """First page of the printed card."""
    pdf = folder / "lessons" / f"{LESSON}.card.pdf"
    command = ["pdftoppm", "-png", "-r", str(CARD_DPI), "-f", "1", "-l", "1", str(pdf)]
    save(subprocess.run(command, check=True, capture_output=True).stdout, "card.png", 32)


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The pages of the demo's folder on a free port of this machine."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(16)
        settings = Settings(folder=folder, data=str(folder / "logbook.sqlite"))
        running = uvicorn.Server(uvicorn.Config(create_app(settings), log_level="error"))
        thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        running.should_exit = True
        thread.join(10)


def pages(folder: Path, chromium: str) -> None:
    """Photographs of the lesson's page and of its debrief."""
    from playwright.sync_api import sync_playwright

    with served(folder) as address, sync_playwright() as started:
        browser = started.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        page: Any = browser.new_context(
            base_url=address, viewport={"width": 1200, "height": 1000}, color_scheme="light"
        ).new_page()
        page.goto("/")
        page.wait_for_load_state("networkidle")
        save(page.screenshot(), "today.png")
        page.goto("/debriefs")
        page.set_input_files("#recording", str(folder / "recordings" / RECORDING))
        page.select_option("[name=airplane]", "larkmoor_155")
        page.click("#bring button")
        page.wait_for_url(re.compile(r"/debriefs/[0-9a-f]{32}$"))
        page.wait_for_selector(".screen.mapped")
        page.set_viewport_size({"width": 1280, "height": 800})
        choices = page.locator("#which option").all_text_contents()
        turn = next(k for k, words in enumerate(choices) if "Steep turn" in words)
        page.select_option("#which", index=turn)
        page.locator("#screen").focus()
        page.keyboard.press("Shift+ArrowRight")  # ten seconds into it: the cursor, and with it gauges and map
        page.wait_for_timeout(300)
        save(page.screenshot(), "debrief.png", 128)
        page.goto("/chair?lesson=" + LESSON)
        page.wait_for_selector(".screen.mapped")
        page.select_option("#which", label="6 Steep turn")
        page.wait_for_timeout(300)
        save(page.screenshot(), "chair.png", 128)
        browser.close()


def main() -> int:
    """Run the demo in a folder of its own and take the pictures."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    for tool, found in (("Chromium", chromium), ("pdftoppm (Debian: poppler-utils)", shutil.which("pdftoppm"))):
        if found is None:
            print(f"pictures: {tool} is not installed", file=sys.stderr)
            return 2
    INTO.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "demo"
        if airwork(["demo", "--into", str(folder)]):
            return 2
        card(folder)
        pages(folder, str(chromium))
    return 0


if __name__ == "__main__":
    sys.exit(main())
