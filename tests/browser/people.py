"""The people in the room, each at their own screen: what they do there, in their words."""

import re
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

#: After the large targets have moved, a touch this soon counts for nothing, in milliseconds.
SETTLING = 400
#: A server that starts again is found within its tablets' pauses, in milliseconds.
PATIENCE = 20_000


class Someone:
    """A person who has opened their sign-in link."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.complaints: list[str] = []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto(address)

    def button(self, name: str) -> Locator:
        """A button by the beginning of its name."""
        return self.page.get_by_role("button", name=re.compile(f"^{re.escape(name)}"))

    def reads(self, words: str) -> None:
        """See these words somewhere on the screen."""
        expect(self.page.get_by_text(words).first).to_be_visible(timeout=PATIENCE)

    def reloads(self) -> None:
        """Open the page anew."""
        self.page.reload()


class Marker(Someone):
    """Somebody with rules of their own to mark: a judge, or a timekeeper."""

    def goes_to(self, team: str) -> None:
        """Choose the run of a team; the tablet now stands in its bay."""
        self.page.locator(".whose").click()
        self.page.locator(".run-list button", has_text=team).click()
        expect(self.page.locator(".whose .team")).to_have_text(team)

    def marks(self, rule: str) -> None:
        """Touch a rule's good answer, wherever it stands."""
        target = self.page.locator(f"[data-rule='{rule}'] :is(.yes, .row-yes)")
        target.wait_for()
        self.page.wait_for_timeout(SETTLING)
        target.click()

    def answers(self, rule: str, answer: str) -> None:
        """Touch another answer."""
        place = self.page.locator(f"[data-rule='{rule}']")
        place.locator(".more").click()
        self.page.wait_for_timeout(SETTLING)
        place.locator(".outcome", has_text=re.compile(f"^{answer}$")).click()

    def hears(self, callout: str) -> None:
        """Mark that the words were said."""
        self.marks(callout)

    def sees_breach(self, words: str) -> None:
        """Two touches: breach, then the rule."""
        self.button("Breach").click()
        self.page.locator(".breach-choice", has_text=words).click()

    def names(self, role: str) -> None:
        """Say who it was."""
        self.page.locator(".who-strip button", has_text=role).click()

    def takes_back(self) -> None:
        """Undo the last thing."""
        self.button("Undo").click()

    def has_saved(self, saved: int, waiting: int = 0) -> None:
        """Read the state of saving."""
        expect(self.page.locator(".saving")).to_contain_text(
            f"{saved} saved here, {waiting} waiting to send", timeout=PATIENCE
        )

    def closes_out(self) -> None:
        """End the close-out, whatever is still open."""
        self.button("Close out").click()
        sure = self.button("Close out all the same")
        if sure.is_visible():
            sure.click()
        expect(self.page.locator(".closing")).to_have_count(0)

    def stops_for_danger(self) -> None:
        """Press the danger stop for as long as it takes."""
        self.button("Danger stop").click(delay=1_200)

    def sees_danger(self) -> None:
        """See that the run is stopped for danger."""
        expect(self.page.locator(".danger-band")).to_contain_text("Danger stop")


class Judge(Marker):
    """A judge at a post."""

    def expects(self, *rules: str) -> None:
        """See these rules large, in this order."""
        expect(self.page.locator(".next .card")).to_have_count(len(rules))
        for n, rule in enumerate(rules):
            expect(self.page.locator(".next .card").nth(n)).to_have_attribute("data-rule", rule)


class Timekeeper(Marker):
    """A timekeeper at the clock."""

    def starts(self) -> None:
        """Start the run."""
        self.page.get_by_role("button", name="Start", exact=True).click()
        expect(self.page.locator(".screen.is-running")).to_be_visible()

    def holds(self, reason: str) -> None:
        """Hold the clock and say why."""
        self.page.get_by_role("button", name="Hold", exact=True).click()
        self.page.locator(".who-strip button", has_text=reason).click()
        expect(self.page.locator(".screen.is-held")).to_be_visible()

    def resumes(self) -> None:
        """Let the clock go on."""
        self.page.get_by_role("button", name="Resume", exact=True).click()
        expect(self.page.locator(".screen.is-running")).to_be_visible()

    def stops(self) -> None:
        """Stop the run."""
        self.page.locator(".signal.is-stop").click()
        expect(self.page.locator(".screen.is-stopped")).to_be_visible()

    def keys(self, watch: int, digits: str) -> None:
        """Key what a watch shows."""
        self.page.locator(".watch-list button").nth(watch - 1).click()
        for digit in digits:
            self.page.locator(".pad").get_by_role("button", name=digit, exact=True).click()
        self.button(f"Watch {watch} shows").click()


class HeadJudge(Someone):
    """The head judge at the desk."""

    def looks_at(self, team: str) -> None:
        """Read the run of a team."""
        self.button("Runs").click()
        self.page.locator(".run-list button", has_text=team).click()
        expect(self.page.locator(".run-card h2")).to_have_text(team)

    def finding(self, finding: str) -> Locator:
        """A finding of the run that is read, by its id."""
        return self.page.locator(f"[data-finding='{finding}']")

    def _rules(self, finding: str, verb: str, done: str, reason: str) -> None:
        self.finding(finding).get_by_role("button", name=verb, exact=True).click()
        dialog = self.page.locator("dialog")
        dialog.get_by_label("Reason").fill(reason)
        dialog.get_by_role("button", name=done, exact=True).click()
        expect(self.finding(finding).locator(".ruling")).to_contain_text(reason)

    def upholds(self, finding: str, reason: str) -> None:
        """Decide that a finding counts."""
        self._rules(finding, "Uphold", "Uphold", reason)

    def strikes_out(self, finding: str, reason: str) -> None:
        """Decide that a finding does not count."""
        self._rules(finding, "Strike out", "Strike out", reason)

    def posts(self, standing: str, reason: str = "") -> None:
        """Post the standings."""
        self.button("Standings").click()
        self.button(f"Post {standing}").click()
        dialog = self.page.locator("dialog")
        dialog.get_by_label("Reason").fill(reason)
        dialog.get_by_role("button", name=f"Post as {standing}").click()
        expect(self.page.locator(".posted")).to_contain_text(standing)


class Public(Someone):
    """Whoever stands before the board."""

    def sees_nothing_posted(self) -> None:
        """Read that there is nothing yet."""
        self.reads("Nothing is posted yet.")

    def sees(self, team: str, total: str) -> None:
        """Read a team's total."""
        row = self.page.locator("tbody tr", has_text=team)
        expect(row.locator(".total")).to_have_text(total)


class Captain(Someone):
    """A crew's captain."""

    def takes_the_workbook(self, folder: Path) -> Path:
        """Download the crew's own workbook."""
        with self.page.expect_download() as download:
            self.page.get_by_role("link", name="Take it as a workbook").click()
        path = folder / download.value.suggested_filename
        download.value.save_as(path)
        return path
