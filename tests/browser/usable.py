"""What makes a screen unusable: for axe, for a finger, for a narrow device."""

from typing import Any

from tests.browser.people import Someone
from tests.house.tree import ROOT

AXE = (ROOT / "tests" / "vendor" / "axe.js").read_text(encoding="utf-8")
#: WCAG 2.2 A and AA, and what axe calls best practice.
WANTED = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


def complaints(person: Someone, *, enhanced: bool = False) -> list[str]:
    """What axe finds wrong; `enhanced` asks for WCAG 1.4.6, contrast of 7:1, too."""
    # Motion would be measured half-way.
    person.page.emulate_media(reduced_motion="reduce")
    person.page.evaluate(AXE)
    options: dict[str, Any] = {**WANTED}
    if enhanced:
        options["rules"] = {"color-contrast-enhanced": {"enabled": True}}
    found = person.page.evaluate("options => axe.run(options)", options)
    return [
        f"{each['id']}: {node['html'][:120]}"
        for each in found["violations"]
        for node in each["nodes"]
    ]


def small(person: Someone, least: int, where: str) -> list[str]:
    """The controls in sight that are smaller than `least` CSS pixels either way."""
    found: list[str] = person.page.evaluate(
        """([least, where]) => [...document.querySelectorAll(where)]
          .filter(each => each.checkVisibility())
          .map(each => [each, each.getBoundingClientRect()])
          .filter(([, box]) => box.width && (box.width < least - 0.5 || box.height < least - 0.5))
          .map(([each, box]) => `${each.className} ${each.textContent.trim().slice(0, 40)}: ` +
            `${Math.round(box.width)} × ${Math.round(box.height)}`)""",
        [least, where],
    )
    return found


def too_wide(person: Someone) -> int:
    """By how many pixels the page is wider than the device."""
    wide: int = person.page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return wide
