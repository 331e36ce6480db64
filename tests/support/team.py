"""A team at the tablet: taps and types on the real screens, in the words that stand on them."""

import re
from collections.abc import Mapping

from playwright.sync_api import Locator, Page, expect

COMMON: Mapping[str, str] = {}
# No answer is offered as the common one where the eye is read: this team operates on right eyes.
READ = {"Which eye?": "Right eye", "Stop: block": "Right eye", "Time out": "Right eye"}
MODEL, DIGITS, QUARTER = "AURA-1", "21", "0.50"


class Team:
    """Nurse and surgeon at one page."""

    def __init__(self, page: Page) -> None:
        self.page = page

    @property
    def asked(self) -> str:
        """The key word of what is asked now."""
        return self.page.locator("main h1").first.inner_text()

    def enrol(self, code: str, name: str = "theatre 1 tablet") -> None:
        """First run: the one-time code makes this browser a tablet of the unit."""
        self.type(self.page.get_by_label("One-time code"), code)
        self.type(self.page.get_by_label("Name of this tablet"), name)
        self.press(self.page.get_by_role("button", name="Enrol this tablet"))
        expect(self.page.get_by_role("button", name=re.compile("^Open case 1"))).to_be_visible()

    def make_signing_key(self, code: str, pin: str) -> None:
        """The surgeon's key on this tablet; needs the network once."""
        self.press(self.page.get_by_role("link", name="Where the record is").first)
        self.type(self.page.get_by_label("Staff code"), code)
        self.type(self.page.get_by_label("PIN"), pin)
        self.press(self.page.get_by_role("button", name="Make this surgeon's key"))
        expect(self.page.get_by_text(code, exact=True)).to_be_visible()
        self.press(self.page.get_by_role("link", name="Today's list").first)

    def open_case(self, order: int) -> None:
        """Opens a case from the list and says that the patient is in the room."""
        self.press(self.page.get_by_role("button", name=re.compile(f"^Open case {order}")))
        self.tap("Patient is in")

    def tap(self, label: str) -> None:
        """Taps one slab and waits until the record stands above, or another question does."""
        before = self._state()
        self.press(self.page.get_by_role("button", name=re.compile(f"^{re.escape(label)}")).first)
        self.page.wait_for_timeout(0)
        self._changed(before)

    def record(self, answers: Mapping[str, str] = COMMON, until: str = "To sign", steps: int = 99) -> int:
        """Records step after step by the common answer, or by the label given for its key word.

        Stops where `until` is asked, or after `steps` steps; returns how many were recorded.
        """
        done = 0
        while self.asked != until and done < steps:
            key = self.asked
            if self.page.locator(".lens-pad").count():
                self.read_lens()
            elif key == "Sign out":
                self.sign_out()
            else:
                self.answer(answers.get(key, READ.get(key)))
            done += 1
        return done

    def answer(self, label: str | None) -> None:
        """The common answer, or the one named; what it asks next is answered by its common answer."""
        key = self.asked
        before = self._state()
        slab = self.page.locator("nav.answers .go").first
        if label is not None:
            slab = self.page.get_by_role("button", name=re.compile(f"^{re.escape(label)}")).first
        self.press(slab)
        self._changed(before)
        follow_up = self.page.locator("nav.answers .follow-up")
        if self.asked == key and follow_up.count():
            self.answer(None)

    def read_lens(self, model: str = MODEL, digits: str = DIGITS, quarter: str = QUARTER) -> None:
        """Reads a lens piece by piece with the plan covered."""
        before = self._state()
        self.press(self.page.get_by_role("button", name=model, exact=True))
        self.press(self.page.get_by_role("button", name="plus"))
        for digit in digits:
            self.press(self.page.get_by_role("button", name=digit, exact=True))
        self.press(self.page.get_by_role("button", name=quarter, exact=True))
        self.press(self.page.get_by_role("button", name="Compare with plan"))
        self._changed(before)

    def sign_out(self) -> None:
        """The nurse reads each part of sign-out aloud."""
        before = self._state()
        for yes in self.page.locator("nav.answers").get_by_role("button", name="Yes", exact=True).all():
            self.press(yes)
        self.press(self.page.get_by_role("button", name=re.compile("^Record")))
        self._changed(before)

    def review_and_sign(self, code: str, pin: str) -> int:
        """The surgeon answers every deviation and signs; returns how many were answered."""
        self.press(self.page.get_by_role("link", name="Review and sign").first)
        expect(self.page.get_by_role("heading", name=re.compile("to sign$"))).to_be_visible()
        answered = self.give_answers()
        self.sign(code, pin)
        return answered

    def give_answers(self) -> int:
        """Answers every deviation of the review; returns how many there were."""
        answered = 0
        to_give = self.page.get_by_text(re.compile("answers? to give"))
        while to_give.count():
            before = to_give.inner_text()
            self._answer_questions()
            expect(self.page.get_by_text(before, exact=True)).to_have_count(0)
            # The next question's answers are untouched, or there is no question left.
            expect(self.page.locator(".answer-form [aria-pressed=true]")).to_have_count(0)
            answered += 1
        return answered

    def sign(self, code: str, pin: str) -> None:
        """The surgeon signs the reviewed case with a PIN."""
        self.type(self.page.get_by_label("Surgeon's code"), code)
        self.type(self.page.get_by_label("PIN", exact=True), pin)
        self.press(self.page.get_by_role("button", name="Sign this case"))
        expect(self.page.get_by_text(re.compile("^Signed at"))).to_be_visible()

    def _answer_questions(self) -> None:
        page = self.page
        for question, answer in (
            ("Happened as recorded?", "Yes"),
            ("Reached the eye?", "No"),
            ("What was done about it?", "Nothing more needed"),
            ("Harm now?", "Did not reach patient"),
            ("Aftercare changes?", "No"),
            ("Patient told?", "Not needed"),
            ("Incident report?", "No"),
        ):
            row = page.get_by_role("group", name=re.compile(re.escape(question)))
            self.press(row.get_by_role("button", name=answer, exact=True))
        self.press(page.get_by_role("button", name="Store these answers"))

    def press(self, slab: Locator) -> None:
        """Presses a slab, a key or a link: here with a finger."""
        slab.click()

    def type(self, field: Locator, text: str) -> None:
        """Puts a text into a field."""
        field.fill(text)

    def _state(self) -> str:
        main = self.page.locator("main")
        above = self.page.locator(".done .what").first
        recorded = above.inner_text().splitlines()[0] if above.count() else ""
        return f"{main.locator('h1').first.inner_text()}|{recorded}|{self.page.locator('.follow-up').count()}"

    def _changed(self, before: str) -> None:
        for _ in range(400):
            if self._state() != before:
                return
            self.page.wait_for_timeout(25)
        raise AssertionError(f"nothing changed after the tap: {before}")
