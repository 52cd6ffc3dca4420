"""LibreOffice without a screen: what becomes of a workbook in somebody's spreadsheet program."""

import subprocess
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook, load_workbook


def _convert(workbook: bytes, folder: Path, to: str) -> Path:
    """Open a workbook, let it calculate and save it as something else; the folder it lies in."""
    folder.mkdir()
    (folder / "book.xlsx").write_bytes(workbook)
    done = subprocess.run(
        [
            "soffice",
            f"-env:UserInstallation={(folder / 'profile').as_uri()}",
            "--headless",
            "--convert-to",
            to,
            "--outdir",
            str(folder / "out"),
            str(folder / "book.xlsx"),
        ],
        capture_output=True,
        text=True,
        check=False,
        timeout=100,
    )
    assert done.returncode == 0, done.stderr
    return folder / "out"


def recalculated(workbook: bytes, folder: Path) -> Workbook:
    """A workbook as LibreOffice saves it, formulas as the numbers they came to."""
    saved = _convert(workbook, folder, "xlsx") / "book.xlsx"
    return load_workbook(BytesIO(saved.read_bytes()), data_only=True)


def shown(workbook: bytes, folder: Path) -> list[str]:
    """The text of every cell that holds a number, as LibreOffice shows it on its first sheet."""
    page = _convert(workbook, folder, "html") / "book.html"
    cells = _Numbers()
    cells.feed(page.read_text(encoding="utf-8"))
    return cells.texts


class _Numbers(HTMLParser):
    """Collects the cells that LibreOffice marks as holding a number."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "td" and "sdval" in dict(attrs):
            self._inside = True
            self.texts.append("")

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.texts[-1] += data.strip()

    def handle_endtag(self, tag: str) -> None:
        self._inside = self._inside and tag != "td"
