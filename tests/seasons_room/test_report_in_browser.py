"""The report in a real browser: at phone and desktop width, light and dark, and printed.

Heavy: asked for by name (pytest -m heavy). What a page must be without one is held by
test_report_page.py in every run.
"""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from seasons_room.season_fleet import DAY, make_season_fleet

from fleets import run

pytestmark = pytest.mark.heavy
NAMES = ("chromium", "chromium-browser", "google-chrome")
#: Measures a page in a frame of a width: what is wider than it, and the least letters shown.
FRAME = """<!doctype html><body style="margin:0"><iframe id="f" src="report.html"
style="width:{width}px;height:800px;border:0"></iframe><pre id="o"></pre><script>
f.onload = () => {{
  const d = f.contentDocument, w = d.documentElement;
  const wide = [...d.querySelectorAll("body *")].filter(e => !e.closest("thead") &&
    e.getBoundingClientRect().right > w.clientWidth + 1).length;
  const letters = [...d.querySelectorAll("svg text")].map(e => e.getBoundingClientRect().height);
  o.textContent = [w.scrollWidth, w.clientWidth, wide, Math.min(...letters)].join(" ");
}};
</script>"""


@pytest.fixture
def browser() -> str:
    """A headless browser; without one this test cannot be run, and says so."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    assert found, f"needs one of {', '.join(NAMES)}"
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the page."""
    fleet = make_season_fleet(tmp_path)
    page = tmp_path / "report.html"
    assert run("report", "--html", str(page), "--on", DAY, fleet=fleet).exit_code == 0
    return tmp_path


def browse(browser: str, folder: Path, *words: str) -> bytes:
    """What the browser writes on standard output."""
    done = subprocess.run(
        [
            browser,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--hide-scrollbars",
            "--allow-file-access-from-files",
            f"--user-data-dir={folder / 'profile'}",
            *words,
        ],
        capture_output=True,
        check=True,
        timeout=120,
    )
    return done.stdout


@pytest.mark.parametrize("width", [320, 390, 768, 1280])
def test_nothing_scrolls_sideways_and_labels_can_be_read(
    browser: str, folder: Path, width: int
) -> None:
    frame = folder / "frame.html"
    frame.write_text(FRAME.format(width=width), "utf-8")
    words = ("--dump-dom", "--virtual-time-budget=5000", f"--window-size={max(width, 600)},900")
    told = browse(browser, folder, *words, f"file://{frame}").decode()
    found = re.search(r'<pre id="o">([^<]*)</pre>', html.unescape(told))
    assert found, told[-400:]
    scroll, client, wide, letters = (float(word) for word in found[1].split())
    assert scroll <= client == width
    assert wide == 0
    # A line of letters so high is nine points or more.
    assert letters >= 10


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("dark", [False, True])
def test_it_is_drawn_light_and_dark(browser: str, folder: Path, width: int, *, dark: bool) -> None:
    picture = folder / "page.png"
    # In a narrow window the browser keeps a least width: a frame does not.
    page = folder / "shot.html"
    page.write_text(
        f'<body style="margin:0"><iframe src="report.html" style="width:{width}px;height:2400px;'
        'border:0"></iframe>',
        "utf-8",
    )
    mode = ("--force-dark-mode",) if dark else ()
    size = f"--window-size={max(width, 600)},2400"
    browse(browser, folder, *mode, size, f"--screenshot={picture}", f"file://{page}")
    shown = Image.open(BytesIO(picture.read_bytes())).convert("L").crop((0, 0, width, 2400))
    levels = shown.histogram()
    bright, dim = sum(levels[200:]), sum(levels[:60])
    assert (dim > bright) is dark
    # Both letters and ground are there.
    assert min(bright, dim) > 3000


def test_it_prints_on_a_few_sheets_of_a4(browser: str, folder: Path) -> None:
    printed = folder / "report.pdf"
    words = ("--no-pdf-header-footer", f"--print-to-pdf={printed}")
    browse(browser, folder, *words, f"file://{folder / 'report.html'}")
    data = printed.read_bytes()
    assert data.startswith(b"%PDF-")
    pages = re.findall(rb"/Type\s*/Page\b(?!s)", data)
    assert 2 <= len(pages) <= 6
    width, height = (
        float(word)
        for word in re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", data).groups()  # type: ignore[union-attr]
    )
    assert (round(width), round(height)) == (595, 842) or (round(width / 5), round(height / 5)) == (
        119,
        168,
    )
