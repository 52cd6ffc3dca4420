"""Writes the scripts of every demo event: `python -m tests.demo_events`."""

from tests.demo_events import SCRIPTS

for scripts in SCRIPTS:
    for file, text in scripts():
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
