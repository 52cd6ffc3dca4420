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

    def rule(self, rule: str) -> Locator:
        """Where a rule is shown."""
        return self.page.locator(f"[data-rule='{rule}']")

    def taps(self, rule: str, words: str) -> None:
        """Touch what a rule offers, by the beginning of its words."""
        target = self.rule(rule).get_by_role("button", name=re.compile(f"^{re.escape(words)}"))
        target.first.wait_for()
        self.page.wait_for_timeout(SETTLING)
        target.first.click()

    def presses(self, keys: str) -> None:
        """Touch keys of the pad one after the other."""
        for key in keys:
            self.page.locator(".pad button", has_text=re.compile(rf"^{re.escape(key)}$")).click()

    def records(self, words: str) -> None:
        """Touch the button of the window that puts what was keyed on the record."""
        self.page.locator("dialog").get_by_role("button", name=words).click()

    def begins(self, rule: str) -> None:
        """Touch that something begins."""
        self.marks(rule)
        expect(self.rule(rule).get_by_role("timer")).to_be_visible()

    def ends(self, rule: str) -> None:
        """Touch that it ends."""
        self.marks(rule)
        expect(self.rule(rule).get_by_role("timer")).to_have_count(0)

    def opens_pad(self, rule: str) -> None:
        """Touch the large target of a rule that is keyed."""
        self.marks(rule)
        expect(self.page.locator("dialog")).to_be_visible()

    def copies(self, rule: str, keys: str) -> None:
        """Key what stands on the sheet."""
        self.opens_pad(rule)
        self.presses(keys)
        self.records("Record")

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
        is_open = self.page.locator(".closing .question").count() > 0
        self.button("Close out").click()
        if is_open:
            self.button("Close out all the same").click()
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

    def gives(self, name: str, value: str) -> None:
        """Say what was drawn for the run."""
        self.page.locator(".givens button", has_text=re.compile(f" {name}$")).click()
        choice = self.page.locator("dialog .choices button", has_text=value)
        if choice.count():
            choice.click()
        else:
            self.page.locator("dialog input").fill(value)
            self.button("Give it").click()
        expect(self.page.locator(".givens li", has_text=name)).to_contain_text(value)

    def answers(self, rule: str, answer: str) -> None:
        """Say what became of something that nobody saw."""
        place = self.page.locator(f".questions [data-rule='{rule}']")
        place.locator(".outcome", has_text=re.compile(f"^{re.escape(answer)}$")).click()

    def sees_finding(self, finding: str, *words: str) -> None:
        """Read a finding, by the beginning of its id."""
        place = self.page.locator(f"[data-finding^='{finding}']").first
        for each in words:
            expect(place).to_contain_text(each, timeout=PATIENCE)

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
